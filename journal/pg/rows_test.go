package pg_test

import (
	"context"
	"math"
	"testing"

	"rigtally/journal"
	"rigtally/journal/facts"
	"rigtally/journal/journaltest"
)

func rowsOf(t *testing.T, b bench, outcome string, given []string, keys ...string) *facts.Rows {
	t.Helper()
	o, err := journal.OutcomeByKey(outcome)
	if err != nil {
		t.Fatal(err)
	}
	q := journal.Question{Outcome: o}
	for _, key := range keys {
		q.By = append(q.By, by(t, key))
	}
	for _, key := range given {
		q.Given = append(q.Given, factor(t, key))
	}
	r, err := b.store.Rows(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A tag cut after 60 of 90 minutes gives a row for each length, but is one stint.
func TestRowsBySpell(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(90.0), journaltest.Tangles(3), cut(20, new(60))))
	b.store1(t, b.session(t, journaltest.May1, nil, journaltest.Tangles(1)))
	r := rowsOf(t, b, "tangles", []string{"tag-length", "angler", "flow"}, "junction")
	if len(r.Cell) != 2 || len(r.Groups) != 1 || r.Groups[0].Stints != 1 || r.Sessions != 1 || r.LeftOut["stints with no minutes noted"] != 1 {
		t.Fatalf("%+v", r)
	}
	hours := map[float64]float64{}
	for row, cell := range r.Cell {
		tag := r.Given[0].Levels[r.Given[0].Of[cell]].Number
		hours[tag] += r.Exposure[row]
		if angler := r.Given[1].Levels[r.Given[1].Of[cell]].Word; angler != "Ilse" {
			t.Errorf("angler %q", angler)
		}
	}
	if math.Abs(hours[165.1]-1) > 1e-12 || math.Abs(hours[145.1]-0.5) > 1e-12 {
		t.Errorf("hours by length %v, want 1 at 165.1 and half at 145.1", hours)
	}
	if g := r.Groups[0]; math.Abs(g.K-3) > 1e-12 || math.Abs(g.T-1.5) > 1e-12 || g.Sessions != 1 {
		t.Errorf("sums %+v", g)
	}
}

// A row without a given factor is left out, with the reason, from everything.
func TestRowsNeedEveryGiven(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(1)))
	r := rowsOf(t, b, "tangles", []string{"bulk", "swivel"}, "junction")
	if len(r.Groups) != 0 || len(r.Cell) != 0 || r.Sessions != 0 || r.LeftOut["stints with no swivel noted"] != 1 {
		t.Errorf("%+v", r)
	}
}
