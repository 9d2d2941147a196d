package rigs

import (
	"cmp"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// rigFacts says what is known of the whole leader, always in the same order;
// what was not noted has an empty value.
func rigFacts(rig journal.Rig, sys units.System) page.Facts {
	var facts page.Facts
	for _, x := range form.Less(journal.RigFields(), "notes") {
		facts = append(facts, prose.Fact{Name: x.Label, Value: prose.Capital(x.Show(&rig, sys))})
	}
	return facts
}

// flyFacts says what is known of one fly and how it hangs, in the same way.
func flyFacts(p journal.RigPosition, sys units.System) page.Facts {
	var facts page.Facts
	for _, x := range field.Ranked(form.Less(journal.FlyFields(), "junction_name"), func(x field.Field[journal.RigPosition]) string { return x.Key }, []string{"fly"}) {
		value := x.Show(&p, sys)
		switch {
		case x.Key == "hang":
			value = map[journal.Hang]string{journal.HangTag: "On a tag", journal.HangEye: "In line, eye", journal.HangBend: "In line, bend of the fly above"}[p.Hang]
		case x.Key == "junction" && value != "":
			value = prose.Capital(prose.Junction(p))
		case x.Kind == field.Chosen:
			value = prose.Capital(value)
		}
		facts = append(facts, prose.Fact{Name: x.Label, Value: value})
	}
	return facts
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
	return flies, slices.DeleteFunc(rows, func(r tiedRow) bool { return strings.Join(r.Cells, "") == "" })
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

func factChanges(prefix string, from, to page.Facts) []string {
	var changes []string
	for i, f := range to {
		if old := from[i].Value; old != f.Value {
			changes = append(changes, prose.Capital(prefix+strings.ToLower(f.Name)+" "+cmp.Or(old, "not noted")+" → "+cmp.Or(f.Value, "not noted")))
		}
	}
	return changes
}
