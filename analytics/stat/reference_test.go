package stat

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
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

// refCase is one case of testdata/reference; each file names the source of
// every case and how its figures were obtained.
type refCase[D, E any] struct {
	ID, Source, Provenance string
	Data                   D
	Expected               E
}

func readCases[D, E any](t *testing.T, name string) []refCase[D, E] {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Cases []refCase[D, E] }
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Cases) == 0 {
		t.Fatalf("%s holds no cases", name)
	}
	for _, c := range file.Cases {
		if c.ID == "" || c.Source == "" || c.Provenance == "" {
			t.Errorf("%s: case %q lacks its source or provenance", name, c.ID)
		}
	}
	return file.Cases
}

// relTol is the precision of figures that R computed with 15 digits.
const relTol = 1e-9

// near reports whether got is want up to a relative error of tol.
func near(got, want, tol float64) bool {
	if math.IsInf(want, 0) || want == 0 {
		return got == want
	}
	return math.Abs(got-want) <= tol*math.Abs(want)
}

// digits is the relative tolerance of a figure printed with n significant digits.
func digits(n int) float64 { return 0.5 * math.Pow(10, 1-float64(n)) }

func TestReferenceRateInterval(t *testing.T) {
	t.Parallel()
	type data struct{ K, T float64 }
	for _, c := range readCases[data, []limits](t, "rate-interval") {
		for _, want := range c.Expected {
			got, err := RateInterval(c.Data.K, c.Data.T, float64(want.Conf))
			if err != nil {
				t.Fatal(err)
			}
			compareLimits(t, c.ID, got, want, relTol)
		}
	}
}

func TestReferenceShareInterval(t *testing.T) {
	t.Parallel()
	type data struct{ K, N float64 }
	for _, c := range readCases[data, []limits](t, "share-interval") {
		for _, want := range c.Expected {
			got, err := ShareInterval(c.Data.K, c.Data.N, float64(want.Conf))
			if err != nil {
				t.Fatal(err)
			}
			compareLimits(t, c.ID, got, want, relTol)
		}
	}
}

func compareLimits(t *testing.T, id string, got Interval, want limits, tol float64) {
	t.Helper()
	if !near(got.Low, float64(want.Low), tol) || !near(got.High, float64(want.High), tol) {
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
	for _, c := range readCases[data, expected](t, "rate-ratio") {
		d := c.Data
		got, err := RatioOfRates(d.K1, d.T1, d.K2, d.T2, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if !near(got.P, c.Expected.P, relTol) {
			t.Errorf("%s: p = %.12g, want %.12g", c.ID, got.P, c.Expected.P)
		}
		if c.Expected.Ratio != nil && !near(got.Ratio, float64(*c.Expected.Ratio), relTol) {
			t.Errorf("%s: ratio = %.12g, want %.12g", c.ID, got.Ratio, *c.Expected.Ratio)
		}
		for _, want := range c.Expected.Limits {
			got, err := RatioOfRates(d.K1, d.T1, d.K2, d.T2, float64(want.Conf))
			if err != nil {
				t.Fatal(err)
			}
			compareLimits(t, c.ID, got.Interval, want, relTol)
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
	for _, c := range readCases[data, expected](t, "share-ratio") {
		d := c.Data
		s := shareScore{d.K1, d.N1, d.K2, d.N2, 1}
		if c.Expected.Method == "Miettinen-Nurminen" {
			s.shrink = shrinkage(d.N1 + d.N2)
		}
		tol := digits(c.Expected.Digits)
		for _, want := range c.Expected.Limits {
			z := normalUpper((1 - float64(want.Conf)) / 2)
			compareLimits(t, c.ID, s.interval(d.K1/d.N1/(d.K2/d.N2), z), want, tol)
		}
		if p := normalTwoSided(s.at(1)); c.Expected.P > 0 && !near(p, c.Expected.P, tol) {
			t.Errorf("%s: p = %.8g, want %g", c.ID, p, c.Expected.P)
		}
	}
}

func TestReferenceFalseDiscovery(t *testing.T) {
	t.Parallel()
	type data struct{ P []float64 }
	type expected struct{ Q []float64 }
	for _, c := range readCases[data, expected](t, "false-discovery") {
		got, err := AdjustBH(c.Data.P)
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range c.Expected.Q {
			if !near(got[i], want, relTol) {
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
	for _, c := range readCases[data, expected](t, "planning") {
		plan := ExposureNeededRates
		if c.Data.Kind == "share" {
			plan = ExposureNeededShares
		}
		got, err := plan(c.Data.A, c.Data.B, 1, c.Data.Alpha, c.Data.Power)
		if err != nil {
			t.Fatal(err)
		}
		if !near(got, c.Expected.N, digits(c.Expected.Digits)) {
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
	for _, c := range readCases[data, expected](t, "dispersion") {
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
	for _, c := range readCases[data, expected](t, "amounts") {
		var variance float64
		for _, values := range [][]float64{c.Data.A, c.Data.B} {
			var s Sums
			for _, y := range values {
				add(t, &s, y, 1)
			}
			variance += s.relativeVariance() * s.Rate() * s.Rate()
		}
		if got := math.Sqrt(variance); !near(got, c.Expected.SE, digits(c.Expected.Digits)) {
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
