package regress

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"rigtally/analytics/stat/published"
)

// TestContrastTails compares with R 4.2: qt(0.975, df) and pt(x, df,
// lower.tail = FALSE), qnorm and pnorm for infinite df.
func TestContrastTails(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ df, half, x, above float64 }{
		{1.3, 7.50052932556203, 4, 0.0552006183331593},
		{4.911181, 2.58462784121925, 4, 0.00535236103937531},
		{19, 2.09302405440831, 4, 0.000383096168614323},
		{250, 1.96949839342115, 9, 2.92423652995882e-17},
		{math.Inf(1), 1.95996398454005, 9, 1.12858840595384e-19},
	} {
		k := Contrast{Estimate: 2, SE: 0.5, DF: c.df}
		low, high := k.Interval(0.95)
		published.Agree(t, "interval", []float64{low, high}, []float64{2 - c.half/2, 2 + c.half/2}, 1e-9)
		null := 2 - c.x/2
		if p := k.P(null); math.Abs(p/(2*c.above)-1) > 1e-9 {
			t.Errorf("df %g: p %g, want %g", c.df, p, 2*c.above)
		}
	}
}

func smallFit() *Fit {
	return &Fit{
		Coef: []float64{1, 0.5, 0, -0.25}, Aliased: []int{2},
		Cov: mat.NewSymDense(4, []float64{4, 1, 0, 1, 1, 3, 0, 0.5, 0, 0, 0, 0, 1, 0.5, 0, 2}),
	}
}

func TestFixedDFContrast(t *testing.T) {
	t.Parallel()
	fit := smallFit()
	f := &FixedDF{fit, fit.Cov, 12}
	c := mustContrast(t, f, []float64{1, 2, 0, -2}) // variance 4+12+8+4-4-4 by hand
	published.Agree(t, "contrast", []float64{c.Estimate, c.SE, c.DF}, []float64{2.5, math.Sqrt(20), 12}, 1e-12)
	if _, err := f.Contrast(unitVector(4, 2)); !errors.Is(err, ErrNotEstimable) {
		t.Errorf("aliased: %v", err)
	}
	if _, err := f.Contrast(unitVector(3, 0)); err == nil {
		t.Error("short contrast passed")
	}
	if _, err := f.Contrast(make([]float64, 4)); !errors.Is(err, ErrNoSpread) {
		t.Errorf("empty contrast: %v", err)
	}
}

func TestWaldLeavesOutRepeatedContrasts(t *testing.T) {
	t.Parallel()
	fit := smallFit()
	f := &FixedDF{fit, fit.Cov, math.Inf(1)}
	a, err := f.Wald([][]float64{unitVector(4, 1), unitVector(4, 3)})
	if err != nil {
		t.Fatal(err)
	}
	b, err := f.Wald([][]float64{unitVector(4, 1), {0, 1, 0, 1}, {0, 3, 0, -2}})
	if err != nil {
		t.Fatal(err)
	}
	published.Agree(t, "F, df, p", []float64{b.F, b.DF1, b.P}, []float64{a.F, 2, a.P}, 1e-12)
	one, err := f.Wald([][]float64{unitVector(4, 1)})
	if err != nil {
		t.Fatal(err)
	}
	published.Agree(t, "one contrast", []float64{one.P}, []float64{mustContrast(t, f, unitVector(4, 1)).P(0)}, 1e-10)
}

func TestWaldRefusesTheImpossible(t *testing.T) {
	t.Parallel()
	fit := smallFit()
	thin := mat.NewSymDense(4, nil)
	thin.SymRankOne(thin, 1, mat.NewVecDense(4, []float64{1, 1, 0, 2}))
	f := &FixedDF{fit, thin, 3}
	if _, err := f.Wald([][]float64{unitVector(4, 1), unitVector(4, 3)}); !errors.Is(err, ErrFewClusters) {
		t.Errorf("covariance of rank 1: %v", err)
	}
	if _, err := f.Wald(nil); err == nil {
		t.Error("no contrasts passed")
	}
	if _, err := f.Wald([][]float64{unitVector(4, 2)}); !errors.Is(err, ErrNotEstimable) {
		t.Errorf("aliased: %v", err)
	}
}

func TestNormalDraws(t *testing.T) {
	t.Parallel()
	mean := []float64{1, -2, 5}
	// Singular on purpose: the third is the sum of the others, moved.
	cov := mat.NewSymDense(3, []float64{4, 1, 5, 1, 2, 3, 5, 3, 8})
	const n = 300000
	draws, err := NormalDraws(mean, cov, n, 1)
	if err != nil {
		t.Fatal(err)
	}
	var got mat.SymDense
	stat.CovarianceMatrix(&got, draws, nil)
	for i := range 3 {
		column := mat.Col(nil, i, draws)
		if m := stat.Mean(column, nil); math.Abs(m-mean[i]) > 0.02 {
			t.Errorf("mean %d is %g, want %g", i, m, mean[i])
		}
		for j := range 3 {
			if math.Abs(got.At(i, j)-cov.At(i, j)) > 0.05 {
				t.Errorf("covariance %d,%d is %g, want %g", i, j, got.At(i, j), cov.At(i, j))
			}
		}
	}
	again, _ := NormalDraws(mean, cov, 5, 1)
	if !mat.Equal(again, draws.Slice(0, 5, 0, 3)) {
		t.Error("the same seed gave other draws")
	}
	if _, err := NormalDraws(mean, mat.NewSymDense(3, []float64{1, 0, 0, 0, -1, 0, 0, 0, 1}), 5, 1); err == nil {
		t.Error("negative variance passed")
	}
	if _, err := NormalDraws(mean, cov, 0, 1); err == nil {
		t.Error("no draws passed")
	}
}

func TestChanceLowest(t *testing.T) {
	t.Parallel()
	fit := &Fit{Coef: []float64{0.3, 0.5}, Cov: mat.NewSymDense(2, []float64{0.09, 0, 0, 0.16})}
	rows := [][]float64{{1, 0}, {0, 1}}
	got, err := ChanceLowest(fit, fit.Cov, rows, 200000, 3)
	if err != nil {
		t.Fatal(err)
	}
	// The difference is normal with mean 0.2 and variance 0.25.
	first := math.Erfc(-0.2/0.5/math.Sqrt2) / 2
	if math.Abs(got[0]-first) > 0.005 || math.Abs(got[0]+got[1]-1) > 1e-9 {
		t.Errorf("chances %v, want %g for the first", got, first)
	}
	tied, err := ChanceLowest(fit, fit.Cov, [][]float64{{1, 0}, {1, 0}}, 100, 3)
	if err != nil {
		t.Fatal(err)
	}
	published.Agree(t, "tie", tied, []float64{0.5, 0.5}, 1e-12)
	if _, err := ChanceLowest(fit, fit.Cov, nil, 100, 3); err == nil {
		t.Error("no candidates passed")
	}
	if _, err := ChanceLowest(fit, fit.Cov, [][]float64{{1}}, 100, 3); err == nil {
		t.Error("short candidate passed")
	}
}
