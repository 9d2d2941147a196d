package claim_test

import (
	"math"
	"slices"
	"testing"

	"rigtally/analytics/claim"
	"rigtally/analytics/fixture"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
)

// truth returns the least and the greatest true ratio that a claim is about, by
// the list of effects that the invented season was drawn from.
func truth(a claim.Answer) (low, high float64, known bool) {
	low, high = math.Inf(1), 0
	for _, e := range demo.Effects() {
		if e.Outcome == a.Claim.Outcome && e.Factor == a.Claim.Factor && slices.Contains(a.Claim.Level, e.Level) && slices.Contains(a.Claim.Versus, e.Versus) {
			low, high = min(low, e.Ratio), max(high, e.Ratio)
		}
	}
	return low, high, high > 0
}

// The invented season's true effects agree with every claim that the board
// starts with (journal/demo, Effects). Those with hours enough must hold, none may
// lean the other way, and the intervals of those between words must reach the truth.
func TestClaimsOfTheInventedSeason(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	if err := demo.Load(t.Context(), s, demo.Generate(demo.Seed, demo.Sessions)); err != nil {
		t.Fatal(err)
	}
	board, err := claim.Judge(t.Context(), s, units.US)
	if err != nil {
		t.Fatal(err)
	}
	if board.Tested != len(journal.StartingClaims())+2 || len(board.Claims) != board.Tested {
		t.Fatalf("%d of %d claims are tested", board.Tested, len(board.Claims))
	}
	enough, words := 0, 0
	for _, a := range board.Claims {
		t.Logf("%-70s %-15s %.2f (%.2f–%.2f), %4.0f h and %4.0f more, %s", a.Claim.Words, a.Standing, *a.Ratio, *a.Low, *a.High, a.Total.Hours, *a.MoreHours, a.Method)
		// Of what people say of props and twists the opposite is true here.
		if other := a.Standing == claim.LeansOther || a.Standing == claim.OppositeHolds; other != saysOtherwise(a.Claim) {
			t.Errorf("%s: %s", a.Claim.Words, a.Standing)
		}
		if none := a.Claim.Source == journal.OwnClaim; none != (a.Standing == claim.Same) {
			t.Errorf("%s: %s", a.Claim.Words, a.Standing)
		}
		if a.Standing == claim.Holds {
			enough++
		}
		if settled := a.Verdict == stat.Differs || a.Verdict == stat.SameForPractice; settled && *a.MoreHours != 0 {
			t.Errorf("%s: %s, and %.0f hours more", a.Claim.Words, a.Standing, *a.MoreHours)
		}
		if low, high, known := truth(a); known {
			words++
			if *a.High < low || *a.Low > high {
				t.Errorf("%s: the interval %.2f–%.2f does not reach the truth, %.2f–%.2f", a.Claim.Words, *a.Low, *a.High, low, high)
			}
		}
	}
	if enough < 7 || words < 8 {
		t.Errorf("only %d claims hold, and %d have a known ratio", enough, words)
	}
	// Each X finer breaks 1.4 times (6X to 7X) to 1.57 times (7X to 8X) as often.
	if x := board.Claims[7]; x.Claim.Factor != "tippet" || *x.High < 1/0.7 || *x.Low > 2.2/1.4 {
		t.Errorf("%s: %.2f–%.2f per X", x.Claim.Words, *x.Low, *x.High)
	}
}

// A claim turned round does not hold where it holds as it was.
func TestAClaimTurnedRound(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	if err := demo.Load(t.Context(), s, demo.Generate(demo.Seed, demo.Sessions)); err != nil {
		t.Fatal(err)
	}
	claims, err := s.Claims(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range claims {
		c.Direction = map[journal.Direction]journal.Direction{journal.More: journal.Less, journal.Less: journal.More}[c.Direction]
		if _, err := s.SaveClaim(t.Context(), c); err != nil {
			t.Fatal(err)
		}
	}
	board, err := claim.Judge(t.Context(), s, units.US)
	if err != nil {
		t.Fatal(err)
	}
	not := 0
	for _, a := range board.Claims {
		if (a.Standing == claim.Holds || a.Standing == claim.LeansFor) != saysOtherwise(a.Claim) {
			t.Errorf("%s, turned round: %s", a.Claim.Words, a.Standing)
		}
		if a.Standing == claim.OppositeHolds {
			not++
		}
	}
	if not < 7 {
		t.Errorf("%d claims turned round have an opposite that holds", not)
	}
}

// saysOtherwise tells the one rule of thumb that is the other way round in the invented season.
func saysOtherwise(c journal.Claim) bool { return c.Factor == "prop" && c.Outcome == "twists" }
