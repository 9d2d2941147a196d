package prose_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"rigtally/analytics"
	"rigtally/analytics/caution"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/prose"
)

// The gauge and its numbers are invented.
var inventedSite = gauge.Site{Provider: "usgs", Number: "01234567"}

func TestFillsInWords(t *testing.T) {
	t.Parallel()
	denver, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 5, 3, 16, 15, 0, 0, time.UTC) // 10:15 in Denver
	cfs := 0.028316846592
	for _, c := range []struct {
		fill gauge.Fill
		sys  units.System
		want string
	}{
		{gauge.Fill{Quantity: gauge.Flow, Value: 850 * cfs, At: at, Flags: gauge.Provisional, Percentile: new(72.2), Years: 34, Change6H: new(0.12), Change24H: new(-0.03)}, units.US,
			"Flow 850 cfs at 10:15, usgs:01234567, provisional; higher than on this day in 72% of 34 years; up 12% in 6 hours; steady over 24 hours (down 3%)."},
		{gauge.Fill{Quantity: gauge.Flow, Value: 24.07, At: at, Between: true, Flags: gauge.Estimated | gauge.Provisional, Change6H: new(1.5), Change24H: new(-0.5)}, units.Metric,
			"Flow 24.07 m³/s at 10:15, between two readings, usgs:01234567, estimated, provisional; 2.5 times what it was 6 hours before; down 50% in 24 hours."},
		{gauge.Fill{Quantity: gauge.Flow, Value: 24, At: at, Change6H: new(1.02)}, units.Metric, "Flow 24 m³/s at 10:15, usgs:01234567; twice what it was 6 hours before."},
		{gauge.Fill{Quantity: gauge.Temperature, Value: 12, At: at, Peak: new(170.0 / 9)}, units.US,
			"Water temperature 53.6 °F at 10:15, usgs:01234567; peaked at 66 °F that day."},
		{gauge.Fill{Quantity: gauge.Temperature, Value: 0.1, At: at, WholeDay: true, Sensor: "upper", Flags: gauge.Ice}, units.Metric,
			"Water temperature 0.1 °C, the day’s mean, usgs:01234567, sensor upper, ice."},
		{gauge.Fill{Quantity: gauge.Stage, Value: 0.6096, At: at, Change6H: new(0.1524), Change24H: new(0.0)}, units.US,
			"Stage 2 ft at 10:15, usgs:01234567; up 0.5 ft in 6 hours; steady over 24 hours."},
	} {
		c.fill.Site = inventedSite
		if got := prose.FillSentence(c.fill, denver, c.sys); got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
	// The percentile goes no further than the lowest and the highest year: 1/35 and 34/35 of 34 years.
	for percent, want := range map[float64]string{2.86: "as low as on this day in any of 34 years, or lower", 97.14: "as high as on this day in any of 34 years, or higher",
		5: "higher than on this day in 5% of 34 years"} {
		if got := prose.ForTheSeason(percent, 34); got != want {
			t.Errorf("%g: %q, want %q", percent, got, want)
		}
	}
}

// A question by what no session took of a gauge says so, with what to do, at a terminal as commands.
func TestWhatNoGaugeTold(t *testing.T) {
	t.Parallel()
	for key, want := range map[string]string{
		"flow-percentile":  "No session has a reading of a gauge that tells the usual flow of the day. What is usual takes daily means of 10 years.",
		"temperature-peak": "No session has a reading of a gauge that tells the warmest water of the day.",
		"trend-6h":         "No session has a reading of a gauge that tells whether the water rose or fell.",
		"trend-24h":        "No session has a reading of a gauge that tells whether the water rose or fell.",
		"flow":             "The journal has nothing on this question yet. Log or import some fishing first, or use fewer filters.",
	} {
		a := answer(t, "tangles")
		a.By, a.LeftOut = []journal.By{{Factor: factor(t, key)}}, map[string]int{factor(t, key).Missing: 3}
		said := prose.SayRates(a, units.US)
		if said.Sentence != want {
			t.Errorf("%s: %q, want %q", key, said.Sentence, want)
		}
		if gauged := key != "flow"; strings.Contains(said.Text(80), "\n  rigtally gauges link WATER SITE\n  rigtally gauges fill\n") != gauged || (said.Remedy != "") != gauged {
			t.Errorf("%s says\n%s", key, said.Text(80))
		}
		c := analytics.CurveAnswer{Outcome: a.Outcome, Over: factor(t, key), LeftOut: a.LeftOut}
		if got := prose.SayCurve(c, units.US); got.Sentence != want || got.Remedy != said.Remedy {
			t.Errorf("a curve over %s: %q, %q", key, got.Sentence, got.Remedy)
		}
	}
	a := answer(t, "tangles", named("rising", analytics.Group{Events: 2, Rate: 0.1}))
	a.LeftOut = map[string]int{factor(t, "trend-6h").Missing: 3}
	if got := prose.SayRates(a, units.US); got.Remedy != "" {
		t.Errorf("an answer that has something: %q", got.Remedy)
	}
}

