package stat

import (
	"rigtally/analytics/stat/published"

	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mathext"
)

// draw returns a positive number between 10^low and 10^high, whole half of the
// time when that leaves it positive.
func draw(rng *rand.Rand, low, high float64) float64 {
	x := math.Pow(10, low+(high-low)*rng.Float64())
	if whole := math.Round(x); whole > 0 && rng.IntN(2) == 0 {
		return whole
	}
	return x
}

func TestRateIntervalTails(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(1, 1))
	for range 2000 {
		k, exposure, conf := draw(rng, -2, 5), draw(rng, -3, 4), 0.5+0.499*rng.Float64()
		got, err := RateInterval(k, exposure, conf)
		if err != nil {
			t.Fatal(err)
		}
		tail := (1 - conf) / 2
		if p := mathext.GammaIncReg(k, got.Low*exposure); got.Low > 0 && !published.Near(p, tail, 1e-8) {
			t.Fatalf("k=%g t=%g: probability below low is %g, want %g", k, exposure, p, tail)
		}
		if p := mathext.GammaIncRegComp(k+1, got.High*exposure); !published.Near(p, tail, 1e-8) {
			t.Fatalf("k=%g t=%g: probability above high is %g, want %g", k, exposure, p, tail)
		}
		checkOrder(t, got, k/exposure)
	}
}

func TestShareIntervalTails(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(2, 1))
	for range 2000 {
		n, conf := draw(rng, 0, 4), 0.5+0.499*rng.Float64()
		k := n * rng.Float64()
		got, err := ShareInterval(k, n, conf)
		if err != nil {
			t.Fatal(err)
		}
		tail := (1 - conf) / 2
		if p := mathext.RegIncBeta(k, n-k+1, got.Low); got.Low > 0 && !published.Near(p, tail, 1e-8) {
			t.Fatalf("%g of %g: probability below low is %g, want %g", k, n, p, tail)
		}
		// Close to 1 float64 cannot hold the limit well enough for this test.
		if p := 1 - mathext.RegIncBeta(k+1, n-k, got.High); got.High < 1-1e-6 && !published.Near(p, tail, 1e-6) {
			t.Fatalf("%g of %g: probability above high is %g, want %g", k, n, p, tail)
		}
		checkOrder(t, got, k/n)
	}
}

func checkOrder(t *testing.T, i Interval, estimate float64) {
	t.Helper()
	if !(i.Low >= 0 && i.Low <= estimate*(1+1e-12) && i.High >= estimate*(1-1e-12)) {
		t.Fatalf("interval %g to %g does not hold the estimate %g", i.Low, i.High, estimate)
	}
}

// TestScoreLimits checks the limits against the defining equation, with the
// likelihood maximised numerically and not by the quadratic.
func TestScoreLimits(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 1))
	for range 300 {
		n1, n2 := draw(rng, 0.5, 3), draw(rng, 0.5, 3)
		k1, k2 := n1*rng.Float64(), n2*rng.Float64()
		c, err := RatioOfShares(k1, n1, k2, n2, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		for _, theta := range []float64{c.Low, c.High} {
			p2 := maximise(func(p float64) float64 {
				return k1*math.Log(theta*p) + (n1-k1)*math.Log1p(-theta*p) + k2*math.Log(p) + (n2-k2)*math.Log1p(-p)
			}, math.Min(1, 1/theta))
			p1 := theta * p2
			v := (p1*(1-p1)/n1 + theta*theta*p2*(1-p2)/n2) * (n1 + n2) / (n1 + n2 - 1)
			if z := math.Abs(k1/n1-theta*k2/n2) / math.Sqrt(v); !published.Near(z, 1.959963984540054, 1e-4) {
				t.Errorf("%g/%g to %g/%g: z = %g at the limit %g", k1, n1, k2, n2, z, theta)
			}
		}
		checkOrder(t, c.Interval, c.Ratio)
	}
}

