package charts

import (
	"math"
	"os"
	"regexp"
	"strconv"
	"testing"
)

// schemes are the colors that the pages' styles have, light and dark.
func schemes(t *testing.T) [2]map[string]string {
	t.Helper()
	schemes := [2]map[string]string{{}, {}}
	for _, name := range []string{"tokens.css", "figure.css"} {
		text, err := os.ReadFile("../web/static/" + name)
		if err != nil {
			t.Fatal(err)
		}
		for _, block := range regexp.MustCompile(`(?s)(@media screen and \(prefers-color-scheme: dark\) \{\s*)?:root \{[^}]*\}`).FindAllSubmatch(text, -1) {
			for _, m := range regexp.MustCompile(`--([\w-]+): (#[0-9a-f]{6})`).FindAllSubmatch(block[0], -1) {
				schemes[1][string(m[1])] = string(m[2])
				if len(block[1]) == 0 {
					schemes[0][string(m[1])] = string(m[2])
				}
			}
		}
	}
	return schemes
}

// What a file of its own shows is what the pages show on light paper.
func TestColorsAreThePages(t *testing.T) {
	t.Parallel()
	light := schemes(t)[0]
	light["heat-middle"] = light["ink"]
	for name, hex := range colours {
		if light[name] != hex {
			t.Errorf("%s is %s, in the pages %s", name, hex, light[name])
		}
	}
}

type rgb [3]float64

func channels(t *testing.T, hex string) (c rgb) {
	t.Helper()
	for i := range c {
		v, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		c[i] = float64(v) / 255
	}
	return c
}

func mixed(a, b rgb, part float64) rgb {
	for i := range a {
		a[i] += (b[i] - a[i]) * part
	}
	return a
}

// contrast is that of WCAG 2.2, by relative luminance.
func contrast(a, b rgb) float64 {
	luminance := func(c rgb) float64 {
		for i, v := range c {
			if c[i] = v / 12.92; v > 0.04045 {
				c[i] = math.Pow((v+0.055)/1.055, 2.4)
			}
		}
		return 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2]
	}
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// Words on a cell are in ink or paper, whichever is read better, in both schemes;
// where both are read, either.
func TestWordsOnCellsAreRead(t *testing.T) {
	t.Parallel()
	for i, scheme := range schemes(t) {
		of := func(name string) rgb { return channels(t, scheme[name]) }
		words := map[string]rgb{"ink": of("ink"), "paper": of("paper"), "heat-middle": of([]string{"ink", "paper"}[i])}
		for fade := range fading {
			for heat := 0.0; heat <= 1; heat += 0.01 {
				s := shadeOf(heat, fade)
				cell := mixed(mixed(of("heat-"+strconv.Itoa(s.from)), of("heat-"+strconv.Itoa(s.from+1)), s.part), of("heat-none"), s.fade)
				got := contrast(words[onHeat(heat, fade)], cell)
				best := math.Max(contrast(words["ink"], cell), contrast(words["paper"], cell))
				if got < 4.5 && got < best-0.1 {
					t.Errorf("scheme %d, fade %d: words at %.2f have %.2f:1, could have %.2f:1", i, fade, heat, got, best)
				}
			}
		}
	}
}
