package prose

import (
	"fmt"
	"strings"

	"rigtally/journal"
)

// MarkPreview says what a mark of what was recorded is about, a sentence or two for each point.
func MarkPreview(angler string, mark journal.RecordedMark, m journal.Marked) []string {
	list := []string{fmt.Sprintf("%s, %s to %s: %s in %s (%s).", angler, mark.From, mark.To, plural(m.Stints, "stint", "stints"), plural(m.Sessions, "session", "sessions"), hours(m.Hours))}
	if mark.Forget {
		list = append(list, "This takes back what was said about them: everything is assumed counted again.")
	}
	if len(mark.Not) > 0 {
		list = append(list, fmt.Sprintf("Not counted: %s. Rates that need it leave these stints out.", Kinds(mark.Not)))
	}
	if len(mark.Kept) > 0 {
		list = append(list, fmt.Sprintf("Counted: %s. None noted means zero.", Kinds(mark.Kept)))
	}
	if same := m.Stints - m.Changed; same > 0 {
		list = append(list, plural(same, "stint is", "stints are")+" marked so already.")
	}
	for _, k := range mark.Not {
		if n := m.Noted[k]; n > 0 {
			list = append(list, fmt.Sprintf("%s noted all the same: %d. That stays in the journal, as part of what happened.", capital(k.Title()), n))
		}
	}
	if m.Assumed > 0 && !mark.Forget {
		list = append(list, fmt.Sprintf("Nobody had said what was counted in %s. From now on they say that everything else was.", plural(m.Assumed, "stint", "stints")))
	}
	if len(m.Also) > 0 {
		var none []string
		for _, k := range m.Also {
			none = append(none, "no "+noneOf(k))
		}
		list = append(list, "These stints also have "+strings.Join(none, ", ")+". If that was not counted either, name it too.")
	}
	return list
}

// MarkDone says what was marked.
func MarkDone(m journal.Marked) string {
	if m.Changed == 0 {
		return "Nothing to change: it was so already."
	}
	return capital(plural(m.Changed, "stint is", "stints are")) + " marked."
}

// MarkUndo is the command that takes a mark back: that count was kept, or where nothing had been
// said of any stint before, that it is assumed again.
func MarkUndo(angler string, mark journal.RecordedMark, m journal.Marked) string {
	flags := MarkFlags(angler, mark.From, mark.To)
	switch {
	case m.Assumed == m.Changed && m.Changed == m.Stints && !mark.Forget:
		return flags + " --assumed --yes"
	case len(mark.Not) > 0:
		return flags + " --kept " + kindWords(mark.Not) + " --yes"
	case len(mark.Kept) > 0:
		return flags + " --not " + kindWords(mark.Kept) + " --yes"
	}
	return ""
}
