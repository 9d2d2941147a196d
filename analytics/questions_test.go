package analytics_test

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/fixture"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
)

func journalOf(t *testing.T, build func(d *stintRows)) *pg.Store {
	t.Helper()
	var d stintRows
	build(&d)
	s := fixture.Open(t)
	d.store(t, s, d.inOrder())
	return s
}

func hasNote(a analytics.RateAnswer, kind analytics.NoteKind) bool {
	return slices.ContainsFunc(a.Notes, func(n analytics.Note) bool { return n.Kind == kind })
}

var byJunction = []string{"junction"}

// Ilse ties blood only and Runa figure-eight only.
func TestAFactorExplainedAwayIsSaid(t *testing.T) {
	t.Parallel()
	s := journalOf(t, func(d *stintRows) {
		for i := range 12 {
			d.add("Ilse", i%3, "blood")
			d.add("Runa", i%2, "figure-eight")
		}
	})
	for _, given := range [][]string{nil, {"angler"}, {"bulk", "angler", "tag-length:linear"}} {
		a := rates(t, s, analytics.Request{Outcome: "tangles", By: byJunction, Given: given})
		g := a.Groups[1-a.Reference]
		if v := g.Versus; g.Corrected != nil || v.Ratio == nil || v.Q != nil || v.Verdict != "" || v.MoreHours != nil {
			t.Errorf("given %s: %+v", given, g.Versus)
		}
		who := map[string]string{"blood": "Ilse", "figure-eight": "Runa"}[g.Level[0].Word]
		if !slices.ContainsFunc(a.Notes, func(n analytics.Note) bool {
			return n.Kind == analytics.NoteExplained && n.Group == 1-a.Reference && n.Factor.Key == "angler" && slices.Equal(n.Words, []string{who})
		}) {
			t.Errorf("given %s: the notes do not say that only %s fished it: %+v", given, who, a.Notes)
		}
	}
	none := rates(t, s, analytics.Request{Outcome: "tangles", By: byJunction, Given: []string{analytics.NoGiven}})
	if g := none.Groups[1-none.Reference]; len(none.Given) != 0 || g.Corrected == nil || g.Versus.Verdict == "" {
		t.Errorf("with nothing given: %+v", g)
	}
	// Over the tag's length there is nothing in the way, nor for bulk, which never changes.
	a := rates(t, s, analytics.Request{Outcome: "tangles", By: byJunction, Given: []string{"bulk"}})
	if !hasNote(a, analytics.NoteGivenSame) || a.Groups[0].Corrected == nil && a.Groups[1].Corrected == nil {
		t.Errorf("given bulk: %+v", a.Notes)
	}
}

// Ilse ties blood and uni, Runa figure-eight and tippet ring: blood and uni can be
// compared with each other but not with figure-eight, though each has a column of its own.
func TestGroupsThatCannotBeReachedHaveNoRatio(t *testing.T) {
	t.Parallel()
	s := journalOf(t, func(d *stintRows) {
		for i := range 15 {
			d.add("Ilse", i%3, "blood", "uni")
			d.add("Runa", i%2, "figure-eight", "tippet ring", "figure-eight")
		}
	})
	a := rates(t, s, analytics.Request{Outcome: "tangles", By: byJunction, Given: []string{"angler"}})
	for word, told := range map[string]bool{"blood": false, "uni": false, "tippet ring": true} {
		if g := groupOf(t, a, word); (g.Corrected != nil) != told || g.Versus.Ratio == nil {
			t.Errorf("%s: %+v", word, g.Corrected)
		}
	}
	if !hasNote(a, analytics.NoteExplained) {
		t.Errorf("notes %+v", a.Notes)
	}
	b := rates(t, s, analytics.Request{Outcome: "tangles", By: byJunction, Given: []string{"angler"}, Versus: "blood"})
	if g := groupOf(t, b, "uni"); g.Corrected == nil || *g.Corrected.Ratio <= 1 {
		t.Errorf("uni against blood: %+v", g.Corrected)
	}
}

