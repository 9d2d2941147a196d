package charts

import (
	"math"
	"strings"
	"testing"

	"rigtally/analytics/stat"
	"rigtally/analytics/stat/sequential"
	"rigtally/analytics/trial"
	"rigtally/journal"
)

// trialAnswer is a trial of as many looks as e-values are given, made up.
func trialAnswer(t testing.TB, es ...float64) trial.Answer {
	t.Helper()
	o, err := journal.OutcomeByKey("tangles")
	if err != nil {
		t.Fatal(err)
	}
	f, err := journal.FactorByKey("facing")
	if err != nil {
		t.Fatal(err)
	}
	ratio := 2.0
	a := trial.Answer{Outcome: o, Factor: f, Ratio: &ratio, Trial: journal.Trial{Name: "Up or down", Factor: "facing", Worth: 1.5, Unit: journal.ByStint, Arms: [2]journal.TrialArm{{Level: "up"}, {Level: "down"}}}}
	for i, e := range es {
		s := sequential.Sequence{LogE: math.Log(e), Interval: stat.Interval{Low: 0, High: math.Inf(1)}}
		if i > 0 {
			s.Interval = stat.Interval{Low: 1 - 1/float64(i+1), High: 3 + 1/float64(i)}
		}
		a.Looks = append(a.Looks, trial.Look{Hours: 4 * float64(i+1), Events: 5, Blocks: 1 + i, Ratio: &ratio, Robust: s, Model: s})
	}
	return a
}

// A trial's chart can be drawn, keeps to its axes, and has a dot
// for each look; also with ends that are not limited and e-values beyond the axis.
func TestTrialChart(t *testing.T) {
	t.Parallel()
	for name, es := range map[string][]float64{"one look": {1}, "settled": {0.5, 3, 25}, "far": {1e-9, 1e12}} {
		c := Trial(trialAnswer(t, es...))
		valid(t, name, c)
		dots := 0
		for _, f := range c.Fields {
			for _, l := range f.Layers {
				if l.Shape == Points && l.Small {
					dots += len(l.Marks)
				}
				for _, m := range l.Marks {
					if v := m.Y; !(v >= f.Y.From-1e-9 && v <= f.Y.To+1e-9) {
						t.Errorf("%s: %s has a point off its axis: %v", name, l.Shape, m)
					}
				}
			}
		}
		if dots != len(es) {
			t.Errorf("%s: %d dots for %d looks", name, dots, len(es))
		}
		if !strings.Contains(string(c.SVG("")), "20 settles it") {
			t.Errorf("%s: the line that settles it has no name", name)
		}
	}
}
