package units

import (
	"fmt"
	"math"
	"math/big"
	"regexp"
	"strings"
)

// Parser reads quantities. The zero value is ready to use and is what the
// functions of the package use; set Decimal when the style of a whole file is known.
//
// Each method takes the text as written and the unit that is meant when the
// text names none; with no such unit ("") a bare number is an error. Results are
// the float64 nearest to the exact value, always finite. Errors about the text
// are of type *Error.
type Parser struct {
	Decimal Decimal
}

const (
	longest  = 100  // bytes of text that can be a quantity
	smallest = 1e-9 // nearest SI value to zero that anyone can mean
	largest  = 1e15 // largest plain number
)

// Parse reads a quantity of any kind; the result is in the unit q is kept in: 6½ in, 16,5 cm and 1'2"
// as lengths, 0,8 m as a depth, 1,020 cfs as a flow, 54F as a temperature, 3,4 lb as a force. A
// duration is in minutes and not rounded.
//
// A tippet is an X size or a diameter: 6X, 5.5X, 01X, .005", 6X (0.127 mm). X sizes convert by the rule
// of eleven, inches = 0.011 − 0.001·X (common practice, no source), in whole and half sizes from 0X to
// 8X, where the rule ends; 01X, also written 00X, is a thousandth of an inch thicker than 0X, 02X two,
// and so on to 05X.
func (p Parser) Parse(q Quantity, s string, bare Unit) (float64, error) {
	sp, ok := specs[q]
	if !ok {
		return 0, fmt.Errorf("units: no quantity is called %q", string(q))
	}
	if bare != "" && sp.unit(bare) == nil && (q != Tippet || bare != X) {
		return 0, fmt.Errorf("units: %q is not a unit of %s", string(bare), sp.noun)
	}
	if len(s) > longest {
		return 0, sp.notOne(s)
	}
	text := normalize(s)
	if text == "" {
		return 0, sp.notOne("")
	}
	var v *big.Rat
	var err error
	switch {
	case q == Tippet && isX(text, bare):
		v, err = p.xSize(sp, s, text)
	case q == Duration && strings.Contains(text, ":"):
		v, err = clock(sp, s, text)
	case q == Temperature:
		// 54° names no scale: it is a bare number.
		v, err = p.quantity(sp, s, strings.TrimSuffix(text, "°"), bare)
	default:
		v, err = p.quantity(sp, s, text, bare)
	}
	if err != nil {
		return 0, err
	}
	return sp.check(v, s, text, bare)
}

// quantity reads numbers with units: 6 1/2 in, 1 ft 2 in, 1h30.
func (p Parser) quantity(sp *spec, s, text string, bare Unit) (*big.Rat, error) {
	negative, rest := sign(text)
	total := new(big.Rat)
	var last *definition
	for last == nil || rest != "" {
		n, after, ok := p.number(rest)
		if !ok || (last != nil && last.then == "") {
			return nil, sp.notOne(s)
		}
		def, after := sp.unitAt(after)
		implied := def == nil
		switch {
		case implied && after != "":
			return nil, sp.unknownUnit(s, after)
		case implied && last != nil:
			def = sp.unit(last.then)
		case implied && bare == "":
			return nil, &Error{shown(s), "names no unit (" + sp.offer() + ")", sp.remedy}
		case implied:
			def = sp.unit(bare)
		}
		if last != nil && !follows(n, def, last, implied) {
			return nil, sp.notOne(s)
		}
		// 1.5 ft 2 in: only a whole number has smaller units after it.
		if after != "" && !n.IsInt() {
			return nil, sp.notOne(s)
		}
		if negative {
			n.Neg(n)
		}
		total.Add(total, def.toSI(n))
		last, rest = def, after
	}
	return total, nil
}

// follows reports whether n of the unit def may come after the larger unit
// last: less than one of it, and whole if its unit is left out (1h30, not 1h½).
func follows(n *big.Rat, def, last *definition, implied bool) bool {
	if def.unit != last.then || (implied && !n.IsInt()) {
		return false
	}
	return def.toSI(n).Cmp(last.toSI(big.NewRat(1, 1))) < 0
}

func sign(text string) (negative bool, rest string) {
	if rest, ok := strings.CutPrefix(text, "-"); ok {
		return true, strings.TrimPrefix(rest, " ")
	}
	return false, strings.TrimPrefix(text, "+")
}

var clockRE = regexp.MustCompile(`^(-?)(\d{1,3}):([0-5]\d)(?::([0-5]\d))? ?(?:h|hrs?|hours?)?$`)

// clock reads 1:30, and 1:30:00 as spreadsheets save it, as hours and minutes.
func clock(sp *spec, s, text string) (*big.Rat, error) {
	m := clockRE.FindStringSubmatch(text)
	if m == nil {
		return nil, sp.notOne(s)
	}
	total := new(big.Rat)
	for i, secondsEach := range []int64{3600, 60, 1} {
		n, ok := rational(m[i+2], "")
		if ok { // the seconds may be missing
			total.Add(total, n.Mul(n, big.NewRat(secondsEach, 60)))
		}
	}
	if m[1] != "" {
		total.Neg(total)
	}
	return total, nil
}

// check turns the exact value into a float64 that is possible for the quantity.
func (s *spec) check(v *big.Rat, written, text string, bare Unit) (float64, error) {
	f, _ := v.Float64()
	problem := ""
	switch {
	case f < s.low:
		problem = s.below
	case f > s.high:
		problem = s.above
	case f != 0 && math.Abs(f) < smallest:
		problem = "is nearer to zero than can be measured"
	default:
		return f, nil
	}
	value := shown(written)
	if bare != "" && strings.Trim(text, "0123456789.,/-+ ") == "" {
		value += " " + bare.Symbol()
	}
	return 0, &Error{value, problem, s.remedy}
}

func (s *spec) unknownUnit(written, rest string) *Error {
	if !startsWithLetter(strings.TrimSpace(rest)) {
		return s.notOne(written)
	}
	return &Error{quoted(written), "has “" + shown(rest) + "” where a unit should be (" + s.offer() + ")", s.remedy}
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

// Parse is Parser.Parse with the zero Parser.
func Parse(q Quantity, s string, bare Unit) (float64, error) { return Parser{}.Parse(q, s, bare) }

// ParseDuration is Parser.Duration with the zero Parser.
func ParseDuration(s string, bare Unit) (minutes int, err error) { return Parser{}.Duration(s, bare) }

// ParseMinutes is Parser.Minutes with the zero Parser.
func ParseMinutes(s string, bare Unit) (minutes float64, err error) { return Parser{}.Minutes(s, bare) }

// ParseNumber is Parser.Number with the zero Parser.
func ParseNumber(s string) (float64, error) { return Parser{}.Number(s) }
