package charts

import (
	"cmp"
	"fmt"
	"html/template"
	"strings"

	"rigtally/internal/svg"
)

// Key explains a look in words. Besides the looks of marks there are those of lines,
// "line-1" to "line-4" by tone and "dash-1" to "dash-4", and of dots, "dot-1" to "dot-4".
type Key struct{ Look, Text string }

// Looks of a mark; each differs in form, not in colour alone.
const (
	LookAlone     = "alone"     // nothing to compare with
	LookReference = "reference" // the others are compared with it
	LookDiffers   = "differs"
	LookLeans     = "leans"
	LookSame      = "same"
	LookOpen      = "open" // can't tell yet

	LookSettled      = "settled" // of a claim: by itself, but not among all that was asked
	LookAgainst      = "against" // of a claim: what speaks against it is square
	LookLeansAgainst = "leans-against"

	LookSlipped = "cross"  // of a pull: the knot ran out
	LookBeyond  = "beyond" // it would have borne more

	LookPlain  = "plain"  // a comparison as fished beside one like for like
	LookBand   = "band"   // around a line
	LookWash   = "wash"   // a pale ground
	LookDashes = "dashes" // a broken line across
	LookHollow = "hollow" // square, in the second tone
	LookFew    = "few"    // fewer than six sessions
	LookFilled = "filled" // of whatever form
	LookMore   = "more"   // of what is not drawn; without a mark
	LookUsual  = "usual"  // pale ground with nothing behind it
	LookThin   = "thin"   // a line that may still be revised

	LookLanded = "landed" // of what happens, as on a session's line
	LookLost   = "not-landed"
	LookTangle = "tangled"
	LookBroke  = "broke"
)

// look is the form of a mark, with the names of its colours.
type look struct {
	form, fill, line string
	dots             string // of its outline; "" where it is whole
}

var looks = map[string]look{
	LookAlone:        {form: "circle", fill: "data-1", line: "data-1"},
	LookReference:    {form: "diamond", fill: "ink", line: "ink"},
	LookDiffers:      {form: "circle", fill: "data-1", line: "data-1"},
	LookLeans:        {form: "circle", fill: "paper", line: "data-1"},
	LookSame:         {form: "rect", fill: "edge", line: "edge"},
	LookOpen:         {form: "circle", fill: "paper", line: "edge"},
	LookSettled:      {form: "diamond", fill: "paper", line: "data-1"},
	LookAgainst:      {form: "rect", fill: "data-2", line: "data-2"},
	LookLeansAgainst: {form: "rect", fill: "paper", line: "data-2"},
	LookFilled:       {form: "circle", fill: "edge", line: "edge"},
	LookFew:          {form: "circle", fill: "paper", line: "edge", dots: "1.5 2.5"},
	LookHollow:       {form: "rect", fill: "paper", line: "data-2"},
	LookSlipped:      {form: LookSlipped, fill: "none", line: "data-2"},
	LookBeyond:       {form: LookBeyond, fill: "none", line: "data-2"},
	LookLanded:       {form: "circle", fill: "ink", line: "ink"},
	LookLost:         {form: "circle", fill: "paper", line: "ink"},
	LookTangle:       {form: "tick", fill: "none", line: "ink"},
	LookBroke:        {form: LookSlipped, fill: "none", line: "ink"},
}

// lookOf is how a layer draws a mark: by the mark's look, or in the layer's tone; as its junction if
// it is of one, hollow while nothing is settled; hollow and dotted where it rests on few sessions.
func (l Layer) lookOf(m Mark) look {
	k, known := looks[m.Look]
	if !known {
		k = look{form: "circle", fill: tone(l.Tone), line: tone(l.Tone)}
	}
	if knot, ok := knots[cmp.Or(m.Knot, l.Knot)]; ok && k.form != LookSlipped && k.form != LookBeyond {
		if k.fill == "paper" {
			knot.fill = "paper"
		}
		k = knot
	}
	if m.Few {
		k.fill, k.dots = "paper", "1.5 2.5"
	}
	if l.Dash {
		k.fill = "paper"
	}
	return k
}

// tone is the name of a colour of data; ink without one.
func tone(n int) string {
	if n == 0 {
		return "ink"
	}
	return fmt.Sprintf("data-%d", n)
}

