package exchange

import (
	"strings"

	"rigtally/journal"
)

// trials takes a backup's trials. One that the journal holds must be the same to
// the last unit: two courses of one trial can't be joined.
func (m *merge) trials(held []journal.Trial) {
	byID, byName := map[journal.ID]journal.Trial{}, map[string]bool{}
	for _, t := range held {
		byID[t.ID], byName[strings.ToLower(t.Name)] = t, true
	}
	for _, t := range m.backup.contents.Trials {
		switch other, known := byID[t.ID]; {
		case known && other.Equal(t):
		case known:
			m.conflict(t.ID, "the trial %s differs from the journal's %s", t.Name, other.Name)
		case byName[strings.ToLower(t.Name)]:
			m.conflict(t.ID, "another trial in the journal is called %s", t.Name)
		default:
			m.addition.Trials = append(m.addition.Trials, t)
			m.result.NewTrials = append(m.result.NewTrials, t.Name)
		}
	}
}
