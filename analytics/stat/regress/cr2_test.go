package regress

import (
	"errors"
	"math"
	"testing"

	"rigtally/analytics/stat/published"
)

func mustCR2(t *testing.T, fit *Fit, d *Design, cluster []int, clusters int) *CR2 {
	t.Helper()
	v, err := NewCR2(fit, rowsOf(d, cluster, clusters))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func mustContrast(t *testing.T, tester Tester, c []float64) Contrast {
	t.Helper()
	out, err := tester.Contrast(c)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestCR2Reference(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[regressionCase](t, "cluster-robust.json")
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			t.Parallel()
			d, want := c.design(), c.Expected
			v := mustCR2(t, mustFit(t, d), d, c.Cluster, 100)
			published.Agree(t, "CR2", flatMatrix(v.cov), flatMatrixRows(want.CovCR2), tol)
			var df, p []float64
			for j := range d.P {
				k := mustContrast(t, v, unitVector(d.P, j))
				df, p = append(df, k.DF), append(p, k.P(0))
			}
			published.Agree(t, "degrees of freedom", df, want.DFCR2, tol)
			published.Agree(t, "p", p, want.PCR2, 10*tol)
			w, err := v.Wald(allButIntercept(d.P))
			if err != nil {
				t.Fatal(err)
			}
			published.Agree(t, "HTZ", []float64{w.F, w.DF2, w.P}, []float64{want.HTZF, want.HTZDF2, want.HTZP}, 10*tol)
		})
	}
}

func TestCR2IgnoresSumming(t *testing.T) {
	t.Parallel()
	d, cluster := clusteredDesign(1, 400, 8)
	fit := mustFit(t, d)
	few, fewCluster := summedDesign(d, cluster)
	if few.Rows() >= d.Rows() {
		t.Fatal("nothing was summed")
	}
	a, b := mustCR2(t, fit, d, cluster, 8), mustCR2(t, fit, few, fewCluster, 8)
	published.Agree(t, "CR2", flatMatrix(b.cov), flatMatrix(a.cov), 1e-11)
	c := []float64{0, 1, -1, 0, 0.5, 0}
	x, y := mustContrast(t, a, c), mustContrast(t, b, c)
	published.Agree(t, "contrast", []float64{y.Estimate, y.SE, y.DF}, []float64{x.Estimate, x.SE, x.DF}, 1e-10)
}

// TestCR2OneMean: with an intercept alone and clusters of one size, CR2 is the
// variance of a mean of G values and has G−1 degrees of freedom (Bell &
// McCaffrey 2002, §3, balanced case).
func TestCR2OneMean(t *testing.T) {
	t.Parallel()
	y := []float64{3, 7, 0, 4, 9, 1}
	d := &Design{P: 1}
	var cluster []int
	for i, k := range y {
		for _, share := range []float64{0.25, 0.75} {
			d.X, d.Y = append(d.X, 1), append(d.Y, share*k)
			d.Exposure, cluster = append(d.Exposure, 1), append(cluster, i)
		}
	}
	c := mustContrast(t, mustCR2(t, mustFit(t, d), d, cluster, 6), []float64{1})
	ss := 0.0
	for _, k := range y {
		ss += (k - 4) * (k - 4) // the mean of y is 4
	}
	published.Agree(t, "log mean, se, df", []float64{c.Estimate, c.SE, c.DF},
		[]float64{math.Log(2), math.Sqrt(ss/5/6) / 4, 5}, 1e-10)
}

// TestCR2TwoGroups: with whole clusters in one of two groups, the variance is
// that of Welch's comparison of log means, and Satterthwaite's degrees of
// freedom take the working variances 1/μ of the clusters.
func TestCR2TwoGroups(t *testing.T) {
	t.Parallel()
	groups := [][]float64{{2, 6, 4, 8}, {1, 2, 0, 3, 1, 5, 2}}
	d := &Design{P: 2}
	var cluster []int
	var mean, share []float64
	for g, ys := range groups {
		sum := 0.0
		for _, y := range ys {
			d.X = append(d.X, 1, float64(g))
			d.Y, d.Exposure, cluster = append(d.Y, y), append(d.Exposure, 2), append(cluster, len(cluster))
			sum += y
		}
		mean = append(mean, sum/float64(len(ys)))
		share = append(share, 1/sum) // 1/μ over the number of clusters
	}
	variance := 0.0
	for g, ys := range groups {
		n := float64(len(ys))
		for _, y := range ys {
			variance += (y - mean[g]) * (y - mean[g]) / (n - 1) / n / (mean[g] * mean[g])
		}
	}
	df := (share[0] + share[1]) * (share[0] + share[1]) / (share[0]*share[0]/3 + share[1]*share[1]/6)
	v := mustCR2(t, mustFit(t, d), d, cluster, 11)
	c := mustContrast(t, v, []float64{0, 1})
	published.Agree(t, "log ratio, se, df", []float64{c.Estimate, c.SE, c.DF},
		[]float64{math.Log(mean[1] / mean[0]), math.Sqrt(variance), df}, 1e-10)
	w, err := v.Wald([][]float64{{0, 1}})
	if err != nil {
		t.Fatal(err)
	}
	published.Agree(t, "one contrast by HTZ is its t", []float64{w.F, w.DF2, w.P},
		[]float64{c.Estimate / c.SE * c.Estimate / c.SE, c.DF, c.P(0)}, 1e-9)
}

func TestCR2RefusesWhatOneClusterDecides(t *testing.T) {
	t.Parallel()
	d, cluster := clusteredDesign(5, 120, 6)
	for i := range d.Y {
		row := d.Row(i)
		if row[1] == 1 && cluster[i] != 3 {
			row[1] = 0 // level 1 only in cluster 3
		}
	}
	v := mustCR2(t, mustFit(t, d), d, cluster, 6)
	if _, err := v.Contrast(unitVector(6, 1)); !errors.Is(err, ErrOneCluster) {
		t.Errorf("level of one cluster: %v", err)
	}
	mustContrast(t, v, unitVector(6, 4))
	if _, err := v.Wald(allButIntercept(6)); err == nil {
		t.Error("joint test with a level of one cluster passed")
	}
}
