package strength

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"rigtally/analytics/stat"
	"rigtally/analytics/stat/published"
)

type wantWeibull struct {
	Shape, Scale, LogLik, B10 float64
	VarLogScale               float64    `json:"var_log_scale"`
	VarLogShape               float64    `json:"var_log_shape"`
	Cov                       float64    `json:"cov"`
	ScaleWald                 [2]float64 `json:"scale_wald"`
	ShapeWald                 [2]float64 `json:"shape_wald"`
	B10Wald                   [2]float64 `json:"b10_wald"`
	B10Profile                [2]float64 `json:"b10_profile"`
	ScaleProfile              [2]float64 `json:"scale_profile"`
	ShapeProfile              [2]float64 `json:"shape_profile"`
}

func observed(values, status []float64) []Observed {
	list := make([]Observed, len(values))
	for i, v := range values {
		list[i] = Observed{v, status[i] == 0}
	}
	return list
}

var scaleShare = 1 - math.Exp(-1)

func TestReferenceWeibull(t *testing.T) {
	t.Parallel()
	type data struct{ Time, Status []float64 }
	for _, c := range published.Sourced[data, wantWeibull](t, "weibull") {
		w, err := FitWeibull(observed(c.Data.Time, c.Data.Status))
		if err != nil {
			t.Fatal(err)
		}
		e := c.Expected
		for _, v := range []struct {
			what           string
			got, want, tol float64
		}{
			{"shape", w.Shape, e.Shape, 1e-9}, {"scale", w.Scale, e.Scale, 1e-9}, {"log-likelihood", w.LogLik, e.LogLik, 1e-11}, {"B10", w.Quantile(0.1), e.B10, 1e-9},
			{"variance of log scale", w.VarLogScale, e.VarLogScale, 1e-6}, {"variance of log shape", w.VarLogShape, e.VarLogShape, 1e-6}, {"covariance", w.CovLogs, e.Cov, 1e-6},
		} {
			if !published.Near(v.got, v.want, v.tol) {
				t.Errorf("%s: %s %.12g, want %.12g", c.ID, v.what, v.got, v.want)
			}
		}
		ends := func(what string, want [2]float64, tol float64) func(stat.Interval, error) {
			return func(got stat.Interval, err error) {
				if err != nil || !published.Near(got.Low, want[0], tol) || !published.Near(got.High, want[1], tol) {
					t.Errorf("%s: %s %.9g to %.9g (%v), want %v", c.ID, what, got.Low, got.High, err, want)
				}
			}
		}
		ends("Wald scale", e.ScaleWald, 1e-6)(w.Wald(scaleShare, 0.95))
		ends("Wald shape", e.ShapeWald, 1e-6)(w.WaldShape(0.95))
		ends("Wald B10", e.B10Wald, 1e-6)(w.Wald(0.1, 0.95))
		ends("profile scale", e.ScaleProfile, 1e-6)(w.QuantileInterval(scaleShare, 0.95))
		ends("profile shape", e.ShapeProfile, 1e-6)(w.ShapeInterval(0.95))
		ends("profile B10", e.B10Profile, 1e-6)(w.QuantileInterval(0.1, 0.95))
	}
}

// The figures that the e-Handbook itself prints, to the digits printed.
func TestWeibullAsTheHandbookPrints(t *testing.T) {
	t.Parallel()
	times := []float64{54, 187, 216, 240, 244, 335, 361, 373, 375, 386, 500, 500, 500, 500, 500, 500, 500, 500, 500, 500}
	data := make([]Observed, len(times))
	for i, v := range times {
		data[i] = Observed{v, v == 500}
	}
	w, err := FitWeibull(data)
	if err != nil || !published.Near(w.Shape, 1.7208, published.Digits(5)) || !published.Near(w.Scale, 606.528, published.Digits(6)) || !published.Near(w.LogLik, -75.135, published.Digits(5)) {
		t.Errorf("shape %g, scale %g, log-likelihood %g (%v); the page has 1.7208, 606.528 and 75.135", w.Shape, w.Scale, w.LogLik, err)
	}
}

func TestReferenceWelch(t *testing.T) {
	t.Parallel()
	type data struct{ X, Y []float64 }
	type want struct{ T, DF, P, Low, High, Difference, SE float64 }
	for _, c := range published.Sourced[data, want](t, "welch") {
		d, err := Welch(0.95, Stratum{X: c.Data.X, Y: c.Data.Y})
		e := c.Expected
		if err != nil || !published.Near(d.T, e.T, published.Exact) || !published.Near(d.DF, e.DF, published.Exact) || !published.Near(d.P, e.P, 1e-8) || !published.Near(d.Low, e.Low, published.Exact) || !published.Near(d.High, e.High, published.Exact) || !published.Near(d.SE, e.SE, published.Exact) {
			t.Errorf("%s: %+v (%v), want %+v", c.ID, d, err, e)
		}
	}
}

