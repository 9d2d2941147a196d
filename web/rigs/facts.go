package rigs

import (
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
	"rigtally/prose"
)

// fact is what is known of a rig, with its name.
type fact struct{ Name, Value string }

// rigFacts says what is known of the whole leader, always in the same order;
// what was not noted has an empty value.
func rigFacts(rig journal.Rig, sys units.System) []fact {
	return facts(journal.RigFields(), &rig, sys, "method", "rod_length", "leader_length", "sighter_length", "swivel", "tippet_length")
}

// flyFacts says what is known of one fly and how it hangs, in the same way.
func flyFacts(p journal.RigPosition, sys units.System) []fact {
	list := facts(journal.FlyFields(), &p, sys, "fly", "hang", "junction", "tag_length", "facing", "prop", "distance", "tippet", "material", "hook_size", "bead", "bulk")
	list[1].Value = map[journal.Hang]string{journal.HangTag: "On a tag", journal.HangEye: "In line, eye", journal.HangBend: "In line, bend of the fly above"}[p.Hang]
	if p.Junction != "" {
		list[2].Value = prose.Capital(prose.Junction(p))
	}
	return list
}

// facts are fields of the catalogue with what was noted.
func facts[T any](fields []field.Field[T], of *T, sys units.System, keys ...string) []fact {
	list := make([]fact, len(keys))
	for i, key := range keys {
		d := field.By(fields, key)
		list[i] = fact{d.Label, d.Show(of, sys)}
		if d.Kind == field.Chosen {
			list[i].Value = prose.Capital(list[i].Value)
		}
	}
	return list
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