// maximise finds the maximum of a concave function on (0, top) by golden
// section.
func maximise(f func(float64) float64, top float64) float64 {
	const golden = 0.6180339887498949
	low, high := 0.0, top
	for range 200 {
		a, b := high-golden*(high-low), low+golden*(high-low)
		if f(a) < f(b) {
			low = a
		} else {
			high = b
		}
	}
	return (low + high) / 2
}

// TestIncompleteBetaLargeParameters checks against I_½(a, a) = ½ and, further
// out, against continuity where the two ways to compute it meet.
func TestIncompleteBetaLargeParameters(t *testing.T) {
	t.Parallel()
	for _, a := range []float64{10, 1e4, 1e5, 1e6, 1e7} {
		if got := incompleteBeta(a, a, 0.5); math.Abs(got-0.5) > 1e-9 {
			t.Errorf("I(a, a) at ½ with a = %g is %.12g", a, got)
		}
		for _, b := range []float64{a / 7, a, 3 * a} {
			sd := math.Sqrt(a*b/(a+b+1)) / (a + b)
			for _, z := range []float64{-0.25, 0.25} {
				below := incompleteBeta(a, b, a/(a+b)+(z-1e-6)*sd)
				above := incompleteBeta(a, b, a/(a+b)+(z+1e-6)*sd)
				if d := above - below; math.Abs(d) > 1e-5 {
					t.Errorf("I(%g, %g) steps by %g at z = %g", a, b, d, z)
				}
			}
		}
	}
}

type comparer func(k1, t1, k2, t2, conf float64) (Comparison, error)

func TestSwappingGroupsInvertsTheRatio(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(4, 1))
	for name, compare := range map[string]comparer{"rates": RatioOfRates, "shares": RatioOfShares} {
		for range 500 {
			t1, t2 := draw(rng, 0.5, 3), draw(rng, 0.5, 3)
			k1, k2 := t1*rng.Float64(), t2*rng.Float64()
			if rng.IntN(10) == 0 {
				k1 = 0
			}
			a, errA := compare(k1, t1, k2, t2, 0.95)
			b, errB := compare(k2, t2, k1, t1, 0.95)
			if err := errors.Join(errA, errB); err != nil {
				t.Fatal(err)
			}
			if !published.Near(1/a.Ratio, b.Ratio, 1e-9) || !published.Near(1/a.Low, b.High, 1e-8) || !published.Near(1/a.High, b.Low, 1e-8) || !published.Near(a.P, b.P, 1e-9) {
				t.Errorf("%s %g/%g, %g/%g: %+v and swapped %+v", name, k1, t1, k2, t2, a, b)
			}
		}
	}
}

// TestIntervalAgreesWithP: 1 lies outside the interval exactly when p < α.
func TestIntervalAgreesWithP(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(5, 1))
	for name, compare := range map[string]comparer{"rates": RatioOfRates, "shares": RatioOfShares} {
		for range 1000 {
			t1, t2 := draw(rng, 0.5, 2), draw(rng, 0.5, 2)
			k1, k2 := t1*rng.Float64(), t2*rng.Float64()
			c, err := compare(k1, t1, k2, t2, 0.9)
			if err != nil {
				t.Fatal(err)
			}
			if outside := c.Low > 1 || c.High < 1; outside != (c.P < 0.1) && math.Abs(c.P-0.1) > 1e-6 {
				t.Errorf("%s %g/%g, %g/%g: p = %g, interval %g to %g", name, k1, t1, k2, t2, c.P, c.Low, c.High)
			}
		}
	}
}