// Values needed, against R 4.2.2 power.t.test(delta = |log ratio|, sd = √((cv1² +
// cv2²)/2), power = 0.8)$n, which is a fraction: within one value (strength.R).
func TestPullsNeeded(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ cv1, cv2, ratio, want float64 }{
		{0.1, 0.1, 1.1, 18.2925}, {0.15, 0.08, 1.2, 7.90994}, {0.1, 0.1, 1.5, 2.39182}, {0.2, 0.2, 0.9, 57.5405},
	} {
		n, err := stat.PullsNeeded(c.cv1, c.cv2, c.ratio, 0.05, 0.8)
		if err != nil || math.Abs(float64(n)-math.Ceil(c.want)) > 1 {
			t.Errorf("%+v: %d (%v)", c, n, err)
		}
	}
	if _, err := stat.PullsNeeded(0.1, 0.1, 1, 0.05, 0.8); !errors.Is(err, stat.ErrNoDifference) {
		t.Errorf("equal means: %v", err)
	}
}

func TestReferenceMannWhitney(t *testing.T) {
	t.Parallel()
	type data struct{ X, Y []float64 }
	type want struct {
		W, P, Shift float64
		Low, High   *float64
	}
	for _, c := range published.Sourced[data, want](t, "mann-whitney") {
		r, err := MannWhitney(0.95, Ranked{X: c.Data.X, Y: c.Data.Y})
		e := c.Expected
		if err != nil || !r.Exact || r.W != e.W || !published.Near(r.P, e.P, published.Exact) || !published.Near(r.Shift, e.Shift, published.Exact) {
			t.Errorf("%s: %+v (%v), want %+v", c.ID, r, err, e)
		}
		if e.Low != nil && (!published.Near(r.Low, *e.Low, published.Exact) || !published.Near(r.High, *e.High, published.Exact)) {
			t.Errorf("%s: shift %g to %g, want %g to %g", c.ID, r.Low, r.High, *e.Low, *e.High)
		}
	}
}

// enumerate is the exact p by dealing the values out in every way, one stratum
// after the other: an independent, slow computation.
func enumerate(strata []Ranked) float64 {
	type total struct{ w, chance float64 }
	dist := []total{{0, 1}}
	at, middle := 0.0, 0.0
	for _, s := range strata {
		all := append(append([]float64{}, s.X...), s.Y...)
		m := len(s.X)
		var ways []float64
		for mask := range 1 << len(all) {
			var x, y []float64
			for i, v := range all {
				if mask>>i&1 == 1 {
					x = append(x, v)
				} else {
					y = append(y, v)
				}
			}
			if len(x) == m {
				ways = append(ways, Ranked{X: x, Y: y}.wins())
			}
		}
		var next []total
		for _, d := range dist {
			for _, w := range ways {
				next = append(next, total{d.w + w, d.chance / float64(len(ways))})
			}
		}
		dist = next
		at += s.wins()
		middle += float64(m*len(s.Y)) / 2
	}
	p := 0.0
	for _, d := range dist {
		if math.Abs(d.w-middle) >= math.Abs(at-middle)-1e-9 {
			p += d.chance
		}
	}
	return p
}

func TestMannWhitneyByEnumeration(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(7, 1))
	draw := func(n, values int) []float64 {
		list := make([]float64, n)
		for i := range list {
			list[i] = float64(random.IntN(values))
		}
		return list
	}
	for range 30 {
		strata := []Ranked{{X: draw(1+random.IntN(4), 6), Y: draw(1+random.IntN(4), 6)}, {X: draw(1+random.IntN(3), 4), Y: draw(1+random.IntN(3), 4)}}
		r, err := MannWhitney(0.95, strata...)
		if want := enumerate(strata); err != nil || math.Abs(r.P-want) > 1e-12 {
			t.Fatalf("%v: p %g (%v), by enumeration %g", strata, r.P, err, want)
		}
	}
	// Four values against five, four of them equal: enumerating all 126 deals.
	tied := Ranked{X: []float64{2, 1, 3, 5}, Y: []float64{1, 1, 1, 1, 1}}
	r, err := MannWhitney(0.95, tied)
	if want := enumerate([]Ranked{tied}); err != nil || math.Abs(r.P-want) > 1e-12 {
		t.Errorf("p %g (%v), by enumeration %g", r.P, err, want)
	}
}

