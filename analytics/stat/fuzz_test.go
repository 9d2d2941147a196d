package stat

import (
	"errors"
	"math"
	"testing"
)

// FuzzComparisons: whatever the counts, every answer is an error or finite,
// with +Inf only where an upper limit does not exist, ordered, and 0 ≤ p ≤ 1.
func FuzzComparisons(f *testing.F) {
	f.Add(3.0, 10.0, 0.0, 7.5, 0.95)
	f.Add(1e-9, 1.0, 1e9, 1e9, 0.999999)
	f.Add(0.5, 0.5, 200000.0, 1e6, 0.5)
	f.Add(1e15, 1e15, 1e-15, 1e15, 0.9)
	f.Add(math.Inf(1), math.NaN(), -1.0, 0.0, 1.0)
	f.Fuzz(func(t *testing.T, k1, t1, k2, t2, conf float64) {
		for name, interval := range map[string]func(k, t, conf float64) (Interval, error){"rate": RateInterval, "share": ShareInterval} {
			i, err := interval(k1, t1, conf)
			if err == nil && (!Finite(i.Low) || !Finite(i.High) || !holds(i, k1/t1)) {
				t.Errorf("%s %g in %g at %g: %+v", name, k1, t1, conf, i)
			}
		}
		for name, compare := range map[string]comparer{"rates": RatioOfRates, "shares": RatioOfShares} {
			c, err := compare(k1, t1, k2, t2, conf)
			if err == nil && !sound(c) {
				t.Errorf("%s %g in %g, %g in %g at %g: %+v", name, k1, t1, k2, t2, conf, c)
			}
		}
	})
}

// holds reports whether the interval is in order about an estimate.
func holds(i Interval, estimate float64) bool {
	const room = 1e-6
	return i.Low >= 0 && i.Low <= estimate*(1+room) && i.High >= estimate*(1-room)
}

func sound(c Comparison) bool {
	return c.P >= 0 && c.P <= 1 && Finite(c.Low) && !math.IsNaN(c.High) && holds(c.Interval, c.Ratio) ||
		math.IsInf(c.Ratio, 1) && math.IsInf(c.High, 1) && Finite(c.Low)
}

// FuzzDisperse: sums of any clusters give dispersions of at least 1 and sound
// answers about amounts; sums that no clusters give are refused.
func FuzzDisperse(f *testing.F) {
	f.Add(3.0, 1.0, 0.0, 2.0, 9.0, 5.0, 2, 0.0)
	f.Add(0.0, 1e-5, 1e6, 1e6, 7.0, 7.0, 0, 1e-3)
	f.Add(1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 3, -0.5)
	f.Fuzz(func(t *testing.T, k1, t1, k2, t2, k3, t3 float64, clusters int, shift float64) {
		var a, b Sums
		if errors.Join(a.Add(k1, t1), a.Add(k2, t2), b.Add(k3, t3), b.Add(k1, t2)) != nil {
			return
		}
		a.KK += shift
		for _, kind := range []Kind{Rate, Share} {
			d, err := Disperse(kind, []Sums{a, b}, clusters)
			if err != nil {
				continue
			}
			for g, phi := range d.Phi {
				if !(phi >= 1) || !Finite(phi) || !Finite(d.Common) {
					t.Errorf("kind %d, group %d of %+v and %+v: %+v", kind, g, a, b, d)
				}
			}
		}
		if c, err := RatioOfAmounts(a, b, 0.95); err == nil && !sound(c) {
			t.Errorf("%+v and %+v: %+v", a, b, c)
		}
	})
}