func TestTooFewSessionsAreSaid(t *testing.T) {
	t.Parallel()
	s := journalOf(t, func(d *stintRows) {
		d.add("Ilse", 1, "blood", "uni")
		d.add("Runa", 2, "blood", "uni")
	})
	a := rates(t, s, analytics.Request{Outcome: "tangles", By: byJunction, Given: []string{"angler"}})
	if !hasNote(a, analytics.NoteTooFewToCorrect) || a.Groups[1].Corrected != nil || a.Groups[0].Corrected != nil {
		t.Errorf("%+v", a)
	}
	c := curve(t, s, analytics.CurveRequest{Outcome: "tangles"})
	if len(c.Points) != 0 || c.Notes[0].Kind != analytics.NoteTooFewToCorrect {
		t.Errorf("%+v", c)
	}
	// A third session, the only one with a ring: a ratio, but no interval.
	s = journalOf(t, func(d *stintRows) {
		for i := range 30 {
			d.add("Ilse", i%3, "blood", "uni")
		}
		d.add("Runa", 2, "tippet ring", "uni", "blood")
	})
	a = rates(t, s, analytics.Request{Outcome: "tangles", By: byJunction, Given: []string{"angler"}})
	if g := groupOf(t, a, "tippet ring"); g.Corrected == nil || g.Corrected.Ratio == nil || g.Corrected.Low != nil || g.Corrected.P != nil || !hasNote(a, analytics.NoteOneSession) {
		t.Errorf("%+v, notes %+v", g.Corrected, a.Notes)
	}
}

// Without an event the estimate would run off to nothing; with Jeffreys' prior it is
// finite, and its interval wide.
func TestALevelWithoutEvents(t *testing.T) {
	t.Parallel()
	s := journalOf(t, func(d *stintRows) {
		for i := range 24 {
			d.add([]string{"Ilse", "Runa", "Tove"}[i%3], 1+i%3, "blood")
			d.add([]string{"Ilse", "Runa"}[i%2], 0, "uni")
		}
	})
	a := rates(t, s, analytics.Request{Outcome: "tangles", By: byJunction, Given: []string{"angler"}})
	c := groupOf(t, a, "uni").Corrected
	if c == nil || !strings.Contains(c.Method, "Firth") || !hasNote(a, analytics.NotePenalised) {
		t.Fatalf("%+v", a)
	}
	if !(*c.Ratio > 0 && *c.Ratio < 0.1) || math.Log(*c.High / *c.Low) < 4 || *c.High > 0.5 {
		t.Errorf("ratio %g (%g–%g)", *c.Ratio, *c.Low, *c.High)
	}
	amounts := rates(t, s, analytics.Request{Outcome: "downtime", By: byJunction, Given: []string{"angler"}})
	if groupOf(t, amounts, "uni").Corrected != nil || !hasNote(amounts, analytics.NoteNoneToCorrect) {
		t.Errorf("minutes: %+v", amounts)
	}
	if _, err := json.Marshal(amounts); err != nil {
		t.Error(err)
	}
}

func TestBadQuestionsAboutCorrections(t *testing.T) {
	t.Parallel()
	s := journalOf(t, func(d *stintRows) {
		for range 25 {
			d.add("Ilse", 1, "blood")
		}
	})
	for _, tt := range []struct {
		given []string
		by    []string
		want  string
	}{
		{[]string{"knot"}, byJunction, `factor "knot" is not known`},
		{[]string{"junction"}, byJunction, "is what is asked about and can't be given too"},
		{[]string{"tag-length"}, []string{"tag-length:25mm"}, "is what is asked about and can't be given too"},
		{[]string{"angler", "angler"}, byJunction, "given twice"},
		{[]string{"angler:linear"}, byJunction, "is no number and can't be a straight line"},
		{[]string{"tag-length:wavy"}, byJunction, `write "tag-length", or "tag-length:linear"`},
		{[]string{"angler"}, nil, "a correction needs something to compare"},
	} {
		_, err := analytics.Rates(context.Background(), s, analytics.Request{Outcome: "tangles", By: tt.by, Given: tt.given})
		if !journal.IsInvalid(err) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("by %s given %s: %v, want %q", tt.by, tt.given, err, tt.want)
		}
	}
	a := rates(t, s, analytics.Request{Outcome: "tangles", By: byJunction, Given: []string{"angler"}})
	if !hasNote(a, analytics.NoteOneLevel) || len(a.Groups) != 1 || a.Groups[0].Corrected != nil {
		t.Errorf("one level: %+v", a)
	}
	none := rates(t, s, analytics.Request{Outcome: "foul-hook", By: byJunction, Given: []string{"angler"}})
	if !hasNote(none, analytics.NoteNothing) {
		t.Errorf("no exposure: %+v", none)
	}
}

