package season

import (
	"encoding/json"
	"strings"
	"testing"

	"rigtally/analytics/fixture"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// What nobody counted in a season is null, blank or left out, and never 0; what was counted in a
// part of it is told with that part.
func TestSeasonWithoutCounts(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	tangle := journal.Event{Kind: journal.EventTangle}
	fixture.Fish(t, s, fixture.Outings{Junction: "blood", Minutes: []int{90, 60}, Events: fixture.One(1, journal.Event{Kind: journal.EventHookup, Hooking: journal.Fair, Ending: journal.Landed})}, fixture.Outings{Junction: "uni", Minutes: []int{60}, Events: fixture.One(1, tangle)})
	angler, err := s.AnglerByName(t.Context(), "Ilse")
	if err != nil {
		t.Fatal(err)
	}
	day := journal.Date{Year: 2026, Month: 5, Day: 1}
	if _, err := s.MarkRecorded(t.Context(), journal.RecordedMark{Angler: angler.ID, From: day, To: day, Not: []journal.Kind{journal.KindHookups, journal.KindLanded}}); err != nil {
		t.Fatal(err)
	}
	fixture.Fish(t, s, fixture.Outings{Junction: "tippet ring", Minutes: []int{30}, Events: fixture.One(0, tangle)}) // of which nothing is said
	a := reviewOf(t, s, "", 0)
	for name, got := range map[string][2]journal.Total{
		"hookups": {a.Totals.Hookups, {N: 1, Kept: 1, Stints: 4}}, "landed": {a.Totals.Landed, {N: 1, Kept: 1, Stints: 4}}, "tangles": {a.Totals.Tangles, {N: 1, Kept: 4, Stints: 4}},
		"of the month": {a.Months.List[0].Hookups, {N: 1, Kept: 1, Stints: 4}},
	} {
		if got[0] != got[1] {
			t.Errorf("%s: %+v, want %+v", name, got[0], got[1])
		}
	}
	if a.Quality.Assumed != 1 || a.Quality.Missing[journal.KindHookups] != 3 || a.Quality.Missing[journal.KindTangles] != 0 {
		t.Errorf("%+v", a.Quality)
	}
	for _, r := range a.Rigs.List {
		if want := map[bool]int{true: 1, false: 0}[strings.Contains(r.Name, "ring")]; r.Hookups.Kept != want {
			t.Errorf("%s: %+v", r.Name, r.Hookups)
		}
	}

	all, err := s.SessionByID(t.Context(), lastOf(t, s))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.DeleteSession(t.Context(), all.ID, all.Version); err != nil { // the only one with a count of fish
		t.Fatal(err)
	}
	a = reviewOf(t, s, "", 0)
	for _, d := range a.Days { // missing is not zero
		if d.Landed.Whole() || !d.Tangles.Whole() {
			t.Errorf("of %s: %+v", d.Date, d)
		}
	}
	raw, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	var told struct {
		Totals   map[string]any
		Outcomes []struct {
			Outcome string
			Events  *float64
			Kept    int `json:"stints_recorded"`
		}
	}
	if err := json.Unmarshal(raw, &told); err != nil {
		t.Fatal(err)
	}
	if told.Totals["hookups"] != 1.0 || told.Totals["tangles"] != 1.0 { // 1 at least: it was noted
		t.Errorf("%v", told.Totals)
	}
	for _, o := range told.Outcomes {
		if blank := o.Outcome == "hookups" || o.Outcome == "landed" || o.Outcome == "foul-hook" || o.Outcome == "loss" || o.Outcome == "break-off" || o.Outcome == "junction-break"; blank != (o.Events == nil) || blank != (o.Kept == 0) {
			t.Errorf("%+v", o)
		}
	}
}

// lastOf is the session of the last outing that fish stored.
func lastOf(t *testing.T, s *pg.Store) journal.ID {
	t.Helper()
	last, err := s.LastSession(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return last.ID
}
