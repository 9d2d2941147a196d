package browsertest

import (
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

var token = regexp.MustCompile(`--([a-z0-9-]+): #([0-9a-f]{6});`)

// schemes reads the colours of both schemes; the dark one changes some of the light.
func schemes(t *testing.T) map[string]map[string]string {
	t.Helper()
	text, err := os.ReadFile("../static/tokens.css")
	if err != nil {
		t.Fatal(err)
	}
	light, dark, ok := strings.Cut(string(text), "@media")
	if !ok {
		t.Fatal("tokens.css has no dark scheme")
	}
	set := map[string]map[string]string{"light": {}, "dark": {}}
	for _, m := range token.FindAllStringSubmatch(light, -1) {
		set["light"][m[1]], set["dark"][m[1]] = m[2], m[2]
	}
	for _, m := range token.FindAllStringSubmatch(dark, -1) {
		set["dark"][m[1]] = m[2]
	}
	return set
}

// luminance and contrast follow WCAG 2.2, "relative luminance" and "contrast ratio".
func luminance(hex string) float64 {
	weights := []float64{0.2126, 0.7152, 0.0722}
	sum := 0.0
	for i, w := range weights {
		n, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		if err != nil {
			return math.NaN()
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += w * c
	}
	return sum
}

func contrast(a, b string) float64 {
	high, low := luminance(a), luminance(b)
	if high < low {
		high, low = low, high
	}
	return (high + 0.05) / (low + 0.05)
}

// WCAG's own example: #767676 on white just passes 4.5:1, and black on white is 21:1.
func TestContrastFormula(t *testing.T) {
	t.Parallel()
	if c := contrast("000000", "ffffff"); math.Abs(c-21) > 1e-9 {
		t.Errorf("black on white %g", c)
	}
	if c := contrast("767676", "ffffff"); c < 4.5 || c > 4.6 {
		t.Errorf("#767676 on white %g", c)
	}
}

// Text has 7:1 (WCAG 2.2, 1.4.6) on every ground, controls and lines of data
// have 3:1 (1.4.11), in both schemes.
func TestContrast(t *testing.T) {
	t.Parallel()
	for name, colours := range schemes(t) {
		check := func(over, ground string, want float64) {
			if c := contrast(colours[over], colours[ground]); math.IsNaN(c) || c < want {
				t.Errorf("%s: %s on %s is %.2f:1, want %g:1", name, over, ground, c, want)
			}
		}
		for _, ground := range []string{"paper", "sheet", "tint"} {
			check("ink", ground, 7)
			check("quiet", ground, 7)
			check("edge", ground, 3)
		}
		check("accent", "paper", 7)
		check("accent", "sheet", 7)
		check("on-accent", "accent", 7)
		check("paper", "ink", 7)
		for color := range colours {
			if kind, _, _ := strings.Cut(color, "-"); kind == "data" && color != "data-band" || kind == "junction" {
				check(color, "paper", 3)
			}
		}
	}
}
