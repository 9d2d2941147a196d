package charts

import (
	"fmt"
	"html"
	"strconv"
	"strings"
)

// Drawing is a static picture: SVG that needs no script. It stretches to the width
// of its page, which is 100% of it, while heights and letters keep their size.
type Drawing struct {
	Name   string // in addresses and file names
	Title  string
	Spoken string // what it shows, for those who can't see it
	Key    []Key
	height float64
	body   strings.Builder
}

// A shade is a colour by its part in a drawing. Each is written as an attribute, for
// a file of its own, and as a class, for pages to give it their own colours.
type shade string

const (
	ink       shade = "ink"
	quiet     shade = "quiet"
	rule      shade = "rule"
	edge      shade = "edge"
	paper     shade = "paper"
	sheet     shade = "sheet"
	firstTone shade = "one"
	otherTone shade = "two"
	band      shade = "band"
	none      shade = "none"
)

// colours are those of static/tokens.css on light paper.
var colours = map[shade]string{ink: "#17201f", quiet: "#3f4a47", rule: "#c9c1ab", edge: "#6b6a5c", paper: "#fffdf7", sheet: "#f4efe2",
	firstTone: "#8f2a00", otherTone: "#2b79ad", band: "#e8d2bf", none: "none"}

const drawnFont = `system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "Helvetica Neue", sans-serif`

// spot is a place across: percent of the width, and pixels from there.
type spot struct{ percent, px float64 }

func at(percent float64) spot { return spot{percent, 0} }

