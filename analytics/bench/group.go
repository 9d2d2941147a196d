package bench

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/strength"
	"rigtally/journal"
)

// Efficiency is how much of the unknotted line's strength a knot leaves: the
// ratio of means over the same mix of set-ups, with Fieller's 95% interval.
type Efficiency struct {
	strength.RatioSet
	Pulls     int // of the group, with unknotted ones of their set-up
	Unknotted int // pulls
}

// Weibull is a group's Weibull line, with profile-likelihood 95% intervals
// that allow for few failures (strength.Weibull.Allowing), in the answer's scale.
type Weibull struct {
	Shape, Scale, B10                         float64
	ShapeInterval, ScaleInterval, B10Interval stat.Interval
	Failures, Censored                        int
	Line                                      []LinePoint
}

// LinePoint is a point of a Weibull line: the share that fails up to a strength.
type LinePoint struct {
	Share, Strength float64
}

// fewestFailures make a Weibull line: two say next to nothing of its shape.
const fewestFailures = 3

// b10Share is the share of pulls that fails below the 10% strength.
const b10Share = 0.10

// describe sums every group up.
func (b *work) describe() error {
	for i := range b.answer.Groups {
		g := &b.answer.Groups[i]
		if err := b.sumUp(g); err != nil {
			return err
		}
		if g.pulls[0].Knotted() {
			if err := b.measureEfficiency(g, i); err != nil {
				return err
			}
		}
		if err := b.fitLine(g); err != nil {
			return err
		}
	}
	return nil
}

// sumUp places the points and describes them.
func (b *work) sumUp(g *Group) error {
	var values []float64
	for _, p := range g.pulls {
		if p.Ending == journal.PulledSlipped {
			g.Slipped++
		}
		if p.AtLeast() {
			g.AtLeast++
		}
		scale, ok := b.scale(p)
		if !ok {
			continue
		}
		v := p.ForceN / scale
		values = append(values, v)
		censored := p.AtLeast() || p.Ending == journal.PulledSlipped && !b.answer.SlipsFail
		g.Points = append(g.Points, Point{Strength: v, Share: math.NaN(), ForceN: p.ForceN, TippetMM: p.TippetMM, Ending: p.Ending, BrokeAt: p.BrokeAt, Censored: censored})
	}
	slices.SortStableFunc(g.Points, func(x, y Point) int { return cmp.Compare(x.Strength, y.Strength) })
	for i, share := range strength.PlotPositions(observedOf(g.Points)) {
		g.Points[i].Share = share
	}
	s, err := strength.Describe(values)
	if err != nil {
		return err
	}
	g.N, g.Mean, g.SD = s.N, s.Mean, s.SD
	if b.answer.Relative {
		b.relativeMean(g)
		return nil
	}
	if low, high, ok := s.MeanInterval(analytics.Confidence); ok {
		g.MeanLow, g.MeanHigh = answer.Known(low), answer.Known(high)
	}
	return nil
}

// relativeMean is the mean of a group over that of unknotted line, each set-up weighing as much as it
// does in the group. Its interval is that of the efficiency, where there is one.
func (b *work) relativeMean(g *Group) {
	held, plain := 0.0, 0.0
	for _, p := range g.pulls {
		if scale, ok := b.scale(p); ok {
			held, plain = held+p.ForceN, plain+scale
		}
	}
	g.Mean = held / plain
}

func observedOf(points []Point) []strength.Observed {
	list := make([]strength.Observed, len(points))
	for i, p := range points {
		list[i] = strength.Observed{Value: p.Strength, Censored: p.Censored}
	}
	return list
}

// measureEfficiency compares a group with unknotted pulls of the same set-ups,
// each set-up weighing as much as it does in the group.
func (b *work) measureEfficiency(g *Group, at int) error {
	bySetup := map[setup][]float64{}
	for _, p := range g.pulls {
		bySetup[setupOf(p)] = append(bySetup[setupOf(p)], p.ForceN)
	}
	var strata []strength.Stratum
	e := Efficiency{}
	for s, forces := range bySetup {
		if plain := b.plain[s]; len(plain) >= 2 && len(forces) >= 2 {
			strata = append(strata, strength.Stratum{X: forces, Y: plain, Weight: float64(len(forces))})
			e.Pulls += len(forces)
			e.Unknotted += len(plain)
		}
	}
	// The order of a map is not that of a sum.
	slices.SortFunc(strata, func(x, y strength.Stratum) int { return slices.Compare(x.Y, y.Y) })
	set, err := strength.RatioOfMeans(analytics.Confidence, strata...)
	switch {
	case errors.Is(err, strength.ErrTooFew), errors.Is(err, strength.ErrNoScatter):
		return nil
	case err != nil:
		return err
	}
	e.RatioSet = set
	g.Efficiency = &e
	if b.answer.Relative {
		g.Mean, g.MeanLow, g.MeanHigh = set.Ratio, nil, nil
		if set.Bounds == strength.Bounded {
			g.MeanLow, g.MeanHigh = answer.Known(set.Low), answer.Known(set.High)
		}
	}
	if set.Bounds != strength.Bounded {
		b.answer.Notes = append(b.answer.Notes, Note{NoteUnbounded, 0, at})
	}
	return nil
}

// fitLine fits a group's Weibull line, unless it mixes set-ups on a scale of
// forces, or has too few failures.
func (b *work) fitLine(g *Group) error {
	if !b.answer.Relative && mixed(g.pulls) {
		return nil
	}
	w, err := strength.FitWeibull(observedOf(g.Points))
	switch {
	case errors.Is(err, strength.ErrTooFew), errors.Is(err, strength.ErrNoScatter):
		return nil
	case err != nil:
		return err
	}
	line := Weibull{Shape: w.Shape, Scale: w.Scale, B10: w.Quantile(b10Share), Failures: w.Events, Censored: w.N - w.Events}
	if w.Events < fewestFailures {
		return nil
	}
	level := w.Allowing(analytics.Confidence)
	if line.ShapeInterval, err = w.ShapeInterval(level); err != nil {
		return err
	}
	if line.ScaleInterval, err = w.QuantileInterval(1-math.Exp(-1), level); err != nil {
		return err
	}
	if line.B10Interval, err = w.QuantileInterval(b10Share, level); err != nil {
		return err
	}
	const points = 100
	for i := range points {
		share := (float64(i) + 0.5) / points
		line.Line = append(line.Line, LinePoint{Share: share, Strength: w.Quantile(share)})
	}
	g.Weibull = &line
	return nil
}
