package units

import (
	"math/big"
	"regexp"
	"strings"
)

// Decimal says how a number that can be read two ways is meant: "1,020" and
// "1.020". Numbers that can be read one way only are read that way whatever it is.
type Decimal int

const (
	// DecimalAuto reads "1,020" as one thousand and twenty and "1.020" as 1.02.
	DecimalAuto Decimal = iota
	// DecimalPoint reads the same as DecimalAuto; it states that points were seen.
	DecimalPoint
	// DecimalComma reads "1,020" as 1.02 and "1.020" as one thousand and twenty.
	DecimalComma
)

var (
	fractionRE    = regexp.MustCompile(`^(?:(\d{1,6})(?: | ?- ?))?(\d{1,6})/(\d{1,6})`)
	spacedRE      = regexp.MustCompile(`^([1-9]\d{0,2}(?: \d{3})+)(?:[.,](\d+))?`)
	runRE         = regexp.MustCompile(`^[\d.,]*\d`)
	firstDigitsRE = regexp.MustCompile(`[\d.,]*\d`)
	pointGroupsRE = regexp.MustCompile(`^[1-9]\d{0,2}(?:\.\d{3})+$`)
	commaGroupsRE = regexp.MustCompile(`^[1-9]\d{0,2}(?:,\d{3})+$`)
	digitsRE      = regexp.MustCompile(`^\d+$`)
)

// DecimalOf reports what s proves about the number style of its writer: "16,5"
// and "1.020,5" prove a decimal comma, "6.5 in" and "1,020.5" a point;
// "1,020", "12" and text without a number prove nothing (DecimalAuto).
func DecimalOf(s string) Decimal {
	if len(s) > longest {
		return DecimalAuto
	}
	run := firstDigitsRE.FindString(normalize(s))
	asPoint, okPoint := Parser{DecimalPoint}.decimal(run)
	asComma, okComma := Parser{DecimalComma}.decimal(run)
	at := strings.LastIndexAny(run, ".,")
	if !okPoint || !okComma || at < 0 || asPoint.Cmp(asComma) != 0 {
		return DecimalAuto
	}
	// A separator that occurs twice groups thousands; otherwise the last is the decimal one.
	grouping := strings.Count(run, run[at:at+1]) > 1
	if (run[at] == ',') != grouping {
		return DecimalComma
	}
	return DecimalPoint
}

// number takes a number off the front of normalized text and returns what
// follows: a fraction (1/2, 6 1/2, 6-1/2) or a decimal, never signed.
func (p Parser) number(text string) (v *big.Rat, rest string, ok bool) {
	if m := fractionRE.FindStringSubmatch(text); m != nil {
		v, ok = fraction(m[1], m[2], m[3])
		return v, text[len(m[0]):], ok
	}
	if m := spacedRE.FindStringSubmatch(text); m != nil {
		rest := text[len(m[0]):]
		if !strings.ContainsAny(rest[:min(1, len(rest))], "0123456789.,/") {
			v, ok := rational(strings.ReplaceAll(m[1], " ", ""), m[2])
			return v, rest, ok
		}
	}
	run := runRE.FindString(text)
	v, ok = p.decimal(run)
	return v, text[len(run):], ok
}

func fraction(whole, num, den string) (*big.Rat, bool) {
	n, ok1 := rational(num, "")
	d, ok2 := rational(den, "")
	if !ok1 || !ok2 || d.Sign() == 0 {
		return nil, false
	}
	v := n.Quo(n, d)
	if whole == "" {
		return v, true
	}
	if v.Cmp(big.NewRat(1, 1)) >= 0 { // 6 3/2 is a slip of the pen
		return nil, false
	}
	w, ok := rational(whole, "")
	return v.Add(v, w), ok
}

// decimal reads a run of digits, points and commas.
func (p Parser) decimal(run string) (*big.Rat, bool) {
	at := strings.LastIndexAny(run, ".,")
	if at < 0 {
		return rational(run, "")
	}
	sep, other, groups, otherGroups := ",", ".", commaGroupsRE, pointGroupsRE
	if run[at] == '.' {
		sep, other, groups, otherGroups = ".", ",", pointGroupsRE, commaGroupsRE
	}
	whole, frac := run[:at], run[at+1:]
	if groups.MatchString(run) {
		// One separator and three digits can be read both ways; several cannot.
		readAsGroups := (sep == ",") != (p.Decimal == DecimalComma)
		if strings.Count(run, sep) > 1 || readAsGroups {
			return rational(strings.ReplaceAll(run, sep, ""), "")
		}
	}
	if otherGroups.MatchString(whole) {
		whole = strings.ReplaceAll(whole, other, "")
	}
	if frac == "" {
		return nil, false
	}
	return rational(whole, frac)
}

// rational is whole.frac exactly; whole may be empty when frac is not.
func rational(whole, frac string) (*big.Rat, bool) {
	if digits := whole + frac; !digitsRE.MatchString(digits) {
		return nil, false
	}
	return new(big.Rat).SetString("0" + whole + "." + frac + "0")
}
