package units

import (
	"math/big"
	"strings"
)

// definition is one unit of a quantity: SI = (value − offset)·num/den.
type definition struct {
	unit     Unit
	num, den int64
	offset   int64
	names    []string // normalized: lower case, plain ASCII quotes, 3 for ³
	then     Unit     // the smaller unit that may follow, as in 1 ft 2 in or 1h30
}

func (d *definition) toSI(v *big.Rat) *big.Rat {
	out := new(big.Rat).Sub(v, big.NewRat(d.offset, 1))
	return out.Mul(out, big.NewRat(d.num, d.den))
}

func (d *definition) fromSI(v *big.Rat) *big.Rat {
	out := new(big.Rat).Mul(v, big.NewRat(d.den, d.num))
	return out.Add(out, big.NewRat(d.offset, 1))
}

// spec is everything the parser and the printer know of a quantity.
type spec struct {
	noun       string
	si         Unit
	us, metric Unit // what axes and tables show
	units      []definition
	low, high  float64 // SI, inclusive; printed in either system they are still inside
	below      string  // what is wrong with a value under low
	above      string  // what is wrong with a value over high
	remedy     string
}

func (s *spec) unit(u Unit) *definition {
	for i := range s.units {
		if s.units[i].unit == u {
			return &s.units[i]
		}
	}
	return nil
}

// shownUnit is the unit of values on axes and in tables.
func (s *spec) shownUnit(sys System) *definition {
	if sys == US {
		return s.unit(s.us)
	}
	return s.unit(s.metric)
}

// unitAt takes the longest name of a unit off the front of text and returns
// what follows it; nil if text starts with no name that is known.
func (s *spec) unitAt(text string) (*definition, string) {
	text = strings.TrimPrefix(text, " ")
	var found *definition
	rest := text
	for i := range s.units {
		for _, name := range s.units[i].names {
			after, ok := strings.CutPrefix(text, name)
			if ok && len(after) < len(rest) && !startsWithLetter(after) {
				found, rest = &s.units[i], after
			}
		}
	}
	if found != nil {
		rest = strings.TrimPrefix(strings.TrimPrefix(rest, "."), " ")
	}
	return found, rest
}

// offer lists the units that may be written.
func (s *spec) offer() string {
	symbols := make([]string, len(s.units))
	for i, d := range s.units {
		symbols[i] = d.unit.Symbol()
	}
	last := len(symbols) - 1
	if last == 0 {
		return symbols[0]
	}
	return strings.Join(symbols[:last], ", ") + " or " + symbols[last]
}

var (
	millimetreNames = []string{"mm", "millimetre", "millimetres", "millimeter", "millimeters"}
	centimetreNames = []string{"cm", "centimetre", "centimetres", "centimeter", "centimeters"}
	metreNames      = []string{"m", "metre", "metres", "meter", "meters"}
	inchNames       = []string{`"`, "in", "ins", "inch", "inches", "zoll", "pouce", "pouces", "pulgada", "pulgadas", "pollice", "pollici", "cale", "cali", "palec", "palce", "palců", "palcu", "tum", "tomme", "tommer", "tuuma", "tuumaa"}
	footNames       = []string{"'", "ft", "foot", "feet", "fuß", "fuss", "pied", "pieds", "pies", "piede", "piedi", "stopa", "stopy", "fot", "jalka", "jalkaa"}
	cfsNames        = []string{"cfs", "cusec", "cusecs", "ft3/s", "ft^3/s", "ft3/sec", "cu ft/s", "cu ft/sec",
		"cu. ft./s", "cubic feet per second", "cubic foot per second"}
	cubicMetreNames = []string{"m3/s", "m^3/s", "m3s", "m3/sec", "m3/sek", "m3/seg", "cbm/s", "cms", "cumec", "cumecs",
		"cubic metres per second", "cubic meters per second"}
	metreSpeedNames = []string{"m/s", "m/sec", "mps", "ms", "m per s", "metres per second", "meters per second", "metre per second", "meter per second"}
	footSpeedNames  = []string{"ft/s", "ft/sec", "fps", "fts", "ft per s", "feet per second", "foot per second"}
	minuteNames     = []string{"min", "m", "'", "mins", "minute", "minutes", "minuten", "minuto", "minutos", "minuti", "minuta", "minuty", "minut", "minuter", "minutter", "minuutti", "minuuttia", "minuutit", "mn"}
	// Danish and Norwegian time (an hour) is left out, since it says something else in English.
	hourNames = []string{"h", "hr", "hrs", "hour", "hours", "std", "stunde", "stunden", "heure", "heures", "hora", "horas", "ora", "ore", "godz", "godzina", "godziny", "godzin", "hod", "hodina", "hodiny", "hodin",
		"tim", "timme", "timmar", "timer", "tunti", "tuntia", "tunnit", "uur"}
	litreNames = []string{"l/s", "l/sec", "l/sek", "l/seg", "lps", "ls", "litres per second", "liters per second"}
)

