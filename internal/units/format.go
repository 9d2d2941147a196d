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

// Format prints a quantity given in the unit that it is kept in. What has no form of its own is a
// number with its unit: "2.5 ft", "15.29 m³/s", "54 °F".
func Format(q Quantity, si float64, sys System) string {
	switch q {
	case Length:
		return FormatLength(si, sys)
	case Tippet:
		return FormatTippet(si)
	case Duration:
		return FormatDuration(si)
	case Percent:
		return fixed(si, 1) + PerCent.Symbol()
	}
	v, unit := In(q, si, sys)
	return fixed(v, decimals(q, v, sys)) + " " + unit
}

// decimals are those that a value is shown with at most: as many as people can measure.
func decimals(q Quantity, v float64, sys System) int {
	size := math.Abs(v)
	switch {
	case q == Flow && sys != US && size < 1:
		return 3
	case q == Flow && sys == US && size >= 100:
		return 0
	case q == Flow && sys == US && size >= 10, q == Temperature, q == Force && sys != US:
		return 1
	}
	return 2
}

// FormatLength prints a length given in mm: "6½ in", "4.49 in", "9 ft 6 in";
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
	fraction := strconv.FormatInt(num, 10) + "/" + strconv.FormatInt(den, 10)
	if sign, ok := fractions[fraction]; ok {
		return text + sign
	}
	return strings.TrimSpace(text + " " + fraction)
}

// fractions are those that have a letter of their own.
var fractions = map[string]string{"1/4": "¼", "1/2": "½", "3/4": "¾", "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞"}

// FormatPerWidth prints depth times speed given in m²/s to a tenth of 1 ft²/s or
// a hundredth of 1 m²/s: "10 ft²/s", "0.93 m²/s".
func FormatPerWidth(m2s float64, sys System) string {
	if sys == US {
		return fixed(m2s/(0.3048*0.3048), 1) + " ft²/s"
	}
	return fixed(m2s, 2) + " m²/s"
}

// FormatDuration prints minutes to the second: "1 h 30 min", "2 h", "45 min", "7 min 30 s".
func FormatDuration(minutes float64) string {
	const most = 1e6 * 60 // beyond that it is a slip, and no number of seconds
	switch {
	case math.IsNaN(minutes):
		return "?"
	case minutes < 0:
		return "-" + FormatDuration(-minutes)
	case minutes > most:
		return "over 1000000 h"
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

// In gives a quantity in the unit that it is shown in, for axes and tables.
func In(q Quantity, si float64, sys System) (value float64, unit string) {
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

// Exact prints a quantity for a field that is edited and saved again: as Format does if that is read
// back as it is, else in full in the unit that it is kept in.
func Exact(q Quantity, si float64, sys System) string {
	switch q {
	case Force:
		return exactForce(si, sys)
	case Tippet:
		return ExactTippet(si)
	}
	return exact(q, si, Format(q, si, sys))
}

// ExactLength is Exact for a length in mm.
func ExactLength(mm float64, sys System) string { return Exact(Length, mm, sys) }

// ExactTippet is Exact for a diameter in mm; a value on the rule of eleven is its X size alone: "6X".
func ExactTippet(mm float64) string { return exact(Tippet, mm, xName(mm)) }

// exactForce prints a force as it may have been read off a scale: in the unit that is shown, else in
// any other in which three decimals are enough.
func exactForce(n float64, sys System) string {
	for _, u := range []Unit{specs[Force].shownUnit(sys).unit, Newton, PoundForce, KilogramForce, GramForce, OunceForce} {
		text := fixed(convertTo(Force, n, u), 3) + " " + u.Symbol()
		if v, err := Parse(Force, text, ""); err == nil && v == n {
			return text
		}
	}
	return siText(Force, n)
}

func exact(q Quantity, si float64, text string) string {
	if v, err := Parse(q, text, ""); err == nil && v == si {
		return text
	}
	return siText(q, si)
}

// siText is the shortest decimal that stands for si, with its unit.
func siText(q Quantity, si float64) string {
	return strconv.FormatFloat(si, 'f', -1, 64) + " " + specs[q].si.Symbol()
}