// colours are those of static/tokens.css on light paper.
var colours = map[string]string{"ink": "#17201f", "quiet": "#3f4a47", "rule": "#c9c1ab", "edge": "#6b6a5c", "paper": "#fffdf7", "sheet": "#f4efe2",
	"data-1": "#0f4c5c", "data-2": "#2b79ad", "data-3": "#a97c00", "data-4": "#8a8f86", "data-band": "#dfe5df",
	"junction-1": "#0c3aa1", "junction-2": "#1991ff", "junction-3": "#af890f", "junction-4": "#751938", "junction-5": "#7e9865", "junction-6": "#d75da5", "junction-7": "#545202", "junction-8": "#47004e",
	"heat-1": "#d3e6dc", "heat-2": "#98c7c3", "heat-3": "#579bad", "heat-4": "#29688a", "heat-5": "#113558"}

// paint is a colour as the page's style has it, or else as on light paper.
func paint(name string) string {
	if hex, ok := colours[name]; ok {
		return "var(--" + name + ", " + hex + ")"
	}
	return name
}

// onLightPaper writes the colours of a drawing as numbers, for programs that know no styles.
func onLightPaper(drawing string) string {
	var list []string
	for name, hex := range colours {
		list = append(list, paint(name), hex)
	}
	return strings.NewReplacer(list...).Replace(drawing)
}

// symbol draws a look around 0, 0.
func (k look) symbol(r float64) string {
	ink := []any{"fill", paint(k.fill), "stroke", paint(k.line), "stroke-width", 2.5, "stroke-dasharray", k.dots}
	path := func(d string) string {
		return svg.Element("path", "", append(ink, "d", d, "transform", "scale("+svg.Num(r)+")", "vector-effect", "non-scaling-stroke")...)
	}
	if d, ok := forms[k.form]; ok {
		return path(d)
	}
	return svg.Element("circle", "", append(ink, "r", r)...)
}

// forms are the paths of marks within a circle around 0, 0, which is the form of all others.
var forms = map[string]string{
	"rect":      "M-0.85 -0.85H0.85V0.85H-0.85Z",
	"diamond":   "M0 -1.2L1.2 0L0 1.2L-1.2 0Z",
	"up":        "M0 -1.1L1.1 0.85H-1.1Z",
	"down":      "M0 1.1L1.1 -0.85H-1.1Z",
	"plus":      "M-0.4 -1.1H0.4V-0.4H1.1V0.4H0.4V1.1H-0.4V0.4H-1.1V-0.4H-0.4Z",
	"star":      "M0 -1.25L0.31 -0.43L1.19 -0.39L0.5 0.16L0.73 1.01L0 0.52L-0.73 1.01L-0.5 0.16L-1.19 -0.39L-0.31 -0.43Z",
	"bow":       "M-1.05 -0.9L1.05 0.9V-0.9L-1.05 0.9Z",
	"tick":      "M0 -1.5V1.5",
	LookSlipped: "M-1 -1L1 1M-1 1L1 -1",
	LookBeyond:  "M-1 -1L1 0L-1 1Z",
}

// Sign is the mark of a key's entry, as a small picture.
func (k Key) Sign() template.HTML {
	return template.HTML(`<svg class="sign" width="16" height="16" viewBox="-8 -8 16 16" aria-hidden="true">` + k.sign() + `</svg>`)
}

func (k Key) sign() string {
	if known, ok := looks[k.Look]; ok {
		return known.symbol(5.5)
	}
	if knot, ok := strings.CutPrefix(k.Look, knotLook); ok {
		return knots[knot].symbol(5.5)
	}
	line := func(d, colour, dash string) string {
		return svg.Element("path", "", "d", d, "fill", "none", "stroke", paint(colour), "stroke-width", 2.5, "stroke-dasharray", dash)
	}
	ground := func(colour string, opacity float64) string {
		return svg.Element("rect", "", "x", -7, "y", -6, "width", 14, "height", 12, "fill", paint(colour), "opacity", opacity)
	}
	kind, n, _ := strings.Cut(k.Look, "-")
	switch kind {
	case "line":
		_, _, dash := Layer{Tone: int(n[0] - '0')}.stroke()
		return line("M-8 0H8", "data-"+n, dash)
	case "dash":
		return line("M-7 0H7", "data-"+n, "5 4")
	case "dot":
		return svg.Element("circle", "", "r", 6, "fill", paint("data-"+n))
	case LookMore:
		return ""
	case LookPlain:
		return ring
	case LookBand:
		return ground("data-1", 0.3)
	case LookWash:
		return ground("data-band", 0.5)
	case LookUsual:
		return ground("data-band", 1)
	case LookThin:
		return svg.Element("path", "", "d", "M-8 0H8", "fill", "none", "stroke", paint("data-1"), "stroke-width", 1.5)
	}
	return line("M-8 0H8", "ink", "4")
}

// ring is the mark of a ratio as fished, below the one like for like.
var ring = svg.Element("path", "", "d", "M0 4L4 11H-4Z", "fill", "none", "stroke", paint("quiet"), "stroke-width", 1.5)
