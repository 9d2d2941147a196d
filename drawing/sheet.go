package drawing

import (
	"math"
	"strconv"

	"rigtally/internal/svg"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Options are how a picture is made.
type Options struct {
	Units units.System
	ID    string // starts the ids within the picture; must be unlike those of other pictures of a page
}

// length writes a length that may not be noted.
func (o Options) length(mm float64, known bool) string {
	if !known {
		return "not noted"
	}
	return units.FormatLength(mm, o.Units)
}

// Where things stand on a sheet, in units of its view box.
const (
	width    = 360.0
	edge     = 12.0
	textSize = 13.5
	noteSize = 12.5
	lineStep = 16.0

	leaderY = 112.0 // of the whole leader, laid down
	frameY  = 152.0 // top of the frame with the enlarged droppers
	lineX   = 92.0  // of the line in the frame
	labelX  = 226.0 // of the labels in the frame
	spanY   = 310.0 // from the uppermost junction to the point at most
	tagMost = 104.0 // the longest tag at most

	labelRoom = 84.0 // for the label of one fly among many
)

// Sheet draws a rig to scale: the whole leader laid down, and below it its
// droppers enlarged, with the lengths written on. It returns an svg element
// with a title and a description.
func Sheet(rig journal.Rig, o Options) string {
	s := &sheet{plan: newPlan(rig), o: o}
	s.scales()
	s.line()
	for i := len(s.hung) - 1; i >= 0; i-- {
		s.dropper(s.hung[i])
	}
	if s.pointless() {
		end := point{lineX, s.pointY}
		s.circle(unknownLook, end, 4)
		s.marks = append(s.marks, label{at: end, y: end.y + 8, name: flyTitle(0), lines: []string{"not noted"}})
	}
	s.gaps()
	s.labels()
	s.foot()
	near := s.take()
	s.open("rig-sheet", width, s.height, Title(rig), Describe(rig, o.Units), o.ID)
	s.leader()
	s.loupe()
	return s.take() + near + "</g>\n</svg>"
}

// take returns what was drawn and starts anew.
func (c *canvas) take() string {
	drawn := c.String()
	c.Reset()
	return drawn
}

// open starts the svg element.
func (c *canvas) open(class string, w, h float64, title, words, id string) {
	c.Put("<svg class=\"%v\" xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %v %v\" role=\"img\" aria-labelledby=\"%v-title %v-words\">\n", class, w, h, svg.Escape(id), svg.Escape(id))
	c.Put("<title id=\"%v-title\">%v</title>\n<desc id=\"%v-words\">%v</desc>\n", svg.Escape(id), svg.Escape(title), svg.Escape(id), svg.Escape(words))
}

type sheet struct {
	*plan
	canvas
	o         Options
	far, near float64 // px for a mm, of the whole leader and of the droppers
	topY      float64 // of the uppermost junction
	pointY    float64
	height    float64
	marks     []label
}

// label is what is written beside a fly.
type label struct {
	at    point // what it points at
	y     float64
	name  string
	lines []string
}

func (s *sheet) scales() {
	longest := s.total
	if rod := positive(s.rig.RodLengthMM); rod != nil {
		longest = math.Max(longest, *rod)
	}
	s.far = (width - 2*edge) / longest
	s.near = 0.75
	if s.top > 0 {
		s.near = math.Max(spanY, labelRoom*float64(len(s.hung)-1)) / s.top
	}
	if tag := s.longestTag(); tag > 0 {
		s.near = math.Min(s.near, tagMost/tag)
	}
	s.near = math.Min(s.near, 1.2)
	s.topY = frameY + 66
	if up := s.above() * s.near; up > 0 {
		s.topY += up + 14 // and the fly at its end
	}
	if s.top == 0 {
		s.topY += 150
	}
	s.pointY = s.topY + s.top*s.near
	s.height = s.pointY + s.below()*s.near + 84
}

// down is where a height above the point lies on the enlarged line.
func (s *sheet) down(mm float64) float64 { return s.pointY - mm*s.near }

// along is where a height above the point lies on the whole leader.
func (s *sheet) along(mm float64) float64 { return edge + (s.total-mm)*s.far }

// leader lays the whole leader down, with the rod beside it on the same scale.
func (s *sheet) leader() {
	s.Put("<g class=\"rig-whole\" data-px-per-mm=\"%v\">\n", strconv.FormatFloat(s.far, 'g', -1, 64))
	s.text("rig-name", "start", textSize, point{edge, 15}, "The whole leader")
	mm := scaleBar(s.far, 70, s.o.Units)
	s.bar(point{width - edge - mm*s.far - 6 - svg.Width(units.FormatLength(mm, s.o.Units), noteSize), 11}, s.far, 70, s.o.Units)
	s.rod()
	length := "leader not noted"
	if l := positive(s.rig.LeaderLengthMM); l != nil {
		length = "leader " + units.FormatLength(*l, s.o.Units)
	}
	left, right := point{s.along(s.total), 67}, point{s.along(0), 67}
	s.dimension(left, right, s.total, s.whole)
	s.text("rig-note", "middle", noteSize, point{s.clear(length, (left.x+right.x)/2), 62}, length)
	s.chain()
	for _, h := range s.hung {
		s.faint(h)
	}
	s.joint(s.rig.Swivel, point{s.along(s.join), leaderY}, math.Pi/2, 0.8)
	s.Put("</g>\n")
}

func (s *sheet) rod() {
	rod := positive(s.rig.RodLengthMM)
	if rod == nil {
		s.text("rig-note", "start", noteSize, point{edge, 40}, "rod not noted")
		return
	}
	x, y, end := edge, 32.0, edge+*rod*s.far
	s.Put("<path %v data-mm=\"%v\" d=\"M%v %vL%v %vV%vL%v %vZ\"/>\n", rodLook, strconv.FormatFloat(*rod, 'f', -1, 64), x, y-0.5, end, y-2, y+2, x, y+0.5)
	s.Put("<path %v d=\"M%v %vH%vV%vH%vZ\"/>\n", rodLook.with("rig-grip"), math.Max(x, end-22), y-3.5, end, y+3.5, math.Max(x, end-22))
	text := "rod " + units.FormatLength(*rod, s.o.Units)
	s.text("rig-note", "middle", noteSize, point{s.clear(text, (x+end)/2), 48}, text)
}

// clear keeps a text that is centred on x within the sheet.
func (s *sheet) clear(text string, x float64) float64 {
	half := svg.Width(text, noteSize) / 2
	return math.Min(math.Max(x, edge+half), width-edge-half)
}

// chain draws the parts of the leader, and their lengths in a row.
func (s *sheet) chain() {
	var texts, names []string
	var at []float64
	for _, p := range s.parts {
		from, to := point{s.along(p.from), leaderY}, point{s.along(p.to), leaderY}
		s.part(p, from, to)
		s.dimension(point{from.x, 99}, point{to.x, 99}, p.from-p.to, p.known())
		text := "not noted"
		if p.known() {
			text = units.FormatLength(*p.length, s.o.Units)
		}
		texts, names, at = append(texts, text), append(names, string(p.kind)), append(at, (from.x+to.x)/2)
	}
	wide := func(i int) float64 { return math.Max(svg.Width(texts[i], noteSize), svg.Width(names[i], noteSize)) }
	for i := range at { // from the left, none over the one before
		at[i] = math.Max(at[i], edge+wide(i)/2)
		if i > 0 {
			at[i] = math.Max(at[i], at[i-1]+(wide(i-1)+wide(i))/2+6)
		}
	}
	for i := len(at) - 1; i >= 0; i-- { // and back from the right
		most := width - edge - wide(i)/2
		if i+1 < len(at) {
			most = at[i+1] - (wide(i)+wide(i+1))/2 - 6
		}
		at[i] = math.Min(at[i], most)
		s.text("rig-note", "middle", noteSize, point{at[i], 81}, names[i])
		s.text("rig-note", "middle", noteSize, point{at[i], 94}, texts[i])
	}
}

func (s *sheet) part(p part, from, to point) {
	switch {
	case !p.known() && !(p.kind == butt && s.whole):
		s.path(unknownLook, from, to)
	case p.kind == butt:
		s.path(buttLook, from, to)
	case p.kind == sighter:
		s.measured(sightLook, p.from-p.to, from, to)
		s.path(sightGap, from, to)
	default:
		s.measured(lineLook, p.from-p.to, from, to)
	}
}

// faint draws a tag on the whole leader, where it is small.
func (s *sheet) faint(h hung) {
	at := point{s.along(h.at), leaderY}
	if h.onTag() {
		end := point{at.x + h.tag*s.far*math.Cos(h.angle), at.y + h.tag*s.far*math.Sin(h.angle)}
		l := tagLook
		if !h.tagKnown {
			l = unknownLook
		}
		s.path(l, at, end)
		at = end
	}
	s.circle(bodyLook, at, 2.2)
}

// loupe ties the part of the leader that is enlarged to its frame.
func (s *sheet) loupe() {
	from, to := math.Max(s.along(s.top+26/s.near)-2, 3), math.Min(s.along(0)+5, width-3)
	top, foot := leaderY-9, leaderY+math.Max(10, s.longestTag()*s.far+6)
	s.curve(pointerLook.with("rig-loupe"), svg.Format("M%v %vH%vV%vH%vZ", from, top, to, foot, from)+
		svg.Format("M%v %vL2 %vM%v %vL%v %v", from, foot, frameY, to, foot, width-2, frameY))
	s.curve(measureLook.with("rig-frame"), svg.Format("M2 %vH%vV%vH2Z", frameY, width-2, s.height-2))
	times := s.near / s.far
	s.text("rig-name", "start", textSize, point{edge, frameY + 20}, s.heading()+", "+strconv.FormatFloat(math.Round(times*10)/10, 'f', -1, 64)+" times as large")
}

// foot is the scale of the droppers, and what is not drawn by it.
func (s *sheet) foot() {
	s.bar(point{edge + 2, s.height - 18}, s.near, 80, s.o.Units)
	s.text("rig-note", "end", noteSize, point{width - edge, s.height - 13.5}, "knots and flies enlarged")
}

func (s *sheet) heading() string {
	switch len(s.rig.Droppers()) {
	case 0:
		return "The end"
	case 1:
		return "The dropper"
	}
	return "The droppers"
}
