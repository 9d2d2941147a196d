package units

import (
	"math"
	"testing"
)

// Expected texts follow from the factors of NIST SP 811, App. B.8, by hand.
func TestFormat(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name       string
		f          func(float64, System) string
		si         float64
		us, metric string
	}{
		{"length", FormatLength, 165.1, "6 1/2 in", "165.1 mm"},
		{"length", FormatLength, 165, "6 1/2 in", "165 mm"},
		{"length", FormatLength, 114, "4.49 in", "114 mm"},
		{"length", FormatLength, 12.7, "1/2 in", "12.7 mm"},
		{"length", FormatLength, 1.5875, "1/16 in", "1.6 mm"},
		{"length", FormatLength, 0, "0 in", "0 mm"},
		{"length", FormatLength, -165.1, "-6 1/2 in", "-165.1 mm"},
		{"length", FormatLength, 999.96, "39.37 in", "1 m"},
		{"length", FormatLength, 1523.95, "5 ft", "1.524 m"},
		{"length", FormatLength, 2743.2, "9 ft", "2.743 m"},
		{"length", FormatLength, 3213.1, "10 ft 6 1/2 in", "3.213 m"},
		{"length", FormatLength, 2100, "6 ft 10.68 in", "2.1 m"},
		{"depth", FormatDepth, 0.762, "2.5 ft", "0.76 m"},
		{"speed", FormatSpeed, 0.6096, "2 ft/s", "0.61 m/s"},
		{"depth times speed", FormatPerWidth, 0.9290304, "10 ft²/s", "0.93 m²/s"}, // 1 ft² = 0.09290304 m² (NIST SP 811, App. B.8)
		{"flow", FormatFlow, 15.29109715968, "540 cfs", "15.29 m³/s"},
		{"flow", FormatFlow, 28.88318352384, "1020 cfs", "28.88 m³/s"},
		{"flow", FormatFlow, 0.54, "19.1 cfs", "0.54 m³/s"},
		{"flow", FormatFlow, 0.054, "1.91 cfs", "0.054 m³/s"},
		{"temperature", FormatTemperature, 22 * 5.0 / 9, "54 °F", "12.2 °C"},
		{"temperature", FormatTemperature, -0.01, "32 °F", "0 °C"},
		{"temperature", FormatTemperature, math.NaN(), "? °F", "? °C"},
	}
	for _, tt := range tests {
		if got := tt.f(tt.si, US); got != tt.us {
			t.Errorf("%s %v = %q, want %q", tt.name, tt.si, got, tt.us)
		}
		if got := tt.f(tt.si, Metric); got != tt.metric {
			t.Errorf("%s %v = %q, want %q", tt.name, tt.si, got, tt.metric)
		}
	}
}

func TestFormatDuration(t *testing.T) {
	t.Parallel()
	for minutes, want := range map[float64]string{0: "0 min", 45: "45 min", 60: "1 h", 90: "1 h 30 min", 125: "2 h 5 min", -30: "-30 min", 7.5: "7 min 30 s", 60.25: "1 h 15 s"} {
		if got := FormatDuration(minutes); got != want {
			t.Errorf("FormatDuration(%g) = %q, want %q", minutes, got, want)
		}
	}
}

func TestIn(t *testing.T) {
	t.Parallel()
	tests := []struct {
		f      func(float64, System) (float64, string)
		si, us float64
		usUnit string
		unit   string
	}{
		{LengthIn, 165.1, 6.5, "in", "mm"},
		{DepthIn, 0.762, 2.5, "ft", "m"},
		{FlowIn, 15.29109715968, 540, "cfs", "m³/s"},
		{TemperatureIn, 20, 68, "°F", "°C"},
	}
	for _, tt := range tests {
		if v, unit := tt.f(tt.si, US); v != tt.us || unit != tt.usUnit {
			t.Errorf("%v = %v %s, want %v %s", tt.si, v, unit, tt.us, tt.usUnit)
		}
		if v, unit := tt.f(tt.si, Metric); v != tt.si || unit != tt.unit {
			t.Errorf("%v = %v %s, want itself in %s", tt.si, v, unit, tt.unit)
		}
	}
}

func TestExact(t *testing.T) {
	t.Parallel()
	tests := []struct{ got, want string }{
		{ExactLength(165.1, US), "6 1/2 in"},
		{ExactLength(165, US), "165 mm"},
		{ExactLength(165, Metric), "165 mm"},
		{ExactFlow(15.29109715968, US), "540 cfs"},
		{ExactFlow(15.3, US), "15.3 m³/s"},
		{ExactTemperature(22*5.0/9, US), "54 °F"},
		{ExactTemperature(22*5.0/9, Metric), "12.222222222222221 °C"},
		{ExactDepth(0.8, US), "0.8 m"},
	}
	for _, tt := range tests {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
}
