package browsertest

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
)

type vector [3]float64

// blindness are what colours look like to people who lack one kind of cone:
// Machado, Oliveira & Fernandes 2009, "A physiologically-based model for
// simulation of color vision deficiency", IEEE TVCG 15(6), the matrices of
// severity 1.0, for linear RGB.
var blindness = map[string][3]vector{
	"full sight":   {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protanopia":   {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranopia": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritanopia":   {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

// linear undoes the transfer function of sRGB (IEC 61966-2-1).
func linear(hex string) (v vector) {
	for i := range v {
		n, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		if err != nil {
			return vector{math.NaN(), math.NaN(), math.NaN()}
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			v[i] = c / 12.92
		} else {
			v[i] = math.Pow((c+0.055)/1.055, 2.4)
		}
	}
	return v
}

func times(m [3]vector, v vector) (out vector) {
	for i, row := range m {
		for j := range row {
			out[i] += row[j] * v[j]
		}
	}
	return out
}

// lab is CIE L*a*b* (CIE 15) of linear sRGB under D65.
func lab(rgb vector) vector {
	for i := range rgb {
		rgb[i] = min(1, max(0, rgb[i]))
	}
	xyz := times([3]vector{{0.4124564, 0.3575761, 0.1804375}, {0.2126729, 0.7151522, 0.0721750}, {0.0193339, 0.1191920, 0.9503041}}, rgb)
	white := vector{0.95047, 1, 1.08883}
	f := func(i int) float64 {
		t := xyz[i] / white[i]
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	return vector{116*f(1) - 16, 500 * (f(0) - f(1)), 200 * (f(1) - f(2))}
}

func apart(a, b vector) float64 {
	return math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
}

// White is 100, 0, 0 and stays white to everyone; red of sRGB is 53.24, 80.09,
// 67.20 (B. Lindbloom's calculator, sRGB, D65, recalled).
func TestColourFormulas(t *testing.T) {
	t.Parallel()
	if got := lab(linear("ff0000")); apart(got, vector{53.24, 80.09, 67.20}) > 0.02 {
		t.Errorf("red is %v", got)
	}
	for name, m := range blindness {
		if got := lab(times(m, linear("ffffff"))); apart(got, vector{100, 0, 0}) > 0.02 {
			t.Errorf("white is %v in %s", got, name)
		}
	}
}

// toldApart checks that any two of some colors stay apart for everyone: by so much in CIE 1976 color
// difference, of which about 2.3 can just be seen (Mahy, Van Eycken & Oosterlinck 1994, recalled).
func toldApart(t *testing.T, least float64, names ...string) {
	t.Helper()
	for scheme, colours := range schemes(t) {
		for sight, m := range blindness {
			for i, a := range names {
				for _, b := range names[:i] {
					if d := apart(lab(times(m, linear(colours[a]))), lab(times(m, linear(colours[b])))); !(d >= least) {
						t.Errorf("%s, %s: %s and %s are %.1f apart, want %g", scheme, sight, a, b, d, least)
					}
				}
			}
		}
	}
}

func TestDataColoursAreToldApart(t *testing.T) {
	t.Parallel()
	toldApart(t, 20, "data-1", "data-2", "data-3", "data-4")
	toldApart(t, 25, "junction-1", "junction-2", "junction-3", "junction-4", "junction-5", "junction-6", "junction-7", "junction-8")
}

// The accent is for what can be tapped: no color of data is near it, to full sight.
func TestDataAreNeverInTheAccent(t *testing.T) {
	t.Parallel()
	for scheme, colours := range schemes(t) {
		for name, hex := range colours {
			if kind, _, _ := strings.Cut(name, "-"); !slices.Contains([]string{"data", "heat", "junction"}, kind) {
				continue
			}
			if d := apart(lab(linear(hex)), lab(linear(colours["accent"]))); !(d >= 25) {
				t.Errorf("%s: %s is %.1f from the accent", scheme, name, d)
			}
		}
	}
}

// The colors of a heat map go one way in lightness, in clear steps, so that their order is seen by
// every eye and in gray: the more, the farther from the paper.
func TestHeatColorsGoOneWay(t *testing.T) {
	t.Parallel()
	for scheme, colours := range schemes(t) {
		for n := 2; n <= 5; n++ {
			less, more, paper := colours[fmt.Sprintf("heat-%d", n-1)], colours[fmt.Sprintf("heat-%d", n)], colours["paper"]
			if contrast(more, paper) <= contrast(less, paper) || contrast(more, less) < 1.3 {
				t.Errorf("%s: from #%s to #%s is no clear step away from the paper", scheme, less, more)
			}
		}
	}
}
