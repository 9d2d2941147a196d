package regress

import (
	"math"
	"testing"

	"rigtally/analytics/stat/published"
)

func mustFirth(t *testing.T, d *Design) *Fit {
	t.Helper()
	fit, err := Firth(d)
	if err != nil {
		t.Fatal(err)
	}
	return fit
}

func TestFitFirthReference(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[regressionCase](t, "firth.json")
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			t.Parallel()
			fit := mustFirth(t, c.design())
			published.Agree(t, "coefficient", fit.Coef, c.Expected.Coef, tol)
			published.Agree(t, "standard error", diagonalRoots(fit.Cov), c.Expected.SE, tol)
		})
	}
}

// TestFitFirthOneFactor: in a saturated model every cell has h = 1, so half an
// event is added to each level (Firth 1993, §3).
func TestFitFirthOneFactor(t *testing.T) {
	t.Parallel()
	d := &Design{P: 3, X: []float64{1, 0, 0, 1, 1, 0, 1, 0, 1}, Y: []float64{0, 40, 3}, Exposure: []float64{5, 2, 7}}
	a := math.Log(0.5 / 5)
	published.Agree(t, "coefficient", mustFirth(t, d).Coef, []float64{a, math.Log(40.5/2) - a, math.Log(3.5/7) - a}, 1e-9)
	none := &Design{P: 1, X: []float64{1, 1}, Y: []float64{0, 0}, Exposure: []float64{3, 1}}
	published.Agree(t, "no events at all", mustFirth(t, none).Coef, []float64{math.Log(0.5 / 4)}, 1e-9)
}

func TestFitFirthOfCellsIsFitOfRows(t *testing.T) {
	t.Parallel()
	d := randomDesign(5, 900)
	for i := range d.Y {
		if d.Row(i)[2] == 1 {
			d.Y[i] = 0
		}
	}
	cells, _ := summedDesign(d, make([]int, d.Rows()))
	a, b := mustFirth(t, d), mustFirth(t, cells)
	published.Agree(t, "coefficient", b.Coef, a.Coef, 1e-9)
	published.Agree(t, "covariance", flatMatrix(b.Cov), flatMatrix(a.Cov), 1e-8)
	if !a.Penalised || math.Abs(a.Coef[2]) > 20 {
		t.Errorf("penalised %v, level without events %g", a.Penalised, a.Coef[2])
	}
}

func TestFitFirthDropsAliasedColumns(t *testing.T) {
	t.Parallel()
	d := &Design{P: 3, X: []float64{1, 0, 1, 1, 1, 2}, Y: []float64{4, 0}, Exposure: []float64{1, 1}}
	fit := mustFirth(t, d)
	if len(fit.Aliased) != 1 || fit.Aliased[0] != 2 {
		t.Errorf("aliased %v, want [2]", fit.Aliased)
	}
	published.Agree(t, "coefficient", fit.Coef, []float64{math.Log(4.5), math.Log(0.5 / 4.5), 0}, 1e-9)
}

func BenchmarkFitFirthCells(b *testing.B) {
	d := tangleCells()
	for i := range d.Y {
		if d.Row(i)[3] == 1 {
			d.Y[i] = 0
		}
	}
	for b.Loop() {
		if _, err := Firth(d); err != nil {
			b.Fatal(err)
		}
	}
}
