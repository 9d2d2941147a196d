package drawing

import (
	"math"
	"strconv"

	"rigtally/internal/svg"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Where things stand on a strip, in units of its view box.
const (
	stripWidth = 360.0
	stripSpan  = 232.0 // from the uppermost junction to the point at most
	stripTag   = 62.0  // the longest tag at most
	stripY     = 34.0
	stripEnd   = 318.0 // of the line, before the point fly

	mostOnStrip = 4 // flies with lengths written on
)

// Strip draws a rig's droppers to scale on one line, the point to the right, for
// lists and small screens. With bare lengths are not written on, nor with more
// flies than have room for them.
func Strip(rig journal.Rig, o Options, bare bool) string {
	s := &strip{plan: newPlan(rig), o: o, bare: bare || len(rig.Positions) > mostOnStrip, scale: 0.5}
	if s.top > 0 {
		s.scale = math.Min(stripSpan/s.top, 0.6)
	}
	if tag := s.longestTag(); tag > 0 {
		s.scale = math.Min(s.scale, stripTag/tag)
	}
	s.open("rig-strip", stripWidth, s.height(), Title(rig), Describe(rig, o.Units), o.ID)
	s.draw()
	return s.take() + "</svg>"
}

type strip struct {
	*plan
	canvas
	o     Options
	bare  bool
	scale float64
}

func (s *strip) height() float64 {
	most := math.Max(14, s.most(func(h hung) float64 { return h.tag * s.scale * math.Sin(h.angle) }))
	if s.inRow() {
		most += 14
	}
	return stripY + most + 30
}

func (s *strip) x(mm float64) float64 { return stripEnd - mm*s.scale }

func (s *strip) draw() {
	s.Put("<g class=\"rig-near\" data-px-per-mm=\"%v\">\n", strconv.FormatFloat(s.scale, 'g', -1, 64))
	at := func(x float64) point { return point{x, stripY} }
	first := s.x(s.top)
	if join := s.x(s.join); join > 16 && positive(s.rig.TippetLengthMM) != nil {
		s.path(buttLook, at(6), at(join))
		s.path(lineLook, at(join), at(first))
		s.joint(s.rig.Swivel, at(join), math.Pi/2, 1)
	} else {
		s.path(lineLook, at(15), at(first))
		s.curve(lineLook, svg.Format("M15 %vl-2.500 5l-4 -10l-2.500 5", stripY))
	}
	for i := len(s.hung) - 1; i >= 0; i-- {
		s.dropper(s.hung[i])
	}
	if s.pointless() {
		s.circle(unknownLook, at(stripEnd+4), 4)
	}
	s.Put("</g>\n")
}

func (s *strip) dropper(h hung) {
	at := point{s.x(h.at), stripY}
	if h.gap > 0 {
		to := point{s.x(h.at - h.gap), stripY}
		s.length(lineLook, h.gap, h.gapKnown, at, to)
		s.write("middle", point{(at.x + to.x) / 2, stripY - 9}, h.gap, h.gapKnown)
	}
	if !h.onTag() {
		s.fly(h.RigPosition, at, math.Pi/2, 0.9)
		return
	}
	b := math.Pi/2 - h.angle // from straight down, since the line lies
	end := s.tag(h, at, b, math.Pi/2, s.scale)
	s.fly(h.RigPosition, end, b, 0.8)
	middle, anchor := point{(at.x+end.x)/2 - 9, (at.y+end.y)/2 + 12}, "end"
	switch {
	case s.inRow():
		middle, anchor = point{end.x, s.height() - 5}, "middle"
	case h.Facing == "up":
		middle.x, anchor = middle.x+18, "start"
	}
	s.write(anchor, middle, h.tag, h.tagKnown)
}

// inRow reports whether the lengths of tags stand in a row below their flies,
// since there is no room between them.
func (s *strip) inRow() bool { return len(s.hung) > 2 && !s.bare }

func (s *strip) write(anchor string, at point, mm float64, known bool) {
	if s.bare {
		return
	}
	text := "?"
	if known {
		text = units.FormatLength(mm, s.o.Units)
	}
	s.text("rig-note", anchor, noteSize, at, text)
}
