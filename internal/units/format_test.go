package units

import (
	"math"
	"testing"
)

// Expected texts follow from the factors of NIST SP 811, App. B.8, by hand.
func TestFormat(t *testing.T) {
	t.Parallel()
	tests := []struct {
		q          Quantity
		si         float64
		us, metric string
	}{
		{Length, 165.1, "6½ in", "165.1 mm"},
		{Length, 165, "6½ in", "165 mm"},
		{Length, 114, "4.49 in", "114 mm"},
		{Length, 12.7, "½ in", "12.7 mm"},
		{Length, 1.5875, "1/16 in", "1.6 mm"},
		{Length, 0, "0 in", "0 mm"},
		{Length, -165.1, "-6½ in", "-165.1 mm"},
		{Length, 999.96, "39.37 in", "1 m"},
		{Length, 1523.95, "5 ft", "1.524 m"},
		{Length, 2743.2, "9 ft", "2.743 m"},
		{Length, 3213.1, "10 ft 6½ in", "3.213 m"},
		{Length, 2100, "6 ft 10.68 in", "2.1 m"},
		{Depth, 0.762, "2.5 ft", "0.76 m"},
		{Speed, 0.6096, "2 ft/s", "0.61 m/s"},
		{Flow, 15.29109715968, "540 cfs", "15.29 m³/s"},
		{Flow, 28.88318352384, "1020 cfs", "28.88 m³/s"},
		{Flow, 0.54, "19.1 cfs", "0.54 m³/s"},
		{Flow, 0.054, "1.91 cfs", "0.054 m³/s"},
		{Temperature, 22 * 5.0 / 9, "54 °F", "12.2 °C"},
		{Percent, 72, "72%", "72%"},
		{Percent, 2.44, "2.4%", "2.4%"},
		{Percent, math.NaN(), "?%", "?%"},
		{Temperature, -0.01, "32 °F", "0 °C"},
		{Temperature, math.NaN(), "? °F", "? °C"},
	}
	for _, tt := range tests {
		if got := Format(tt.q, tt.si, US); got != tt.us {
			t.Errorf("%s %v = %q, want %q", tt.q, tt.si, got, tt.us)
		}
		if got := Format(tt.q, tt.si, Metric); got != tt.metric {
			t.Errorf("%s %v = %q, want %q", tt.q, tt.si, got, tt.metric)
		}
	}
}

func TestFormatPerWidth(t *testing.T) {
	t.Parallel()
	for sys, want := range map[System]string{US: "10 ft²/s", Metric: "0.93 m²/s"} { // 1 ft² = 0.09290304 m² (NIST SP 811, App. B.8)
		if got := FormatPerWidth(0.9290304, sys); got != want {
			t.Errorf("got %q, want %q", got, want)
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
		q      Quantity
		si, us float64
		usUnit string
		unit   string
	}{
		{Length, 165.1, 6.5, "in", "mm"},
		{Depth, 0.762, 2.5, "ft", "m"},
		{Flow, 15.29109715968, 540, "cfs", "m³/s"},
		{Temperature, 20, 68, "°F", "°C"},
	}
	for _, tt := range tests {
		if v, unit := In(tt.q, tt.si, US); v != tt.us || unit != tt.usUnit {
			t.Errorf("%v = %v %s, want %v %s", tt.si, v, unit, tt.us, tt.usUnit)
		}
		if v, unit := In(tt.q, tt.si, Metric); v != tt.si || unit != tt.unit {
			t.Errorf("%v = %v %s, want itself in %s", tt.si, v, unit, tt.unit)
		}
	}
}

func TestExact(t *testing.T) {
	t.Parallel()
	tests := []struct{ got, want string }{
		{Exact(Length, 165.1, US), "6½ in"},
		{Exact(Length, 165, US), "165 mm"},
		{Exact(Length, 165, Metric), "165 mm"},
		{Exact(Flow, 15.29109715968, US), "540 cfs"},
		{Exact(Flow, 15.3, US), "15.3 m³/s"},
		{Exact(Temperature, 22*5.0/9, US), "54 °F"},
		{Exact(Temperature, 22*5.0/9, Metric), "12.222222222222221 °C"},
		{Exact(Depth, 0.8, US), "0.8 m"},
	}
	for _, tt := range tests {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
}
