package claim_test

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/claim"
	"rigtally/analytics/fixture"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// boardOf puts the claims alone on a journal's board and tests them.
func boardOf(t *testing.T, s *pg.Store, list ...journal.Claim) claim.Board {
	t.Helper()
	for _, c := range journal.StartingClaims() {
		if err := s.RetireClaim(t.Context(), c.ID, 0); err != nil {
			t.Fatal(err)
		}
	}
	for i := range list {
		list[i].ID = fixture.ID(t)
		if _, err := s.SaveClaim(t.Context(), list[i]); err != nil {
			t.Fatal(err)
		}
	}
	b, err := claim.Judge(t.Context(), s, units.Metric)
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Claims) != len(list) || len(b.Rest) != len(journal.StartingClaims()) {
		t.Fatalf("%d claims on the board, %d retired", len(b.Claims), len(b.Rest))
	}
	// Whatever the journal holds, the board can be written.
	text, err := json.Marshal(b)
	if err != nil || !json.Valid(text) {
		t.Fatalf("the board as JSON: %v", err)
	}
	var sheet bytes.Buffer
	if err := prose.BoardTable(b, units.Metric).WriteCSV(&sheet); err != nil || strings.Contains(sheet.String(), "NaN") || strings.Contains(sheet.String(), "Inf") {
		t.Fatalf("the board as CSV: %v\n%s", err, sheet.String())
	}
	return b
}

func junctionClaim(words string, d journal.Direction, level, versus string, given ...string) journal.Claim {
	return journal.Claim{Words: words, Outcome: "tangles", Factor: "junction", Direction: d, Level: []string{level}, Versus: []string{versus}, Given: given}
}

func lengthClaim(words string, d journal.Direction, given ...string) journal.Claim {
	return journal.Claim{Words: words, Outcome: "tangles", Factor: "tag-length", Direction: d, Given: given}
}

var tangle = journal.Event{Kind: journal.EventTangle, TangleKind: journal.Twist, Position: new(1)}

// With two lengths only, 150 and 160 mm, the line through the logs of their rates
// passes through both (Poisson regression of two groups), so that the ratio per
// 25 mm is their ratio to the power 2.5; and the two junctions are the two lengths.
func TestClaimsOfTwoGroups(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	fixture.Fish(t, s, fixture.Outings{Junction: "figure-eight", Minutes: fixture.Spread(240), Events: fixture.One(1, tangle)}, fixture.Outings{Junction: "blood", Minutes: fixture.Spread(240), Events: fixture.One(11, tangle)})
	const ratio = 11.0
	b := boardOf(t, s, junctionClaim("a", journal.More, "blood", "figure-eight"), junctionClaim("b", journal.Less, "blood", "figure-eight"), lengthClaim("c", journal.More))
	for i, want := range []float64{ratio, ratio, math.Pow(ratio, 2.5)} {
		if got := *b.Claims[i].Ratio; math.Abs(got/want-1) > 1e-8 {
			t.Errorf("claim %d: ratio %g, want %g", i, got, want)
		}
	}
	a, turned, line := b.Claims[0], b.Claims[1], b.Claims[2]
	if *a.P != *turned.P || *a.Q != *a.P {
		t.Errorf("p %g and q %g, turned round %g", *a.P, *a.Q, *turned.P)
	}
	if a.Standing != claim.Holds || turned.Standing != claim.OppositeHolds || line.Standing != claim.Holds || b.Tested != 3 {
		t.Errorf("%q, turned round %q, of the line %q, %d tested", a.Standing, turned.Standing, line.Standing, b.Tested)
	}
	if a.Level.Events != 11 || a.Versus.Events != 1 || a.Level.Hours != 240 || a.Total.Hours != 480 || a.Total.Sessions != 24 || line.Total.Sessions != 24 {
		t.Errorf("sides %+v and %+v of %+v", a.Level, a.Versus, a.Total)
	}
}

// A claim of single words says what the question behind it says.
func TestAClaimAgreesWithItsQuestion(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	fixture.Fish(t, s, fixture.Outings{Junction: "figure-eight", Minutes: fixture.Spread(300), Events: fixture.One(5, tangle)}, fixture.Outings{Junction: "blood", Minutes: fixture.Spread(240), Events: fixture.One(9, tangle)}, fixture.Outings{Junction: "uni", Minutes: fixture.Spread(200), Events: fixture.One(4, tangle)})
	b := boardOf(t, s, junctionClaim("a", journal.More, "blood", "figure-eight", "temperature:linear"))
	q, err := analytics.Rates(t.Context(), s, analytics.Request{Outcome: "tangles", By: []string{"junction"}, Versus: "figure-eight", Given: []string{"temperature:linear"}, Units: units.Metric})
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(q.Groups, func(g analytics.Group) bool { return g.Level[0].Word == "blood" })
	if got, want := *b.Claims[0].Ratio, *q.Groups[i].Corrected.Ratio; math.Abs(got/want-1) > 1e-9 {
		t.Errorf("the claim's ratio is %g, the question's %g", got, want)
	}
}

