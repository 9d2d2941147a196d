package web

import (
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// rigFacts says what is known of the whole leader, always in the same order;
// what was not noted has an empty value.
func rigFacts(rig journal.Rig, sys units.System) []fact {
	length := in(units.FormatLength, sys)
	return []fact{
		{"Method", prose.Capital(string(rig.Method))},
		{"Rod", shown(rig.RodLengthMM, length)},
		{"Leader", shown(rig.LeaderLengthMM, length)},
		{"Sighter", shown(rig.SighterLengthMM, length)},
		{"Between sighter and tippet", prose.Capital(string(rig.Swivel))},
		{"Tippet", shown(rig.TippetLengthMM, length)},
	}
}

// flyFacts says what is known of one fly and how it hangs, in the same way.
func flyFacts(p journal.RigPosition, sys units.System) []fact {
	length := in(units.FormatLength, sys)
	junction := ""
	if p.Junction != "" {
		junction = prose.Capital(prose.Junction(p))
	}
	hang := map[journal.Hang]string{journal.HangTag: "On a tag", journal.HangEye: "In line, eye", journal.HangBend: "In line, bend of the fly above"}[p.Hang]
	return []fact{
		{"Fly", p.Fly},
		{"Hang", hang},
		{"Junction", junction},
		{"Tag length", shown(p.TagLengthMM, length)},
		{"Facing", prose.Capital(string(p.Facing))},
		{"Prop", prose.Capital(string(p.Prop))},
		{"To the next fly down", shown(p.DistanceMM, length)},
		{"Tippet", shown(p.TippetMM, units.FormatTippet)},
		{"Material", prose.Capital(string(p.Material))},
		{"Hook size", shown(p.HookSize, strconv.Itoa)},
		{"Bead", shown(p.BeadMM, in(units.FormatLength, units.Metric))},
		{"Bulk", prose.Capital(string(p.Bulk))},
	}
}

func present(list []fact) []fact {
	var some []fact
	for _, f := range list {
		if f.Value != "" {
			some = append(some, f)
		}
	}
	return some
}

// tiedTable puts the flies side by side, without rows of which nothing was noted.
func tiedTable(rig journal.Rig, sys units.System) (flies []string, rows []tiedRow) {
	for i, p := range rig.Positions {
		flies = append(flies, prose.Position(p.Position))
		for j, f := range flyFacts(p, sys) {
			if i == 0 {
				rows = append(rows, tiedRow{Name: f.Name})
			}
			rows[j].Cells = append(rows[j].Cells, f.Value)
		}
	}
	var some []tiedRow
	for _, r := range rows {
		if strings.Join(r.Cells, "") != "" {
			some = append(some, r)
		}
	}
	return flies, some
}

// rigChanges says what differs from one revision to the next.
func rigChanges(from, to journal.Rig, sys units.System) []string {
	changes := factChanges("", rigFacts(from, sys), rigFacts(to, sys))
	for position := range maxFlies {
		a, was := from.At(position)
		b, is := to.At(position)
		switch name := prose.Position(position); {
		case was && !is:
			changes = append(changes, name+" taken off")
		case is && !was:
			changes = append(changes, name+" added")
		case was:
			changes = append(changes, factChanges(name+": ", flyFacts(a, sys), flyFacts(b, sys))...)
		}
	}
	if from.Notes != to.Notes {
		changes = append(changes, "Notes reworded")
	}
	return changes
}

func factChanges(prefix string, from, to []fact) []string {
	var changes []string
	for i, f := range to {
		if old := from[i].Value; old != f.Value {
			changes = append(changes, prose.Capital(prefix+strings.ToLower(f.Name)+" "+orNotNoted(old)+" → "+orNotNoted(f.Value)))
		}
	}
	return changes
}

func orNotNoted(s string) string {
	if s == "" {
		return "not noted"
	}
	return s
}
