package units

import "testing"

func TestNumberStyles(t *testing.T) {
	t.Parallel()
	tests := []struct {
		text                string
		auto, point, commas float64
		proves              Decimal
	}{
		{"12", 12, 12, 12, DecimalAuto},
		{"-3", -3, -3, -3, DecimalAuto},
		{"+3", 3, 3, 3, DecimalAuto},
		{"1,020", 1020, 1020, 1.02, DecimalAuto},
		{"1.020", 1.02, 1.02, 1020, DecimalAuto},
		{"0,127", 0.127, 0.127, 0.127, DecimalComma},
		{"0.127", 0.127, 0.127, 0.127, DecimalPoint},
		{".005", 0.005, 0.005, 0.005, DecimalPoint},
		{"16,5", 16.5, 16.5, 16.5, DecimalComma},
		{"1234,567", 1234.567, 1234.567, 1234.567, DecimalComma},
		{"16.5", 16.5, 16.5, 16.5, DecimalPoint},
		{"1.020,5", 1020.5, 1020.5, 1020.5, DecimalComma},
		{"1,020.5", 1020.5, 1020.5, 1020.5, DecimalPoint},
		{"1,020,300", 1020300, 1020300, 1020300, DecimalPoint},
		{"1.020.300", 1020300, 1020300, 1020300, DecimalComma},
		{"1 020", 1020, 1020, 1020, DecimalAuto},
		{"1\u202f020", 1020, 1020, 1020, DecimalAuto},
	}
	for _, tt := range tests {
		for style, want := range map[Decimal]float64{DecimalAuto: tt.auto, DecimalPoint: tt.point, DecimalComma: tt.commas} {
			if got, err := (Parser{style}).Number(tt.text); err != nil || got != want {
				t.Errorf("style %d: Number(%q) = %v, %v; want %v", style, tt.text, got, err, want)
			}
		}
		if got := DecimalOf(tt.text); got != tt.proves {
			t.Errorf("DecimalOf(%q) = %d, want %d", tt.text, got, tt.proves)
		}
	}
}

func TestNumberErrors(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "-", "abc", "NaN", "Inf", "1e5", "1e400", "0x10", "1_000", "1.", "1,02.5", "12³",
		"1,0203,000", "9999999999999999", "07.04.2025", "3 fish", "--3", "1 02", "1/0"} {
		if got, err := ParseNumber(text); err == nil {
			t.Errorf("ParseNumber(%q) = %v", text, got)
		}
		if d := DecimalOf(text); d != DecimalAuto && text != "1,0203,000" {
			t.Errorf("DecimalOf(%q) = %d", text, d)
		}
	}
}

func TestStyleReachesQuantities(t *testing.T) {
	t.Parallel()
	p := Parser{DecimalComma}
	if got, err := p.Parse(Flow, "1,020", CubicMetrePerSecond); err != nil || got != 1.02 {
		t.Errorf("1,020 m³/s with decimal commas = %v, %v", got, err)
	}
	if got, err := p.Parse(Flow, "1.020 m3/s", ""); err != nil || got != 1020 {
		t.Errorf("1.020 m³/s with decimal commas = %v, %v", got, err)
	}
	if got := DecimalOf("16,5 cm"); got != DecimalComma {
		t.Errorf("DecimalOf(16,5 cm) = %d", got)
	}
}

func TestIsBlank(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "  ", "-", "–", "—", "--", "n/a", "N/A", "#N/A", "na", "\u00a0"} {
		if !IsBlank(text) {
			t.Errorf("%q is not blank", text)
		}
	}
	for _, text := range []string{"0", "none", "-1", "x"} {
		if IsBlank(text) {
			t.Errorf("%q is blank", text)
		}
	}
}
