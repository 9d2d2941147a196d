package prose_test

import (
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

func TestTotals(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		n, kept, stints int
		words, cell     string
	}{
		{0, 2, 2, "no tangle", "0"},
		{1, 2, 2, "1 tangle", "1"},
		{3, 1, 2, "at least 3 tangles", "at least 3"},
		{0, 1, 2, "no tangle where recorded", "0 where recorded"},
		{0, 0, 2, "tangles not recorded", "not recorded"},
		{1, 0, 2, "at least 1 tangle", "at least 1"},
		{0, 0, 0, "no tangle", "0"},
	} {
		total := journal.Total{N: tt.n, Kept: tt.kept, Stints: tt.stints}
		if words, cell := prose.Total(total, "tangle", "tangles"), prose.TotalCell(total); words != tt.words || cell != tt.cell {
			t.Errorf("%+v: %q, %q", total, words, cell)
		}
	}
}

func TestWhatWasCaught(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		hookups, landed journal.Total
		want            string
	}{
		{journal.Total{N: 3, Kept: 1, Stints: 1}, journal.Total{N: 2, Kept: 1, Stints: 1}, "3 hookups, 2 landed"},
		{journal.Total{N: 3, Kept: 1, Stints: 1}, journal.Total{Stints: 1}, "3 hookups, landed not recorded"},
		{journal.Total{Stints: 1}, journal.Total{N: 2, Kept: 1, Stints: 1}, "hookups not recorded, 2 landed"},
		{journal.Total{Kept: 1, Stints: 1}, journal.Total{Kept: 1, Stints: 1}, "no hookup"},
	} {
		if got := prose.Caught(tt.hookups, tt.landed); got != tt.want {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}
}

func TestNoCount(t *testing.T) {
	t.Parallel()
	for want, r := range map[string]journal.Recorded{
		"":                              journal.AllRecorded(),
		"snags and tangles not counted": journal.AllRecorded().Without(journal.KindSnags, journal.KindTangles),
		"only hookups counted":          journal.RecordedOf(journal.KindHookups),
		"nothing counted":               journal.RecordedOf(),
	} {
		if got := prose.NoCount(r); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if got := prose.NoCount(journal.Recorded(0)); got != "" {
		t.Errorf("what is assumed: %q", got)
	}
}

// Where no stint could be used for want of a count, the answer says that and no zero.
func TestAnAnswerWithoutCounts(t *testing.T) {
	t.Parallel()
	a := analytics.RateAnswer{Outcome: journal.Outcomes()[0], LeftOut: map[string]int{"stints with no count kept of tangles": 1}, Reference: -1}
	if got := prose.Sentence(a, units.US); got != "Not recorded: nobody counted it, so there is nothing to say." {
		t.Error(got)
	}
	if got := prose.LeftOut(a.LeftOut); len(got) != 1 || got[0] != "1 stint that did not count tangles" {
		t.Errorf("%q", got)
	}
	a.LeftOut["stints with no minutes noted"] = 2
	if got := prose.Sentence(a, units.US); !strings.Contains(got, "has nothing on this question") {
		t.Error(got)
	}
}
