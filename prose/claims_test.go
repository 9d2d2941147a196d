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
	if got, want := prose.ClaimTest(a.Claim, a.Outcome, a.Factor, units.US), "Twists per hour, legged against slim; tag length, angler and water held equal"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	a.Claim.Given = []string{"tag-length:linear"}
	if got := prose.ClaimTest(a.Claim, a.Outcome, a.Factor, units.US); !strings.Contains(got, "tag length (as a straight line) held equal") {
		t.Errorf("%q", got)
	}
}

// Every note of a claim has a sentence.
func TestClaimNotes(t *testing.T) {
	t.Parallel()
	for _, kind := range []analytics.NoteKind{analytics.NoteNothing, claim.NoteOneValue, analytics.NoteNoEvents, claim.NoteSmallOdds, analytics.NoteUnsettled,
		analytics.NoteTooFewToCorrect, analytics.NoteFewToCorrect, analytics.NoteOneSession, analytics.NoteExplained, analytics.NotePenalised, analytics.NoteNoneToCorrect} {
		a := claimed(t, 3, units.US, claim.OpenStill)
		a.Notes = []analytics.Note{{Kind: kind, Count: 2}}
		if list := prose.ClaimNotes(a); len(list) != 1 || !strings.HasSuffix(list[0], ".") || strings.Contains(list[0], "%!") {
			t.Errorf("%s: %q", kind, list)
		}
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

func TestTheBoardInASentence(t *testing.T) {
	t.Parallel()
	var b claim.Board
	if got := prose.Board(b); got != "No claim is on the board." {
		t.Errorf("%q", got)
	}
	b.Claims = []claim.Answer{claimed(t, 1, units.US, claim.Holds), claimed(t, 2, units.US, claim.Holds), claimed(t, 3, units.US, claim.HoldsNot), claimed(t, 4, units.US, claim.OpenStill)}
	if got, want := prose.Board(b), "Of 4 claims on the board, 2 hold here, 1 does not hold here and 1 can't be judged yet."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
