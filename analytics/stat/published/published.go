// Package published reads the cases that the mathematics is held against, from testdata/reference. Only tests may import it.
package published

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// File reads a file of testdata/reference, wherever in the project the test runs.
func File(t *testing.T, file string) []byte {
	t.Helper()
	up := ""
	for range 6 {
		if raw, err := os.ReadFile(up + "testdata/reference/" + file); err == nil {
			return raw
		}
		up += "../"
	}
	t.Fatalf("testdata/reference has no %s", file)
	return nil
}

// Cases reads a file whose expected values regenerate.R beside it recomputes with R.
func Cases[T any](t *testing.T, file string) (cases []T, tolerance float64) {
	t.Helper()
	content := struct {
		Tolerance float64
		Cases     []T
	}{}
	if err := json.Unmarshal(File(t, file), &content); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	if len(content.Cases) == 0 || content.Tolerance <= 0 {
		t.Fatalf("%s: %d cases, tolerance %g", file, len(content.Cases), content.Tolerance)
	}
	return content.Cases, content.Tolerance
}

// Case is a case of a file that names the source of every case and how its figures were obtained.
type Case[D, E any] struct {
	ID, Source, Provenance string
	Data                   D
	Expected               E
}

// Sourced reads such a file.
func Sourced[D, E any](t *testing.T, name string) []Case[D, E] {
	t.Helper()
	var file struct{ Cases []Case[D, E] }
	if err := json.Unmarshal(File(t, name+".json"), &file); err != nil {
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

// Exact is the precision of figures that R computed with 15 digits.
const Exact = 1e-9

// Digits is the relative tolerance of a figure printed with n significant digits.
func Digits(n int) float64 { return 0.5 * math.Pow(10, 1-float64(n)) }

// Near reports whether got is want up to a relative error of tol.
func Near(got, want, tol float64) bool {
	if math.IsInf(want, 0) || want == 0 {
		return got == want
	}
	return math.Abs(got-want) <= tol*math.Abs(want)
}

// Agree fails unless got is within tol of want, relative, or within tol/1000.
func Agree(t *testing.T, what string, got, want []float64, tol float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d values, want %d", what, len(got), len(want))
	}
	for i, g := range got {
		if !(math.Abs(g-want[i]) <= tol*math.Abs(want[i])+tol*1e-3) {
			t.Errorf("%s[%d] = %.12g, want %.12g", what, i, g, want[i])
		}
	}
}
