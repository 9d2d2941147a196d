package regress

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rigtally/analytics/stat/published"
)

// rowsOf gives every row of a design a cell of its own.
func rowsOf(d *Design, cluster []int, clusters int) Rows {
	return Rows{Cells: d, Clusters: clusters, All: func(add func(cluster, cell int, y, exposure float64)) {
		for i, y := range d.Y {
			add(cluster[i], i, y, d.Exposure[i])
		}
	}}
}

func mustHC1(t *testing.T, fit *Fit, rows Rows) *FixedDF {
	t.Helper()
	f, err := HC1(fit, rows)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func hc1Of(t *testing.T, fit *Fit, d *Design, cluster []int, clusters int) []float64 {
	t.Helper()
	return flatMatrix(mustHC1(t, fit, rowsOf(d, cluster, clusters)).cov)
}

func TestClusterRobustReference(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[regressionCase](t, "cluster-robust.json")
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			t.Parallel()
			d, want := c.design(), c.Expected
			fit := mustFit(t, d)
			published.Agree(t, "coefficient", fit.Coef, want.Coef, tol)
			// Cluster numbers start at 1, so that number 0 stays empty.
			f := mustHC1(t, fit, rowsOf(d, c.Cluster, 100))
			published.Agree(t, "HC1", flatMatrix(f.cov), flatMatrixRows(want.CovHC1), tol)
			for df, want := range map[float64][]float64{
				f.df:        {want.WaldF, want.WaldFP},
				math.Inf(1): {want.WaldF, want.WaldChi2P},
			} {
				tester := FixedDF{fit, f.cov, df}
				w, err := tester.Wald(allButIntercept(d.P))
				if err != nil {
					t.Fatal(err)
				}
				published.Agree(t, "Wald F, p", []float64{w.F, w.P}, want, 10*tol)
			}
		})
	}
}

// clusteredDesign gives the rows of randomDesign to clusters at random.
func clusteredDesign(seed uint64, n, clusters int) (*Design, []int) {
	r := rand.New(rand.NewPCG(seed, 5))
	cluster := make([]int, n)
	for i := range cluster {
		cluster[i] = r.IntN(clusters)
	}
	return randomDesign(seed, n), cluster
}

func TestScoresIgnoreOrderAndSumming(t *testing.T) {
	t.Parallel()
	d, cluster := clusteredDesign(1, 800, 12)
	fit := mustFit(t, d)
	want := hc1Of(t, fit, d, cluster, 12)

	mixed, order := shuffledDesign(d, 3)
	mixedCluster := make([]int, len(order))
	for k, i := range order {
		mixedCluster[k] = cluster[i]
	}
	published.Agree(t, "shuffled", hc1Of(t, fit, mixed, mixedCluster, 12), want, 1e-11)

	few, fewCluster := summedDesign(d, cluster)
	if few.Rows() >= d.Rows() {
		t.Fatal("nothing was summed")
	}
	// The factor of the variance counts rows.
	n, m, p := float64(d.Rows()), float64(few.Rows()), float64(d.P)
	summed := mustHC1(t, fit, rowsOf(few, fewCluster, 12)).cov
	summed.ScaleSym((n-1)/(n-p)/((m-1)/(m-p)), summed)
	published.Agree(t, "summed", flatMatrix(summed), want, 1e-11)
}

func TestScoresOfSharedCells(t *testing.T) {
	t.Parallel()
	d, cluster := clusteredDesign(2, 300, 9)
	fit := mustFit(t, d)
	cells, _ := summedDesign(d, make([]int, d.Rows()))
	if cells.Rows() >= d.Rows() {
		t.Fatal("no cell is shared")
	}
	shared := Rows{Cells: cells, Clusters: 9, All: func(add func(cluster, cell int, y, exposure float64)) {
		for i, y := range d.Y {
			for cell := range cells.Rows() {
				if slices.Equal(cells.Row(cell), d.Row(i)) {
					add(cluster[i], cell, y, d.Exposure[i])
				}
			}
		}
	}}
	published.Agree(t, "HC1", flatMatrix(mustHC1(t, fit, shared).cov), hc1Of(t, fit, d, cluster, 9), 1e-12)
}

