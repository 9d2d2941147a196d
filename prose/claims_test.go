package prose_test

import (
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/claim"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// claimed is an invented answer on a claim of the starting board.
func claimed(t *testing.T, number int, sys units.System, standing claim.Standing, ratio ...float64) claim.Answer {
	t.Helper()
	c := journal.StartingClaims()[number-1]
	a := claim.Answer{Claim: c, Number: number, Outcome: outcome(t, c.Outcome), Factor: factor(t, c.Factor), Standing: standing}
	a.Step = claim.StepOf(a.Factor, sys)
	if len(ratio) == 3 {
		a.Ratio, a.Low, a.High = &ratio[0], &ratio[1], &ratio[2]
	}
	return a
}

func TestClaimsInWords(t *testing.T) {
	t.Parallel()
	long, bulky, finer := 1, 3, 6
	for _, tt := range []struct {
		got, want string
	}{
		{prose.ClaimRatio(claimed(t, long, units.US, claim.Holds, 1.344, 1.2, 1.5), units.US), "1.34 times (1.20–1.50) per inch longer"},
		{prose.ClaimRatio(claimed(t, long, units.Metric, claim.Holds, 1.344, 1.2, 1.5), units.Metric), "1.34 times (1.20–1.50) per 25 mm longer"},
		{prose.ClaimRatio(claimed(t, finer, units.US, claim.Holds, 1.5, 1.2, 1.9), units.US), "1.50 times (1.20–1.90) per X finer"},
		{prose.ClaimRatio(claimed(t, bulky, units.US, claim.OpenStill), units.US), "?"},
	} {
		if tt.got != tt.want {
			t.Errorf("%q, want %q", tt.got, tt.want)
		}
	}
	a := claimed(t, bulky, units.US, claim.OpenStill)
	given, _, err := analytics.GivensFor(nil, a.Factor)
	if err != nil {
		t.Fatal(err)
	}
	a.Given = given
	if got, want := prose.ClaimTest(a, units.US), "Twists per hour, legged against slim; angler and water held equal"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	a.Given, a.Claim.Given = nil, []string{"none"}
	if got, want := prose.ClaimTest(a, units.US), "Twists per hour, legged against slim"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	a.Claim.Given = []string{"tag-length:linear"}
	if got := prose.ClaimTest(a, units.US); !strings.Contains(got, "tag length (as a straight line) held equal") {
		t.Errorf("%q", got)
	}
}

// Every note of a claim has a sentence.
func TestClaimNotes(t *testing.T) {
	t.Parallel()
	for _, kind := range []analytics.NoteKind{analytics.NoteNothing, claim.NoteOneValue, analytics.NoteNoEvents, analytics.NoteUnsettled,
		analytics.NoteTooFewToCorrect, analytics.NoteFewToCorrect, analytics.NoteOneSession, analytics.NoteExplained, analytics.NotePenalised, analytics.NoteNoneToCorrect} {
		a := claimed(t, 3, units.US, claim.OpenStill)
		a.Notes = []analytics.Note{{Kind: kind, Count: 2}}
		if list := prose.ClaimNotes(a); len(list) != 1 || !strings.HasSuffix(list[0], ".") || strings.Contains(list[0], "%!") {
			t.Errorf("%s: %q", kind, list)
		}
	}
	ungauged := claimed(t, 3, units.US, claim.OpenStill)
	ungauged.Notes, ungauged.LeftOut = []analytics.Note{{Kind: analytics.NoteNothing}}, map[string]int{factor(t, "trend-6h").Missing: 7}
	if list := prose.ClaimNotes(ungauged); list[0] != "No session that counts here has a reading of a gauge that tells whether the water rose or fell." {
		t.Errorf("no gauge: %q", list)
	}
	for count, want := range map[int]string{1: "bulk legged,", 2: "bulk slim,", 3: "bulk legged or slim,"} {
		a := claimed(t, 3, units.US, claim.OpenStill)
		a.Notes = []analytics.Note{{Kind: claim.NoteOneSide, Count: count}}
		a.LeftOut = map[string]int{"flies with no bulk noted": 7}
		if list := prose.ClaimNotes(a); len(list) != 2 || !strings.Contains(list[0], want) || list[1] != "Left out: 7 flies with no bulk noted." {
			t.Errorf("%d: %q", count, list)
		}
	}
}

// What is settled by itself says so, with the direction; what was stated late says after how much, and what came since.
func TestClaimsThatNeedSaying(t *testing.T) {
	t.Parallel()
	a := claimed(t, 1, units.US, claim.Settled, 1.4, 1.1, 1.8)
	a.Asked = 11
	if got := prose.ClaimStanding(a); got != "settled by itself, one of 11 asked" {
		t.Errorf("%q", got)
	}
	a.Stated = &claim.Stated{Day: journal.Date{Year: 2026, Month: 5, Day: 3}, Before: 212, Since: 35, Ratio: new(1.2)}
	notes := strings.Join(prose.ClaimNotes(a), "\n")
	for _, want := range []string{"settled, as the claim says", "Stated on Sun 3 May 2026, after 212 h of these hours", "In the 35 h since then: 1.20 times."} {
		if !strings.Contains(notes, want) {
			t.Errorf("%q is not in\n%s", want, notes)
		}
	}
	a.Ratio, a.Stated.Ratio, a.Stated.Since = new(0.7), nil, 0
	notes = strings.Join(prose.ClaimNotes(a), "\n")
	for _, want := range []string{"settled, against the claim", "Nothing has been fished on it since."} {
		if !strings.Contains(notes, want) {
			t.Errorf("%q is not in\n%s", want, notes)
		}
	}
}

// Where like for like can't be had, the page says who stands in the way.
func TestWhoStandsInTheWayOfAClaim(t *testing.T) {
	t.Parallel()
	for key, want := range map[string]string{"angler": "Only Ilse and Maud fished legged, and never slim, so like for like can't be had",
		"water": "With legged, water was always Ilse and Maud, and never so with slim", "": "Bulk goes so closely with what is held equal"} {
		a := claimed(t, 3, units.US, claim.OpenStill)
		n := analytics.Note{Kind: analytics.NoteExplained}
		if key != "" {
			n.Factor, n.Words = factor(t, key), []string{"Ilse", "Maud"}
		}
		a.Notes = []analytics.Note{n}
		if got := prose.ClaimNotes(a)[0]; !strings.HasPrefix(got, want) {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestTheBoardInASentence(t *testing.T) {
	t.Parallel()
	var b claim.Board
	if got := prose.Board(b); got != "No claim is on the board." {
		t.Errorf("%q", got)
	}
	b.Claims = []claim.Answer{claimed(t, 1, units.US, claim.Holds), claimed(t, 2, units.US, claim.Holds), claimed(t, 3, units.US, claim.OppositeHolds), claimed(t, 4, units.US, claim.OpenStill), claimed(t, 5, units.US, claim.Settled), claimed(t, 7, units.US, claim.Same)}
	if got, want := prose.Board(b), "Of 6 claims on the board, 2 hold here, 1 has an opposite that holds, 1 is settled only by itself, 1 makes no difference that matters and 1 can't be judged yet."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
