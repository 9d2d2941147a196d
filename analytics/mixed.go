package analytics

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"

	"rigtally/analytics/stat/regress"
)

// Mixed is a fitted curve as a rate, times some number. Its level is the average of the
// journal's own mix of what is given: the mean over the rows, by exposure, of the rates
// that they would have at a value (Lane & Nelder 1982, Biometrics 38:613). The curve
// itself is drawn at the mean of the givens' columns, which for a curved scale is lower.
type Mixed struct {
	fit          *Regression
	mix          mixture
	times, level float64
}

// MixedCurve is Curve, and the curve at the level of the journal's own mix, times some number; nil
// when there is none to draw.
func MixedCurve(ctx context.Context, journalOf Asker, r CurveRequest, times float64) (CurveAnswer, *Mixed, error) {
	a, f, err := fitCurve(ctx, journalOf, r)
	if err != nil || f == nil {
		return a, nil, err
	}
	m := &Mixed{fit: f, mix: f.mix(), times: times}
	m.level = m.mix.level(f.fit.Coef) * times
	return a, m, nil
}

// At is the rate at a value.
func (m *Mixed) At(v float64) float64 {
	sum := 0.0
	for j, x := range m.fit.asked.row(v) {
		sum += x * m.fit.fit.Coef[m.fit.first+j]
	}
	return m.level * math.Exp(sum)
}

// Draws are the rates at some values, each in n draws of the coefficients.
func (m *Mixed) Draws(at []float64, n int, seed uint64) ([][]float64, error) {
	f := m.fit
	coef, err := regress.NormalDraws(f.fit.Coef, f.tester.Covariance(), n, seed)
	if err != nil {
		return nil, fmt.Errorf("draw curves: %w", err)
	}
	levels := make([]float64, n)
	for k := range levels {
		levels[k] = m.mix.level(coef.RawRowView(k)) * m.times
	}
	all := make([][]float64, len(at))
	for i, v := range at {
		row := f.asked.row(v)
		all[i] = make([]float64, n)
		for k := range all[i] {
			b := coef.RawRowView(k)[f.first:]
			sum := 0.0
			for j, x := range row {
				sum += x * b[j]
			}
			all[i][k] = levels[k] * math.Exp(sum)
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
		mean += m.shares[k] * math.Exp(sum)
	}
	return mean
}