// Several words on a side are taken together: the ratio is that of their summed
// counts to the other side's.
func TestWordsTakenTogether(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	fixture.Fish(t, s, fixture.Outings{Junction: "figure-eight", Minutes: fixture.Spread(200), Events: fixture.One(4, tangle)}, fixture.Outings{Junction: "blood", Minutes: fixture.Spread(200), Events: fixture.One(6, tangle)}, fixture.Outings{Junction: "uni", Minutes: fixture.Spread(400), Events: fixture.One(15, tangle)}, fixture.Outings{Junction: "tippet ring", Minutes: fixture.Spread(200), Events: fixture.One(1, tangle)})
	c := junctionClaim("a", journal.More, "blood", "figure-eight")
	c.Level = append(c.Level, "UNI")
	b := boardOf(t, s, c)
	if got, want := *b.Claims[0].Ratio, (21.0/600)/(4.0/200); math.Abs(got/want-1) > 1e-8 {
		t.Errorf("ratio %g, want %g", got, want)
	}
	if b.Claims[0].Level.Events != 21 || b.Claims[0].Level.Hours != 600 || b.Claims[0].Total.Events != 25 {
		t.Errorf("sides %+v of %+v", b.Claims[0].Level, b.Claims[0].Total)
	}
}

// What can't be tested says why, has no verdict, and leaves the others theirs.
func TestClaimsThatCanNotBeTested(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name  string
		fish  []fixture.Outings
		claim journal.Claim
		want  analytics.NoteKind
		count int
		ratio bool
	}{
		{"an empty journal", nil, junctionClaim("a", journal.More, "blood", "uni"), analytics.NoteNothing, 0, false},
		{"an empty journal, by length", nil, lengthClaim("a", journal.More), analytics.NoteNothing, 0, false},
		{"the claim's side", []fixture.Outings{{Junction: "blood", Minutes: fixture.Spread(200), Events: fixture.One(3, tangle)}}, junctionClaim("a", journal.More, "uni", "blood"), claim.NoteOneSide, 1, false},
		{"the other side", []fixture.Outings{{Junction: "blood", Minutes: fixture.Spread(200), Events: fixture.One(3, tangle)}}, junctionClaim("a", journal.More, "blood", "uni"), claim.NoteOneSide, 2, false},
		{"both sides", []fixture.Outings{{Junction: "blood", Minutes: fixture.Spread(200), Events: fixture.One(3, tangle)}}, junctionClaim("a", journal.More, "perfection loop", "uni"), claim.NoteOneSide, 3, false},
		{"one length", []fixture.Outings{{Junction: "blood", Minutes: fixture.Spread(200), Events: fixture.One(3, tangle)}}, lengthClaim("a", journal.More), claim.NoteOneValue, 0, false},
		{"no tangle", []fixture.Outings{{Junction: "blood", Minutes: fixture.Spread(200), Events: fixture.One(0, tangle)}, {Junction: "uni", Minutes: fixture.Spread(200), Events: fixture.One(0, tangle)}}, junctionClaim("a", journal.More, "blood", "uni"), analytics.NoteNoEvents, 0, false},
		{"two sessions", []fixture.Outings{{Junction: "blood", Minutes: fixture.Spread(20), Events: fixture.One(1, tangle)}, {Junction: "uni", Minutes: fixture.Spread(20), Events: fixture.One(1, tangle)}}, junctionClaim("a", journal.More, "blood", "uni"), analytics.NoteTooFewToCorrect, 2, false},
		{"a side of one session", []fixture.Outings{{Junction: "blood", Minutes: fixture.Spread(20), Events: fixture.One(1, tangle)}, {Junction: "uni", Minutes: fixture.Spread(200), Events: fixture.One(3, tangle)}}, junctionClaim("a", journal.More, "blood", "uni"), analytics.NoteOneSession, 0, true},
		{"explained", []fixture.Outings{{Junction: "blood", Minutes: fixture.Spread(200), Events: fixture.One(3, tangle)}, {Junction: "uni", Minutes: fixture.Spread(200), Events: fixture.One(3, tangle)}}, junctionClaim("a", journal.More, "blood", "uni", "rig"), analytics.NoteExplained, 0, false},
		{"a length explained", []fixture.Outings{{Junction: "blood", Minutes: fixture.Spread(200), Events: fixture.One(3, tangle)}, {Junction: "uni", Minutes: fixture.Spread(200), Events: fixture.One(3, tangle)}}, lengthClaim("a", journal.More, "junction"), analytics.NoteExplained, 0, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := fixture.Open(t)
			if tt.fish != nil {
				fixture.Fish(t, s, tt.fish...)
			}
			a := boardOf(t, s, tt.claim).Claims[0]
			if !slices.ContainsFunc(a.Notes, func(n analytics.Note) bool { return n.Kind == tt.want && n.Count == tt.count }) {
				t.Errorf("notes %+v, want %q of %d", a.Notes, tt.want, tt.count)
			}
			if a.Standing != claim.OpenStill || a.P != nil || (a.Ratio != nil) != tt.ratio {
				t.Errorf("%q with ratio %v and p %v", a.Standing, a.Ratio, a.P)
			}
		})
	}
}

// A side without an event has a ratio by the penalty, and an interval.
func TestAClaimWithNoneOnOneSide(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	fixture.Fish(t, s, fixture.Outings{Junction: "figure-eight", Minutes: fixture.Spread(300), Events: fixture.One(12, tangle)}, fixture.Outings{Junction: "blood", Minutes: fixture.Spread(300), Events: fixture.One(0, tangle)})
	a := boardOf(t, s, junctionClaim("a", journal.Less, "blood", "figure-eight")).Claims[0]
	if a.Ratio == nil || a.Low == nil || *a.Ratio >= 0.2 || *a.Low >= *a.Ratio || *a.High <= *a.Ratio || a.Standing != claim.Holds || !strings.Contains(a.Method, "Firth") {
		t.Errorf("%q by %s: %v (%v–%v)", a.Standing, a.Method, a.Ratio, a.Low, a.High)
	}
}
