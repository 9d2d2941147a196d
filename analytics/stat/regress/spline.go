package regress

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// NaturalSpline is a natural cubic spline basis without intercept: cubic between
// the knots, straight beyond the boundary knots. Its columns are those of R's
// splines::ns(x, knots=, Boundary.knots=): cubic B-splines (de Boor 1978, A
// Practical Guide to Splines, ch. IX–X), the first left out, projected on the
// space where the second derivative vanishes at both boundaries.
type NaturalSpline struct {
	knots     []float64 // inner, ascending
	low, high float64
	padded    []float64 // inner knots and each boundary four times
	reflector [2][]float64
	atLow     splineEdge
	atHigh    splineEdge
}

type splineEdge struct{ value, slope []float64 }

// NewNaturalSpline takes inner knots, at least one, and boundary knots around
// them, all different.
func NewNaturalSpline(knots []float64, low, high float64) (*NaturalSpline, error) {
	inner := slices.Clone(knots)
	slices.Sort(inner)
	if err := checkKnots(inner, low, high); err != nil {
		return nil, fmt.Errorf("natural spline: %w", err)
	}
	s := &NaturalSpline{knots: inner, low: low, high: high}
	s.padded = slices.Concat(slices.Repeat([]float64{low}, 4), inner, slices.Repeat([]float64{high}, 4))
	s.reflector = householderPair(s.bsplines(low, 2), s.bsplines(high, 2))
	s.atLow = splineEdge{value: s.project(s.bsplines(low, 0)), slope: s.project(s.bsplines(low, 1))}
	s.atHigh = splineEdge{value: s.project(s.bsplines(high, 0)), slope: s.project(s.bsplines(high, 1))}
	return s, nil
}

func checkKnots(inner []float64, low, high float64) error {
	if len(inner) == 0 {
		return errors.New("no inner knot")
	}
	all := slices.Concat([]float64{low}, inner, []float64{high})
	for i, k := range all {
		if math.IsNaN(k) || math.IsInf(k, 0) {
			return fmt.Errorf("knot %g is not a finite number", k)
		}
		if i > 0 && k <= all[i-1] {
			return fmt.Errorf("knots %v must ascend strictly, the boundary knots outermost", all)
		}
	}
	return nil
}

// Columns is the number of columns, one more than there are inner knots.
func (s *NaturalSpline) Columns() int { return len(s.knots) + 1 }

// Knots are the inner knots, ascending.
func (s *NaturalSpline) Knots() []float64 { return slices.Clone(s.knots) }

// Boundary is where the curve turns straight.
func (s *NaturalSpline) Boundary() (low, high float64) { return s.low, s.high }

// Basis is the row of the basis at x, a finite number.
func (s *NaturalSpline) Basis(x float64) []float64 {
	switch {
	case x < s.low:
		return s.atLow.extend(x - s.low)
	case x > s.high:
		return s.atHigh.extend(x - s.high)
	}
	return s.project(s.bsplines(x, 0))
}

func (e *splineEdge) extend(dx float64) []float64 {
	row := make([]float64, len(e.value))
	for j, v := range e.value {
		row[j] = v + dx*e.slope[j]
	}
	return row
}

// Bends are contrasts of the basis coefficients that all vanish exactly when the
// curve is a straight line: its second derivatives at the inner knots, between
// which it is linear, as it is zero at the boundary.
func (s *NaturalSpline) Bends() [][]float64 {
	bends := make([][]float64, len(s.knots))
	for i, k := range s.knots {
		bends[i] = s.project(s.bsplines(k, 2))
	}
	return bends
}

// bsplines are the cubic B-splines but the first, or their derivatives, at x
// within the boundary; at the upper boundary the limit from below.
func (s *NaturalSpline) bsplines(x float64, derivative int) []float64 {
	t := s.padded
	last := len(t) - 5 // index of the last interval that is not empty
	at := 3
	for at < last && x >= t[at+1] {
		at++
	}
	b := make([]float64, len(t)-1)
	b[at] = 1
	for degree := 1; degree <= 3; degree++ {
		differentiate := degree > 3-derivative
		for i := at - degree; i <= at; i++ {
			left, right := 0.0, 0.0
			if d := t[i+degree] - t[i]; d > 0 {
				left = b[i] / d
			}
			if d := t[i+degree+1] - t[i+1]; d > 0 {
				right = b[i+1] / d
			}
			if differentiate {
				b[i] = float64(degree) * (left - right)
			} else {
				b[i] = (x-t[i])*left + (t[i+degree+1]-x)*right
			}
		}
	}
	return b[1 : len(t)-4]
}

// householderPair are the reflectors that turn a and b into the span of the
// first two axes, scaled so that H = I − v·v'. The sign convention is that of
// LINPACK and LAPACK, on which R's basis depends.
func householderPair(a, b []float64) [2][]float64 {
	v := reflectorOf(a, 0)
	return [2][]float64{v, reflectorOf(reflect(v, b), 1)}
}

func reflectorOf(a []float64, from int) []float64 {
	v := slices.Clone(a)
	clear(v[:from])
	length := math.Sqrt(dotProduct(v, v))
	v[from] += math.Copysign(length, v[from])
	scale := math.Sqrt(2 / dotProduct(v, v))
	for j := range v {
		v[j] *= scale
	}
	return v
}

func reflect(v, x []float64) []float64 {
	out := slices.Clone(x)
	share := dotProduct(v, x)
	for j := range out {
		out[j] -= share * v[j]
	}
	return out
}

// project takes B-spline values to the natural basis.
func (s *NaturalSpline) project(b []float64) []float64 {
	return reflect(s.reflector[1], reflect(s.reflector[0], b))[2:]
}
