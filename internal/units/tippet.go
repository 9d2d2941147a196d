package units

import (
	"fmt"
	"math"
	"math/big"
	"regexp"
	"strconv"
	"strings"
)

var (
	// labelRE is a size with its diameter, as a spool or FormatTippet has it.
	labelRE   = regexp.MustCompile(`^([^()]*x) ?\(([^()]+)\)$`)
	heavierRE = regexp.MustCompile(`^0(\d+)$`)
)

const (
	finestX   = 8     // the rule of eleven ends here
	thickestX = -5    // 05X; thicker material goes by its diameter
	labelTol  = 0.005 // mm; labels carry two decimals
	halfTol   = 1e-9  // mm; 0.14 mm is sold as such and is not 5.5X
	mmPerThou = 0.0254
)

// isX reports whether text is an X size and not a diameter.
func isX(text string, bare Unit) bool {
	if strings.HasSuffix(text, "x") || labelRE.MatchString(text) {
		return true
	}
	return bare == X && strings.Trim(text, "0123456789.,/-+ ") == ""
}

// xSize reads an X size into mm.
func (p Parser) xSize(sp *spec, s, text string) (*big.Rat, error) {
	if m := labelRE.FindStringSubmatch(text); m != nil {
		return p.label(sp, s, m[1], m[2])
	}
	size := strings.TrimSpace(strings.TrimSuffix(text, "x"))
	thou, ok := p.thousandths(size)
	if !ok {
		return nil, &Error{quoted(s), "is not an X size (05X, 04X … 01X, 0X, 0.5X, 1X … 8X)", sp.remedy}
	}
	return thou.Mul(thou, big.NewRat(254, 10_000)), nil
}

// thousandths of an inch by the rule of eleven.
func (p Parser) thousandths(size string) (*big.Rat, bool) {
	if m := heavierRE.FindStringSubmatch(size); m != nil {
		steps, err := strconv.Atoi(m[1])
		if err != nil || len(m[1]) > 1 || -steps < thickestX {
			return nil, false
		}
		return big.NewRat(int64(11+max(1, steps)), 1), true
	}
	x, rest, ok := p.number(size)
	if !ok || rest != "" || x.Cmp(big.NewRat(finestX, 1)) > 0 {
		return nil, false
	}
	if half := new(big.Rat).Mul(x, big.NewRat(2, 1)); !half.IsInt() {
		return nil, false // 0.127X is a diameter in the wrong column
	}
	return x.Sub(big.NewRat(11, 1), x), true
}

// label reads 6X (0.127 mm); the two must agree.
func (p Parser) label(sp *spec, s, size, diameter string) (*big.Rat, error) {
	v, err := p.xSize(sp, size, size)
	if err != nil {
		return nil, err
	}
	other, err := p.quantity(sp, diameter, diameter, "")
	if err != nil {
		return nil, err
	}
	a, _ := v.Float64()
	b, _ := other.Float64()
	if math.Abs(a-b) > labelTol {
		return nil, &Error{shown(s), "gives two different sizes", fmt.Sprintf(
			"%s is %s by the rule of eleven; write the one that is meant",
			strings.ToUpper(size), siText(Tippet, math.Round(a*1000)/1000))}
	}
	return v, nil
}

// FormatTippet prints a diameter in mm, with its X size before it when it has
// one: "6X (0.127 mm)", "0.14 mm". Whole sizes are known by their first three
// decimals; a half size must be met exactly, since 0.14 mm is sold as such.
func FormatTippet(mm float64) string {
	diameter := fixed(mm, 3) + " mm"
	if name := xName(mm); name != "" {
		return name + " (" + diameter + ")"
	}
	return diameter
}

func xName(mm float64) string {
	x := 11 - mm/mmPerThou
	whole, half := math.Round(x), math.Round(2*x)/2
	isWhole := fixed((11-whole)*mmPerThou, 3) == fixed(mm, 3)
	switch {
	case isWhole && whole >= 0 && whole <= finestX:
		return fixed(whole, 0) + "X"
	case isWhole && whole < 0 && whole >= thickestX:
		return "0" + fixed(-whole, 0) + "X"
	case math.Abs(x-half)*mmPerThou <= halfTol && half > 0 && half < finestX:
		return fixed(half, 1) + "X"
	}
	return ""
}