func TestBadQuestionsAboutCurves(t *testing.T) {
	t.Parallel()
	s := journalOf(t, func(d *stintRows) {
		for i := range 32 {
			d.add([]string{"Ilse", "Runa", "Tove"}[i%3], i%2, "blood")
		}
	})
	for _, tt := range []struct {
		ask  analytics.CurveRequest
		want string
	}{
		{analytics.CurveRequest{Over: "junction"}, "a curve goes over a number, and junction is a word"},
		{analytics.CurveRequest{Over: "length"}, `factor "length" is not known`},
		{analytics.CurveRequest{Given: []string{"tag-length"}}, "is what is asked about"},
		{analytics.CurveRequest{Knots: []string{"120", "140"}, Boundary: []string{"110"}}, "has two ends, not 1"},
		{analytics.CurveRequest{Boundary: []string{"110", "160"}}, "a boundary needs knots"},
		{analytics.CurveRequest{Knots: []string{"120", "120"}}, "must all differ"},
		{analytics.CurveRequest{Knots: []string{"120", "200"}, Boundary: []string{"110", "160"}}, "within its boundary"},
		{analytics.CurveRequest{Knots: []string{"12in"}}, "knots must lie where it was fished, between 100 and 170"},
		{analytics.CurveRequest{Knots: []string{"a foot"}}, "a foot"},
		{analytics.CurveRequest{Where: []string{"junction"}}, "write FACTOR=VALUE"},
		{analytics.CurveRequest{Knots: []string{"105", "115", "118", "122", "124", "126", "128", "136"}}, "too few different values of tag length for a curve with so many knots"},
	} {
		tt.ask.Outcome, tt.ask.Units = "tangles", units.US
		_, err := analytics.Curve(context.Background(), s, tt.ask)
		if !journal.IsInvalid(err) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%+v: %v, want %q", tt.ask, err, tt.want)
		}
	}
	if a := curve(t, s, analytics.CurveRequest{Outcome: "tangles", Over: "flow"}); len(a.Points) != 0 || len(a.Rug) != 1 {
		t.Errorf("over a number that never changes: %+v", a)
	}
	if a := curve(t, s, analytics.CurveRequest{Outcome: "foul-hook"}); len(a.Points) != 0 || a.Notes[0].Kind != analytics.NoteNothing {
		t.Errorf("without exposure: %+v", a)
	}
	// Everyone keeps to one length, so that the angler explains the curve.
	alone := journalOf(t, func(d *stintRows) {
		for i := range 48 {
			d.add([]string{"A", "B", "C", "D", "E", "F", "G", "H"}[i%8], i%3, "blood")
		}
	})
	a := curve(t, alone, analytics.CurveRequest{Outcome: "tangles"})
	if len(a.Points) != 0 || a.Choice() != nil || len(a.Notes) != 1 || a.Notes[0].Kind != analytics.NoteExplained || a.Notes[0].Factor.Key != "angler" {
		t.Errorf("explained away: %+v", a)
	}
	if a := curve(t, alone, analytics.CurveRequest{Outcome: "tangles", Given: []string{analytics.NoGiven}}); len(a.Points) == 0 {
		t.Errorf("with nothing given: %+v", a.Notes)
	}
}

func TestAnswersSayWhatWasChangedAfterATangle(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	ctx := t.Context()
	changes := fixture.Switch(t, s)
	request := analytics.Request{Outcome: "tangles", By: []string{"method", "junction"}}
	a, err := analytics.Rates(ctx, s, request)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.FindChanged(ctx, s, request); err != nil {
		t.Fatal(err)
	}
	if f := a.Changed; f == nil || f.Factor != "junction" || !f.ByMinutes || f.AfterEvent != f.Changes || *f.Low < 3 || f.Changes != changes {
		t.Errorf("%+v, of %d changes", f, changes)
	}
	text, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	var written struct {
		Changed map[string]any `json:"changed"`
	}
	if err := json.Unmarshal(text, &written); err != nil || written.Changed["factor"] != "junction" || written.Changed["within_minutes"] != 10.0 {
		t.Errorf("%v (%v)", written.Changed, err)
	}
	for _, g := range a.Groups {
		if c := g.Corrected; c != nil && (c.MarginalRatio == nil || *c.MarginalRatio == *c.Ratio) {
			t.Errorf("%v: %+v", g.Level, c)
		}
	}
	over := analytics.CurveRequest{Outcome: "tangles", Over: "tag-length"}
	c, err := analytics.Curve(ctx, s, over)
	if err != nil {
		t.Fatal(err)
	}
	if err := c.FindChanged(ctx, s, over); err != nil || c.Changed != nil {
		t.Errorf("the length never changed, but %+v (%v)", c.Changed, err)
	}
}
