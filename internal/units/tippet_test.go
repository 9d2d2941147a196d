package units

import "testing"

// The rule of eleven and its continuation above 0X are common practice, no
// source: inches = 0.011 − 0.001·X, 01X = 0.012 in. Millimetres are inches × 25.4.
func TestParseTippet(t *testing.T) {
	t.Parallel()
	tests := []struct {
		text string
		bare Unit
		mm   float64
	}{
		{"0X", "", 0.2794}, {"1X", "", 0.254}, {"2X", "", 0.2286}, {"3X", "", 0.2032}, {"4X", "", 0.1778},
		{"5X", "", 0.1524}, {"6X", "", 0.127}, {"7X", "", 0.1016}, {"8X", "", 0.0762},
		{"6x", "", 0.127}, {"6 ×", "", 0.127}, {"6", X, 0.127}, {"5½X", "", 0.1397}, {"5.5X", "", 0.1397},
		{"5,5", X, 0.1397}, {"01X", "", 0.3048}, {"00X", "", 0.3048}, {"03X", "", 0.3556}, {"0.5X", "", 0.2667},
		{"0.127", Millimetre, 0.127}, {"0,152", Millimetre, 0.152}, {"0,127 mm", X, 0.127},
		{`.005"`, "", 0.127}, {".005", Inch, 0.127}, {"6X (0.127 mm)", "", 0.127}, {"6X (.13mm)", "", 0.127},
		{`5X (.006")`, X, 0.1524},
	}
	for _, tt := range tests {
		if got, err := Parse(Tippet, tt.text, tt.bare); err != nil || got != tt.mm {
			t.Errorf("Parse(Tippet, %q, %q) = %v, %v; want %v", tt.text, tt.bare, got, err, tt.mm)
		}
	}
}

func TestFormatTippet(t *testing.T) {
	t.Parallel()
	for mm, want := range map[float64]string{
		0.127: "6X (0.127 mm)", 0.1524: "5X (0.152 mm)", 0.152: "5X (0.152 mm)", 0.102: "7X (0.102 mm)",
		0.279: "0X (0.279 mm)", 0.3048: "01X (0.305 mm)", 0.1397: "5.5X (0.14 mm)", 0.14: "0.14 mm",
		0.13: "0.13 mm", 0.0508: "0.051 mm", 0.6: "0.6 mm",
	} {
		if got := FormatTippet(mm); got != want {
			t.Errorf("FormatTippet(%v) = %q, want %q", mm, got, want)
		}
	}
	for mm, want := range map[float64]string{0.127: "6X", 0.152: "0.152 mm", 0.1524: "5X", 0.14: "0.14 mm", 0.3048: "01X"} {
		if got := ExactTippet(mm); got != want {
			t.Errorf("ExactTippet(%v) = %q, want %q", mm, got, want)
		}
	}
}
