package units

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"
)

// printer is one quantity with its two ways of printing.
type printer struct {
	q      Quantity
	format func(float64, System) string
	exact  func(float64, System) string
}

var printers = []printer{
	printerOf(Length), printerOf(Depth), printerOf(Flow), printerOf(Speed), printerOf(Temperature), printerOf(Tippet), printerOf(Force), printerOf(Percent),
	{Duration, func(min float64, _ System) string { return FormatDuration(math.Round(min)) },
		func(min float64, _ System) string { return siText(Duration, min) }},
}

func printerOf(q Quantity) printer {
	return printer{q, func(v float64, sys System) string { return Format(q, v, sys) }, func(v float64, sys System) string { return Exact(q, v, sys) }}
}

// checkPrints asserts that what is printed for v parses, that exact printing
// gives v back, and that printing what was parsed gives the same text.
func checkPrints(t *testing.T, p printer, v float64) {
	t.Helper()
	for _, sys := range []System{US, Metric} {
		if got, err := (Parser{}).Parse(p.q, p.exact(v, sys), ""); err != nil || got != v {
			t.Errorf("%s %v prints exactly as %q, which parses as %v, %v", p.q, v, p.exact(v, sys), got, err)
		}
		text := p.format(v, sys)
		back, err := Parser{}.Parse(p.q, text, "")
		if err != nil {
			t.Errorf("%s %v prints as %q: %v", p.q, v, text, err)
		} else if again := p.format(back, sys); again != text {
			t.Errorf("%s %v prints as %q, which parses as %v and prints as %q", p.q, v, text, back, again)
		}
	}
}

func TestRandomValues(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(1, 1))
	for _, p := range printers {
		s := specs[p.q]
		for range 400 {
			scale := math.Pow(10, -4*rng.Float64()) // small values too
			v := s.low + (s.high-s.low)*scale*rng.Float64()
			if p.q != Temperature && v < 0.02 {
				continue // nothing is shown so finely
			}
			checkPrints(t, p, v)
			rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'f', 2, 64), 64)
			checkPrints(t, p, rounded)
		}
	}
}

// On the grid a system is printed on, parse ∘ print is the identity.
func TestGrids(t *testing.T) {
	t.Parallel()
	grids := []struct {
		q    Quantity
		sys  System
		unit Unit
		den  int // steps in a unit
		n    int
	}{
		{Length, US, Inch, 16, 1200},
		{Length, US, Inch, 100, 2400},
		{Length, Metric, Millimetre, 10, 4000},
		{Length, Metric, Millimetre, 1, 1200},
		{Depth, US, Foot, 100, 700},
		{Depth, Metric, Metre, 100, 500},
		{Flow, US, CubicFootPerSecond, 100, 900},
		{Flow, US, CubicFootPerSecond, 1, 1500},
		{Flow, Metric, CubicMetrePerSecond, 100, 2000},
		{Temperature, US, Fahrenheit, 10, 1200},
		{Temperature, Metric, Celsius, 10, 500},
		{Duration, US, Minute, 1, 800},
		{Force, US, PoundForce, 100, 2000},
		{Force, Metric, Newton, 10, 1000},
	}
	for _, g := range grids {
		for i := range g.n {
			text := strconv.Itoa(i) + "/" + strconv.Itoa(g.den) + " " + string(g.unit)
			v, err := Parser{}.Parse(g.q, text, "")
			if err != nil {
				t.Fatal(err)
			}
			if back, err := (Parser{}).Parse(g.q, Format(g.q, v, g.sys), ""); err != nil || back != v {
				t.Errorf("%s %s is %v, prints as %q, parses as %v, %v", g.q, text, v, Format(g.q, v, g.sys), back, err)
			}
		}
	}
}