// specs is never changed. The factors are exact: NIST SP 811 (2008), App. B.8,
// in = 25.4 mm, ft = 0.3048 m, ft³ = 0.028316846592 m³, °C = (°F − 32)/1.8,
// lbf = 0.45359237 kg · 9.80665 m/s², kgf = 9.80665 N.
var specs = map[Quantity]*spec{
	Length: {
		noun: "length", si: Millimetre, us: Inch, metric: Millimetre,
		units: []definition{
			{unit: Millimetre, num: 1, den: 1, names: millimetreNames},
			{unit: Centimetre, num: 10, den: 1, names: centimetreNames},
			{unit: Inch, num: 254, den: 10, names: inchNames},
			{unit: Metre, num: 1000, den: 1, names: metreNames},
			{unit: Foot, num: 3048, den: 10, names: footNames, then: Inch},
		},
		high: 91_440, below: "is below zero", above: "is longer than 91 m (300 ft)",
		remedy: "write a length such as 6 1/2 in, 6.5 in, 165 mm or 16.5 cm",
	},
	Depth: {
		noun: "depth", si: Metre, us: Foot, metric: Metre,
		units: []definition{
			{unit: Metre, num: 1, den: 1, names: metreNames},
			{unit: Centimetre, num: 1, den: 100, names: centimetreNames},
			{unit: Foot, num: 3048, den: 10_000, names: footNames, then: Inch},
			{unit: Inch, num: 254, den: 10_000, names: inchNames},
		},
		high: 914.4, below: "is below zero", above: "is deeper than 914 m (3000 ft)",
		remedy: "write a depth such as 2.5 ft or 0.8 m",
	},
	Flow: {
		noun: "flow", si: CubicMetrePerSecond, us: CubicFootPerSecond, metric: CubicMetrePerSecond,
		units: []definition{
			{unit: CubicFootPerSecond, num: 28_316_846_592, den: 1_000_000_000_000, names: cfsNames},
			{unit: CubicMetrePerSecond, num: 1, den: 1, names: cubicMetreNames},
			{unit: LitrePerSecond, num: 1, den: 1000, names: litreNames},
		},
		high: 500_000, below: "is below zero", above: "is more than any river carries",
		remedy: "write a flow such as 540 cfs or 15.3 m³/s",
	},
	Speed: {
		noun: "speed", si: MetrePerSecond, us: FootPerSecond, metric: MetrePerSecond,
		units: []definition{
			{unit: MetrePerSecond, num: 1, den: 1, names: metreSpeedNames},
			{unit: FootPerSecond, num: 3048, den: 10_000, names: footSpeedNames},
		},
		high: 30.48, below: "is below zero", above: "is faster than any river runs",
		remedy: "write a speed such as 2 ft/s or 0.6 m/s",
	},
	Temperature: {
		noun: "temperature", si: Celsius, us: Fahrenheit, metric: Celsius,
		units: []definition{
			{unit: Fahrenheit, num: 5, den: 9, offset: 32, names: degrees("f", "fahrenheit")},
			{unit: Celsius, num: 1, den: 1, names: degrees("c", "celsius", "centigrade")},
		},
		low: -100, high: 100, below: "is colder than water or air can be", above: "is hotter than boiling water",
		remedy: "write a temperature such as 54 °F or 12.5 °C",
	},
	Duration: {
		noun: "time", si: Minute, us: Minute, metric: Minute,
		units: []definition{
			{unit: Minute, num: 1, den: 1, names: minuteNames},
			{unit: Hour, num: 60, den: 1, names: hourNames, then: Minute},
		},
		high: 7 * 24 * 60, below: "is below zero", above: "is longer than a week",
		remedy: "write how long it was fished, for example 45 min or 1h30",
	},
	Force: {
		noun: "force", si: Newton, us: PoundForce, metric: Newton,
		units: []definition{
			{unit: Newton, num: 1, den: 1, names: []string{"n", "newton", "newtons"}},
			{unit: PoundForce, num: 44_482_216_152_605, den: 10_000_000_000_000, names: []string{"lbf", "lb", "lbs", "lb.", "lbs.", "#", "pound", "pounds"}},
			{unit: OunceForce, num: 44_482_216_152_605, den: 160_000_000_000_000, names: []string{"ozf", "oz", "ounce", "ounces"}},
			{unit: KilogramForce, num: 980_665, den: 100_000, names: []string{"kgf", "kg", "kilo", "kilos", "kilogram", "kilograms"}},
			{unit: GramForce, num: 980_665, den: 100_000_000, names: []string{"gf", "g", "gram", "grams"}},
		},
		high: 5000, below: "is below zero", above: "is more than any leader holds (5000 N)",
		remedy: "write what the scale showed, such as 3.4 lbf, 1.55 kgf or 15.2 N",
	},
	Percent: {
		noun: "percentage", si: PerCent, us: PerCent, metric: PerCent,
		units: []definition{{unit: PerCent, num: 1, den: 1, names: []string{"%", "percent", "per cent", "pct", "% of years"}}},
		high:  100, below: "is below zero", above: "is more than 100%",
		remedy: "write a percentage such as 75%",
	},
	Tippet: {
		noun: "tippet size", si: Millimetre, us: Millimetre, metric: Millimetre,
		units: []definition{
			{unit: Millimetre, num: 1, den: 1, names: millimetreNames},
			{unit: Inch, num: 254, den: 10, names: inchNames},
		},
		low: 0.02, high: 1, below: "is thinner than any tippet (0.02 mm)", above: "is thicker than any tippet (1 mm)",
		remedy: "write an X size such as 6X, or a diameter such as 0.127 mm or 0.005 in",
	},
}

// degrees gives the ways to write a scale of temperature: f, °f, deg f, …
func degrees(names ...string) []string {
	var all []string
	for _, name := range names {
		for _, prefix := range []string{"", "°", "° ", "deg", "deg ", "deg. ", "degrees "} {
			all = append(all, prefix+name)
		}
	}
	return all
}