func px(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func percentOf(v float64) string { return strconv.FormatFloat(v, 'f', 3, 64) + "%" }

func fill(s shade) string {
	if s == none {
		return ` fill="none"`
	}
	return fmt.Sprintf(` class="f-%s" fill="%s"`, s, colours[s])
}

func stroke(s shade, width float64) string {
	return fmt.Sprintf(` class="s-%s" stroke="%s" stroke-width="%s"`, s, colours[s], px(width))
}

func both(inside, outline shade, width float64) string {
	return fmt.Sprintf(` class="f-%s s-%s" fill="%s" stroke="%s" stroke-width="%s"`, inside, outline, colours[inside], colours[outline], px(width))
}

// write adds an element that stands px beside its place, in a frame of its own.
func (d *Drawing) write(x spot, element string) {
	if x.px == 0 {
		d.body.WriteString(element)
		return
	}
	fmt.Fprintf(&d.body, `<g transform="translate(%s)">%s</g>`, px(x.px), element)
}

// text writes words; anchor is start, middle or end. Size 0 is the usual one.
func (d *Drawing) text(x spot, y float64, anchor string, s shade, size float64, words string) {
	attributes := fill(s)
	if anchor != "start" {
		attributes += ` text-anchor="` + anchor + `"`
	}
	if size > 0 {
		attributes += ` font-size="` + px(size) + `"`
	}
	d.write(x, fmt.Sprintf(`<text x="%s" y="%s"%s>%s</text>`, percentOf(x.percent), px(y), attributes, html.EscapeString(words)))
}

// strong is text in bold.
func (d *Drawing) strong(x spot, y float64, anchor string, words string) {
	d.write(x, fmt.Sprintf(`<text x="%s" y="%s" font-weight="700" text-anchor="%s"%s>%s</text>`, percentOf(x.percent), px(y), anchor, fill(ink), html.EscapeString(words)))
}

// line draws from (x1, y1) to (x2, y2); a dashed one where dash is above 0.
func (d *Drawing) line(x1 spot, y1 float64, x2 spot, y2 float64, s shade, width, dash float64) {
	dashed := ""
	if dash > 0 {
		dashed = fmt.Sprintf(` stroke-dasharray="%s"`, px(dash))
	}
	d.write(spot{px: x1.px}, fmt.Sprintf(`<line x1="%s" y1="%s" x2="%s" y2="%s"%s%s/>`, percentOf(x1.percent), px(y1), percentOf(x2.percent), px(y2), stroke(s, width), dashed))
}

// box fills a rectangle.
func (d *Drawing) box(x1, x2 float64, y, height float64, s shade) {
	fmt.Fprintf(&d.body, `<rect x="%s" y="%s" width="%s" height="%s"%s/>`, percentOf(x1), px(y), percentOf(max(0, x2-x1)), px(max(0, height)), fill(s))
}

// wash is a box so pale that lines and words stay clear on it.
func (d *Drawing) wash(x1, x2, y, height float64) {
	fmt.Fprintf(&d.body, `<rect x="%s" y="%s" width="%s" height="%s" fill-opacity="0.5"%s/>`, percentOf(x1), px(y), percentOf(max(0, x2-x1)), px(max(0, height)), fill(band))
}

// dot draws a round mark.
func (d *Drawing) dot(x spot, y, radius float64, inside, outline shade) {
	d.write(x, fmt.Sprintf(`<circle cx="%s" cy="%s" r="%s"%s/>`, percentOf(x.percent), px(y), px(radius), both(inside, outline, 2.5)))
}

// square draws a square mark about a place.
func (d *Drawing) square(x spot, y, radius float64, inside, outline shade) {
	x.px -= radius
	d.write(x, fmt.Sprintf(`<rect x="%s" y="%s" width="%s" height="%s"%s/>`, percentOf(x.percent), px(y-radius), px(2*radius), px(2*radius), both(inside, outline, 2.5)))
}

// arrow draws a head that points left, right or up, its tip at a place: what goes on
// beyond the edge.
func (d *Drawing) arrow(x spot, y float64, way string, s shade) {
	path := map[string]string{"left": "M5 -4 L0 0 L5 4", "right": "M-5 -4 L0 0 L-5 4", "up": "M-4 5 L0 0 L4 5"}[way]
	fmt.Fprintf(&d.body, `<svg x="%s" y="%s" overflow="visible"><path transform="translate(%s)" d="%s" fill="none"%s/></svg>`, percentOf(x.percent), px(y), px(x.px), path, stroke(s, 2))
}

// SVG is the drawing as a part of a page.
func (d *Drawing) SVG() string {
	return fmt.Sprintf(`<svg class="drawn" role="img" aria-label="%s" width="100%%" height="%s" font-size="13" font-family="%s">%s</svg>`,
		html.EscapeString(d.Spoken), px(d.height), html.EscapeString(drawnFont), d.body.String())
}

// File is the drawing as a file of its own, with its title and key, on light paper.
func (d *Drawing) File() string {
	const width, margin, head, row = 760.0, 20.0, 44.0, 22.0
	var b strings.Builder
	top := head + row*float64((len(d.Key)+1)/2)
	height := top + d.height + margin
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="%s" font-size="13" font-family="%s" role="img" aria-label="%s">`, px(width), px(height), html.EscapeString(drawnFont), html.EscapeString(d.Title))
	fmt.Fprintf(&b, `<title>%s</title><desc>%s</desc><rect width="100%%" height="100%%"%s/>`, html.EscapeString(d.Title), html.EscapeString(d.Spoken), fill(paper))
	fmt.Fprintf(&b, `<text x="%s" y="28" font-size="16" font-weight="700"%s>%s</text>`, px(margin), fill(ink), html.EscapeString(d.Title))
	for i, k := range d.Key {
		mark := &Drawing{}
		x, y := margin+float64(i%2)*(width/2), head+row*float64(i/2)+6
		drawLook(mark, k.Look, spot{px: x + 6}, y)
		b.WriteString(mark.body.String())
		fmt.Fprintf(&b, `<text x="%s" y="%s"%s>%s</text>`, px(x+22), px(y+5), fill(ink), html.EscapeString(k.Text))
	}
	fmt.Fprintf(&b, `<svg x="%s" y="%s" width="%s" height="%s">%s</svg></svg>`, px(margin), px(top), px(width-2*margin), px(d.height), d.body.String())
	return b.String()
}

// Looks of the marks of drawings, for their keys.
const (
	LookRound     = "round"      // filled, in the first tone
	LookRoundOpen = "round-open" // hollow
	LookSquare    = "square"     // filled, in the other tone
	LookSquareOff = "square-off" // hollow, in the other tone
	LookWash      = "wash"       // a pale ground
	LookDashes    = "dashes"     // a broken line
)

func drawLook(d *Drawing, look string, x spot, y float64) {
	switch look {
	case LookRound:
		d.dot(x, y, 5, firstTone, firstTone)
	case LookRoundOpen:
		d.dot(x, y, 5, paper, edge)
	case LookSquare:
		d.square(x, y, 4.5, otherTone, otherTone)
	case LookSquareOff:
		d.square(x, y, 4.5, paper, otherTone)
	case LookDashes:
		d.write(spot{px: x.px - 7}, fmt.Sprintf(`<line x2="16" y1="%s" y2="%s" stroke-dasharray="4"%s/>`, px(y), px(y), stroke(ink, 2)))
	case LookWash:
		d.write(spot{px: x.px - 6}, fmt.Sprintf(`<rect y="%s" width="14" height="12" fill-opacity="0.5"%s/>`, px(y-6), fill(band)))
	}
}

// KeySVG is a mark of the key by itself.
func KeySVG(look string) string {
	d := &Drawing{}
	drawLook(d, look, spot{px: 8}, 8)
	return `<svg class="drawn-look" width="16" height="16" aria-hidden="true">` + d.body.String() + `</svg>`
}