func TestLatestReadingsInWords(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 5, 3, 18, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		at    time.Time
		value float64
		flags gauge.Flags
		want  string
	}{
		{now.Add(-time.Hour), 10, gauge.Provisional, "10 m³/s at 17:00, provisional"},
		{now.Add(-24 * time.Hour), 10, 0, "10 m³/s on 2 May at 18:00"},
		{now.AddDate(-1, 0, 0), math.NaN(), gauge.Ice, "no value on 3 May 2025 at 18:00, ice"},
	} {
		if got := prose.GaugeReading(gauge.Flow, gauge.Reading{At: c.at, Value: c.value, Flags: c.flags}, now, time.UTC, units.Metric); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// What a session took stands in one line, and nothing of none.
func TestTookInWords(t *testing.T) {
	t.Parallel()
	fills := []gauge.Fill{{Quantity: gauge.Flow, Value: 24.07}, {Quantity: gauge.Temperature, Value: 12.2}}
	if got, want := prose.Took(fills, units.US), "From the gauge: flow 850 cfs, water temperature 54 °F."; got != want || prose.Took(nil, units.US) != "" {
		t.Errorf("got %q, want %q", got, want)
	}
}

// A caution of a gauge says which, when and that it is provisional, that nobody stands there, and who decides; it never says
// that anything is safe.
func TestCautionsOfGauges(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 5, 3, 16, 15, 0, 0, time.UTC)
	fills := []gauge.Fill{
		{Quantity: gauge.Flow, Site: inventedSite, Value: 40, At: at, Flags: gauge.Provisional, Percentile: new(93.0), Years: 20, Change6H: new(0.6)},
		{Quantity: gauge.Temperature, Site: inventedSite, Value: 15, At: at, Flags: gauge.Provisional, Peak: new(20.0)},
	}
	want := []struct{ title, from string }{
		{"Up 60% in 6 hours: water rising fast", "By the reading of 16:15 at the gauge usgs:01234567, provisional. A gauge is not where you stand."},
		{"Higher than on this day in 93% of 20 years: high water to wade in", "By the reading of 16:15 at the gauge usgs:01234567, provisional. A gauge is not where you stand."},
		{"Water up to 20 °C in the day: agencies ask to stop", "By the warmest reading of the day at the gauge usgs:01234567, provisional. A gauge is not where you stand."},
	}
	list := caution.Of(journal.Session{}, fills)
	if len(list) != len(want) {
		t.Fatalf("%+v", list)
	}
	for i, c := range list {
		title, from, text := prose.CautionTitle(c, units.Metric), prose.CautionFrom(c, time.UTC), prose.CautionText(c.Kind, c.Level, units.Metric)
		if title != want[i].title || from != want[i].from {
			t.Errorf("%q, %q", title, from)
		}
		if all := title + from + text; strings.Contains(all, "safe") || !strings.Contains(text, "decide") {
			t.Errorf("%s: %s", title, text)
		}
		if prose.CautionSource(c.Kind) == "" || prose.CautionHeading(c.Kind, c.Level) == "" {
			t.Errorf("%s has no source or heading", c.Kind)
		}
	}
}