func TestScoresCountClusters(t *testing.T) {
	t.Parallel()
	d := &Design{P: 2, X: []float64{1, 0, 1, 0, 1, 1, 1, 1}, Y: []float64{1, 3, 2, 5}, Exposure: []float64{1, 1, 1, 2}}
	if df := mustHC1(t, mustFit(t, d), rowsOf(d, []int{0, 4, 4, 4}, 6)).df; df != 1 {
		t.Errorf("%g degrees of freedom for 2 clusters", df)
	}
}

func TestScoresKeepAliasedAtZero(t *testing.T) {
	t.Parallel()
	d, cluster := clusteredDesign(6, 300, 10)
	wide := &Design{P: 7, Y: d.Y, Exposure: d.Exposure}
	for i := range d.Y {
		wide.X = append(append(wide.X, d.Row(i)...), d.Row(i)[2])
	}
	plain, cov := mustHC1(t, mustFit(t, d), rowsOf(d, cluster, 10)).cov, mustHC1(t, mustFit(t, wide), rowsOf(wide, cluster, 10)).cov
	published.Agree(t, "variance", []float64{cov.At(2, 2), cov.At(6, 6)}, []float64{plain.At(2, 2), 0}, 1e-10)
}

func TestClusteredVariancesRefuseTheImpossible(t *testing.T) {
	t.Parallel()
	d, cluster := clusteredDesign(3, 60, 5)
	fit := mustFit(t, d)
	few := &Design{P: d.P, X: d.X[:6*d.P], Y: d.Y[:6], Exposure: d.Exposure[:6]}
	one := func(cluster, cell int, y, exposure float64) Rows {
		return Rows{Cells: d, Clusters: 5, All: func(add func(cluster, cell int, y, exposure float64)) {
			for i, y := range d.Y {
				add(i%5, i, y, d.Exposure[i])
			}
			add(cluster, cell, y, exposure)
		}}
	}
	for name, c := range map[string]struct {
		rows Rows
		is   error
	}{
		"one cluster":               {rowsOf(d, make([]int, 60), 5), ErrFewClusters},
		"a cluster beyond the last": {rowsOf(d, cluster, 2), nil},
		"a negative cluster":        {one(-1, 0, 1, 1), nil},
		"no number":                 {one(0, 0, math.NaN(), 1), nil},
		"no number for an exposure": {one(0, 0, 1, math.NaN()), nil},
		"an exposure below 0":       {one(0, 0, 1, -1), nil},
		"a cell of none":            {one(0, 60, 1, 1), nil},
		"a negative cell":           {one(0, -1, 1, 1), nil},
		"cells of another number":   {rowsOf(&Design{P: 1, X: []float64{1}, Y: []float64{1}, Exposure: []float64{1}}, []int{0}, 5), nil},
		"cells of none":             {rowsOf(&Design{P: d.P}, nil, 5), nil},
	} {
		_, plain := HC1(fit, c.rows)
		_, reduced := NewCR2(fit, c.rows)
		for _, err := range []error{plain, reduced} {
			if err == nil || c.is != nil && !errors.Is(err, c.is) {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	if _, err := HC1(fit, rowsOf(few, []int{0, 1, 2, 3, 4, 0}, 5)); err == nil {
		t.Error("as many coefficients as rows passed")
	}
}

// millionRowsOf draws the rows behind tangleCells: cell and cluster numbers.
func millionRowsOf(cells int) (cell, cluster []int32) {
	r := rand.New(rand.NewPCG(1, 9))
	cell, cluster = make([]int32, 1e6), make([]int32, 1e6)
	for i := range cell {
		cell[i], cluster[i] = int32(r.IntN(cells)), int32(i*222/1000)
	}
	return cell, cluster
}

func BenchmarkHC1MillionRows(b *testing.B) {
	cells := tangleCells()
	fit, err := Poisson(cells)
	if err != nil {
		b.Fatal(err)
	}
	cell, cluster := millionRowsOf(cells.Rows())
	rows := Rows{Cells: cells, Clusters: 222000, All: func(add func(cluster, cell int, y, exposure float64)) {
		for i := range cell {
			add(int(cluster[i]), int(cell[i]), 1, 0.5)
		}
	}}
	for b.Loop() {
		if _, err := HC1(fit, rows); err != nil {
			b.Fatal(err)
		}
	}
}
