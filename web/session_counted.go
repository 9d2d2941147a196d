package web

import (
	"fmt"
	"strings"

	"rigtally/journal"
)

// countedLines say of what count was kept in a session: one line when it is the
// same in all its stints, else one for each.
func countedLines(stints []journal.Stint) []string {
	var lines []string
	alike := true
	for i, st := range stints {
		alike = alike && st.Recorded == stints[0].Recorded
		lines = append(lines, fmt.Sprintf("Stint %d. %s", i+1, countedWords(st.Recorded)))
	}
	if alike && len(stints) > 0 {
		return []string{countedWords(stints[0].Recorded)}
	}
	return lines
}

// countedWords say of what count was kept in a stint.
func countedWords(r journal.Recorded) string {
	kept, missing := r.Kinds(), r.Missing()
	switch {
	case r.Assumed():
		return "Nobody said what was counted, so everything is taken as counted."
	case len(missing) == 0:
		return "Everything was counted."
	case len(kept) == 0:
		return "No count was kept of anything."
	}
	return "Counted: " + kindList(kept) + ". Not counted: " + kindList(missing) + "."
}

func kindList(kinds []journal.Kind) string {
	titles := make([]string, len(kinds))
	for i, k := range kinds {
		titles[i] = k.Title()
	}
	return strings.Join(titles, ", ")
}
