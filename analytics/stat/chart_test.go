package stat

import (
	"rigtally/analytics/stat/published"

	"math"
	"slices"
	"testing"
)

type chartCase struct {
	ID       string
	Share    bool
	Data     struct{ Events, Exposure []float64 }
	Expected struct {
		Centre     float64
		Low, High  []float64
		Out        []int
		LaneySigma float64   `json:"laney_sigma"`
		LaneyLow   []float64 `json:"laney_low"`
		LaneyHigh  []float64 `json:"laney_high"`
	}
}

func chartLimits(c *UChart) (low, high []float64, out []int) {
	for i, p := range c.Points {
		low, high = append(low, p.Low), append(high, p.High)
		if p.Out {
			out = append(out, i+1)
		}
	}
	return low, high, out
}

func TestUChartReference(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[chartCase](t, "control-chart.json")
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			t.Parallel()
			want := c.Expected
			kind := Rate
			if c.Share {
				kind = Share
			}
			plain, err := newUChart(c.Data.Events, c.Data.Exposure, scatterOf(kind), false)
			if err != nil {
				t.Fatal(err)
			}
			low, high, out := chartLimits(plain)
			published.Agree(t, "centre", []float64{plain.Centre}, []float64{want.Centre}, tol)
			published.Agree(t, "low", low, want.Low, tol)
			published.Agree(t, "high", high, want.High, tol)
			if !slices.Equal(out, want.Out) {
				t.Errorf("out %v, want %v", out, want.Out)
			}
			wide, err := NewLaneyChart(kind, c.Data.Events, c.Data.Exposure)
			if err != nil {
				t.Fatal(err)
			}
			low, high, _ = chartLimits(wide)
			published.Agree(t, "sigma", []float64{wide.Sigma}, []float64{max(1, want.LaneySigma)}, tol)
			published.Agree(t, "widened low", low, want.LaneyLow, tol)
			published.Agree(t, "widened high", high, want.LaneyHigh, tol)
		})
	}
}

func TestUChartEdges(t *testing.T) {
	t.Parallel()
	c, err := NewLaneyChart(Rate, []float64{0, 0}, []float64{1, 2})
	if err != nil || c.Centre != 0 || c.Sigma != 1 || c.Points[1] != (UPoint{}) {
		t.Errorf("no events: %+v, %v", c, err)
	}
	if _, err := NewLaneyChart(Rate, []float64{1}, []float64{1}); err == nil {
		t.Error("widened limits from one period passed")
	}
	for _, bad := range [][2][]float64{{{}, {}}, {{1, 2}, {1}}, {{1}, {0}}, {{-1}, {1}}, {{math.NaN()}, {1}}} {
		if _, err := NewLaneyChart(Rate, bad[0], bad[1]); err == nil {
			t.Errorf("%v passed", bad)
		}
	}
}
