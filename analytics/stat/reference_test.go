package stat

import (
	"rigtally/analytics/stat/published"

	"encoding/json"
	"math"
	"testing"
)

// number reads JSON numbers and the string "Inf".
type number float64

func (n *number) UnmarshalJSON(b []byte) error {
	if string(b) == `"Inf"` {
		*n = number(math.Inf(1))
		return nil
	}
	return json.Unmarshal(b, (*float64)(n))
}

type limits struct{ Conf, Low, High number }

func TestReferenceRateInterval(t *testing.T) {
	t.Parallel()
	type data struct{ K, T float64 }
	for _, c := range published.Sourced[data, []limits](t, "rate-interval") {
		for _, want := range c.Expected {
			got, err := RateInterval(c.Data.K, c.Data.T, float64(want.Conf))
			if err != nil {
				t.Fatal(err)
			}
			compareLimits(t, c.ID, got, want, published.Exact)
		}
	}
}

func TestReferenceShareInterval(t *testing.T) {
	t.Parallel()
	type data struct{ K, N float64 }
	for _, c := range published.Sourced[data, []limits](t, "share-interval") {
		for _, want := range c.Expected {
			got, err := ShareInterval(c.Data.K, c.Data.N, float64(want.Conf))
			if err != nil {
				t.Fatal(err)
			}
			compareLimits(t, c.ID, got, want, published.Exact)
		}
	}
}

func compareLimits(t *testing.T, id string, got Interval, want limits, tol float64) {
	t.Helper()
	if !published.Near(got.Low, float64(want.Low), tol) || !published.Near(got.High, float64(want.High), tol) {
		t.Errorf("%s at %g: got %.12g to %.12g, want %.12g to %.12g", id, want.Conf, got.Low, got.High, want.Low, want.High)
	}
}

func TestReferenceRatioOfRates(t *testing.T) {
	t.Parallel()
	type data struct{ K1, T1, K2, T2 float64 }
	type expected struct {
		Ratio  *number
		Limits []limits
		P      float64
	}
	for _, c := range published.Sourced[data, expected](t, "rate-ratio") {
		d := c.Data
		got, err := RatioOfRates(d.K1, d.T1, d.K2, d.T2, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if !published.Near(got.P, c.Expected.P, published.Exact) {
			t.Errorf("%s: p = %.12g, want %.12g", c.ID, got.P, c.Expected.P)
		}
		if c.Expected.Ratio != nil && !published.Near(got.Ratio, float64(*c.Expected.Ratio), published.Exact) {
			t.Errorf("%s: ratio = %.12g, want %.12g", c.ID, got.Ratio, *c.Expected.Ratio)
		}
		for _, want := range c.Expected.Limits {
			got, err := RatioOfRates(d.K1, d.T1, d.K2, d.T2, float64(want.Conf))
			if err != nil {
				t.Fatal(err)
			}
			compareLimits(t, c.ID, got.Interval, want, published.Exact)
		}
	}
}

func TestReferenceRatioOfShares(t *testing.T) {
	t.Parallel()
	type data struct{ K1, N1, K2, N2 float64 }
	type expected struct {
		Method string
		Limits []limits
		P      float64
		Digits int
	}
	for _, c := range published.Sourced[data, expected](t, "share-ratio") {
		d := c.Data
		s := shareScore{d.K1, d.N1, d.K2, d.N2, 1}
		if c.Expected.Method == "Miettinen-Nurminen" {
			s.shrink = shrinkage(d.N1 + d.N2)
		}
		tol := published.Digits(c.Expected.Digits)
		for _, want := range c.Expected.Limits {
			z := NormalUpper((1 - float64(want.Conf)) / 2)
			compareLimits(t, c.ID, s.interval(d.K1/d.N1/(d.K2/d.N2), z), want, tol)
		}
		if p := NormalTwoSided(s.at(1)); c.Expected.P > 0 && !published.Near(p, c.Expected.P, tol) {
			t.Errorf("%s: p = %.8g, want %g", c.ID, p, c.Expected.P)
		}
	}
}

func TestReferenceFalseDiscovery(t *testing.T) {
	t.Parallel()
	type data struct{ P []float64 }
	type expected struct{ Q []float64 }
	for _, c := range published.Sourced[data, expected](t, "false-discovery") {
		got, err := AdjustBH(c.Data.P)
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range c.Expected.Q {
			if !published.Near(got[i], want, published.Exact) {
				t.Errorf("%s: q[%d] = %.12g, want %.12g", c.ID, i, got[i], want)
			}
		}
	}
}

func TestReferencePlanning(t *testing.T) {
	t.Parallel()
	type data struct {
		Kind               string
		A, B, Alpha, Power float64
	}
	type expected struct {
		N      float64
		Digits int
	}
	for _, c := range published.Sourced[data, expected](t, "planning") {
		plan := ExposureNeededRates
		if c.Data.Kind == "share" {
			plan = ExposureNeededShares
		}
		got, err := plan(c.Data.A, c.Data.B, 1, c.Data.Alpha, c.Data.Power)
		if err != nil {
			t.Fatal(err)
		}
		if !published.Near(got, c.Expected.N, published.Digits(c.Expected.Digits)) {
			t.Errorf("%s: n = %.9g, want %g", c.ID, got, c.Expected.N)
		}
	}
}

func TestReferenceDispersion(t *testing.T) {
	t.Parallel()
	type data struct {
		Kind   string
		Groups [][][3]float64 // events, exposure, number of such clusters
	}
	type expected struct{ Common, Tolerance float64 }
	for _, c := range published.Sourced[data, expected](t, "dispersion") {
		kind := Rate
		if c.Data.Kind == "share" {
			kind = Share
		}
		groups := make([]Sums, len(c.Data.Groups))
		for g, rows := range c.Data.Groups {
			for _, row := range rows {
				for range int(row[2]) {
					add(t, &groups[g], row[0], row[1])
				}
			}
		}
		got, err := Disperse(kind, groups, 0)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Common-c.Expected.Common) > c.Expected.Tolerance {
			t.Errorf("%s: %.5g, want %.5g within %g", c.ID, got.Common, c.Expected.Common, c.Expected.Tolerance)
		}
	}
}

func TestReferenceAmounts(t *testing.T) {
	t.Parallel()
	type data struct{ A, B []float64 }
	type expected struct {
		SE     float64
		Digits int
	}
	for _, c := range published.Sourced[data, expected](t, "amounts") {
		var variance float64
		for _, values := range [][]float64{c.Data.A, c.Data.B} {
			var s Sums
			for _, y := range values {
				add(t, &s, y, 1)
			}
			variance += s.relativeVariance() * s.Rate() * s.Rate()
		}
		if got := math.Sqrt(variance); !published.Near(got, c.Expected.SE, published.Digits(c.Expected.Digits)) {
			t.Errorf("%s: standard error %.10g, want %.10g", c.ID, got, c.Expected.SE)
		}
	}
}

func add(t *testing.T, s *Sums, k, exposure float64) {
	t.Helper()
	if err := s.Add(k, exposure); err != nil {
		t.Fatal(err)
	}
}
