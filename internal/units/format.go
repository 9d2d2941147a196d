package units

import (
	"math"
	"math/big"
	"strconv"
	"strings"
)

const (
	feetFrom   = 60   // in; rods and leaders are read in feet, fish and tags in inches
	metresFrom = 1000 // mm
)

// Format prints a quantity given in the unit that it is kept in.
func Format(q Quantity, si float64, sys System) string {
	switch q {
	case Length:
		return FormatLength(si, sys)
	case Depth:
		return FormatDepth(si, sys)
	case Flow:
		return FormatFlow(si, sys)
	case Speed:
		return FormatSpeed(si, sys)
	case Temperature:
		return FormatTemperature(si, sys)
	case Force:
		return FormatForce(si, sys)
	case Tippet:
		return FormatTippet(si)
	}
	return FormatDuration(si)
}

// FormatLength prints a length given in mm: "6 1/2 in", "4.49 in", "9 ft 6 in";
// "165 mm", "2.74 m". US lengths are in sixteenths if they are exactly so, else
// to 0.01 in; metric ones to 0.1 mm, and to 1 mm from 1 m.
func FormatLength(mm float64, sys System) string {
	if mm < 0 {
		return "-" + FormatLength(-mm, sys)
	}
	if sys == US {
		return inches(convert(Length, mm, sys))
	}
	if math.Round(mm*10) >= metresFrom*10 {
		return fixed(convertTo(Length, mm, Metre), 3) + " m"
	}
	return fixed(mm, 1) + " mm"
}

func inches(in float64) string {
	if sixteenths := in * 16; sixteenths != math.Trunc(sixteenths) {
		in = math.Round(in*100) / 100
	}
	feet := 0.0
	if in >= feetFrom {
		feet = math.Floor(in / 12)
		in = math.Round((in-12*feet)*10_000) / 10_000 // takes off what subtraction left
	}
	switch {
	case feet == 0:
		return mixed(in) + " in"
	case in == 0:
		return fixed(feet, 0) + " ft"
	}
	return fixed(feet, 0) + " ft " + mixed(in) + " in"
}

// mixed prints inches as a whole and sixteenths, or as a decimal.
func mixed(in float64) string {
	num, den := int64(in*16), int64(16)
	if in > 1e6 || float64(num) != in*16 {
		return fixed(in, 2)
	}
	whole, num := num/den, num%den
	for num > 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	text := strconv.FormatInt(whole, 10)
	switch {
	case num == 0:
		return text
	case whole == 0:
		text = ""
	}
	return strings.TrimSpace(text + " " + strconv.FormatInt(num, 10) + "/" + strconv.FormatInt(den, 10))
}

// FormatDepth prints a depth given in m to a hundredth: "2.5 ft", "0.76 m".
func FormatDepth(m float64, sys System) string {
	v, unit := DepthIn(m, sys)
	return fixed(v, 2) + " " + unit
}

// FormatFlow prints a flow given in m³/s, to 1 cfs (0.1 under 100, 0.01 under 10)
// or 0.01 m³/s (0.001 under 1): "540 cfs", "15.29 m³/s".
func FormatFlow(m3s float64, sys System) string {
	v, unit := FlowIn(m3s, sys)
	decimals := 0
	switch size := math.Abs(v); {
	case size < 1 && sys != US:
		decimals = 3
	case size < 10 || sys != US:
		decimals = 2
	case size < 100:
		decimals = 1
	}
	return fixed(v, decimals) + " " + unit
}

// FormatSpeed prints a speed given in m/s to a hundredth: "2 ft/s", "0.61 m/s".
func FormatSpeed(ms float64, sys System) string {
	v, unit := in(Speed, ms, sys)
	return fixed(v, 2) + " " + unit
}

// FormatPerWidth prints depth times speed given in m²/s to a tenth of 1 ft²/s or
// a hundredth of 1 m²/s: "10 ft²/s", "0.93 m²/s".
func FormatPerWidth(m2s float64, sys System) string {
	if sys == US {
		return fixed(m2s/(0.3048*0.3048), 1) + " ft²/s"
	}
	return fixed(m2s, 2) + " m²/s"
}

// FormatTemperature prints a temperature given in °C to a tenth: "54 °F", "12.2 °C".
func FormatTemperature(c float64, sys System) string {
	v, unit := TemperatureIn(c, sys)
	return fixed(v, 1) + " " + unit
}

// FormatForce prints a force given in N, to 0.01 lbf or 0.1 N: "3.42 lbf", "15.2 N".
func FormatForce(n float64, sys System) string {
	v, unit := ForceIn(n, sys)
	decimals := 1
	if sys == US {
		decimals = 2
	}
	return fixed(v, decimals) + " " + unit
}

// FormatDuration prints minutes to the second: "1 h 30 min", "2 h", "45 min", "7 min 30 s".
func FormatDuration(minutes float64) string {
	if minutes < 0 {
		return "-" + FormatDuration(-minutes)
	}
	seconds := int(math.Round(minutes * 60))
	var parts []string
	for _, p := range []struct {
		n    int
		unit string
	}{{seconds / 3600, " h"}, {seconds / 60 % 60, " min"}, {seconds % 60, " s"}} {
		if p.n > 0 {
			parts = append(parts, strconv.Itoa(p.n)+p.unit)
		}
	}
	if len(parts) == 0 {
		return "0 min"
	}
	return strings.Join(parts, " ")
}

// LengthIn gives a length in in or mm, for axes and tables.
func LengthIn(mm float64, sys System) (value float64, unit string) { return in(Length, mm, sys) }

// DepthIn gives a depth in ft or m.
func DepthIn(m float64, sys System) (value float64, unit string) { return in(Depth, m, sys) }

// FlowIn gives a flow in cfs or m³/s.
func FlowIn(m3s float64, sys System) (value float64, unit string) { return in(Flow, m3s, sys) }

// TemperatureIn gives a temperature in °F or °C.
func TemperatureIn(c float64, sys System) (value float64, unit string) {
	return in(Temperature, c, sys)
}

// ForceIn gives a force in lbf or N.
func ForceIn(n float64, sys System) (value float64, unit string) { return in(Force, n, sys) }

func in(q Quantity, si float64, sys System) (float64, string) {
	return convert(q, si, sys), specs[q].shownUnit(sys).unit.Symbol()
}

func convert(q Quantity, si float64, sys System) float64 {
	return convertTo(q, si, specs[q].shownUnit(sys).unit)
}

// convertTo converts the decimal that si stands for, so that 165.1 mm is 6.5 in
// and not a binary digit less.
func convertTo(q Quantity, si float64, u Unit) float64 {
	v, ok := new(big.Rat).SetString(strconv.FormatFloat(si, 'g', -1, 64))
	if !ok { // NaN and infinities
		return si
	}
	f, _ := specs[q].unit(u).fromSI(v).Float64()
	return f
}

// fixed prints v with at most the decimals given and no trailing zeros.
func fixed(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "?"
	}
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if decimals > 0 {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return text
}
