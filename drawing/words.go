package drawing

import (
	"fmt"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Title names what is drawn.
func Title(rig journal.Rig) string {
	if strings.TrimSpace(rig.Name) == "" {
		return "The rig, drawn to scale"
	}
	return rig.Title() + ", drawn to scale"
}

func flyTitle(position int) string {
	if position == 0 {
		return "Point"
	}
	return fmt.Sprintf("Dropper %d", position)
}

// Describe says in words what the drawing shows.
func Describe(rig journal.Rig, sys units.System) string {
	length := func(v *float64) string {
		if v = positive(v); v == nil {
			return "not noted"
		}
		return units.FormatLength(*v, sys)
	}
	list := []string{"Rod " + length(rig.RodLengthMM), "whole leader " + length(rig.LeaderLengthMM), "sighter " + length(rig.SighterLengthMM), "tippet " + length(rig.TippetLengthMM)}
	text := strings.Join(list, ", ") + "."
	for i := len(rig.Positions) - 1; i >= 0; i-- {
		p := rig.Positions[i]
		parts := []string{flyTitle(p.Position)}
		if fly := strings.TrimSpace(p.Fly); fly != "" {
			parts = append(parts, fly)
		}
		if p.Position > 0 {
			parts = append(parts, hangText(p))
			if p.Hang == journal.HangTag {
				parts = append(parts, "tag "+length(p.TagLengthMM))
			}
		}
		if p.Position > 0 {
			parts = append(parts, length(p.DistanceMM)+" to the next fly down")
		}
		text += " " + strings.Join(parts, ", ") + "."
	}
	return text
}

// hangText says how a dropper hangs: "blood, facing down, half-hitch".
func hangText(p journal.RigPosition) string {
	switch p.Hang {
	case journal.HangEye:
		return "in line at the eye"
	case journal.HangBend:
		return "in line at the bend"
	}
	knot := strings.TrimSpace(p.JunctionName)
	if knot == "" {
		knot = string(p.Junction)
	}
	if knot == "" || p.JunctionName == "" && p.Junction == journal.JunctionOther {
		knot = "junction not noted"
	}
	if p.Facing != "" {
		knot += ", " + string(p.Facing)
	}
	if p.Prop != "" && p.Prop != "none" {
		knot += ", " + string(p.Prop)
	}
	return knot
}

func materialText(p journal.RigPosition) string {
	text := ""
	if d := positive(p.TippetMM); d != nil {
		text = units.ExactTippet(*d)
	}
	return strings.TrimSpace(text + " " + string(p.Material))
}

// Notes says what the drawing had to guess, and what contradicts itself.
func Notes(rig journal.Rig, sys units.System) []string {
	p := newPlan(rig)
	var missing, list []string
	need := func(what string, v *float64) {
		if positive(v) == nil {
			missing = append(missing, what)
		}
	}
	need("the rod", rig.RodLengthMM)
	need("the whole leader", rig.LeaderLengthMM)
	need("the tippet", rig.TippetLengthMM)
	if p.pointless() {
		missing = append(missing, "the point fly")
	}
	for _, h := range p.hung {
		if h.onTag() && !h.tagKnown {
			missing = append(missing, "the tag of "+journal.PositionTitle(h.Position))
		}
		if h.gap > 0 && !h.gapKnown {
			missing = append(missing, "the distance below "+journal.PositionTitle(h.Position))
		}
	}
	for _, odd := range p.odd {
		list = append(list, strings.ToUpper(odd[:1])+odd[1:]+".")
	}
	if len(missing) > 0 {
		list = append(list, "Not noted, so dashed or left out: "+strings.Join(missing, ", ")+".")
	}
	return list
}
