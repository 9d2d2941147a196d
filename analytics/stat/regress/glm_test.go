package regress

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rigtally/analytics/stat/published"
)

func mustFit(t *testing.T, d *Design) *Fit {
	t.Helper()
	fit, err := Poisson(d)
	if err != nil {
		t.Fatal(err)
	}
	return fit
}

func TestFitPoissonReference(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[regressionCase](t, "poisson-glm.json")
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			t.Parallel()
			fit := mustFit(t, c.design())
			want := c.Expected
			published.Agree(t, "coefficient", fit.Coef, want.Coef, tol)
			se := diagonalRoots(fit.Cov)
			published.Agree(t, "standard error", se, want.SE, tol)
			published.Agree(t, "deviance, Pearson", []float64{fit.Deviance, fit.Pearson}, []float64{want.Deviance, want.Pearson}, tol)
			phi := math.Sqrt(fit.Pearson / float64(fit.Rows-fit.Rank()))
			for j := range want.SEQuasi {
				published.Agree(t, "quasi-Poisson standard error", []float64{se[j] * phi}, want.SEQuasi[j:j+1], tol)
			}
		})
	}
}

// randomDesign has an intercept, a factor of 4 levels, one of 2 and a continuous
// covariate of few distinct values, with rates from 0.2 to about 3.
func randomDesign(seed uint64, n int) *Design {
	r := rand.New(rand.NewPCG(seed, 1))
	d := &Design{P: 6}
	for range n {
		level, bulk, length := r.IntN(4), float64(r.IntN(2)), float64(r.IntN(5))/4
		row := []float64{1, 0, 0, 0, bulk, length}
		if level > 0 {
			row[level] = 1
		}
		t := 0.25 * float64(1+r.IntN(12))
		mu := t * math.Exp(-1+0.4*float64(level)+0.5*bulk-0.7*length)
		d.X = append(d.X, row...)
		d.Exposure = append(d.Exposure, t)
		d.Y = append(d.Y, knuthPoisson(r, mu))
	}
	return d
}

func knuthPoisson(r *rand.Rand, mu float64) float64 {
	k, product := 0.0, r.Float64()
	for limit := math.Exp(-mu); product > limit; k++ {
		product *= r.Float64()
	}
	return k
}

// summedDesign adds up rows with equal covariates and equal group.
func summedDesign(d *Design, group []int) (*Design, []int) {
	out, groups := &Design{P: d.P}, []int{}
	at := map[string]int{}
	for i := range d.Y {
		key := string(rune(group[i]))
		for _, x := range d.Row(i) {
			key += string(rune(math.Round(100 * x)))
		}
		k, ok := at[key]
		if !ok {
			k = len(out.Y)
			at[key] = k
			out.X = append(out.X, d.Row(i)...)
			out.Y, out.Exposure = append(out.Y, 0), append(out.Exposure, 0)
			groups = append(groups, group[i])
		}
		out.Y[k] += d.Y[i]
		out.Exposure[k] += d.Exposure[i]
	}
	return out, groups
}

func shuffledDesign(d *Design, seed uint64) (*Design, []int) {
	order := rand.New(rand.NewPCG(seed, 2)).Perm(d.Rows())
	out := &Design{P: d.P}
	for _, i := range order {
		out.X = append(out.X, d.Row(i)...)
		out.Y = append(out.Y, d.Y[i])
		out.Exposure = append(out.Exposure, d.Exposure[i])
	}
	return out, order
}

func TestFitPoissonOfCellsIsFitOfRows(t *testing.T) {
	t.Parallel()
	for seed := range uint64(5) {
		d := randomDesign(seed, 3000)
		cells, _ := summedDesign(d, make([]int, d.Rows()))
		if cells.Rows() != 40 {
			t.Fatalf("%d cells, want 4·2·5", cells.Rows())
		}
		a, b := mustFit(t, d), mustFit(t, cells)
		published.Agree(t, "coefficient", b.Coef, a.Coef, 1e-10)
		published.Agree(t, "covariance", flatMatrix(b.Cov), flatMatrix(a.Cov), 1e-10)
	}
}

func TestFitPoissonIgnoresRowOrder(t *testing.T) {
	t.Parallel()
	d := randomDesign(7, 500)
	other, _ := shuffledDesign(d, 8)
	published.Agree(t, "coefficient", mustFit(t, other).Coef, mustFit(t, d).Coef, 1e-11)
}

func TestFitPoissonExposureUnitMovesOnlyTheIntercept(t *testing.T) {
	t.Parallel()
	d := randomDesign(9, 500)
	a := mustFit(t, d)
	minutes := *d
	minutes.Exposure = slices.Clone(d.Exposure)
	for i := range minutes.Exposure {
		minutes.Exposure[i] *= 60
	}
	b := mustFit(t, &minutes)
	want := slices.Clone(a.Coef)
	want[0] -= math.Log(60)
	published.Agree(t, "coefficient", b.Coef, want, 1e-11)
	published.Agree(t, "covariance", flatMatrix(b.Cov), flatMatrix(a.Cov), 1e-10)
}

