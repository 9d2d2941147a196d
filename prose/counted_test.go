package prose_test

import (
	"strings"
	"testing"

	"rigtally/analytics/quality"
	"rigtally/journal"
	"rigtally/prose"
)

// month is one of an angler, with stints of which nothing was said and others of which each kind was counted.
func month(angler string, m, assumed int, said ...journal.Recorded) quality.CountedMonth {
	c := quality.CountedMonth{Angler: angler, Year: 2026, Month: m, Stints: assumed + len(said), Assumed: assumed, Kept: make([]int, len(journal.Kinds()))}
	for _, r := range said {
		for _, k := range r.Kinds() {
			c.Kept[k]++
		}
	}
	return c
}

// Months that follow on each other and are alike stand in one row.
func TestRowsOfWhatWasCounted(t *testing.T) {
	t.Parallel()
	all, only := journal.AllRecorded(), journal.RecordedOf(journal.KindHookups)
	rows := prose.CountedRows(quality.Counted{Months: []quality.CountedMonth{
		month("Ilse", 3, 4), month("Ilse", 4, 3), month("Ilse", 5, 0, all), month("Ilse", 6, 0, all.Without(journal.KindSnags, journal.KindTangles)),
		month("Maud", 6, 0, only), month("Maud", 7, 1, only, all), month("Maud", 8, 0, all.Without(journal.KindSnags), all.Without(journal.KindSnags), only), month("Maud", 9, 0, journal.RecordedOf()),
	}})
	want := []prose.CountedRow{
		{"Ilse", "2026-03 to 2026-04", 7, 7, "everything"},
		{"Ilse", "2026-05", 1, 0, "everything"},
		{"Ilse", "2026-06", 1, 0, "everything but snags and tangles"},
		{"Maud", "2026-06", 1, 0, "hookups only"},
		{"Maud", "2026-07", 3, 1, "hookups 100%; all else 67%"},
		{"Maud", "2026-08", 3, 0, "hookups 100%; snags none; all else 67%"},
		{"Maud", "2026-09", 1, 0, "nothing"},
	}
	if len(rows) != len(want) {
		t.Fatalf("%+v", rows)
	}
	for i := range want {
		if rows[i] != want[i] {
			t.Errorf("%+v, want %+v", rows[i], want[i])
		}
	}
}

func TestRunsOfWhichNoCountWasKept(t *testing.T) {
	t.Parallel()
	first, last := journal.Date{Year: 2025, Month: 4, Day: 1}, journal.Date{Year: 2025, Month: 6, Day: 30}
	run := quality.UncountedRun{Angler: "J. Felt", Kind: journal.KindTangles, First: first, Last: last, Stints: 23, Hours: 41, Expected: 31.4}
	if got, want := prose.RunSays(run), "J. Felt, 2025-04-01 to 2025-06-30: no tangle in 23 stints (41 h), where about 31 would be expected"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := prose.MarkCommand(run), `rigtally recorded mark --angler "J. Felt" --from 2025-04-01 --to 2025-06-30 --not tangles`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	run = quality.UncountedRun{Angler: `J. "Jo" O'Felt`, Kind: journal.KindMinutesLost, First: first, Last: first, Stints: 1, Hours: 1, Expected: 6.04, ByDay: true}
	if got, want := prose.RunSays(run), `J. "Jo" O'Felt, 2025-04-01: no tangle with its minutes lost in 1 stint (1 h), where about 6 days with one would be expected`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := prose.MarkCommand(run); !strings.Contains(got, `--angler 'J. "Jo" O'\''Felt' `) {
		t.Error(got)
	}
}

func TestWhatAMarkSays(t *testing.T) {
	t.Parallel()
	mark := journal.RecordedMark{From: journal.Date{Year: 2025, Month: 4, Day: 1}, To: journal.Date{Year: 2025, Month: 6, Day: 30}, Not: []journal.Kind{journal.KindTangles}}
	got := strings.Join(prose.MarkPreview("J. Felt", mark, journal.Marked{Sessions: 2, Stints: 3, Hours: 4.5, Changed: 2, Assumed: 1, Noted: map[journal.Kind]int{journal.KindTangles: 1}, Also: []journal.Kind{journal.KindSnags, journal.KindTurns}}), "\n")
	want := "J. Felt, 2025-04-01 to 2025-06-30: 3 stints in 2 sessions (4.5 h).\n" +
		"Not counted: tangles. Rates that need it leave these stints out.\n" +
		"1 stint is marked so already.\n" +
		"Tangles noted all the same: 1. That stays in the journal, as part of what happened.\n" +
		"Nobody had said what was counted in 1 stint. From now on they say that everything else was.\n" +
		"These stints also have no snag, no check of the tag. If that was not counted either, name it too."
	if got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	for want, m := range map[string]journal.Marked{"--assumed --yes": {Stints: 2, Changed: 2, Assumed: 2}, "--kept tangles --yes": {Stints: 2, Changed: 2, Assumed: 1}} {
		if got := prose.MarkUndo("J. Felt", mark, m); !strings.HasSuffix(got, want) {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
