package claim_test

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"rigtally/analytics"
	"rigtally/analytics/claim"
	"rigtally/analytics/fixture"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// boardOf puts the claims alone on a journal's board and tests them.
func boardOf(t *testing.T, s *pg.Store, list ...journal.Claim) claim.Board {
	t.Helper()
	before, err := s.Claims(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range before {
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
	if len(b.Claims) != len(list) || len(b.Rest) != len(before) {
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

// A claim that names nothing to hold equal says what the question says that names nothing, to the verdict.
func TestAClaimIsTheQuestionBehindIt(t *testing.T) {
	t.Parallel()
	s := fixture.Demo(t, demo.Seed, 120)
	b, err := claim.Judge(t.Context(), s, units.Metric)
	if err != nil {
		t.Fatal(err)
	}
	asked := 0
	for _, a := range b.Claims {
		if a.Step != 0 || len(a.Claim.Level)+len(a.Claim.Versus) > 2 {
			continue
		}
		asked++
		q, err := analytics.Rates(t.Context(), s, analytics.Request{Outcome: a.Claim.Outcome, By: []string{a.Claim.Factor}, Versus: a.Claim.Versus[0], Units: units.Metric})
		if err != nil {
			t.Fatal(err)
		}
		g := q.Groups[slices.IndexFunc(q.Groups, func(g analytics.Group) bool { return g.Level[0].Word == a.Claim.Level[0] })]
		if !fixture.Near(*a.Ratio, *g.Corrected.Ratio) || !fixture.Near(*a.P, *g.Corrected.P) || !fixture.Near(*a.Q, *g.Versus.Q) || a.Verdict != g.Versus.Verdict || !fixture.Near(*a.MoreHours, *g.Versus.MoreHours) {
			t.Errorf("%s: %+v, the question says %+v and %+v", a.Claim.Words, a, *g.Versus, *g.Corrected)
		}
		if len(a.Given) != len(q.Given) {
			t.Errorf("%s: held equal %v, by the question %v", a.Claim.Words, a.Given, q.Given)
		}
	}
	if asked < 5 {
		t.Errorf("%d claims were asked", asked)
	}
}

// A claim written after the evidence says after how much of it, and what came later alone; one of the starting
// board, and one of which that is not known, do not.
func TestAClaimWrittenAfterItsEvidence(t *testing.T) {
	t.Parallel()
	s := fixture.Demo(t, demo.Seed, 200)
	stated := time.Date(2026, 4, 15, 9, 0, 0, 0, time.UTC)
	c := journal.Claim{Words: "Legged flies twist more", Outcome: "twists", Factor: "bulk", Direction: journal.More, Level: []string{"legged"}, Versus: []string{"slim"}, StatedAt: &stated}
	a := boardOf(t, s, c).Claims[0]
	if a.Stated == nil || a.Stated.Ratio == nil || a.Stated.Since <= 0 || !fixture.Near(a.Stated.Before+a.Stated.Since, a.Total.Hours) {
		t.Fatalf("stated %+v of %g h", a.Stated, a.Total.Hours)
	}
	if a.Stated.Day.String() != "2026-04-15" || *a.Stated.Ratio == *a.Ratio {
		t.Errorf("%+v, in all %g", a.Stated, *a.Ratio)
	}
	own := journal.Claim{Words: "x", Outcome: "twists", Factor: "bulk", Direction: journal.More, Level: []string{"legged"}, Versus: []string{"slim"}, Source: journal.OwnClaim}
	common := own
	common.Source, common.StatedAt = journal.CommonPractice, &stated
	early := own
	early.StatedAt = new(time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC))
	list, err := claim.JudgeWhere(t.Context(), s, []journal.Claim{own, common, early}, units.Metric, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range list.Claims {
		if a.Stated != nil || a.P == nil {
			t.Errorf("%+v", a)
		}
	}
}

// Where one person alone fished a side, nothing is settled from the plain totals, and the claim says who.
func TestWhoAloneFishedASide(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	fixture.Fish(t, s, fixture.Outings{Junction: "figure-eight", Minutes: fixture.Spread(240), Events: fixture.One(12, tangle)})
	var add journal.Addition
	maud, err := s.AnglerNamed(t.Context(), "Maud")
	if err != nil {
		t.Fatal(err)
	}
	water, err := s.WaterByName(t.Context(), "Alder Brook")
	if err != nil {
		t.Fatal(err)
	}
	rig := journal.Rig{ID: fixture.ID(t), Name: "Hers", Revision: 1, CreatedAt: time.Now(), Positions: []journal.RigPosition{{Position: 1, Hang: journal.HangTag, Junction: "blood"}}}
	add.Rigs = append(add.Rigs, rig)
	for range 12 {
		add.Sessions = append(add.Sessions, journal.Session{ID: fixture.ID(t), AnglerID: maud.ID, WaterID: water.ID, Day: journal.Date{Year: 2026, Month: 5, Day: 2}, TimeZone: "UTC", Version: 1,
			LoggedAt: time.Now(), Stints: []journal.Stint{{ID: fixture.ID(t), RigID: rig.ID, Minutes: new(1200.0)}}})
	}
	if err := s.Add(t.Context(), add, nil); err != nil {
		t.Fatal(err)
	}
	a := boardOf(t, s, junctionClaim("a", journal.Less, "blood", "figure-eight")).Claims[0]
	i := slices.IndexFunc(a.Notes, func(n analytics.Note) bool { return n.Kind == analytics.NoteExplained })
	if a.Ratio != nil || a.Standing != claim.OpenStill || i < 0 || a.Notes[i].Factor.Key != "angler" || !slices.Equal(a.Notes[i].Words, []string{"Maud"}) {
		t.Errorf("%q, %v, %+v", a.Standing, a.Ratio, a.Notes)
	}
	if text := strings.Join(prose.ClaimNotes(a), " "); !strings.Contains(text, "Only Maud fished blood, and never figure-eight") {
		t.Error(text)
	}
}

// A difference that is known to be small is the same for practice and needs no more hours; of a number that is judged over what
// was fished of it, not by its step.
func TestClaimsThatAreTheSameForPractice(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	often := tangle
	often.Count = 30
	thirty := func(int) []journal.Event { return []journal.Event{often} }
	fixture.Fish(t, s, fixture.Outings{Junction: "figure-eight", Minutes: fixture.Spread(400), Events: thirty}, fixture.Outings{Junction: "blood", Minutes: fixture.Spread(400), Events: thirty})
	b := boardOf(t, s, junctionClaim("a", journal.More, "blood", "figure-eight"), lengthClaim("b", journal.More))
	for _, a := range b.Claims {
		if a.Standing != claim.Same || *a.MoreHours != 0 {
			t.Errorf("%s: %q, %g h more, %.2f–%.2f", a.Claim.Words, a.Standing, *a.MoreHours, *a.Low, *a.High)
		}
	}
	// Per 25 mm the two lengths, 10 mm apart, tell two and a half times as little.
	if narrow, wide := *b.Claims[0].SELog, *b.Claims[1].SELog; math.Abs(wide/narrow-2.5) > 1e-6 {
		t.Errorf("standard errors %g and %g", narrow, wide)
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
