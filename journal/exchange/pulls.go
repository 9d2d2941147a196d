package exchange

import "rigtally/journal"

// pulls takes a backup's bench pulls. One that was deleted on either side comes
// in deleted only where the journal does not hold it.
func (m *merge) pulls(held []journal.BenchPull) {
	byID := map[journal.ID]journal.BenchPull{}
	for _, p := range held {
		byID[p.ID] = p
	}
	for _, p := range m.backup.contents.Pulls {
		other, known := byID[p.ID]
		switch {
		case known && !other.Equal(p):
			m.conflict(p.ID, "the bench pull of %s differs from the journal's of %s", p.Day, other.Day)
		case known && (other.DeletedAt == nil || p.DeletedAt != nil):
		default: // new, or deleted here and not there
			m.addition.Pulls = append(m.addition.Pulls, p)
			if p.DeletedAt == nil {
				m.result.NewPulls++
			}
		}
	}
}
