package prose_test

import (
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

func TestBestNamesTheLowestThatWasTriedAndWhetherItIsSettled(t *testing.T) {
	t.Parallel()
	group := func(name string, hours, events float64, v *analytics.Comparison) analytics.Group {
		var c *analytics.Corrected
		if v != nil && v.Verdict != "" {
			c = corrected(2*events/hours, 0.1, 0.9)
		}
		return analytics.Group{Corrected: c, Level: []journal.Level{{Word: name}}, Hours: hours, Exposure: hours, Events: events, Rate: events / hours, Low: 0.1, High: 0.9, HasInterval: true, Versus: v}
	}
	judged := func(v stat.Verdict) *analytics.Comparison {
		return &analytics.Comparison{Verdict: v, MoreHours: new(122.4)}
	}
	answer := func(v stat.Verdict) analytics.RateAnswer {
		return analytics.RateAnswer{
			Outcome: outcome(t, "tangles"), By: []journal.By{{Factor: factor(t, "junction")}},
			// blood is lower still, in hardly any time
			Groups: []analytics.Group{group("figure-eight", 200, 100, nil), group("uni", 100, 40, judged(v)), group("blood", 5, 0, judged(stat.CannotTell))},
			Total:  analytics.Group{Hours: 305, Exposure: 305, Events: 140},
		}
	}
	for v, want := range map[stat.Verdict]string{
		stat.CannotTell:      "Can't tell it from figure-eight yet; about 123 h more would tell",
		stat.Leans:           "only leans that way; about 123 h",
		stat.Differs:         "settled that it differs from figure-eight",
		stat.SameForPractice: "No difference that matters from figure-eight",
	} {
		got := prose.Best(answer(v), units.Metric)
		if !strings.HasPrefix(got, "Least so far with uni: one tangle in 2 h 30 min, in 100 hours.") || !strings.Contains(got, want) || !strings.HasSuffix(got, "The best of 2 is partly luck.") {
			t.Errorf("%v: %s", v, got)
		}
	}
	a := answer(stat.CannotTell)
	a.Outcome = outcome(t, "landed")
	if got := prose.Best(a, units.Metric); !strings.HasPrefix(got, "Most so far with figure-eight: one fish landed in 2 h, in 200 hours.") || !strings.Contains(got, "The others are compared with it") {
		t.Error(got)
	}
	// What can't be compared like for like is not named, however few tangles it had.
	a = answer("")
	if got := prose.Best(a, units.Metric); got != "" {
		t.Errorf("named without a comparison: %s", got)
	}
	a.Groups = a.Groups[:1]
	if got := prose.Best(a, units.Metric); got != "" {
		t.Errorf("of one group: %s", got)
	}
}
