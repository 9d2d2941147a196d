package exchange

import (
	"slices"
	"strings"

	"rigtally/journal"
)

// ruleSets takes a backup's rule sets. As with claims, every journal starts with
// the same ones, so where one side has left a set as it was, the other side's
// change holds.
func (m *merge) ruleSets(held []journal.RuleSet) {
	byID, byName := map[journal.ID]journal.RuleSet{}, map[string]journal.ID{}
	for _, r := range held {
		byID[r.ID] = r
		if !r.Deleted() {
			byName[strings.ToLower(r.Name)] = r.ID
		}
	}
	start := journal.StartingRules()
	untouched := func(r journal.RuleSet) bool { return slices.ContainsFunc(start, r.Equal) }
	for _, r := range m.backup.contents.RuleSets {
		other, known := byID[r.ID]
		namesake, taken := byName[strings.ToLower(r.Name)]
		switch {
		case known && (other.Equal(r) || untouched(r)):
		case taken && namesake != r.ID && !r.Deleted():
			m.conflict(r.ID, "another rule set in the journal is called %s", r.Name)
		case known && !untouched(other):
			m.conflict(r.ID, "the rule set %s differs from the journal's", r.Name)
		default:
			if !known {
				m.result.NewRules = append(m.result.NewRules, r.Name)
			}
			m.addition.RuleSets = append(m.addition.RuleSets, r)
		}
	}
}
