package units

import (
	"errors"
	"math"
	"testing"
)

func FuzzParse(f *testing.F) {
	for i, text := range []string{`6 1/2"`, `2'6"`, "1,020 cfs", "-12,5 °C", "1h30", "6X (0.127 mm)", "01:30:00",
		"6½ in", "1 020 l/s", "5.5X", "1.020,5 mm", ".005\"", "1 hr. 30 min."} {
		f.Add(text, uint8(i), uint8(i), uint8(i))
	}
	f.Fuzz(func(t *testing.T, text string, which, bare, decimal uint8) {
		p := printers[int(which)%len(printers)]
		s := specs[p.q]
		unit := Unit("")
		switch i := int(bare) % (len(s.units) + 2); {
		case i < len(s.units):
			unit = s.units[i].unit
		case i == len(s.units) && p.q == Tippet:
			unit = X
		}
		v, err := Parser{Decimal(decimal % 3)}.Parse(p.q, text, unit)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Problem == "" || e.Remedy == "" {
				t.Errorf("%q gives an error without a remedy: %v", text, err)
			}
			return
		}
		if math.IsNaN(v) || v < s.low || v > s.high {
			t.Errorf("%s %q parses as %v", p.q, text, v)
		}
		checkPrints(t, p, v)
	})
}

func FuzzParseNumber(f *testing.F) {
	for _, text := range []string{"1,020", "1.020,5", "-3", "1 020", "0,127", "6 1/2", "1e400", "NaN"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		DecimalOf(text)
		IsBlank(text)
		for d := range DecimalComma + 1 {
			if v, err := (Parser{d}).Number(text); err == nil && (math.IsNaN(v) || math.Abs(v) > largest) {
				t.Errorf("%q parses as %v", text, v)
			}
		}
	})
}
