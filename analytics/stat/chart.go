package stat

import (
	"errors"
	"fmt"
	"math"
)

// UChart is a control chart of a rate by period.
type UChart struct {
	Centre float64 // pooled rate
	// Sigma is how far the rates scatter beyond Poisson: the spread of their
	// standardised values from one period to the next (Laney 2002), at least 1.
	Sigma  float64
	Points []UPoint
}

// UPoint is one period of a UChart; Low and High are its limits.
type UPoint struct {
	Rate, Low, High float64
	Out             bool // beyond a limit; on it is within
}

// NewLaneyChart computes three-sigma limits centre ± 3·√(centre/exposure), the lower
// floored at 0 (Montgomery, Introduction to Statistical Quality Control, u chart
// with variable sample size), from events of at least 0 and exposures above 0. They
// are widened by Sigma = (mean moving
// range of the z values)/(2/√π), after Laney (2002, Quality Engineering 14:531),
// who rounds the divisor to 1.128. A Sigma below 1 is taken as 1: limits are
// widened for overdispersion, never narrowed. The order of periods matters; at
// least 2 are needed.
//
// For a Share the exposures are trials and the limits centre ±
// 3·√(centre(1 − centre)/trials), kept between 0 and 1 and widened in the same
// way (Laney's p′ chart).
func NewLaneyChart(kind Kind, events, exposure []float64) (*UChart, error) {
	if kind == Share {
		for i, k := range events {
			if i < len(exposure) && k > exposure[i] {
				return nil, fmt.Errorf("p chart: entry %d has %g events in %g trials", i, k, exposure[i])
			}
		}
	}
	return newUChart(events, exposure, scatterOf(kind), true)
}

// scatter is how much a period's events vary by chance.
type scatter struct {
	variance func(centre float64) float64 // for one unit of exposure
	top      float64                      // that no rate exceeds
}

func scatterOf(kind Kind) scatter {
	if kind == Share {
		return scatter{func(p float64) float64 { return p * max(0, 1-p) }, 1}
	}
	return scatter{func(rate float64) float64 { return rate }, math.Inf(1)}
}

func newUChart(events, exposure []float64, chance scatter, widen bool) (*UChart, error) {
	centre, err := PooledRate(events, exposure)
	if err != nil {
		return nil, fmt.Errorf("u chart: %w", err)
	}
	variance := chance.variance(centre)
	c := &UChart{Centre: centre, Sigma: 1, Points: make([]UPoint, len(events))}
	if widen {
		if len(events) < 2 {
			return nil, errors.New("u chart: widened limits need at least 2 periods")
		}
		c.Sigma = max(1, movingSigma(events, exposure, centre, variance))
	}
	for i, k := range events {
		half := 3 * c.Sigma * math.Sqrt(variance/exposure[i])
		p := UPoint{Rate: k / exposure[i], Low: max(0, centre-half), High: min(chance.top, centre+half)}
		p.Out = p.Rate < p.Low || p.Rate > p.High
		c.Points[i] = p
	}
	return c, nil
}

func PooledRate(events, exposure []float64) (float64, error) {
	if len(events) == 0 || len(events) != len(exposure) {
		return 0, fmt.Errorf("%d counts and %d exposures", len(events), len(exposure))
	}
	k, t := 0.0, 0.0
	for i, e := range events {
		if !(e >= 0) || math.IsInf(e, 0) || !(exposure[i] > 0) || math.IsInf(exposure[i], 0) {
			return 0, fmt.Errorf("entry %d has count %g (at least 0) and exposure %g (above 0)", i, e, exposure[i])
		}
		k += e
		t += exposure[i]
	}
	return k / t, nil
}

// movingSigma is the mean absolute difference of successive z values over that
// of two standard normal values, 2/√π; 0 when events never or always happen.
func movingSigma(events, exposure []float64, centre, variance float64) float64 {
	if variance == 0 {
		return 0
	}
	sum, before := 0.0, 0.0
	for i, k := range events {
		z := (k/exposure[i] - centre) / math.Sqrt(variance/exposure[i])
		if i > 0 {
			sum += math.Abs(z - before)
		}
		before = z
	}
	return sum / float64(len(events)-1) / (2 / math.SqrtPi)
}
