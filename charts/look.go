package charts

import (
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
)

// look is the form of a mark, with the names of its colours.
type look struct{ form, fill, line string }

var looks = map[string]look{
	LookAlone:        {"circle", "data-2", "data-2"},
	LookReference:    {"diamond", "ink", "ink"},
	LookDiffers:      {"circle", "data-1", "data-1"},
	LookLeans:        {"circle", "paper", "data-1"},
	LookSame:         {"rect", "edge", "edge"},
	LookOpen:         {"circle", "paper", "edge"},
	LookSettled:      {"diamond", "paper", "data-1"},
	LookAgainst:      {"rect", "data-2", "data-2"},
	LookLeansAgainst: {"rect", "paper", "data-2"},
	LookHollow:       {"rect", "paper", "data-2"},
	LookSlipped:      {LookSlipped, "none", "data-2"},
	LookBeyond:       {LookBeyond, "none", "data-2"},
}

// lookOf is how a layer draws a mark: by the mark's look, or in the layer's tone.
func (l Layer) lookOf(m Mark) look {
	if k, ok := looks[m.Look]; ok {
		return k
	}
	k := look{"circle", tone(l.Tone), tone(l.Tone)}
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

// colours are those of static/tokens.css and figure.css on light paper.
var colours = map[string]string{"ink": "#17201f", "quiet": "#3f4a47", "rule": "#c9c1ab", "edge": "#6b6a5c", "paper": "#fffdf7", "sheet": "#f4efe2",
	"data-1": "#8f2a00", "data-2": "#2b79ad", "data-3": "#a97c00", "data-4": "#3d2947", "data-band": "#e8d2bf",
	"heat-1": "#f3d98b", "heat-2": "#e5a951", "heat-3": "#c9762b", "heat-4": "#9c4412", "heat-5": "#5e1f05", "heat-none": "#e6e4de", "heat-middle": "#17201f"}

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
	ink := []any{"fill", paint(k.fill), "stroke", paint(k.line), "stroke-width", 2.5}
	path := func(d string) string {
		return svg.Element("path", "", append(ink, "d", d, "transform", "scale("+svg.Num(r)+")", "vector-effect", "non-scaling-stroke")...)
	}
	switch k.form {
	case "diamond":
		return path("M0 -1.2L1.2 0L0 1.2L-1.2 0Z")
	case "rect":
		return path("M-0.85 -0.85H0.85V0.85H-0.85Z")
	case LookSlipped:
		return path(crossPath)
	case LookBeyond:
		return path(beyondPath)
	}
	return svg.Element("circle", "", append(ink, "r", r)...)
}

// The paths of looks that only pulls have.
const (
	crossPath  = "M-1 -1L1 1M-1 1L1 -1"
	beyondPath = "M-1 -1L1 0L-1 1Z"
)

// Sign is the mark of a key's entry, as a small picture.
func (k Key) Sign() template.HTML {
	return template.HTML(`<svg class="sign" width="16" height="16" viewBox="-8 -8 16 16" aria-hidden="true">` + k.sign() + `</svg>`)
}

func (k Key) sign() string {
	if known, ok := looks[k.Look]; ok {
		return known.symbol(5.5)
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
		return line("M-7 0H7", "data-"+n, "")
	case "dash":
		return line("M-7 0H7", "data-"+n, "5 4")
	case "dot":
		return svg.Element("circle", "", "r", 6, "fill", paint("data-"+n))
	case LookPlain:
		return ring
	case LookBand:
		return ground("data-1", 0.22)
	case LookWash:
		return ground("data-band", 0.5)
	}
	return line("M-8 0H8", "ink", "4")
}

// ring is the mark of a ratio as fished.
var ring = svg.Element("circle", "", "r", 4, "fill", "none", "stroke", paint("quiet"), "stroke-width", 1.5)
