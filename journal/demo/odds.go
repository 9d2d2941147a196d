package demo

import (
	"fmt"

	"rigtally/journal"
)

// truth looks up the ratio of a level; 1 where nothing is listed.
type truth map[[3]string]float64

func newTruth() truth {
	t := truth{}
	for _, e := range Effects() {
		t[[3]string{e.Outcome, e.Factor, e.Level}] = e.Ratio
	}
	return t
}

func (t truth) of(outcome, factor, level string) float64 {
	if r, ok := t[[3]string{outcome, factor, level}]; ok {
		return r
	}
	return 1
}

// rig multiplies the effects for each position of a rig.
func (t truth) rig(r journal.Rig) []odds {
	list := make([]odds, len(r.Positions))
	for i, p := range r.Positions {
		x := fmt.Sprintf("%dX", xSize(*p.TippetMM))
		o := odds{otherBreaks: t.of("break-off", "tippet", x), fouls: 1, losses: t.of("loss", "hook-size", fmt.Sprint(*p.HookSize))}
		if p.Position > 0 {
			o.fouls = t.of("foul-hook", "hang", string(p.Hang))
			o.tangles = t.dropper("tangles", p) * t.of("tangles", "swivel", string(r.Swivel))
			o.turns = t.dropper("turns", p) * t.of("turns", "swivel", string(r.Swivel))
		}
		if p.Hang == journal.HangTag {
			o.breaks = t.dropper("junction-break", p) * t.of("junction-break", "tippet", x)
		}
		list[i] = o
	}
	return list
}

// averageTag is what tag length, junction and prop make of tangles on the
// average tag; a fly in line is compared with that.
const averageTag = 1.25

// dropper multiplies the effects that lie in how one dropper is tied.
func (t truth) dropper(outcome string, p journal.RigPosition) float64 {
	product := t.of(outcome, "junction", string(p.Junction)) * t.of(outcome, "facing", string(p.Facing)) *
		t.of(outcome, "prop", string(p.Prop)) * t.of(outcome, "bulk", string(p.Bulk)) * t.of(outcome, "material", string(p.Material))
	if p.Hang != journal.HangTag {
		product *= averageTag * t.of(outcome, "hang", string(p.Hang))
	}
	return product
}

// xSize is the X size of a diameter in mm.
func xSize(mm float64) int { return 11 - int(mm/tippetMM(10)+0.5) }
