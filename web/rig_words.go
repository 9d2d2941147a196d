package web

import (
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// rigLine names a rig with what tells it apart: "Blood 165 (blood, 6 1/2 in)".
func rigLine(rig journal.Rig, sys units.System) string {
	var droppers []string
	for _, p := range rig.Droppers() {
		droppers = append(droppers, hangWords(p, sys))
	}
	if len(droppers) == 0 {
		return rig.Title()
	}
	return rig.Title() + ": " + strings.Join(droppers, "; ")
}

// hangWords says how a dropper hangs: "blood, 6 1/2 in, down".
func hangWords(p journal.RigPosition, sys units.System) string {
	if p.Hang != journal.HangTag {
		return "in line at the " + string(p.Hang)
	}
	parts := []string{junctionWords(p)}
	if p.TagLengthMM != nil {
		parts = append(parts, units.FormatLength(*p.TagLengthMM, sys))
	}
	if p.Facing != "" {
		parts = append(parts, string(p.Facing))
	}
	return strings.Join(parts, ", ")
}

// junctionWords names a junction by the user's own name where it has one.
func junctionWords(p journal.RigPosition) string {
	switch {
	case p.JunctionName != "":
		return p.JunctionName
	case p.Junction != "":
		return string(p.Junction)
	}
	return "tag"
}
