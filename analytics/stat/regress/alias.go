package regress

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Dependencies gives, for each of the aliased columns that a fit left out,
// weights on all columns whose sum is zero in every row: 1 on the column itself
// and, on the columns that were kept, minus its least-squares coefficients on
// them. A contrast c can be estimated only if c·v = 0 for each v of these
// (Searle 1971, Linear Models, §5.4 [section from memory]).
func Dependencies(d *Design, aliased []int) ([][]float64, error) {
	if len(aliased) == 0 {
		return nil, nil
	}
	if err := d.check(); err != nil {
		return nil, fmt.Errorf("find what columns depend on: %w", err)
	}
	scale := make([]float64, d.P) // so that the units of columns do not matter
	for i, t := range d.Exposure {
		for j, x := range d.Row(i) {
			scale[j] += t * x * x
		}
	}
	cross := mat.NewSymDense(d.P, nil)
	rows := newSparseRows(d)
	raw := make([]float64, d.P*d.P)
	for i, t := range d.Exposure {
		rows.addOuter(raw, i, t)
	}
	for i := range d.P {
		for j := i; j < d.P; j++ {
			if s := scale[i] * scale[j]; s > 0 {
				cross.SetSym(i, j, raw[i*d.P+j]/math.Sqrt(s))
			}
		}
	}
	kept := keptColumns(d.P, aliased)
	var chol mat.Cholesky
	if !chol.Factorize(pick(cross, kept)) {
		return nil, errors.New("find what columns depend on: the columns kept depend on each other")
	}
	var out [][]float64
	for _, j := range aliased {
		v := make([]float64, d.P)
		v[j] = 1
		out = append(out, v)
		if scale[j] == 0 {
			continue // a column of zeros depends on nothing
		}
		right := mat.NewVecDense(len(kept), nil)
		for k, i := range kept {
			right.SetVec(k, cross.At(i, j))
		}
		var weights mat.VecDense
		if err := chol.SolveVecTo(&weights, right); err != nil {
			if cond := mat.Condition(0); !errors.As(err, &cond) {
				return nil, fmt.Errorf("find what columns depend on: %w", err)
			}
		}
		for k, i := range kept {
			v[i] = -weights.AtVec(k) * math.Sqrt(scale[j]/scale[i])
		}
	}
	return out, nil
}
