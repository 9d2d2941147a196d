package analytics

import (
	"context"
	"fmt"

	"rigtally/analytics/stat"
	"rigtally/journal"
)

// Charted holds sessions one by one; *pg.Store is one.
type Charted interface {
	BySession(ctx context.Context, o journal.Outcome, f journal.SessionFilter) ([]journal.SessionSum, map[string]int, error)
	AnglerByName(ctx context.Context, name string) (journal.Angler, error)
}

// ChartRequest asks for a season session by session.
type ChartRequest struct {
	Outcome string // an outcome's key
	Angler  string // a name; empty for everyone
	Season  int    // a year; 0 for all of them
}

// ChartAnswer is a control chart of a rate by session, in the order fished, and
// the trend through it.
type ChartAnswer struct {
	Outcome journal.Outcome
	Angler  string // as in the journal, empty for everyone
	Season  int
	Centre  float64 // the rate of all points together
	// Sigma is how much further sessions scatter than chance alone, 1 or more: the
	// limits are that much wider.
	Sigma   float64
	Points  []ChartPoint
	Trend   *Trend // nil when it can't be told
	LeftOut map[string]int
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

// Chart draws a season as a control chart: a u chart for rates and a p chart for
// shares, with three-sigma limits that are widened for overdispersion by the moving
// range of the sessions (Laney 2002, Quality Engineering 14:531). A point beyond
// them is a session worth asking about. The trend is a ratio per month.
//
// It is journal.IsInvalid when fewer than 2 sessions have any exposure.
func Chart(ctx context.Context, j Charted, r ChartRequest) (ChartAnswer, error) {
	o, err := journal.OutcomeByKey(r.Outcome)
	if err != nil {
		return ChartAnswer{}, err
	}
	if o.Measure == journal.AmountPer {
		return ChartAnswer{}, notCounted(o)
	}
	name, filter := "", journal.SessionFilter{Season: r.Season}
	if r.Angler != "" {
		angler, err := j.AnglerByName(ctx, r.Angler)
		if err != nil {
			return ChartAnswer{}, err
		}
		name, filter.Angler = angler.Name, &angler.ID
	}
	sums, leftOut, err := j.BySession(ctx, o, filter)
	if err != nil {
		return ChartAnswer{}, err
	}
	a, err := ChartOf(o, sums)
	a.Angler, a.Season, a.LeftOut = name, r.Season, leftOut
	return a, err
}

// ChartOf draws sessions, in the order fished. It is journal.IsInvalid when there are fewer than 2.
func ChartOf(o journal.Outcome, sums []journal.SessionSum) (ChartAnswer, error) {
	if len(sums) < fewestToChart {
		return ChartAnswer{}, journal.Invalidf("a chart of %s over time needs at least %d sessions with %s; there are %d", o.Key, fewestToChart, o.Exposure, len(sums))
	}
	a := ChartAnswer{Outcome: o}
	if err := a.draw(sums); err != nil {
		return ChartAnswer{}, fmt.Errorf("chart %s: %w", o.Key, err)
	}
	var err error
	if a.Trend, err = trendOf(sums); err != nil {
		return ChartAnswer{}, fmt.Errorf("find the trend of %s: %w", o.Key, err)
	}
	return a, nil
}

func (a *ChartAnswer) draw(sums []journal.SessionSum) error {
	events, exposure := make([]float64, len(sums)), make([]float64, len(sums))
	for i, s := range sums {
		events[i], exposure[i] = s.Events, s.Exposure
	}
	chart, err := stat.NewLaneyChart(KindOf(a.Outcome), events, exposure)
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
