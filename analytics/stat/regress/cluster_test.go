package regress

import (
	"rigtally/analytics/stat/published"

	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func scoresOf(t *testing.T, fit *Fit, d *Design, cluster []int, clusters int) *Scores {
	t.Helper()
	s, err := NewScores(fit, d, clusters)
	if err != nil {
		t.Fatal(err)
	}
	for i, y := range d.Y {
		s.Add(cluster[i], i, y, d.Exposure[i])
	}
	return s
}

func mustCov(t *testing.T, s *Scores) []float64 {
	t.Helper()
	cov, err := s.Cov()
	if err != nil {
		t.Fatal(err)
	}
	return flatMatrix(cov)
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
			s := scoresOf(t, fit, d, c.Cluster, 100)
			cov, err := s.Cov()
			if err != nil {
				t.Fatal(err)
			}
			published.Agree(t, "HC1", flatMatrix(cov), flatMatrixRows(want.CovHC1), tol)
			for df, want := range map[float64][]float64{
				float64(s.Clusters() - 1): {want.WaldF, want.WaldFP},
				math.Inf(1):               {want.WaldF, want.WaldChi2P},
			} {
				tester, err := NewFixedDF(fit, cov, df)
				if err != nil {
					t.Fatal(err)
				}
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
	want := mustCov(t, scoresOf(t, fit, d, cluster, 12))

	mixed, order := shuffledDesign(d, 3)
	mixedCluster := make([]int, len(order))
	for k, i := range order {
		mixedCluster[k] = cluster[i]
	}
	published.Agree(t, "shuffled", mustCov(t, scoresOf(t, fit, mixed, mixedCluster, 12)), want, 1e-11)

	few, fewCluster := summedDesign(d, cluster)
	if few.Rows() >= d.Rows() {
		t.Fatal("nothing was summed")
	}
	s := scoresOf(t, fit, few, fewCluster, 12)
	s.rows = d.Rows()
	published.Agree(t, "summed", mustCov(t, s), want, 1e-11)
}

func TestScoresOfSharedCells(t *testing.T) {
	t.Parallel()
	d, cluster := clusteredDesign(2, 300, 9)
	fit := mustFit(t, d)
	cells, _ := summedDesign(d, make([]int, d.Rows()))
	if cells.Rows() >= d.Rows() {
		t.Fatal("no cell is shared")
	}
	s, err := NewScores(fit, cells, 9)
	if err != nil {
		t.Fatal(err)
	}
	for i, y := range d.Y {
		for cell := range cells.Rows() {
			if slices.Equal(cells.Row(cell), d.Row(i)) {
				s.Add(cluster[i], cell, y, d.Exposure[i])
			}
		}
	}
	published.Agree(t, "HC1", mustCov(t, s), mustCov(t, scoresOf(t, fit, d, cluster, 9)), 1e-12)
}

func TestScoresCountClusters(t *testing.T) {
	t.Parallel()
	d := &Design{P: 2, X: []float64{1, 0, 1, 0, 1, 1, 1, 1}, Y: []float64{1, 3, 2, 5}, Exposure: []float64{1, 1, 1, 2}}
	s := scoresOf(t, mustFit(t, d), d, []int{0, 4, 4, 4}, 6)
	if s.Clusters() != 2 {
		t.Errorf("%d clusters", s.Clusters())
	}
}

func TestScoresKeepAliasedAtZero(t *testing.T) {
	t.Parallel()
	d, cluster := clusteredDesign(6, 300, 10)
	wide := &Design{P: 7, Y: d.Y, Exposure: d.Exposure}
	for i := range d.Y {
		wide.X = append(append(wide.X, d.Row(i)...), d.Row(i)[2])
	}
	plain, err := scoresOf(t, mustFit(t, d), d, cluster, 10).Cov()
	if err != nil {
		t.Fatal(err)
	}
	cov, err := scoresOf(t, mustFit(t, wide), wide, cluster, 10).Cov()
	if err != nil {
		t.Fatal(err)
	}
	published.Agree(t, "variance", []float64{cov.At(2, 2), cov.At(6, 6)}, []float64{plain.At(2, 2), 0}, 1e-10)
}

func TestScoresRefuseTheImpossible(t *testing.T) {
	t.Parallel()
	d, cluster := clusteredDesign(3, 60, 5)
	fit := mustFit(t, d)
	if _, err := scoresOf(t, fit, d, make([]int, 60), 5).Cov(); !errors.Is(err, ErrFewClusters) {
		t.Errorf("one cluster: %v", err)
	}
	if _, err := scoresOf(t, fit, d, cluster, 2).Cov(); err == nil {
		t.Error("cluster number beyond the last passed")
	}
	s := scoresOf(t, fit, d, cluster, 5)
	s.rows = 6
	if _, err := s.Cov(); err == nil {
		t.Error("as many coefficients as observations passed")
	}
	for name, add := range map[string]func(*Scores){
		"negative":      func(s *Scores) { s.Add(-1, 0, 1, 1) },
		"NaN":           func(s *Scores) { s.Add(0, 0, math.NaN(), 1) },
		"NaN exposure":  func(s *Scores) { s.Add(0, 0, 1, math.NaN()) },
		"cell of none":  func(s *Scores) { s.Add(0, 60, 1, 1) },
		"negative cell": func(s *Scores) { s.Add(0, -1, 1, 1) },
	} {
		s := scoresOf(t, fit, d, cluster, 5)
		add(s)
		if _, err := s.Cov(); err == nil {
			t.Errorf("%s passed", name)
		}
	}
}

func TestScoresRefuseOtherColumns(t *testing.T) {
	t.Parallel()
	d, _ := clusteredDesign(3, 60, 5)
	fit := mustFit(t, d)
	for name, cells := range map[string]*Design{"of another number": {P: 1, X: []float64{1}, Y: []float64{1}, Exposure: []float64{1}}, "of none": {P: d.P}} {
		if _, err := NewScores(fit, cells, 5); err == nil {
			t.Errorf("cells %s passed", name)
		}
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

func BenchmarkScoresMillionRows(b *testing.B) {
	cells := tangleCells()
	fit, err := Poisson(cells)
	if err != nil {
		b.Fatal(err)
	}
	cell, cluster := millionRowsOf(cells.Rows())
	for b.Loop() {
		s, err := NewScores(fit, cells, 222000)
		if err != nil {
			b.Fatal(err)
		}
		for i := range cell {
			s.Add(int(cluster[i]), int(cell[i]), 1, 0.5)
		}
		if _, err := s.Cov(); err != nil {
			b.Fatal(err)
		}
	}
}
