package regress

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"rigtally/analytics/stat/published"
)

type splineCase struct {
	ID   string
	Data struct{ X, Y, Knots, Boundary []float64 }

	Expected struct {
		Basis  [][]float64
		Fitted []float64
	}
}

func mustSpline(t *testing.T, knots []float64, low, high float64) *NaturalSpline {
	t.Helper()
	s, err := NewNaturalSpline(knots, low, high)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestNaturalSplineReference(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[splineCase](t, "natural-spline.json")
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			t.Parallel()
			s := mustSpline(t, c.Data.Knots, c.Data.Boundary[0], c.Data.Boundary[1])
			x := mat.NewDense(len(c.Data.X), s.Columns()+1, nil)
			for i, at := range c.Data.X {
				basis := s.Basis(at)
				published.Agree(t, "basis", basis, c.Expected.Basis[i], tol)
				x.SetRow(i, append([]float64{1}, basis...))
			}
			if c.Data.Y == nil {
				return
			}
			var b, fitted mat.VecDense
			if err := b.SolveVec(x, mat.NewVecDense(len(c.Data.Y), c.Data.Y)); err != nil {
				t.Fatal(err)
			}
			fitted.MulVec(x, &b)
			published.Agree(t, "fitted", fitted.RawVector().Data, c.Expected.Fitted, tol)
		})
	}
}

func TestNaturalSplineIsStraightBeyondTheBoundary(t *testing.T) {
	t.Parallel()
	s := mustSpline(t, []float64{110, 160}, 80, 240)
	for _, x := range []float64{79, 20, 241, 400} {
		edge := min(max(x, 80), 240)
		side := math.Copysign(1e-4, edge-x)
		at, near, far := s.Basis(edge), s.Basis(edge+side), s.Basis(x)
		for j := range at {
			slope := (near[j] - at[j]) / side
			if got, want := far[j], at[j]+slope*(x-edge); math.Abs(got-want) > 1e-6*math.Abs(x-edge) {
				t.Errorf("column %d at %g: %g, want %g", j, x, got, want)
			}
		}
	}
}

// TestNaturalSplineBends: the coefficients of a straight line have no bends,
// and those of a column have its second differences at the knots.
func TestNaturalSplineBends(t *testing.T) {
	t.Parallel()
	knots := []float64{100, 130, 190}
	s := mustSpline(t, knots, 80, 240)
	x, y := mat.NewDense(40, 5, nil), mat.NewVecDense(40, nil)
	for i := range 40 {
		at := 60 + 5*float64(i)
		x.SetRow(i, append([]float64{1}, s.Basis(at)...))
		y.SetVec(i, 3-0.02*at)
	}
	var b mat.VecDense
	if err := b.SolveVec(x, y); err != nil {
		t.Fatal(err)
	}
	bends := s.Bends()
	if len(bends) != 3 {
		t.Fatalf("%d bends for 3 knots", len(bends))
	}
	const h = 0.01
	for i, row := range bends {
		if v := dotProduct(row, b.RawVector().Data[1:]); math.Abs(v) > 1e-12 {
			t.Errorf("straight line bends by %g at %g", v, knots[i])
		}
		lo, mid, hi := s.Basis(knots[i]-h), s.Basis(knots[i]), s.Basis(knots[i]+h)
		for j, v := range row {
			if want := (lo[j] - 2*mid[j] + hi[j]) / (h * h); math.Abs(v-want) > 1e-5 {
				t.Errorf("second derivative of column %d at %g: %g, want %g", j, knots[i], v, want)
			}
		}
	}
}

func TestNaturalSplineRefusesBadKnots(t *testing.T) {
	t.Parallel()
	for _, k := range [][]float64{{}, {80}, {240}, {300}, {100, 100}, {math.NaN()}} {
		if _, err := NewNaturalSpline(k, 80, 240); err == nil {
			t.Errorf("knots %v passed", k)
		}
	}
	if _, err := NewNaturalSpline([]float64{1}, math.Inf(-1), 2); err == nil {
		t.Error("infinite boundary passed")
	}
}

func TestNewWeightedSpline(t *testing.T) {
	t.Parallel()
	// Ten values of one weight: percentiles by R's quantile(10 * 1:10, p, type = 5).
	x, w := make([]float64, 10), make([]float64, 10)
	for i := range x {
		x[i], w[i] = 10*float64(i+1), 2.5
	}
	s, err := NewWeightedSpline(x, w)
	if err != nil {
		t.Fatal(err)
	}
	low, high := s.Boundary()
	published.Agree(t, "knots", append(s.Knots(), low, high), []float64{40, 70, 10, 100}, 1e-12)
	if s.Columns() != 3 {
		t.Errorf("%d columns", s.Columns())
	}
	if _, err := NewWeightedSpline(x[:5], w[:5]); !errors.Is(err, ErrFewValues) {
		t.Errorf("5 values: %v", err)
	}
	w[0] = 1000
	if _, err := NewWeightedSpline(x, w); !errors.Is(err, ErrFewValues) {
		t.Errorf("all weight on one value: %v", err)
	}
	if _, err := NewWeightedSpline(x, nil); err == nil {
		t.Error("no weights passed")
	}
}

type quantileCase struct {
	ID       string
	Data     struct{ X, Probs []float64 }
	Expected struct{ Quantiles []float64 }
}

func TestWeightedQuantiles(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[quantileCase](t, "weighted-quantile.json")
	for _, c := range cases {
		weight := make([]float64, len(c.Data.X))
		for i := range weight {
			weight[i] = 0.3
		}
		got, err := WeightedQuantiles(c.Data.X, weight, c.Data.Probs...)
		if err != nil {
			t.Fatal(err)
		}
		published.Agree(t, c.ID, got, c.Expected.Quantiles, tol)
	}
	// By hand: a quarter, a half and a quarter of the weight, middles at 1/8,
	// 1/2 and 7/8; splitting a value and adding weight 0 change nothing.
	got, err := WeightedQuantiles([]float64{30, 10, 20, 20, 99}, []float64{2, 2, 1, 3, 0}, 0, 0.125, 0.3125, 0.5, 0.875, 1)
	if err != nil {
		t.Fatal(err)
	}
	published.Agree(t, "by hand", got, []float64{10, 10, 15, 20, 30, 30}, 1e-12)
	for name, w := range map[string][]float64{"zero": {0, 0}, "negative": {1, -1}, "short": {1}, "NaN": {1, math.NaN()}} {
		if q, err := WeightedQuantiles([]float64{1, 2}, w, 0.5); err == nil {
			t.Errorf("%s weights gave %v", name, q)
		}
	}
	if _, err := WeightedQuantiles([]float64{1}, []float64{1}, 1.1); err == nil {
		t.Error("share 1.1 passed")
	}
}
