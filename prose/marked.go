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
		list = append(list, "What was said of them is taken back: everything is taken to have been counted, as before anybody was asked.")
	}
	if len(mark.Not) > 0 {
		list = append(list, fmt.Sprintf("No count was kept of %s: no rate that needs it uses these stints.", Kinds(mark.Not)))
	}
	if len(mark.Kept) > 0 {
		list = append(list, fmt.Sprintf("Count was kept of %s: none is a zero.", Kinds(mark.Kept)))
	}
	if same := m.Stints - m.Changed; same > 0 {
		list = append(list, fmt.Sprintf("%s already so and %s as it is.", capital(plural(same, "stint is", "stints are")), verbOf(same, "stays", "stay")))
	}
	for _, k := range mark.Not {
		if n := m.Noted[k]; n > 0 {
			list = append(list, fmt.Sprintf("Of %s, %d noted: that stays in the journal, as a part of what happened.", k.Title(), n))
		}
	}
	if m.Assumed > 0 && !mark.Forget {
		list = append(list, fmt.Sprintf("Nobody had said what was counted in %s. From then on it is said that everything else was.", plural(m.Assumed, "stint", "stints")))
	}
	if len(m.Also) > 0 {
		var none []string
		for _, k := range m.Also {
			none = append(none, "no "+noneOf(k))
		}
		list = append(list, "These stints also hold "+strings.Join(none, ", ")+". Where no count was kept of that either, name it too.")
	}
	return list
}

// MarkDone says what was marked.
func MarkDone(m journal.Marked) string {
	if m.Changed == 0 {
		return "Nothing had to be changed: it was so already."
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
