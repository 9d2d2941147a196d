package prose_test

import (
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/change"
	"rigtally/analytics/quality"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

func TestChanged(t *testing.T) {
	t.Parallel()
	f := change.Finding{Outcome: "tangles", Factor: "tag-length", ByMinutes: true, Changes: 44, AfterEvent: 31, Ratio: ptr(6.04), Low: ptr(3.02), High: ptr(11.4),
		With: change.Share{Stints: 70, Changed: 40}, Without: change.Share{Stints: 94, Changed: 4}}
	with := func(set func(*change.Finding)) change.Finding { g := f; set(&g); return g }
	for _, c := range []struct {
		of   change.Finding
		want string
	}{
		{f, "In 31 of 44 changes of the tag length, a tangle came in the ten minutes before: it was changed 6 times as often then as at other times (95% interval 3 to 11)."},
		{with(func(f *change.Finding) { f.High = nil }), "it was changed 6 times as often then as at other times (95% interval from 3 up)."},
		{with(func(f *change.Finding) {
			f.AfterEvent, f.Ratio, f.High, f.Expected, f.Factor, f.Outcome = 44, nil, nil, ptr(6.7), "junction", "loss"
		}),
			"In all 44 changes of the junction, a lost fish came in the ten minutes before, where about 7 of them would lie if they had nothing to do with it: it was changed at least 3 times as often then as at other times (95% interval)."},
		{with(func(f *change.Finding) { f.Ratio, f.High, f.Low = nil, nil, ptr(758.0) }), "it was changed at least 20 times as often"},
		{with(func(f *change.Finding) { f.ByMinutes, f.Outcome, f.Low = false, "foul-hook", ptr(1.54) }),
			"40 of 70 stints with a foul hookup were followed by a change of the tag length, and 4 of 94 without: for their time, the stints that ended in a change had 6 times as many foul hookups as the others (95% interval 1.54 to 11)."},
		{with(func(f *change.Finding) { f.Outcome = "downtime" }), "a tangle came"},
		{with(func(f *change.Finding) { f.Outcome = "junction-break" }), "a junction break came"},
		{change.Finding{Outcome: "tangles", Factor: "water"}, ""},
	} {
		if got := prose.Changed(c.of); !strings.Contains(got, c.want) || c.want == "" && got != "" {
			t.Errorf("%q is not in %q", c.want, got)
		}
	}
	tangles, _ := journal.OutcomeByKey("tangles")
	for _, said := range []prose.Said{prose.SayRates(analytics.RateAnswer{Outcome: tangles, Changed: &f}, units.Metric), prose.SayCurve(analytics.CurveAnswer{Outcome: tangles, Changed: &f}, units.Metric)} {
		if len(said.More) != 1 || !strings.HasPrefix(said.More[0], "In 31 of 44 changes") || !strings.HasSuffix(said.More[0], prose.LikeForLike) {
			t.Errorf("an answer says %q", said.More)
		}
	}
	if said := prose.SayRates(analytics.RateAnswer{Outcome: tangles}, units.Metric); len(said.More) > 0 {
		t.Errorf("an answer says %q without a finding", said.More)
	}
	var b strings.Builder
	if err := prose.CheckText(&b, quality.Report{Quality: journal.Quality{Sessions: 3}, Recount: journal.Recount{Stints: 8}, Changed: []change.Finding{f}}); err != nil {
		t.Fatal(err)
	}
	if want := "\n" + prose.ChangedTitle + ":\n- " + prose.Changed(f) + "\n" + prose.LikeForLike + "\n"; !strings.Contains(b.String(), want) {
		t.Errorf("%q is not in\n%s", want, b.String())
	}
}
