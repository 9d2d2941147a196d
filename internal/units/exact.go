package units

import "strconv"

// ExactLength prints a length in mm for a field that is edited and saved again:
// as FormatLength if that parses back to the same value, else in mm in full.
func ExactLength(mm float64, sys System) string {
	return exact(Length, mm, FormatLength(mm, sys))
}

// ExactDepth does for depths in m what ExactLength does for lengths.
func ExactDepth(m float64, sys System) string {
	return exact(Depth, m, FormatDepth(m, sys))
}

// ExactFlow does for flows in m³/s what ExactLength does for lengths.
func ExactFlow(m3s float64, sys System) string {
	return exact(Flow, m3s, FormatFlow(m3s, sys))
}

// ExactSpeed does for speeds in m/s what ExactLength does for lengths.
func ExactSpeed(ms float64, sys System) string {
	return exact(Speed, ms, FormatSpeed(ms, sys))
}

// ExactTemperature does for temperatures in °C what ExactLength does for lengths.
func ExactTemperature(c float64, sys System) string {
	return exact(Temperature, c, FormatTemperature(c, sys))
}

// ExactTippet does for diameters in mm what ExactLength does for lengths; a
// value on the rule of eleven is its X size alone: "6X".
func ExactTippet(mm float64) string {
	return exact(Tippet, mm, xName(mm))
}

func exact(q Quantity, si float64, text string) string {
	if v, err := (Parser{}).Parse(q, text, ""); err == nil && v == si {
		return text
	}
	return siText(q, si)
}

// siText is the shortest decimal that stands for si, with its unit.
func siText(q Quantity, si float64) string {
	return strconv.FormatFloat(si, 'f', -1, 64) + " " + specs[q].si.Symbol()
}

// ExactForce prints a force in N as it may have been read off a scale: in the
// unit that is shown, else in any other in which three decimals are enough, else
// in N in full.
func ExactForce(n float64, sys System) string {
	for _, u := range []Unit{specs[Force].shownUnit(sys).unit, Newton, PoundForce, KilogramForce, GramForce, OunceForce} {
		text := fixed(convertTo(Force, n, u), 3) + " " + u.Symbol()
		if v, err := (Parser{}).Parse(Force, text, ""); err == nil && v == n {
			return text
		}
	}
	return siText(Force, n)
}

// Exact is ExactLength and its like for any quantity.
func Exact(q Quantity, si float64, sys System) string {
	switch q {
	case Force:
		return ExactForce(si, sys)
	case Tippet:
		return ExactTippet(si)
	}
	return exact(q, si, Format(q, si, sys))
}
