package season

import (
	"errors"
	"math"
	"slices"
	"time"

	"rigtally/analytics"
	"rigtally/analytics/stat/regress"
	"rigtally/journal/facts"
)

// Trend is how a rate changes over time: times Ratio each month.
type Trend struct {
	Ratio     float64
	Low, High float64 // of the 95% interval
	P         float64 // two-sided, of no change
	SELog, DF float64
	Method    string
	Given     []string // factors whose differences are taken out: the angler, where there are several
}

// month is a twelfth of a Julian year.
const month = 365.25 / 12 * 24 * float64(time.Hour)

// trendOf fits events by the time since the first session: Poisson regression
// with log link and the exposure as offset, one intercept for each angler, so
// that a change in who fishes is no trend. Each session is a row and a cluster. The
// variance is CR2 for any number of sessions: in simulated seasons without a trend
// it found one 2 to 5% of the time, from 5 to 60 sessions, where HC1 found one in 8%
// of those with 20 to 30. It returns nil when the sessions can't tell.
func trendOf(sums []facts.SessionSum) (*Trend, error) {
	anglers := anglersWithEvents(sums)
	d := &regress.Design{P: 1 + max(1, len(anglers))}
	for _, s := range sums {
		at := slices.Index(anglers, s.Angler)
		if at < 0 {
			continue // who has no event at all says nothing of a trend
		}
		row := make([]float64, d.P)
		row[0] = 1
		row[1] = float64(s.Day.In(time.UTC).Sub(sums[0].Day.In(time.UTC))) / month
		if at > 0 {
			row[1+at] = 1
		}
		d.X, d.Y, d.Exposure = append(d.X, row...), append(d.Y, s.Events), append(d.Exposure, s.Exposure)
	}
	if d.Rows() < max(analytics.FewestToCorrect, d.P+1) {
		return nil, nil
	}
	c, err := fitTrend(d)
	if untellable(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	t := &Trend{Ratio: math.Exp(c.Estimate), P: c.P(0), SELog: c.SE, DF: c.DF, Method: "Poisson, CR2 by session"}
	wide := c.Ratio(analytics.Confidence)
	t.Low, t.High = wide.Low, wide.High
	if len(anglers) > 1 {
		t.Given = []string{"angler"}
	}
	return t, nil
}

func anglersWithEvents(sums []facts.SessionSum) []string {
	var names []string
	for _, s := range sums {
		if s.Events > 0 && !slices.Contains(names, s.Angler) {
			names = append(names, s.Angler)
		}
	}
	return names
}

// fitTrend returns the coefficient of the second column.
func fitTrend(d *regress.Design) (regress.Contrast, error) {
	fit, err := regress.Poisson(d)
	if err != nil {
		return regress.Contrast{}, err
	}
	slope := make([]float64, d.P)
	slope[1] = 1
	cr2, err := regress.NewCR2(fit, regress.Rows{Cells: d, Clusters: d.Rows(), All: func(add func(session, cell int, events, exposure float64)) {
		for i, y := range d.Y {
			add(i, i, y, d.Exposure[i])
		}
	}})
	if err != nil {
		return regress.Contrast{}, err
	}
	return cr2.Contrast(slope)
}

// untellable reports whether an error means that these sessions can't tell, not
// that something went wrong.
func untellable(err error) bool {
	return slices.ContainsFunc([]error{regress.ErrAllZero, regress.ErrSeparated, regress.ErrNotConverged, regress.ErrNotEstimable, regress.ErrNoSpread, regress.ErrFewClusters, regress.ErrOneCluster},
		func(known error) bool { return errors.Is(err, known) })
}