func TestFitPoissonOneFactorGivesRawRates(t *testing.T) {
	t.Parallel()
	// A closed form: the estimate of each level is its events over its exposure,
	// here rates a thousandfold apart, far from the pooled start.
	d := &Design{P: 3, X: []float64{1, 0, 0, 1, 1, 0, 1, 0, 1}, Y: []float64{3, 4000, 1.5}, Exposure: []float64{1000, 2, 7}}
	fit := mustFit(t, d)
	want := []float64{math.Log(0.003), math.Log(2000 / 0.003), math.Log(1.5 / 7 / 0.003)}
	published.Agree(t, "coefficient", fit.Coef, want, 1e-11)
	published.Agree(t, "variance of a log rate", []float64{fit.Cov.At(0, 0)}, []float64{1.0 / 3}, 1e-11)
}

func TestFitPoissonDropsAliasedColumns(t *testing.T) {
	t.Parallel()
	d := randomDesign(3, 400)
	plain := mustFit(t, d)
	// Inserted: 1 is zero, 3 twice column 2, 7 the sum of intercept and bulk.
	wide := &Design{P: 9, Y: d.Y, Exposure: d.Exposure}
	for i := range d.Y {
		r := d.Row(i)
		wide.X = append(wide.X, r[0], 0, r[1], 2*r[1], r[2], r[3], r[4], r[0]+r[4], r[5])
	}
	fit := mustFit(t, wide)
	if !slices.Equal(fit.Aliased, []int{1, 3, 7}) {
		t.Fatalf("aliased %v, want [1 3 7]", fit.Aliased)
	}
	var kept []float64
	for _, j := range []int{0, 2, 4, 5, 6, 8} {
		kept = append(kept, fit.Coef[j])
	}
	published.Agree(t, "coefficient", kept, plain.Coef, 1e-11)
	if fit.Coef[3] != 0 || fit.Cov.At(3, 3) != 0 || fit.Rank() != 6 {
		t.Errorf("aliased coefficient %g with variance %g, rank %d", fit.Coef[3], fit.Cov.At(3, 3), fit.Rank())
	}
}

func TestFitPoissonReportsSeparation(t *testing.T) {
	t.Parallel()
	d := randomDesign(4, 600)
	for i := range d.Y {
		if d.Row(i)[2] == 1 {
			d.Y[i] = 0
		}
	}
	_, err := Poisson(d)
	var sep *SeparationError
	if !errors.As(err, &sep) || !errors.Is(err, ErrSeparated) || !slices.Equal(sep.Columns, []int{2}) {
		t.Errorf("level 2 without events: %v", err)
	}
	d = randomDesign(4, 600)
	for i := range d.Y {
		if r := d.Row(i); r[1]+r[2]+r[3] == 0 {
			d.Y[i] = 0
		}
	}
	if _, err = Poisson(d); !errors.As(err, &sep) || !slices.Equal(sep.Columns, []int{0, 1, 2, 3}) {
		t.Errorf("reference level without events: %v", err)
	}
	// The fall is one unit of the linear predictor a step, whatever the scale.
	steep := &Design{P: 2, X: []float64{1, 0, 1, 0, 1, -200}, Y: []float64{5, 3, 0}, Exposure: []float64{2, 2, 2}}
	if _, err = Poisson(steep); !errors.As(err, &sep) || !slices.Equal(sep.Columns, []int{1}) {
		t.Errorf("continuous covariate away from 0 in one row without events: %v", err)
	}
	// A zero column before it must not shift the reported number.
	wide := &Design{P: 3, X: []float64{1, 0, 0, 1, 0, 1}, Y: []float64{5, 0}, Exposure: []float64{2, 2}}
	if _, err = Poisson(wide); !errors.As(err, &sep) || !slices.Equal(sep.Columns, []int{2}) {
		t.Errorf("behind an aliased column: %v", err)
	}
}

func TestFitPoissonRareLevelIsNotSeparated(t *testing.T) {
	t.Parallel()
	d := &Design{P: 2, X: []float64{1, 0, 1, 1}, Y: []float64{5000, 1}, Exposure: []float64{10, 1e6}}
	published.Agree(t, "log ratio", mustFit(t, d).Coef[1:], []float64{math.Log(1e-6 / 500)}, 1e-10)
}

