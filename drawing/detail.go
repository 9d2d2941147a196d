package drawing

import (
	"math"
	"strconv"
	"strings"

	"rigtally/internal/svg"
	"rigtally/internal/units"
	"rigtally/journal"
)

// line draws the line in the frame, from above the uppermost junction down.
func (s *sheet) line() {
	s.Put("<g class=\"rig-near\" data-px-per-mm=\"%v\">\n", strconv.FormatFloat(s.near, 'g', -1, 64))
	start := frameY + 32
	at := func(y float64) point { return point{lineX, y} }
	join := s.down(s.join)
	switch {
	case join > start+14 && positive(s.rig.TippetLengthMM) != nil: // the joint is in sight
		s.path(buttLook, at(start), at(join))
		s.path(lineLook, at(join), at(s.down(s.top)))
		s.joint(s.rig.Swivel, at(join), 0, 1)
	default:
		s.path(lineLook, at(start+9), at(s.down(s.top)))
		s.curve(lineLook, svg.Format("M%v %vl5 2.5l-10 4l5 2.500", lineX, start)) // there is more above
	}
	for _, h := range s.hung {
		if h.gap == 0 {
			continue
		}
		s.length(lineLook, h.gap, h.gapKnown, at(s.down(h.at)), at(s.down(h.at-h.gap)))
	}
}

// dropper draws a fly where it hangs, with the length of its tag.
func (s *sheet) dropper(h hung) {
	at := point{lineX, s.down(h.at)}
	mark := label{at: at, y: at.y, name: flyTitle(h.Position), lines: s.words(h)}
	switch {
	case h.onTag():
		end := s.tag(h, at, h.angle, 0, s.near)
		s.tagDimension(h, at, end, point{math.Sin(h.angle), math.Cos(h.angle)})
		s.fly(h.RigPosition, end, h.angle, 1)
		mark.at = end
		mark.y = end.y
		if h.Facing == "side" {
			mark.y += 16 // below the fly, which points at it
		}
	case h.Hang == journal.HangBend:
		s.fly(h.RigPosition, at, 0, 1)
	case h.Hang == journal.HangEye:
		s.fly(h.RigPosition, at, math.Pi/5, 1)
	default:
		s.fly(h.RigPosition, at, 0, 1)
		mark.y += 8
	}
	s.marks = append(s.marks, mark)
}

// tagDimension draws a tag's length beside it, on the side away from its fly's label.
func (s *sheet) tagDimension(h hung, at, end, dir point) {
	side := point{dir.y, -dir.x} // to the upper right of a tag that faces down
	anchor := "start"
	if h.Facing == "up" || h.Facing == "side" {
		side = point{-side.x, -side.y}
	}
	const off = 9
	shift := func(p point) point { return point{p.x + side.x*off, p.y + side.y*off} }
	s.dimension(shift(at), shift(end), h.tag, h.tagKnown)
	text := s.o.length(h.tag, h.tagKnown)
	middle := point{(at.x+end.x)/2 + side.x*(off+6), (at.y+end.y)/2 + side.y*(off+6)}
	if h.Facing == "side" {
		anchor, middle.y = "middle", middle.y+9
		middle.x = math.Max(middle.x, lineX+6+svg.Width(text, noteSize)/2)
	} else {
		middle.y += 4
	}
	s.text("rig-note rig-halo", anchor, noteSize, middle, text)
}

// gaps writes the distances between flies down the left.
func (s *sheet) gaps() {
	const x = lineX - 22
	for _, h := range s.hung {
		if h.gap == 0 {
			continue
		}
		from, to := point{x, s.down(h.at)}, point{x, s.down(h.at - h.gap)}
		s.dimension(from, to, h.gap, h.gapKnown)
		s.text("rig-note", "end", noteSize, point{x - 7, (from.y+to.y)/2 + 4}, s.o.length(h.gap, h.gapKnown))
	}
}

// words are the lines of a fly's label.
func (s *sheet) words(h hung) []string {
	const w = width - edge - labelX
	var list []string
	add := func(text string, most int) {
		if text != "" {
			list = append(list, svg.Lines(text, noteSize, w, most)...)
		}
	}
	fly := strings.TrimSpace(h.Fly)
	if h.HookSize != nil {
		fly = strings.TrimSpace(fly + " #" + strconv.Itoa(*h.HookSize))
	}
	add(fly, 2)
	if h.Position > 0 {
		add(hangText(h.RigPosition), 2)
	}
	add(materialText(h.RigPosition), 1)
	if h.BeadMM != nil && *h.BeadMM > 0 {
		add("bead "+units.FormatLength(*h.BeadMM, units.Metric), 1)
	}
	return list
}

// labels writes the labels, moved apart where they would lie on each other.
func (s *sheet) labels() {
	next := frameY + 44
	for i := range s.marks {
		m := &s.marks[i]
		m.y = math.Max(m.y, next)
		next = m.y + lineStep*float64(len(m.lines)+1) + 8
	}
	s.height = math.Max(s.height, next+30)
	for _, m := range s.marks {
		s.path(pointerLook, m.at, point{labelX - 5, m.y - 4})
		s.text("rig-name", "start", textSize, point{labelX, m.y}, m.name)
		for i, line := range m.lines {
			s.text("rig-note", "start", noteSize, point{labelX, m.y + lineStep*float64(i+1)}, line)
		}
	}
}
