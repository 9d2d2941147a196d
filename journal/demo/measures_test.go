package demo

import (
	"fmt"
	"testing"

	"rigtally/internal/units"
)

// TestMeasures: what the generator stores is what the journal's own parser
// makes of the same thing typed in.
func TestMeasures(t *testing.T) {
	t.Parallel()
	check := func(q units.Quantity, text string, got float64) {
		t.Helper()
		want, err := (units.Parser{}).Parse(q, text, "")
		if err != nil || got != want {
			t.Errorf("%s is %v, want %v (%v)", text, got, want, err)
		}
	}
	for q := quarter(1); q < 200; q++ {
		check(units.Length, fmt.Sprintf("%g in", float64(q)/4), q.mm())
	}
	for n := range 40 {
		check(units.Length, fmt.Sprintf("%d ft", n), footMM(n))
		check(units.Depth, fmt.Sprintf("%d ft", n), feet(n))
		check(units.Temperature, fmt.Sprintf("%d F", 32+n), celsius(32+n))
		check(units.Flow, fmt.Sprintf("%d cfs", 70*n), cubicMetres(70*n))
	}
	for x := range 9 {
		check(units.Tippet, fmt.Sprintf("%dX", x), tippetMM(x))
		if got := xSize(tippetMM(x)); got != x {
			t.Errorf("%dX is taken for %dX", x, got)
		}
	}
}
