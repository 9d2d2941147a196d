package charts_test

import (
	"context"
	"encoding/json"
	"strings"
	"testing"

	"rigtally/analytics/bench"
	"rigtally/charts"
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
		dots, lines := charts.Dots(a, units.US, nil), charts.WeibullLines(a, units.US)
		pulls := 0
		for _, g := range a.Groups {
			pulls += len(g.Points)
		}
		for _, c := range []charts.Chart{dots, lines} {
			text, err := json.Marshal(c)
			if err != nil || strings.Contains(string(text), `"data":null`) {
				t.Errorf("by %v: %v, %.200s", by, err, text)
			}
		}
		for _, s := range dots.Option.Series {
			marks := s.Data.([]charts.Mark)
			if s.Id == charts.ShapePull && len(marks) != pulls || s.Id == charts.ShapeMean && len(marks) != len(a.Groups) {
				t.Errorf("by %v: %d marks of %s for %d pulls in %d groups", by, len(marks), s.Id, pulls, len(a.Groups))
			}
		}
		if lines.Drawn != len(a.Groups) || lines.Tenths != (len(a.Groups) <= 3) {
			t.Errorf("by %v: %d lines for %d groups", by, lines.Drawn, len(a.Groups))
		}
	}
}
