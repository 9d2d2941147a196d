package charts

import (
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
)

// schemes are the colors that the pages' styles have, light and dark.
func schemes(t *testing.T) [2]map[string]string {
	t.Helper()
	schemes := [2]map[string]string{{}, {}}
	for _, name := range []string{"tokens.css"} {
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
	for name, hex := range colours {
		if light[name] != hex {
			t.Errorf("%s is %s, in the pages %s", name, hex, light[name])
		}
	}
}

// Ink falls with the width of the interval, from all of it to the least.
func TestInkIsKnowledge(t *testing.T) {
	t.Parallel()
	last := 1.0
	if ink(0) != 1 {
		t.Errorf("what is known exactly has ink %g", ink(0))
	}
	for part := 0.05; part < 5; part += 0.05 {
		if got := ink(part); got >= last || got < leastInk {
			t.Errorf("an interval over %.2f of the axis has ink %g after %g", part, got, last)
		}
		last = ink(part)
	}
	for _, part := range []float64{math.Inf(1), math.NaN()} {
		if ink(part) != leastInk {
			t.Errorf("%g of the axis: ink %g, want %g", part, ink(part), leastInk)
		}
	}
	c := Rates(tangles(t), units.US, nil)
	known, unknown := marks(t, c, Points)[0], marks(t, c, Points)[2]
	f := c.Fields[0]
	drawn := string(c.SVG(""))
	if f.inkOf(known) < 0.8 || f.inkOf(unknown) > 0.5 || known.Few || !unknown.Few || known.Radius <= unknown.Radius || strings.Count(drawn, `stroke-dasharray="1.5 2.5"`) != 1 {
		t.Errorf("100 h have ink %g, an hour of one session %g; dotted: %.400s", f.inkOf(known), f.inkOf(unknown), drawn)
	}
}

// Every junction of the trade has a color and a mark of its own, whatever else an answer holds.
func TestJunctionsKeepTheirMark(t *testing.T) {
	t.Parallel()
	seen := map[string]journal.Junction{}
	for _, j := range journal.Junctions() {
		k, ok := knots[string(j)]
		if !ok {
			t.Errorf("%s has no mark", j)
		}
		for _, part := range []string{k.form, k.fill} {
			if other, twice := seen[part]; twice {
				t.Errorf("%s has %s, as %s has", j, part, other)
			}
			seen[part] = j
		}
		if !strings.Contains(string(KnotKey(j).Sign()), "--"+k.fill) {
			t.Errorf("the sign of %s is %s", j, KnotKey(j).Sign())
		}
	}
	a := tangles(t)
	slices.Reverse(a.Groups)
	a.Reference = 2
	if m := marks(t, Rates(a, units.US, nil), Points)[1]; m.Name != "blood" || (Layer{}).lookOf(m).line != knots["blood"].line {
		t.Errorf("%s is drawn as %v", m.Name, (Layer{}).lookOf(m))
	}
}

// Tags hang to scale, and words of lines stand clear of lines.
func TestTagsHangToScale(t *testing.T) {
	t.Parallel()
	p := &pen{Field: Field{X: Axis{From: 3, To: 9, Hung: 60, Ticks: []Tick{{At: 3}, {At: 6}, {At: 9}}}}}
	if p.hangs(9) != 60 || p.hangs(3) != 20 || p.hangs(6) != 40 {
		t.Errorf("tags of 3, 6 and 9 in hang %g, %g and %g px", p.hangs(3), p.hangs(6), p.hangs(9))
	}
}

func TestNothingStrikesThroughWords(t *testing.T) {
	t.Parallel()
	line := Layer{Shape: Line, Says: "a rising line", Marks: []Mark{{X: 0, Y: 0}, {X: 5, Y: 5}, {X: 10, Y: 10}}}
	p := &pen{Field: Field{Height: 200, X: numbers("", 0, 10, 5, ""), Y: numbers("", 0, 10, 5, ""), Layers: []Layer{level(nowhere, 9.5, "a level"), line}}}
	p.beside()
	if len(p.taken) != 2 {
		t.Fatalf("%d labels", len(p.taken))
	}
	for _, b := range p.taken {
		own := p.taken
		p.taken = nil
		if cost := p.inTheWay(b); cost > 0 {
			t.Errorf("a label at %v is in the way: %g", b, cost)
		}
		p.taken = own
	}
}
