package charts

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"rigtally/analytics/answer"
	"rigtally/analytics/bench"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/prose"
)

type invented struct{ demo.Season }

func (s invented) BenchPulls(context.Context) ([]journal.BenchPull, error) { return s.Pulls, nil }
func (s invented) Anglers(context.Context) ([]journal.Angler, error)       { return s.Season.Anglers, nil }

// sameMeans holds the chart of an answer of the bench against its table, its CSV and its JSON: all
// tell the same mean with the same interval.
func sameMeans(t *testing.T, a bench.Answer, dots Chart) {
	t.Helper()
	table := prose.BenchTable(a, units.US)
	var text strings.Builder
	if err := table.WriteCSV(&text); err != nil {
		t.Fatal(err)
	}
	lines, err := csv.NewReader(strings.NewReader(text.String())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var written struct {
		Groups []struct {
			Mean float64  `json:"mean"`
			Low  *float64 `json:"mean_low"`
			High *float64 `json:"mean_high"`
		}
	}
	whole, err := json.Marshal(a)
	if err != nil || json.Unmarshal(whole, &written) != nil {
		t.Fatal(err)
	}
	layers := dots.Fields[0].Layers
	scale := onBench{a, units.US}
	for i, m := range layers[len(layers)-2].Marks {
		g := written.Groups[i]
		if m.X != scale.scale(g.Mean) || dots.Fields[0].Y.Rows[i].Value != table.Cell(i, "mean").Text || prose.Strength(g.Mean, a.Relative, units.US) != table.Cell(i, "mean").Text {
			t.Errorf("%s: drawn at %g (%s), in the table %s, in JSON %g", m.Name, m.X, dots.Fields[0].Y.Rows[i].Value, table.Cell(i, "mean").Text, g.Mean)
		}
		if (m.Across == nil) != (g.Low == nil) || m.Across != nil && (m.Across.Low != scale.scale(*g.Low) || m.Across.High != scale.scale(*g.High)) {
			t.Errorf("%s: the interval is drawn as %v, in JSON %v to %v", m.Name, m.Across, g.Low, g.High)
		}
		for key, v := range map[string]*float64{"mean": &g.Mean, "mean_low": g.Low, "mean_high": g.High} {
			if got := lines[i+1][slices.Index(lines[0], key)]; got != answer.Decimal(v) {
				t.Errorf("%s: %s is %s in CSV, %s in JSON", m.Name, key, got, answer.Decimal(v))
			}
		}
	}
}

// Every pull is a dot, every group a mean, and every line has a field of its own.
func TestBenchCharts(t *testing.T) {
	t.Parallel()
	season := invented{demo.Generate(demo.Seed, 1)}
	for _, by := range [][]string{{"junction", "facing"}, {"tippet"}, {"angler"}, nil} {
		a, err := bench.Compare(t.Context(), season, bench.Request{By: by, Units: units.US})
		if err != nil {
			t.Fatal(err)
		}
		dots, lines := Dots(a, units.US, nil), WeibullLines(a, units.US)
		pulls := 0
		for _, g := range a.Groups {
			pulls += len(g.Points)
		}
		sameMeans(t, a, dots)
		for _, c := range []Chart{dots, lines} {
			valid(t, strings.Join(by, " by "), c)
		}
		layers := dots.Fields[0].Layers
		if n := len(layers); len(layers[n-1].Marks) != pulls || len(layers[n-2].Marks) != len(a.Groups) {
			t.Errorf("by %v: %d dots for %d pulls, %d means in %d groups", by, len(layers[n-1].Marks), pulls, len(layers[n-2].Marks), len(a.Groups))
		}
		if drawn := min(len(a.Groups), mostLines); lines.Drawn != drawn || len(lines.Fields) != drawn+1 {
			t.Errorf("by %v: %d lines in %d fields for %d groups, want each in its own, above the axis", by, lines.Drawn, len(lines.Fields), len(a.Groups))
		}
	}
}