func TestFitPoissonRefusesTheImpossible(t *testing.T) {
	t.Parallel()
	one := []float64{1, 1}
	for name, d := range map[string]*Design{
		"no rows":           {P: 1},
		"no columns":        {Y: one, Exposure: one},
		"short X":           {P: 2, X: one, Y: one, Exposure: one},
		"short exposure":    {P: 1, X: one, Y: one, Exposure: one[:1]},
		"negative count":    {P: 1, X: one, Y: []float64{1, -1}, Exposure: one},
		"NaN count":         {P: 1, X: one, Y: []float64{1, math.NaN()}, Exposure: one},
		"no exposure":       {P: 1, X: one, Y: one, Exposure: []float64{1, 0}},
		"infinite exposure": {P: 1, X: one, Y: one, Exposure: []float64{1, math.Inf(1)}},
		"NaN covariate":     {P: 1, X: []float64{1, math.NaN()}, Y: one, Exposure: one},
		"only zeros":        {P: 1, X: []float64{0, 0}, Y: one, Exposure: one},
	} {
		if fit, err := Poisson(d); err == nil {
			t.Errorf("%s: %+v", name, fit)
		}
		if fit, err := Firth(d); err == nil {
			t.Errorf("%s, penalised: %+v", name, fit)
		}
	}
	none := &Design{P: 1, X: one, Y: []float64{0, 0}, Exposure: one}
	if _, err := Poisson(none); !errors.Is(err, ErrAllZero) {
		t.Errorf("no events: %v", err)
	}
}

// TestFitPoissonSolvesOrRefuses: on thin and lopsided tables, whatever is not
// refused is finite and solves the likelihood equations X'(y−μ) = 0.
func TestFitPoissonSolvesOrRefuses(t *testing.T) {
	t.Parallel()
	solved := 0
	for seed := range uint64(1500) {
		d := thinDesign(seed)
		if fit, err := Firth(d); err == nil {
			checkFinite(t, seed, fit)
		} else if d.X[0] == 1 {
			t.Errorf("seed %d, penalised: %v", seed, err)
		}
		fit, err := Poisson(d)
		if err != nil {
			continue
		}
		solved++
		checkFinite(t, seed, fit)
		for j := range d.P {
			score, size := 0.0, 0.0
			for i, y := range d.Y {
				mu, x := d.Exposure[i]*fit.Rate(d.Row(i)), d.Row(i)[j]
				score += (y - mu) * x
				size += (y + mu) * math.Abs(x)
			}
			if math.Abs(score) > 1e-7*size {
				t.Errorf("seed %d: score %g of %g in column %d", seed, score, size, j)
			}
		}
	}
	if solved < 1000 {
		t.Errorf("only %d of 1500 solved", solved)
	}
}

func checkFinite(t *testing.T, seed uint64, fit *Fit) {
	t.Helper()
	for j, b := range fit.Coef {
		if v := fit.Cov.At(j, j); math.IsNaN(b+v) || math.IsInf(b+v, 0) {
			t.Errorf("seed %d: coefficient %g with variance %g", seed, b, v)
		}
	}
}

// thinDesign has up to 30 rows of up to 6 columns, mostly zeros, with exposures
// from 0.01 to 100 and many counts of 0.
func thinDesign(seed uint64) *Design {
	r := rand.New(rand.NewPCG(seed, 77))
	n := 1 + r.IntN(30)
	d := &Design{P: 1 + r.IntN(6)}
	for range n {
		for j := range d.P {
			x := 0.0
			switch {
			case j == 0 && seed%3 > 0:
				x = 1
			case r.IntN(3) == 0:
				x = float64(r.IntN(3))
			case r.IntN(8) == 0:
				x = 3 * r.NormFloat64()
			}
			d.X = append(d.X, x)
		}
		d.Exposure = append(d.Exposure, math.Pow(10, float64(r.IntN(5)-2)))
		d.Y = append(d.Y, math.Round(math.Abs(r.NormFloat64())*float64(r.IntN(4)*r.IntN(20))))
	}
	return d
}

// tangleCells has 12,348 cells of 16 columns, 5 of them set by factor levels.
func tangleCells() *Design {
	r := rand.New(rand.NewPCG(11, 3))
	d := &Design{P: 16}
	for i := range 12348 {
		row := make([]float64, 16)
		row[0], row[15] = 1, float64(i%49)/49
		eta := -0.5 + 0.4*row[15]
		for f, levels := 1, []int{7, 3, 4, 3}; len(levels) > 0; levels = levels[1:] {
			if l := r.IntN(levels[0]); l > 0 {
				row[f+l-1] = 1
				eta += 0.1 * float64(l)
			}
			f += levels[0] - 1
		}
		t := 20 + 200*r.Float64()
		d.X = append(d.X, row...)
		d.Exposure = append(d.Exposure, t)
		d.Y = append(d.Y, math.Round(t*math.Exp(eta)*(0.8+0.4*r.Float64())))
	}
	return d
}

func BenchmarkFitPoissonCells(b *testing.B) {
	d := tangleCells()
	for b.Loop() {
		if _, err := Poisson(d); err != nil {
			b.Fatal(err)
		}
	}
}