// TestRealCountsAreContinuous: a hair more events moves every limit by a hair,
// also across whole numbers and from 0.
func TestRealCountsAreContinuous(t *testing.T) {
	t.Parallel()
	const hair = 1e-7
	for _, k := range []float64{0, 1, 2.5, 7} {
		rate := func(k float64) (Interval, error) { return RateInterval(k, 10, 0.95) }
		share := func(k float64) (Interval, error) { return ShareInterval(k, 8, 0.95) }
		for _, f := range []func(float64) (Interval, error){rate, share} {
			a, errA := f(k)
			b, errB := f(k + hair)
			if err := errors.Join(errA, errB); err != nil {
				t.Fatal(err)
			}
			if math.Abs(a.Low-b.Low) > 1e-5 || math.Abs(a.High-b.High) > 1e-5 {
				t.Errorf("k = %g: %+v jumps to %+v", k, a, b)
			}
		}
	}
}

func TestMoreEventsRaiseTheLimits(t *testing.T) {
	t.Parallel()
	var before [3]Interval
	for k := 0.25; k < 40; k += 0.25 {
		rate, _ := RateInterval(k, 7, 0.95)
		share, _ := ShareInterval(k, 40, 0.95)
		ratio, _ := RatioOfShares(k, 40, 6, 30, 0.95)
		for i, now := range []Interval{rate, share, ratio.Interval} {
			if !(now.Low > before[i].Low && now.High > before[i].High) {
				t.Errorf("case %d, k = %g: %+v after %+v", i, k, now, before[i])
			}
			before[i] = now
		}
	}
}

// TestUnitsDoNotMatter: hours or minutes, the rates scale and ratios, p-values
// and dispersion stay.
func TestUnitsDoNotMatter(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(6, 1))
	const minutes = 60
	hours, scaled := make([]Sums, 2), make([]Sums, 2)
	for range 40 {
		g := rng.IntN(2)
		k, exposure := float64(rng.IntN(12)), draw(rng, -1, 1)
		add(t, &hours[g], k, exposure)
		add(t, &scaled[g], k, exposure*minutes)
	}
	a, errA := Disperse(Rate, hours, 0)
	b, errB := Disperse(Rate, scaled, 0)
	if err := errors.Join(errA, errB); err != nil {
		t.Fatal(err)
	}
	if !published.Near(a.Common, b.Common, 1e-9) || !published.Near(a.Phi[1], b.Phi[1], 1e-9) || a.Common == 0 {
		t.Errorf("dispersion %+v in hours, %+v in minutes", a, b)
	}
	c, errC := RatioOfAmounts(hours[0], hours[1], 0.9)
	d, errD := RatioOfAmounts(scaled[0], scaled[1], 0.9)
	if err := errors.Join(errC, errD); err != nil {
		t.Fatal(err)
	}
	if !published.Near(c.Low, d.Low, 1e-9) || !published.Near(c.High, d.High, 1e-9) || !published.Near(c.P, d.P, 1e-9) {
		t.Errorf("amounts %+v in hours, %+v in minutes", c, d)
	}
}

func TestInputsAreNotChanged(t *testing.T) {
	t.Parallel()
	p := []float64{0.3, 0.01, 0.2, 0.01}
	groups := []Sums{{N: 2, K: 3, T: 4, KK: 5, KT: 6, TT: 8, TTT: 16}, {}}
	pBefore, groupsBefore := slices.Clone(p), slices.Clone(groups)
	if _, err := AdjustBH(p); err != nil {
		t.Error(err)
	}
	if _, err := Disperse(Share, groups, 0); err != nil {
		t.Error(err)
	}
	if !slices.Equal(p, pBefore) || !slices.Equal(groups, groupsBefore) {
		t.Error("input slices were changed")
	}
}

func TestAdjustBHKeepsOrder(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(7, 1))
	for range 200 {
		p := make([]float64, 1+rng.IntN(30))
		for i := range p {
			p[i] = math.Round(rng.Float64()*20) / 20
		}
		q, err := AdjustBH(p)
		if err != nil {
			t.Fatal(err)
		}
		for i := range p {
			for j := range p {
				if q[i] < p[i] || q[i] > 1 || (p[i] <= p[j] && q[i] > q[j]) {
					t.Fatalf("p %v gives q %v", p, q)
				}
			}
		}
	}
}
