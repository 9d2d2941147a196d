package units

import "math"

// Length reads a length into mm: 6 1/2", 6½ in, 16,5 cm, 165mm, 1'2".
func (p Parser) Length(s string, bare Unit) (mm float64, err error) {
	return p.Parse(Length, s, bare)
}

// Depth reads a depth or a river stage into m: 2.5 ft, 2'6", 0,8 m, 80 cm.
func (p Parser) Depth(s string, bare Unit) (m float64, err error) {
	return p.Parse(Depth, s, bare)
}

// Flow reads a flow into m³/s: 540 cfs, 12.3 m³/s, 1,020 cfs, 540 l/s.
func (p Parser) Flow(s string, bare Unit) (m3s float64, err error) {
	return p.Parse(Flow, s, bare)
}

// Speed reads the speed of water into m/s: 2 ft/s, 0,6 m/s.
func (p Parser) Speed(s string, bare Unit) (ms float64, err error) {
	return p.Parse(Speed, s, bare)
}

// Temperature reads a temperature into °C: 54F, 12,5 °C, -2 C.
func (p Parser) Temperature(s string, bare Unit) (c float64, err error) {
	return p.Parse(Temperature, s, bare)
}

// Duration reads a time into whole minutes: 90 min, 1h30, 1:30, 1:30:00,
// 1,5 h, 1 hr 30 min. Parts of a minute are rounded, half a minute up.
func (p Parser) Duration(s string, bare Unit) (minutes int, err error) {
	f, err := p.Parse(Duration, s, bare)
	return int(math.Round(f)), err
}

// Minutes reads a time into minutes, to the second: 7.5 min, 0:07:30, 1h30.
func (p Parser) Minutes(s string, bare Unit) (minutes float64, err error) {
	f, err := p.Parse(Duration, s, bare)
	return math.Round(f*60) / 60, err
}

// Tippet reads an X size or a diameter into mm: 6X, 5.5X, 01X, 0,127 mm,
// .005", 6X (0.127 mm). X sizes convert by the rule of eleven, inches =
// 0.011 − 0.001·X (common practice, no source), in whole and half sizes from 0X
// to 8X, where the rule ends; 01X, also written 00X, is a thousandth of an
// inch thicker than 0X, 02X two, and so on to 05X.
func (p Parser) Tippet(s string, bare Unit) (mm float64, err error) {
	return p.Parse(Tippet, s, bare)
}

// Force reads a pull into N: 3.4 lbf, 3,4 lb, 1.55 kg, 15.2 N, 54 oz. A pound, an
// ounce and a kilogram are those of force, as scales show them.
func (p Parser) Force(s string, bare Unit) (n float64, err error) {
	return p.Parse(Force, s, bare)
}

var numberSpec = &spec{noun: "number", remedy: "write a number such as 12, 6.5 or 6,5"}

// Number reads a plain number, signed or not, with a decimal point or comma and
// with points, commas or spaces between thousands.
func (p Parser) Number(s string) (float64, error) {
	if len(s) > longest {
		return 0, numberSpec.notOne(s)
	}
	text := normalize(s)
	negative, rest := sign(text)
	v, rest, ok := p.number(rest)
	if !ok || rest != "" {
		return 0, numberSpec.notOne(s)
	}
	if negative {
		v.Neg(v)
	}
	f, _ := v.Float64()
	if math.Abs(f) > largest {
		return 0, &Error{shown(s), "is too large a number", numberSpec.remedy}
	}
	return f, nil
}

// ParseLength is Parser.Length with the zero Parser.
func ParseLength(s string, bare Unit) (mm float64, err error) { return Parser{}.Length(s, bare) }

// ParseDepth is Parser.Depth with the zero Parser.
func ParseDepth(s string, bare Unit) (m float64, err error) { return Parser{}.Depth(s, bare) }

// ParseFlow is Parser.Flow with the zero Parser.
func ParseFlow(s string, bare Unit) (m3s float64, err error) { return Parser{}.Flow(s, bare) }

// ParseSpeed is Parser.Speed with the zero Parser.
func ParseSpeed(s string, bare Unit) (ms float64, err error) { return Parser{}.Speed(s, bare) }

// ParseTemperature is Parser.Temperature with the zero Parser.
func ParseTemperature(s string, bare Unit) (c float64, err error) {
	return Parser{}.Temperature(s, bare)
}

// ParseDuration is Parser.Duration with the zero Parser.
func ParseDuration(s string, bare Unit) (minutes int, err error) { return Parser{}.Duration(s, bare) }

// ParseMinutes is Parser.Minutes with the zero Parser.
func ParseMinutes(s string, bare Unit) (minutes float64, err error) { return Parser{}.Minutes(s, bare) }

// ParseTippet is Parser.Tippet with the zero Parser.
func ParseTippet(s string, bare Unit) (mm float64, err error) { return Parser{}.Tippet(s, bare) }

// ParseForce is Parser.Force with the zero Parser.
func ParseForce(s string, bare Unit) (n float64, err error) { return Parser{}.Force(s, bare) }

// ParseNumber is Parser.Number with the zero Parser.
func ParseNumber(s string) (float64, error) { return Parser{}.Number(s) }
