package prose

import (
	"strconv"
	"strings"

	"rigtally/journal"
)

// notRecorded stands in the place of a number that nobody kept.
const notRecorded = "not recorded"

// Total words a count: "3 tangles", "no tangle", "at least 3 tangles" where some stints kept no
// count, "tangles not recorded" where none did.
func Total(t journal.Total, one, many string) string {
	switch {
	case t.Known() == nil:
		return many + " " + notRecorded
	case t.N == 0 && t.Whole():
		return "no " + one
	case t.N == 0:
		return "no " + one + " where recorded"
	case !t.Whole():
		return "at least " + plural(t.N, one, many)
	}
	return plural(t.N, one, many)
}

// CountFact words a count above what it is of: "3 fish", "no count of fish".
func CountFact(t journal.Total, one, many string) string {
	if t.Known() == nil {
		return "no count of " + many
	}
	return Total(t, one, many)
}

// TotalCell is a count alone, as in a table.
func TotalCell(t journal.Total) string {
	switch {
	case t.Known() == nil:
		return notRecorded
	case t.Whole():
		return strconv.Itoa(t.N)
	case t.N == 0:
		return "0 where recorded"
	}
	return "at least " + strconv.Itoa(t.N)
}

// Caught words what was hooked and what of it was landed.
func Caught(hookups, landed journal.Total) string {
	text := Total(hookups, "hookup", "hookups")
	switch {
	case hookups.N == 0 && landed.N == 0:
		return text
	case landed.Known() == nil:
		return text + ", landed " + notRecorded
	case landed.N == 0 && !landed.Whole():
		return text + ", none landed where recorded"
	}
	return text + ", " + TotalCell(landed) + " landed"
}

// NoCount says of what no count was kept: "no count kept of snags and tangles". It is "" where
// count was kept of everything.
func NoCount(r journal.Recorded) string {
	missing, kept := titles(r.Missing()), titles(r.Kinds())
	switch {
	case len(missing) == 0:
		return ""
	case len(kept) == 0:
		return "nothing counted"
	case len(kept) < len(missing):
		return "only " + listed(kept) + " counted"
	}
	return listed(missing) + " not counted"
}

func titles(kinds []journal.Kind) []string {
	list := make([]string, len(kinds))
	for i, k := range kinds {
		list[i] = k.Title()
	}
	return list
}

// Kinds names kinds of event: "snags and tangles".
func Kinds(kinds []journal.Kind) string { return listed(titles(kinds)) }

// kindWords names kinds as commands do: "snags,tangles".
func kindWords(kinds []journal.Kind) string {
	words := make([]string, len(kinds))
	for i, k := range kinds {
		words[i] = k.String()
	}
	return strings.Join(words, ",")
}
