package regress

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// regressionCase is a case whose x is the model matrix of an R formula.
type regressionCase struct {
	ID       string
	X        [][]float64
	Y        []float64
	Exposure []float64
	Cluster  []int
	Expected struct {
		Coef, SE  []float64
		Deviance  float64
		Pearson   float64     `json:"pearson_chi2"`
		SEQuasi   []float64   `json:"se_quasi"`
		CovHC1    [][]float64 `json:"cov_hc1"`
		WaldF     float64     `json:"wald_f"`
		WaldFP    float64     `json:"wald_f_p"`
		WaldChi2P float64     `json:"wald_chi2_p"`
		CovCR2    [][]float64 `json:"cov_cr2"`
		DFCR2     []float64   `json:"df_cr2"`
		PCR2      []float64   `json:"p_cr2"`
		HTZF      float64     `json:"htz_f"`
		HTZDF2    float64     `json:"htz_df2"`
		HTZP      float64     `json:"htz_p"`
	}
}

func (c *regressionCase) design() *Design {
	d := &Design{P: len(c.X[0]), Y: c.Y, Exposure: c.Exposure}
	for _, row := range c.X {
		d.X = append(d.X, row...)
	}
	return d
}

// allButIntercept are the contrasts of every coefficient but the first.
func allButIntercept(p int) [][]float64 {
	var l [][]float64
	for j := 1; j < p; j++ {
		l = append(l, unitVector(p, j))
	}
	return l
}

func unitVector(p, j int) []float64 {
	c := make([]float64, p)
	c[j] = 1
	return c
}

func flatMatrix(a mat.Matrix) []float64 {
	r, c := a.Dims()
	out := make([]float64, 0, r*c)
	for i := range r {
		for j := range c {
			out = append(out, a.At(i, j))
		}
	}
	return out
}

func flatMatrixRows(rows [][]float64) []float64 {
	var out []float64
	for _, row := range rows {
		out = append(out, row...)
	}
	return out
}

func diagonalRoots(a mat.Symmetric) []float64 {
	out := make([]float64, a.SymmetricDim())
	for i := range out {
		out[i] = math.Sqrt(a.At(i, i))
	}
	return out
}
