package analytics

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"rigtally/analytics/stat"
	"rigtally/analytics/stat/regress"
)

// Mixed is a fitted curve as a rate, times some number. Its level is the average of the
// journal's own mix of what is given: the mean over the rows, by exposure, of the rates
// that they would have at a value (Lane & Nelder 1982, Biometrics 38:613). The curve
// itself is drawn at the mean of the givens' columns, which for a curved scale is lower.
type Mixed struct {
	fit          *Regression
	belief       *curveBelief
	mix          mixture
	times, level float64
	slope        []float64 // what the log of the level changes by with each coefficient
	wide         float64   // what draws of the coefficients are stretched by
	share        float64   // of the curve's coefficients: 1, or what is believed of them
}

// Believed is the curve drawn towards a straight one by its prior, as a bet takes it; nil where nothing
// can be bet on (CurveAnswer.Bet).
func (m *Mixed) Believed() *Mixed {
	if m.belief == nil {
		return nil
	}
	b := *m
	b.share = m.belief.share
	b.wide *= math.Sqrt(m.belief.share)
	return &b
}

// MixedCurve is Curve, and the curve at the level of the journal's own mix, times some number; nil
// when there is none to draw.
func MixedCurve(ctx context.Context, journalOf Asker, r CurveRequest, times float64) (CurveAnswer, *Mixed, error) {
	a, f, err := fitCurve(ctx, journalOf, r)
	if err != nil || f == nil {
		return a, nil, err
	}
	m := &Mixed{fit: f, belief: a.belief, mix: f.mix(), times: times, share: 1}
	m.level = m.mix.level(f.fit.Coef) * times
	m.slope = m.mix.slope(f.fit.Coef, f.cells.P)
	for _, left := range f.fit.Aliased {
		m.slope[left] = 0
	}
	m.wide, err = m.widening(&a)
	return a, m, err
}

// Sure reports whether the curve's precision is known all along the middle nine tenths of what was
// fished; else Draws can't be had.
func (m *Mixed) Sure() bool { return m.wide > 0 }

// widening is by how much 95% intervals of the rate are wider, at most, than normal draws with the one covariance
// of the coefficients: they take the wider of two variances and Student's t. It is 0 where one of
// the points within the middle nine tenths of what was fished has none.
func (m *Mixed) widening(a *CurveAnswer) (float64, error) {
	low, high := FishedRange(a.Rug, FishedShare)
	widest := 0.0
	for _, p := range a.Points {
		if p.At < low || p.At > high {
			continue
		}
		c := m.row(p.At)
		contrast, err := m.fit.tester.Contrast(c)
		if errors.Is(err, regress.ErrOneCluster) || errors.Is(err, regress.ErrNoSpread) {
			return 0, nil
		}
		if err != nil {
			return 0, err
		}
		low, high := contrast.Interval(Confidence)
		v := mat.NewVecDense(len(c), c)
		drawn := 2 * stat.NormalUpper((1-Confidence)/2) * math.Sqrt(mat.Inner(v, m.fit.tester.Covariance(), v))
		widest = max(widest, (high-low)/drawn)
	}
	return widest, nil
}

// row is what the log of the rate at a value changes by with each coefficient.
func (m *Mixed) row(v float64) []float64 {
	c := slices.Clone(m.slope)
	copy(c[m.fit.first:], m.fit.asked.row(v))
	return c
}

// At is the rate at a value.
func (m *Mixed) At(v float64) float64 {
	sum := 0.0
	for j, x := range m.fit.asked.row(v) {
		sum += x * m.share * m.fit.fit.Coef[m.fit.first+j]
	}
	return m.level * math.Exp(bounded(sum))
}

// Draws are the rates at some values, each in n draws of the coefficients, to first order in them.
func (m *Mixed) Draws(at []float64, n int, seed uint64) ([][]float64, error) {
	f := m.fit
	cov := mat.NewSymDense(len(f.fit.Coef), nil)
	cov.ScaleSym(m.wide*m.wide, f.tester.Covariance())
	coef, err := regress.NormalDraws(f.fit.Coef, cov, n, seed)
	if err != nil {
		return nil, fmt.Errorf("draw curves: %w", err)
	}
	all := make([][]float64, len(at))
	for i, v := range at {
		row, rate := m.row(v), m.At(v)
		all[i] = make([]float64, n)
		for k := range all[i] {
			sum := 0.0
			for j, b := range coef.RawRowView(k) {
				sum += row[j] * (b - f.fit.Coef[j])
			}
			all[i][k] = rate * math.Exp(bounded(sum))
		}
	}
	return all, nil
}

// mixture holds the different rows of the givens' columns with their shares of the exposure.
type mixture struct {
	rows   [][]float64
	shares []float64
}

func (f *Regression) mix() mixture {
	var m mixture
	known := map[string]int{}
	total := 0.0
	var key []byte
	for i, t := range f.cells.Exposure {
		row := f.cells.Row(i)[:f.first]
		key = key[:0]
		for _, x := range row {
			key = binary.LittleEndian.AppendUint64(key, math.Float64bits(x))
		}
		k, ok := known[string(key)]
		if !ok {
			k = len(m.rows)
			known[string(key)] = k
			m.rows, m.shares = append(m.rows, row), append(m.shares, 0)
		}
		m.shares[k] += t
		total += t
	}
	for k := range m.shares {
		m.shares[k] /= total
	}
	return m
}

// level is the mean of the rates that the rows have, the curve apart.
func (m mixture) level(coef []float64) float64 {
	mean := 0.0
	for k, row := range m.rows {
		sum := 0.0
		for j, x := range row {
			sum += x * coef[j]
		}
		mean += m.shares[k] * math.Exp(bounded(sum))
	}
	return mean
}

// slope is what the log of the level changes by with each of p coefficients: the mean of the rows by
// the rates that they have. By draws of the coefficients themselves, what is hardly
// known of one angler would raise the mean of all.
func (m mixture) slope(coef []float64, p int) []float64 {
	out, total := make([]float64, p), 0.0
	for k, row := range m.rows {
		sum := 0.0
		for j, x := range row {
			sum += x * coef[j]
		}
		rate := m.shares[k] * math.Exp(bounded(sum))
		total += rate
		for j, x := range row {
			out[j] += rate * x
		}
	}
	for j := range out {
		out[j] /= total
	}
	return out
}

// bounded keeps what is all but unknown from running out of the numbers there are.
func bounded(log float64) float64 { return max(-100, min(100, log)) }
