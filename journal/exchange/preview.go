package exchange

import (
	"fmt"
	"strings"
)

// notes are what people are told of a merge beside its counts.
type notes struct {
	differing []string // sessions that both have
	returning []string // what had been deleted in the journal
	meant     []string // what is taken for something of its name in the journal
	renamed   []string // what comes under another name
	kept      []string // what both have, and stays as the journal has it
	taken     []string // what both have, and becomes what comes
	stay      int      // sessions that were deleted in what comes, and are in the journal
}

func (m *Merge) meant(kind, name string) { m.notes.meant = append(m.notes.meant, "the "+kind+" "+name) }

// stays notes that something named is otherwise in the journal.
func (m *Merge) stays(kind, name, held string) {
	if name == held {
		m.stay("the %s %s", kind, held)
	} else {
		m.stay("the %s %s, which is %s in the backup", kind, held, name)
	}
}

func (m *Merge) stay(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	m.notes.kept, m.result.Kept = append(m.notes.kept, text), append(m.result.Kept, text)
}

func (m *Merge) takes(notable bool, format string, args ...any) {
	if notable {
		m.notes.taken = append(m.notes.taken, fmt.Sprintf(format, args...))
	}
}

// Preview is what people are shown of a merge before it is written.
type Preview struct {
	Sections []Section
	Writes   bool // anything at all would be written
	Differs  int  // sessions and other things that both have in other forms
}

// Section is a sentence, and what it is about, one in a row.
type Section struct {
	Title string
	Rows  []string
}

// Lines are the sections line by line, rows indented, of each section at most so many; 0 is all of them.
func (p Preview) Lines(most int) []string {
	var lines []string
	for _, s := range p.Sections {
		lines = append(lines, s.Title)
		for i, row := range s.Rows {
			if most > 0 && i == most {
				lines = append(lines, fmt.Sprintf("  … and %d more", len(s.Rows)-most))
				break
			}
			lines = append(lines, "  "+row)
		}
	}
	return lines
}

// Preview tells people what the merge would do.
func (m *Merge) Preview() Preview {
	r, n := m.result, m.notes
	p := Preview{Writes: m.writes(), Differs: len(n.differing) + len(n.kept) + len(n.taken)}
	say := func(title string, rows ...string) { p.Sections = append(p.Sections, Section{title, rows}) }
	list := func(rows []string, title string) {
		if len(rows) > 0 {
			say(title, rows...)
		}
	}
	there := ""
	if r.AlreadyThere > 0 {
		there = fmt.Sprintf("; %s there already", Verb(r.AlreadyThere, "session", "is", "are"))
	}
	switch {
	case !p.Writes:
		say("This would change nothing" + there + ".")
	case r.Added == 0:
		say("This would add no session" + there + ".")
	default:
		say(fmt.Sprintf("This would add %s with %s%s.", Counted(r.Added, "session"), Counted(r.Stints, "stint"), there))
	}
	if o := m.addition.Outfit; o != nil {
		say(fmt.Sprintf("The journal, which has nothing yet, would be called %s.", o.Name))
	}
	for _, sentence := range r.newNames() {
		say(sentence)
	}
	list(n.returning, "Deleted in the journal, and would come back:")
	if m.how.Take {
		list(n.differing, "Told otherwise in the journal, and would become the backup's, as the next version:")
	} else {
		list(n.differing, "Told otherwise in the journal, and stay as they are there:")
	}
	list(n.taken, "Otherwise in the journal, and would become the backup's:")
	list(n.kept, "Otherwise in the backup, and stay as the journal has them:")
	list(n.meant, "Of a name that the journal has, and taken for that one:")
	list(n.renamed, "Of a name that something else has in the journal, and would come beside it:")
	var beside []string
	for _, d := range r.Beside {
		beside = append(beside, d.String())
	}
	list(beside, "Beside another of the same day, angler and water; if they are the same, delete one of the two afterwards:")
	if u := m.addition.Usual; u != nil && m.addition.Outfit == nil {
		for _, rig := range append(m.addition.Rigs, m.contents.Rigs...) {
			if rig.ID == u.RigID {
				say(fmt.Sprintf("The usual rig would be %s.", strings.TrimSpace(rig.Title())))
				break
			}
		}
	}
	if n.stay > 0 {
		say(fmt.Sprintf("%s deleted in the backup, and stay in the journal.", Verb(n.stay, "session", "was", "were")))
	}
	return p
}
