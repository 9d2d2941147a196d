package season

import (
	"fmt"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// Chart is a control chart of a rate by session, in the order fished, and
// the trend through it.
type Chart struct {
	Outcome journal.Outcome
	Centre  float64 // the rate of all points together
	// Sigma is how much further sessions scatter than chance alone, 1 or more: the
	// limits are that much wider.
	Sigma  float64
	Points []ChartPoint
	Trend  *Trend // nil when it can't be told
}

// ChartPoint is one session.
type ChartPoint struct {
	journal.SessionRef
	Events, Exposure float64
	Rate             float64
	Low, High        float64 // control limits
	Out              Beyond  // beyond which limit, if any
}

// Beyond says which limit a point lies beyond. A point on a limit is within.
type Beyond string

// Where a point may lie.
const (
	WithinLimits Beyond = ""
	AboveLimit   Beyond = "above"
	BelowLimit   Beyond = "below"
)

const fewestToChart = 2

// chartOf draws sessions, in the order fished, as a u chart for rates and a p chart for
// shares, with three-sigma limits that are widened for overdispersion by the moving
// range of the sessions (Laney 2002, Quality Engineering 14:531). A point beyond
// them is a session worth asking about. The trend is a ratio per month. It is
// journal.IsInvalid when there are fewer than 2 sessions.
func chartOf(o journal.Outcome, sums []facts.SessionSum) (Chart, error) {
	if len(sums) < fewestToChart {
		return Chart{}, journal.Invalidf("a chart of %s over time needs at least %d sessions with %s; there are %d", o.Key, fewestToChart, o.Exposure, len(sums))
	}
	a := Chart{Outcome: o}
	if err := a.draw(sums); err != nil {
		return Chart{}, fmt.Errorf("chart %s: %w", o.Key, err)
	}
	var err error
	if a.Trend, err = trendOf(sums); err != nil {
		return Chart{}, fmt.Errorf("find the trend of %s: %w", o.Key, err)
	}
	return a, nil
}

func (a *Chart) draw(sums []facts.SessionSum) error {
	events, exposure := make([]float64, len(sums)), make([]float64, len(sums))
	for i, s := range sums {
		events[i], exposure[i] = s.Events, s.Exposure
	}
	chart, err := stat.NewLaneyChart(analytics.KindOf(a.Outcome), events, exposure)
	if err != nil {
		return err
	}
	a.Centre, a.Sigma = chart.Centre, chart.Sigma
	for i, s := range sums {
		p := chart.Points[i]
		point := ChartPoint{SessionRef: s.SessionRef, Events: s.Events, Exposure: s.Exposure, Rate: p.Rate, Low: p.Low, High: p.High}
		switch {
		case p.Out && p.Rate > p.High:
			point.Out = AboveLimit
		case p.Out:
			point.Out = BelowLimit
		}
		a.Points = append(a.Points, point)
	}
	return nil
}
