// Package units parses quantities as anglers write them and prints them for people; stored values are SI.
package units

import (
	"fmt"
	"strings"
)

// System is the set of units that values are shown in.
type System string

// The two systems a journal can be shown in.
const (
	US     System = "us"
	Metric System = "metric"
)

// ParseSystem reads "us" or "metric" in any case.
func ParseSystem(s string) (System, error) {
	switch sys := System(strings.ToLower(strings.TrimSpace(s))); sys {
	case US, Metric:
		return sys, nil
	}
	return "", fmt.Errorf("units must be us or metric, not %s", quoted(s))
}

// Unit is the key of a unit of measure.
type Unit string

// The units that can be written.
const (
	Millimetre          Unit = "mm"
	Centimetre          Unit = "cm"
	Inch                Unit = "in"
	Metre               Unit = "m"
	Foot                Unit = "ft"
	CubicMetrePerSecond Unit = "m3/s"
	CubicFootPerSecond  Unit = "cfs"
	LitrePerSecond      Unit = "l/s"
	MetrePerSecond      Unit = "m/s"
	FootPerSecond       Unit = "ft/s"
	Celsius             Unit = "c"
	Fahrenheit          Unit = "f"
	Minute              Unit = "min"
	Hour                Unit = "h"
	Newton              Unit = "n"
	PoundForce          Unit = "lbf"
	OunceForce          Unit = "ozf"
	KilogramForce       Unit = "kgf"
	GramForce           Unit = "gf"
	PerCent             Unit = "%"
	X                   Unit = "x" // tippet size by the rule of eleven
)

// Symbol is the unit as it is printed after a number.
func (u Unit) Symbol() string {
	switch u {
	case CubicMetrePerSecond:
		return "m³/s"
	case Celsius:
		return "°C"
	case Fahrenheit:
		return "°F"
	case X:
		return "X"
	case Newton:
		return "N"
	}
	return string(u)
}

// Quantity is a kind of measurement; it decides which units may be written
// and which SI unit the value is kept in.
type Quantity string

// The quantities of a journal, each with the unit it is kept in.
const (
	Length      Quantity = "length"      // mm
	Depth       Quantity = "depth"       // m
	Flow        Quantity = "flow"        // m³/s
	Speed       Quantity = "speed"       // m/s
	Temperature Quantity = "temperature" // °C
	Duration    Quantity = "duration"    // minutes
	Tippet      Quantity = "tippet"      // diameter in mm
	Force       Quantity = "force"       // N
	Percent     Quantity = "percent"     // %, of what its field says
)

// Kept is the unit that a quantity is kept in, "" for what is none.
func Kept(q Quantity) Unit {
	if s := specs[q]; s != nil {
		return s.si
	}
	return ""
}

// Of lists the units of a quantity, X sizes of tippet among them.
func Of(q Quantity) []Unit {
	var list []Unit
	if q == Tippet {
		list = append(list, X)
	}
	if s := specs[q]; s != nil {
		for _, d := range s.units {
			list = append(list, d.unit)
		}
	}
	return list
}

// Bare is the unit that people who see a system mean by a number without one; tippet goes by X sizes.
func Bare(q Quantity, sys System) Unit {
	switch {
	case q == Tippet:
		return X
	case sys == US:
		return specs[q].us
	}
	return specs[q].metric
}

// ParseUnit finds the unit of q that text names in full, as in the header of a
// column: ParseUnit(Length, "inches") is Inch. It reports false if there is none.
func ParseUnit(q Quantity, text string) (Unit, bool) {
	s, ok := specs[q]
	if !ok {
		return "", false
	}
	text = normalize(text)
	if q == Tippet && text == "x" {
		return X, true
	}
	def, rest := s.unitAt(text)
	if def == nil || rest != "" {
		return "", false
	}
	return def.unit, true
}
