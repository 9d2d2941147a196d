package prose_test

import (
	"strings"
	"testing"
	"time"

	"rigtally/analytics/quality"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

func ptr[T any](v T) *T { return &v }

func TestRemarks(t *testing.T) {
	t.Parallel()
	day := journal.Date{Year: 2026, Month: time.May, Day: 1}
	heaped := func(m quality.HeapMeasure, u units.Unit, grid, share, p float64) quality.Heaping {
		return quality.Heaping{Measure: m, Unit: u, Values: 200, Grid: grid, Share: share, Expected: 0.1, P: &p, Heaped: p < 0.01}
	}
	for _, tt := range []struct {
		report quality.Report
		want   string
	}{
		{quality.Report{Quality: journal.Quality{Sessions: 9}}, "Every session was logged within a week of its day."},
		{quality.Report{Quality: journal.Quality{Sessions: 9, Late: journal.SessionList{Count: 4}, Imported: 4}}, "4 of 9 sessions were logged more than a week late, 4 of them together with others, as an import does"},
		{quality.Report{Quality: journal.Quality{Sessions: 9}, Heaping: []quality.Heaping{heaped(quality.HeapTags, units.Millimetre, 10, 1, 1e-9)}},
			"100% of 200 tag lengths measured in millimetres lie on multiples of 10 mm, where 10% would be there if every last digit were as likely as any other (p under 0.001): they were rounded, so smaller differences can't be seen. Measure to the nearest 5 mm."},
		{quality.Report{Quality: journal.Quality{Sessions: 9}, Heaping: []quality.Heaping{heaped(quality.HeapTags, units.Inch, 0.25, 0.7, 1e-9)}}, "many were rounded, but finely enough to compare lengths."},
		{quality.Report{Quality: journal.Quality{Sessions: 9}, Heaping: []quality.Heaping{heaped(quality.HeapMinutes, units.Minute, 15, 1, 1e-9)}}, "times fished lie on quarter hours"},
		{quality.Report{Quality: journal.Quality{Sessions: 9}, Heaping: []quality.Heaping{heaped(quality.HeapMinutes, units.Minute, 5, 0.2, 0.6)}}, "(p 0.600): no sign of rounding."},
		{quality.Report{Quality: journal.Quality{Sessions: 9}, Heaping: []quality.Heaping{{Measure: quality.HeapTags, Unit: units.Inch, Values: 3}}}, "Too few different tag lengths measured in inches (3 written down)"},
		{quality.Report{Quality: journal.Quality{Sessions: 9, UntimedStints: 2, Untimed: journal.SessionList{Count: 1, First: []journal.SessionRef{{Day: day, Angler: "Ilse"}}}}}, "2 stints have no minutes noted and can't count in any rate per hour: Ilse on 2026-05-01."},
		{quality.Report{Quality: journal.Quality{Sessions: 9, Untagged: []journal.UntaggedRig{{Title: "Long one", Stints: 1}}}}, "1 rig has a tag whose length was not noted: Long one (1 stint)."},
		{quality.Report{Quality: journal.Quality{Sessions: 9}, Quiet: quality.Quiet{QuietCount: quality.QuietCount{Sessions: 9}}}, "Too few sessions with all minutes noted and every bad event counted (9)"},
		{quality.Report{Quality: journal.Quality{Sessions: 90}, Quiet: quality.Quiet{Enough: true, Suspect: true,
			QuietCount: quality.QuietCount{Sessions: 90, Without: 30, Expected: ptr(18.2), P: ptr(0.004)},
			Anglers:    []quality.QuietCount{{Angler: "Ilse", Without: 20, Expected: ptr(9.0), Q: ptr(0.01)}, {Angler: "Maud", Without: 10, Expected: ptr(9.2), Q: ptr(0.4)}}}},
			"In 30 of 90 sessions there was no tangle, foul hookup, lost fish or break-off; 18.2 would be expected from how sessions differ (p 0.004). Some bad events may not have been written down, most of all by Ilse (20, expected 9.00)."},
	} {
		if got := strings.Join(prose.Remarks(tt.report), "\n"); !strings.Contains(got, tt.want) {
			t.Errorf("%q is not in\n%s", tt.want, got)
		}
	}
}

func TestCheckText(t *testing.T) {
	t.Parallel()
	day := journal.Date{Year: 2026, Month: time.May, Day: 1}
	r := quality.Report{Quality: journal.Quality{Sessions: 3}, Recount: journal.Recount{Stints: 8, Wrong: 2, Differences: 30, Uncounted: 1}}
	for i := range 25 {
		r.Recount.First = append(r.Recount.First, journal.Difference{Day: day, Stint: i + 1, Position: ptr(1), Column: "minutes", Counted: ptr(90.0)})
	}
	r.Impossible.Count = 1
	r.Impossible.First = []journal.Impossible{{Day: day, Problem: "the session ends before it starts; correct one of the times"}}
	var b strings.Builder
	if err := prose.CheckText(&b, r, 0); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"2 of 8 stints have stored counts that do not match their events (30 differences), so answers may be wrong. Run \"rigtally check --repair\"",
		"The events of 1 stint contradict each other", "dropper 1  minutes    none", "… and 10 more", "1 thing can't be right.", "the session ends before it starts",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("%q is not in\n%s", want, b.String())
		}
	}
}