// Censoring without values beyond changes nothing; a censored value is at least
// what was seen.
func TestMannWhitneyCensored(t *testing.T) {
	t.Parallel()
	x, y := []float64{5, 6, 7, 9}, []float64{1, 2, 3, 4, 8}
	plain, err := MannWhitney(0.9, Ranked{X: x, Y: y})
	if err != nil {
		t.Fatal(err)
	}
	top, err := MannWhitney(0.9, Ranked{X: x, Y: y, XCensored: []bool{false, false, false, true}})
	if err != nil || top.W != plain.W || math.Abs(top.P-plain.P) > 1e-12 {
		t.Errorf("the largest value censored: %+v (%v), want %+v", top, err, plain)
	}
	open, err := MannWhitney(0.9, Ranked{X: x, Y: y, YCensored: []bool{true, false, false, false, false}})
	if err != nil || open.W != plain.W-4+2 { // 1 and more against four of X: open, ½ each
		t.Errorf("the least value censored: W %g (%v), want %g", open.W, err, plain.W-2)
	}
}

func TestReferenceFieller(t *testing.T) {
	t.Parallel()
	type data struct {
		A, B, VA, VB, CAB, DF float64
		Exp                   bool
	}
	type want struct {
		Ratio, Low, High float64
		Digits           int
	}
	for _, c := range published.Sourced[data, want](t, "fieller") {
		d := c.Data
		r, err := Fieller(d.A, d.B, d.VA, d.VB, d.CAB, d.DF, 0.95)
		if err != nil || r.Bounds != Bounded {
			t.Fatalf("%s: %+v (%v)", c.ID, r, err)
		}
		got := []float64{r.Ratio, r.Low, r.High}
		if d.Exp { // of a log potency
			for i := range got {
				got[i] = math.Exp(got[i])
			}
		}
		e := c.Expected
		for i, want := range []float64{e.Ratio, e.Low, e.High} {
			if !published.Near(got[i], want, published.Digits(e.Digits)) {
				t.Errorf("%s: %v, want %+v", c.ID, got, e)
				break
			}
		}
		for _, end := range []float64{r.Low, r.High} { // the defining equation
			gap := (d.A - end*d.B) * (d.A - end*d.B) / (d.VA - 2*end*d.CAB + end*end*d.VB)
			if limit := stat.StudentUpper(0.025, d.DF); !published.Near(gap, limit*limit, 1e-9) {
				t.Errorf("%s: t² is %g at %g, want %g", c.ID, gap, end, limit*limit)
			}
		}
	}
}

// Two samples, against the interval that R package mratios printed for them
// (t.test.ratio, unequal variances; set.seed(12345), rnorm(5, 1, 1) and
// rnorm(5, 2, 1); read on a public page of December 2012): 0.4056763 to
// 2.6170008, ratio 0.8643849; the values are R's, to twelve digits.
func TestRatioOfMeansAsPrinted(t *testing.T) {
	t.Parallel()
	x := []float64{1.585528817844, 1.709466017510, 0.890696685319, 0.546502826537, 1.605887455840}
	y := []float64{0.182044032296, 2.630098551068, 1.723815894775, 1.715840256057, 1.080677997526}
	r, err := RatioOfMeans(0.95, Stratum{X: x, Y: y})
	if err != nil || !published.Near(r.Ratio, 0.8643849, published.Digits(7)) || !published.Near(r.Low, 0.4056763, published.Digits(7)) || !published.Near(r.High, 2.6170008, published.Digits(8)) {
		t.Errorf("%+v (%v)", r, err)
	}
}

func TestFiellerWithoutEnds(t *testing.T) {
	t.Parallel()
	if r, err := Fieller(1, 0.5, 1, 1, 0, 10, 0.95); err != nil || r.Bounds != Unbounded {
		t.Errorf("neither can be told from 0: %+v (%v)", r, err)
	}
	r, err := Fieller(10, 0.5, 1, 1, 0, 10, 0.95)
	if err != nil || r.Bounds != Outside || r.Low > 0 || r.High < 0 {
		t.Errorf("the denominator can't be told from 0: %+v (%v)", r, err)
	}
}

func TestStrengthRefuses(t *testing.T) {
	t.Parallel()
	one, two := []float64{1}, []float64{1, 2}
	if _, err := Welch(0.95, Stratum{X: one, Y: two}); !errors.Is(err, ErrTooFew) {
		t.Errorf("one value: %v", err)
	}
	if _, err := Welch(0.95, Stratum{X: []float64{3, 3}, Y: []float64{2, 2}}); !errors.Is(err, ErrNoScatter) {
		t.Errorf("no scatter: %v", err)
	}
	if _, err := FitWeibull([]Observed{{3, false}, {4, true}}); !errors.Is(err, ErrTooFew) {
		t.Errorf("one break: %v", err)
	}
	if _, err := FitWeibull([]Observed{{3, false}, {3, false}}); !errors.Is(err, ErrNoScatter) {
		t.Errorf("equal breaks: %v", err)
	}
	if _, err := FitWeibull([]Observed{{0, false}, {3, false}}); err == nil {
		t.Error("a strength of 0 was taken")
	}
	if _, err := MannWhitney(0.95, Ranked{X: []float64{math.NaN()}, Y: two}); err == nil {
		t.Error("NaN was taken")
	}
}
