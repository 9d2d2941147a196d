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
	{Length, FormatLength, ExactLength},
	{Depth, FormatDepth, ExactDepth},
	{Flow, FormatFlow, ExactFlow},
	{Temperature, FormatTemperature, ExactTemperature},
	{Tippet, func(mm float64, _ System) string { return FormatTippet(mm) },
		func(mm float64, _ System) string { return ExactTippet(mm) }},
	{Duration, func(min float64, _ System) string { return FormatDuration(math.Round(min)) },
		func(min float64, _ System) string { return siText(Duration, min) }},
	{Force, FormatForce, ExactForce},
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
		p    printer
		sys  System
		unit Unit
		den  int // steps in a unit
		n    int
	}{
		{printers[0], US, Inch, 16, 1200},
		{printers[0], US, Inch, 100, 2400},
		{printers[0], Metric, Millimetre, 10, 4000},
		{printers[0], Metric, Millimetre, 1, 1200},
		{printers[1], US, Foot, 100, 700},
		{printers[1], Metric, Metre, 100, 500},
		{printers[2], US, CubicFootPerSecond, 100, 900},
		{printers[2], US, CubicFootPerSecond, 1, 1500},
		{printers[2], Metric, CubicMetrePerSecond, 100, 2000},
		{printers[3], US, Fahrenheit, 10, 1200},
		{printers[3], Metric, Celsius, 10, 500},
		{printers[5], US, Minute, 1, 800},
		{printers[6], US, PoundForce, 100, 2000},
		{printers[6], Metric, Newton, 10, 1000},
	}
	for _, g := range grids {
		for i := range g.n {
			text := strconv.Itoa(i) + "/" + strconv.Itoa(g.den) + " " + string(g.unit)
			v, err := Parser{}.Parse(g.p.q, text, "")
			if err != nil {
				t.Fatal(err)
			}
			if back, err := (Parser{}).Parse(g.p.q, g.p.format(v, g.sys), ""); err != nil || back != v {
				t.Errorf("%s %s is %v, prints as %q, parses as %v, %v", g.p.q, text, v, g.p.format(v, g.sys), back, err)
			}
		}
	}
}
