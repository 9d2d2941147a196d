package units

import "testing"

func TestParseForce(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text string
		bare Unit
		n    float64
	}{
		{"15.2 N", "", 15.2}, {"15,2", Newton, 15.2}, {"1.55 kg", "", 15.2003075}, {"3 lb", "", 13.3446648457815}, {"3lbs", "", 13.3446648457815}, {"3", PoundForce, 13.3446648457815},
		{"1 kgf", Newton, 9.80665}, {"1500 g", "", 14.709975}, {"16 oz", "", 4.4482216152605},
	} {
		if got, err := Parse(Force, c.text, c.bare); err != nil || got != c.n {
			t.Errorf("%q: %v, %v; want %v", c.text, got, err, c.n)
		}
	}
	for _, text := range []string{"", "strong", "-1 N", "3 mm", "9000 N", "3"} {
		if got, err := Parse(Force, text, ""); err == nil {
			t.Errorf("%q is taken for %v", text, got)
		}
	}
	if got := Exact(Force, 9.80665*1.55, Metric); got != "1.55 kgf" {
		t.Errorf("a kilogram's reading prints as %q", got)
	}
}
