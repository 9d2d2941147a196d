package importing

import (
	"context"
	"fmt"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet"
)

// most is how many things of a kind are listed.
const most = 12

// showChanged shows what an update would take, and what it would leave.
func (f *file) showChanged(ctx context.Context) error {
	if len(f.table.Stops) > 0 {
		return nil
	}
	p, err := f.table.Preview(ctx, f.store)
	if err != nil {
		return err
	}
	f.showEdits("Corrected in the sheet since it was imported:", p.Changed)
	f.showEdits("Edited in the journal since, and left as they are there (the journal → the sheet):", p.Conflicts)
	return nil
}

func (f *file) showEdits(title string, list []sheet.Changed) {
	if len(list) == 0 {
		return
	}
	f.Printf("%s\n", title)
	for i, c := range list {
		if i == most {
			f.Printf("  … and %s more\n", exchange.Counted(len(list)-most, "session"))
			break
		}
		f.Printf("  %s\n", c.Difference)
		for _, e := range c.Edits {
			f.Printf("    %s\n", e)
		}
	}
	f.Printf("\n")
}

// show shows what would be written.
func (f *file) show(p *sheet.Preview, update bool) {
	there := ""
	if p.AlreadyThere > 0 {
		there = fmt.Sprintf("; %s there already", exchange.Verb(p.AlreadyThere, "session", "is", "are"))
	}
	f.Printf("\nThis would add %s with %s%s.\n", exchange.Counted(p.Sessions, "session"), exchange.Counted(p.Stints, "stint"), there)
	say := func(n int, format, what, one, many string) {
		if n > 0 {
			f.Printf(format+"\n", exchange.Verb(n, what, one, many))
		}
	}
	if update {
		say(len(p.Changed), "%s updated.", "session", "would be", "would be")
	} else {
		say(len(p.Changed), "%s otherwise in the sheet, and left as the journal has it.", "session", "is", "are")
	}
	say(p.Returned, "Of these, %s deleted, and would come back.", "session", "was", "were")
	say(p.Extended, "%s further rows.", "session", "would get", "would get")
	say(f.table.BadRows(), "%s kept out.", "bad row", "would be", "would be")
	f.showEdits("Edited in the journal since they were imported, and left as they are there (the journal → the sheet):", p.Conflicts)
	f.showEdits("In the journal from elsewhere with other content, and left as they are there; if these are further sessions of the day, say so by labels in a column named session (the journal → the sheet):", p.Different)
	f.list("Beside another of the same day, angler and water; if they are the same, delete one of the two:", p.Beside)
	f.list("No longer in the sheet, and left in the journal:", p.Gone)
	for _, kind := range []string{sheet.KindAngler, sheet.KindWater, sheet.KindBeat, sheet.KindRig, sheet.KindJunction} {
		f.showNew(kind, p.New)
	}
	f.showNotRecorded(p.NotRecorded)
	f.Printf("\n")
}

func (f *file) list(title string, those []exchange.Difference) {
	if len(those) == 0 {
		return
	}
	f.Printf("%s\n", title)
	for i, d := range those {
		if i == most {
			f.Printf("  … and %d more\n", len(those)-most)
			break
		}
		f.Printf("  %s\n", d)
	}
}

// showNew lists the names of a kind that would come with the sessions.
func (f *file) showNew(kind string, all []sheet.New) {
	var names []string
	for _, n := range all {
		if n.Kind != kind {
			continue
		}
		name := n.Name
		if n.Of != "" {
			name += " on " + n.Of
		}
		if kind == sheet.KindRig && n.Similar != "" {
			name += " (near " + n.Similar + ")"
		}
		names = append(names, name)
	}
	if len(names) == 0 {
		return
	}
	if kind == sheet.KindJunction {
		kind = "knot of an own name"
	}
	more := ""
	if len(names) > most {
		more = "; …"
	}
	what := "New " + kind
	if len(names) > 1 {
		what = fmt.Sprintf("%d new %ss", len(names), strings.Replace(kind, "knot", "knots", 1))
		what = strings.Replace(what, "names", "name", 1)
	}
	f.Printf("%s: %s%s.\n", what, strings.Join(names[:min(most, len(names))], "; "), more)
}

// showNotRecorded tells of what no count was kept, those of the same stints together.
func (f *file) showNotRecorded(list []sheet.NotRecorded) {
	type same struct{ stints, minutes int }
	titles := map[same][]string{}
	var order []same
	for _, n := range list {
		key := same{n.Stints, n.Minutes}
		if titles[key] == nil {
			order = append(order, key)
		}
		titles[key] = append(titles[key], n.Kind.Title())
	}
	for _, key := range order {
		of := ""
		if key.minutes > 0 {
			of = " of " + units.FormatDuration(float64(key.minutes))
		}
		f.Printf("Not recorded in %s%s: %s.\n", exchange.Counted(key.stints, "stint"), of, strings.Join(titles[key], ", "))
	}
}
