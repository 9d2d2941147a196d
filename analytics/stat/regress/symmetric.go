package regress

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// rankTolerance is the share of a column's squared length that must remain
// after the earlier columns are taken out, or the column counts as their
// combination. Sums of a million rows carry relative errors near 1e-13.
const rankTolerance = 1e-10

// dependentColumns lists, in ascending order, the columns of the p×p cross
// product held in the upper triangle of a that are linear combinations of
// earlier columns: Cholesky factorisation in the given order, leaving out every
// column whose pivot vanishes. It overwrites a.
func dependentColumns(a []float64, p int) []int {
	var drop []int
	for j := range p {
		length := a[j*p+j]
		for k := range j {
			u := a[k*p+j]
			a[j*p+j] -= u * u
		}
		if pivot := a[j*p+j]; pivot <= rankTolerance*length || pivot <= 0 {
			drop = append(drop, j)
			for m := j; m < p; m++ {
				a[j*p+m] = 0
			}
			continue
		}
		root := math.Sqrt(a[j*p+j])
		a[j*p+j] = root
		for m := j + 1; m < p; m++ {
			sum := a[j*p+m]
			for k := range j {
				sum -= a[k*p+j] * a[k*p+m]
			}
			a[j*p+m] = sum / root
		}
	}
	return drop
}

// compact takes the dropped columns out of the p×p upper triangle a.
func compact(a []float64, p int, drop []int) []float64 {
	kept := keptColumns(p, drop)
	out := make([]float64, len(kept)*len(kept))
	for i, r := range kept {
		for j, c := range kept[i:] {
			out[i*len(kept)+i+j] = a[r*p+c]
		}
	}
	return out
}

// spread puts a matrix over the kept columns back into p columns; the other
// rows and columns are zero.
func spread(a mat.Symmetric, kept []int, p int) *mat.SymDense {
	out := mat.NewSymDense(p, nil)
	for i, r := range kept {
		for j := i; j < len(kept); j++ {
			out.SetSym(r, kept[j], a.At(i, j))
		}
	}
	return out
}

// pick is the part of a over the kept columns.
func pick(a mat.Symmetric, kept []int) *mat.SymDense {
	out := mat.NewSymDense(len(kept), nil)
	for i, r := range kept {
		for j := i; j < len(kept); j++ {
			out.SetSym(i, j, a.At(r, kept[j]))
		}
	}
	return out
}

// congruent is a'·s·a.
func congruent(a mat.Matrix, s mat.Symmetric) *mat.SymDense {
	var left, full mat.Dense
	left.Mul(a.T(), s)
	full.Mul(&left, a)
	_, p := a.Dims()
	out := mat.NewSymDense(p, nil)
	for i := range p {
		for j := i; j < p; j++ {
			out.SetSym(i, j, (full.At(i, j)+full.At(j, i))/2)
		}
	}
	return out
}

// quadratic is c'·a·c.
func quadratic(a mat.Symmetric, c []float64) float64 {
	v := mat.NewVecDense(len(c), c)
	return mat.Inner(v, a, v)
}
