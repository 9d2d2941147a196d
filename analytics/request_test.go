package analytics_test

import (
	"math"
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
)

func TestConditionsAreReadInThePersonsUnits(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		text  string
		sys   units.System
		low   float64
		high  float64
		below bool
	}{
		{"tag-length=6", units.US, 152.4, 152.4, false},
		{"tag-length=150..180", units.Metric, 150, 180, false},
		{`tag-length=6 1/2"..<7 in`, units.Metric, 165.1, 177.8, true},
		{"tag-length=150mm..", units.US, 150, math.Inf(1), false},
		{"temperature=50..59", units.US, 10, 15, false},
		{"flow-percentile=25%..<75%", units.US, 25, 75, true},
		{"flow-percentile=90% of years..", units.Metric, 90, math.Inf(1), false},
		{"temperature-peak=68", units.US, 20, 20, false},
		{"flow=..<100 cfs", units.Metric, math.Inf(-1), 2.8316846592, true},
		{"tippet=6X", units.Metric, 0.127, 0.127, false},
		{"month=4..6", units.US, 4, 6, false},
		{"season=2026", units.US, 2026, 2026, false},
	} {
		q, err := analytics.Request{Outcome: "tangles", Where: []string{tt.text}, Units: tt.sys}.Question()
		if err != nil {
			t.Errorf("%s: %v", tt.text, err)
			continue
		}
		if c := q.Where[0]; c.Low != tt.low || c.High != tt.high || c.Below != tt.below {
			t.Errorf("%s: %g to %g (below %v), want %+v", tt.text, c.Low, c.High, c.Below, tt)
		}
	}
}

func TestBandsStartAtRoundValues(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		by    string
		sys   units.System
		edges []float64 // the first ones
	}{
		{"tag-length:25mm", units.US, []float64{0, 25, 50}},
		{"tag-length:1in", units.Metric, []float64{0, 25.4, 50.8}},
		{"tag-length:0.5", units.US, []float64{0, 12.7, 25.4}},
		{"tag-length:2,5 cm", units.Metric, []float64{0, 25, 50}},
		{"temperature", units.Metric, []float64{-10, -8, -6}},
		{"temperature:9F", units.Metric, []float64{-17.77777777777778, -12.777777777777779, -7.777777777777778}},
		{"flow-percentile", units.US, []float64{10, 25, 75, 90}},
		{"flow-percentile:20%", units.Metric, []float64{0, 20, 40, 60}},
		{"temperature-peak", units.Metric, []float64{-10, -8, -6}},
		{"flow", units.US, []float64{0.7079211648, 1.4158423296, 2.8316846592}},
	} {
		q, err := analytics.Request{Outcome: "tangles", By: []string{tt.by}, Units: tt.sys}.Question()
		if err != nil {
			t.Errorf("%s: %v", tt.by, err)
			continue
		}
		for i, e := range tt.edges {
			if got := q.By[0].Edges[i]; math.Abs(got-e) > 1e-12 {
				t.Errorf("%s: edge %d at %v, want %v", tt.by, i, got, e)
			}
		}
	}
}

func TestQuestionsThatCannotBeAskedSayWhy(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		r   analytics.Request
		say string
	}{
		{analytics.Request{Outcome: "beauty"}, `outcome "beauty" is not known; ask for one of: tangles`},
		{analytics.Request{Outcome: "tangles", By: []string{"moon"}}, `factor "moon" is not known; ask by one of: hang`},
		{analytics.Request{Outcome: "tangles", By: []string{"junction", "junction"}}, `factor "junction" is asked by twice`},
		{analytics.Request{Outcome: "tangles", By: []string{"junction", "bulk", "water"}}, "two factors at most"},
		{analytics.Request{Outcome: "tangles", By: []string{"junction:5mm"}}, "junction has no bands"},
		{analytics.Request{Outcome: "tangles", By: []string{"tag-length:wide"}}, `band width "wide" is not understood`},
		{analytics.Request{Outcome: "tangles", By: []string{"tag-length:5 gallons"}}, "is not understood"},
		{analytics.Request{Outcome: "tangles", By: []string{"tag-length:0mm"}}, "must be more than 0"},
		{analytics.Request{Outcome: "tangles", By: []string{"tag-length:0.1mm"}}, "too narrow"},
		{analytics.Request{Outcome: "tangles", Where: []string{"junction"}}, "write FACTOR=VALUE"},
		{analytics.Request{Outcome: "tangles", Where: []string{"junction="}}, "write FACTOR=VALUE"},
		{analytics.Request{Outcome: "tangles", Where: []string{"facing=north"}}, `facing "north" is not known; write one of: down, up, side`},
		{analytics.Request{Outcome: "tangles", Where: []string{"tag-length=long"}}, "tag length:"},
		{analytics.Request{Outcome: "tangles", Where: []string{"tag-length=180..150"}}, "runs backwards"},
		{analytics.Request{Outcome: "tangles", Where: []string{"flow-percentile=80-100"}}, "a range has two dots, as LOW..HIGH"},
		{analytics.Request{Outcome: "tangles", Where: []string{"month=May"}}, "month:"},
	} {
		tt.r.Units = units.Metric
		_, err := tt.r.Question()
		if !journal.IsInvalid(err) || !strings.Contains(err.Error(), tt.say) {
			t.Errorf("%+v: got %v\nwant %q", tt.r, err, tt.say)
		}
	}
}
