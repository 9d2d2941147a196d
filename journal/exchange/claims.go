package exchange

import (
	"slices"
	"strings"

	"rigtally/journal"
)

// claims takes a backup's claims. Every journal starts with the same board, so
// where one side has left a claim as it was, the other side's change holds.
func (m *merge) claims(held []journal.Claim) {
	byID, byWords := map[journal.ID]journal.Claim{}, map[string]journal.ID{}
	for _, c := range held {
		byID[c.ID], byWords[strings.ToLower(c.Words)] = c, c.ID
	}
	start := journal.StartingClaims()
	untouched := func(c journal.Claim) bool { return slices.ContainsFunc(start, c.Equal) }
	for _, c := range m.backup.contents.Claims {
		other, known := byID[c.ID]
		namesake, taken := byWords[strings.ToLower(c.Words)]
		switch {
		case known && (other.Equal(c) || untouched(c)):
		case taken && namesake != c.ID:
			m.conflict(c.ID, "another claim in the journal says: %s", c.Words)
		case !known:
			m.addition.Claims = append(m.addition.Claims, c)
			m.result.NewClaims = append(m.result.NewClaims, c.Words)
		case untouched(other):
			m.addition.Claims = append(m.addition.Claims, c)
		default:
			m.conflict(c.ID, "the claim that says %q differs from the journal's, which says %q", c.Words, other.Words)
		}
	}
}
