package charts

import (
	"context"
	"strings"
	"testing"

	"rigtally/analytics/bench"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
)

type invented struct{ demo.Season }

func (s invented) BenchPulls(context.Context) ([]journal.BenchPull, error) { return s.Pulls, nil }
func (s invented) Anglers(context.Context) ([]journal.Angler, error)       { return s.Season.Anglers, nil }

// Every pull is a dot, every group a mean, and nothing that JSON can't hold gets in.
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
		for _, c := range []Chart{dots, lines} {
			valid(t, strings.Join(by, " by "), c)
		}
		layers := dots.Fields[0].Layers
		if n := len(layers); len(layers[n-1].Marks) != pulls || len(layers[n-2].Marks) != len(a.Groups) {
			t.Errorf("by %v: %d dots for %d pulls, %d means in %d groups", by, len(layers[n-1].Marks), pulls, len(layers[n-2].Marks), len(a.Groups))
		}
		if lines.Drawn != len(a.Groups) || lines.Tenths != (len(a.Groups) <= 3) {
			t.Errorf("by %v: %d lines for %d groups", by, lines.Drawn, len(a.Groups))
		}
	}
}
