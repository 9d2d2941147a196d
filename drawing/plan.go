// Package drawing draws rigs to scale as SVG, from one geometry for every use.
package drawing

import (
	"math"

	"rigtally/journal"
)

// What is drawn where nothing was noted, in mm; it is drawn dashed and said to
// be not noted. Common practice, no source.
const (
	guessGap    = 500
	guessTag    = 150
	guessAbove  = 400 // tippet above the uppermost junction
	guessTippet = 1500
)

// plan is a rig laid out in mm along the leader, heights being above the point.
type plan struct {
	rig   journal.Rig
	hung  []hung // lowest first
	parts []part // from the rod end down
	top   float64
	total float64 // what a picture of the whole leader spans
	whole bool    // the leader's length is noted and holds its parts
	join  float64 // where the tippet begins
	odd   []string
}

// part is a stretch of the leader.
type part struct {
	kind     partKind
	from, to float64 // heights, from the upper to the lower
	length   *float64
}

type partKind string

const (
	butt    partKind = "butt"
	sighter partKind = "sighter"
	tippet  partKind = "tippet"
)

func (p part) known() bool { return p.length != nil }

// hung is a fly at its place.
type hung struct {
	journal.RigPosition
	at       float64 // height of its junction, or of its eye when it hangs in line
	gap      float64 // to the next fly down; none below the point
	gapKnown bool
	tag      float64
	tagKnown bool
	angle    float64 // of the tag from the line toward the point, in radians
}

func (h hung) onTag() bool { return h.Hang == journal.HangTag }

// angles of tags off the line that goes down to the point. A tag whose facing is
// not noted is drawn between down and side.
func angle(f journal.Facing) float64 {
	degrees := map[journal.Facing]float64{"down": 35, "side": 90, "up": 145}[f]
	if degrees == 0 {
		degrees = 62
	}
	return degrees * math.Pi / 180
}

// positive returns a length that can be drawn, nil for one that was not noted.
func positive(v *float64) *float64 {
	if v == nil || !(*v > 0) || math.IsInf(*v, 0) {
		return nil
	}
	return v
}

func newPlan(rig journal.Rig) *plan {
	p := &plan{rig: rig}
	for i, at := range rig.Positions {
		h := hung{RigPosition: at, angle: angle(at.Facing)}
		if i > 0 || at.Position > 0 { // a lone dropper has line below it too
			h.gap, h.gapKnown = orGuess(at.DistanceMM, guessGap)
			p.top += h.gap
		}
		h.at = p.top
		if h.onTag() {
			h.tag, h.tagKnown = orGuess(at.TagLengthMM, guessTag)
		}
		p.hung = append(p.hung, h)
	}
	p.layParts()
	return p
}

func orGuess(v *float64, guess float64) (float64, bool) {
	if v = positive(v); v == nil {
		return guess, false
	}
	return *v, true
}

// layParts puts tippet, sighter and the rest of the leader on top of each other.
func (p *plan) layParts() {
	leader, sight, tip := positive(p.rig.LeaderLengthMM), positive(p.rig.SighterLengthMM), positive(p.rig.TippetLengthMM)
	p.join, _ = orGuess(tip, math.Max(p.top+guessAbove, guessTippet))
	if tip == nil && leader != nil {
		p.join = math.Min(p.join, *leader)
	}
	if tip != nil && *tip < p.top {
		p.odd = append(p.odd, "the flies are spread over more line than the tippet has")
	}
	upper := p.join
	if sight != nil {
		upper += *sight
	}
	p.total = math.Max(upper, p.top)
	switch {
	case leader == nil:
		p.total *= 1.25
	case *leader < upper && tip != nil:
		p.odd = append(p.odd, "the whole leader is shorter than its sighter and tippet together")
	case *leader < p.top:
		p.odd = append(p.odd, "the flies are spread over more line than the leader has")
	default:
		p.whole, p.total = true, math.Max(*leader, upper)
	}
	if p.total > upper {
		rest := part{kind: butt, from: p.total, to: upper}
		if p.whole && tip != nil {
			length := *leader - upper
			rest.length = &length
		}
		p.parts = append(p.parts, rest)
	}
	if sight != nil {
		p.parts = append(p.parts, part{sighter, upper, p.join, sight})
	}
	p.parts = append(p.parts, part{tippet, p.join, 0, tip})
}

// pointless reports whether the rig has droppers above a point of which nothing is noted.
func (p *plan) pointless() bool { return len(p.hung) > 0 && p.hung[0].Position > 0 }

// most is the greatest length of all flies, 0 at least.
func (p *plan) most(of func(hung) float64) float64 {
	most := 0.0
	for _, h := range p.hung {
		most = math.Max(most, of(h))
	}
	return most
}

// longestTag returns the longest tag drawn, 0 without one.
func (p *plan) longestTag() float64 { return p.most(func(h hung) float64 { return h.tag }) }

// above is how far the tags reach above the uppermost junction, and below how
// far they reach below the lowest fly.
func (p *plan) above() float64 {
	return p.most(func(h hung) float64 { return h.at - h.tag*math.Cos(h.angle) - p.top })
}

func (p *plan) below() float64 {
	return p.most(func(h hung) float64 { return h.tag*math.Cos(h.angle) - h.at })
}
