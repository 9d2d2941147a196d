package regress

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrFewValues reports too few distinct values for a curve.
var ErrFewValues = errors.New("too few distinct values for a curve")

// fewestForCurve is the number of distinct values below which a covariate
// enters as a straight line.
const fewestForCurve = 6

// NewWeightedSpline is a natural spline with three columns whose inner knots are
// the 35th and 65th and whose boundary knots the 5th and 95th weighted
// percentiles of x. It returns ErrFewValues below 6 distinct values with weight,
// or when so much weight lies on one value that knots coincide.
func NewWeightedSpline(x, weight []float64) (*NaturalSpline, error) {
	points, err := midDistribution(x, weight)
	if err != nil {
		return nil, fmt.Errorf("place knots: %w", err)
	}
	if len(points) < fewestForCurve {
		return nil, fmt.Errorf("place knots on %d values: %w", len(points), ErrFewValues)
	}
	low, high := quantileAt(points, 0.05), quantileAt(points, 0.95)
	inner := []float64{quantileAt(points, 0.35), quantileAt(points, 0.65)}
	if low >= inner[0] || inner[0] >= inner[1] || inner[1] >= high {
		return nil, fmt.Errorf("place knots at %g, %g and %g, %g: %w", low, high, inner[0], inner[1], ErrFewValues)
	}
	return NewNaturalSpline(inner, low, high)
}

// WeightedQuantiles are the values below which the shares probs, each in [0, 1],
// of the weight lie: the cumulative weight at each distinct value, counting half
// of its own, is interpolated linearly, and beyond the middle of the outermost
// values these are returned (the mid-distribution quantile: Parzen 2004,
// Statist Sci 19:652; with equal weights and no ties R's type 5 of Hyndman &
// Fan 1996, Am Stat 50:361). Equal values may be summed or in any order.
// Weights must be at least 0, one of them above.
func WeightedQuantiles(x, weight []float64, probs ...float64) ([]float64, error) {
	points, err := midDistribution(x, weight)
	if err != nil {
		return nil, fmt.Errorf("weighted quantiles: %w", err)
	}
	out := make([]float64, len(probs))
	for i, p := range probs {
		if !(p >= 0 && p <= 1) {
			return nil, fmt.Errorf("weighted quantiles: share %g is not between 0 and 1", p)
		}
		out[i] = quantileAt(points, p)
	}
	return out, nil
}

// massPoint is a value with its weight, later the share of weight below its middle.
type massPoint struct{ x, share float64 }

func midDistribution(x, weight []float64) ([]massPoint, error) {
	if len(x) != len(weight) {
		return nil, fmt.Errorf("%d values but %d weights", len(x), len(weight))
	}
	points := make([]massPoint, 0, len(x))
	for i, w := range weight {
		if !(w >= 0) || math.IsInf(w, 0) || math.IsNaN(x[i]) || math.IsInf(x[i], 0) {
			return nil, fmt.Errorf("row %d: value %g with weight %g", i, x[i], w)
		}
		if w > 0 {
			points = append(points, massPoint{x[i], w})
		}
	}
	if len(points) == 0 {
		return nil, errors.New("no weight above 0")
	}
	slices.SortFunc(points, func(a, b massPoint) int {
		if a.x < b.x {
			return -1
		}
		if a.x > b.x {
			return 1
		}
		return 0
	})
	distinct := points[:1]
	for _, p := range points[1:] {
		if last := &distinct[len(distinct)-1]; p.x == last.x {
			last.share += p.share
		} else {
			distinct = append(distinct, p)
		}
	}
	total := 0.0
	for i, p := range distinct {
		distinct[i].share = total + p.share/2
		total += p.share
	}
	for i := range distinct {
		distinct[i].share /= total
	}
	return distinct, nil
}

func quantileAt(points []massPoint, p float64) float64 {
	at, _ := slices.BinarySearchFunc(points, p, func(m massPoint, p float64) int {
		if m.share < p {
			return -1
		}
		return 1
	})
	if at == 0 {
		return points[0].x
	}
	if at == len(points) {
		return points[at-1].x
	}
	a, b := points[at-1], points[at]
	return a.x + (b.x-a.x)*(p-a.share)/(b.share-a.share)
}
