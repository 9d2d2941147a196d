package journal

import (
	"cmp"
	"slices"
	"time"
)

// UndoDays is how long a deleted session can be brought back.
const UndoDays = 30

// NewDoubts are the doubts of a session that the version before it did not raise.
func (s Session) NewDoubts(before Session, rigs map[ID]Rig) []Doubt {
	now := time.Now()
	known := before.Doubts(rigs, now)
	return slices.DeleteFunc(s.Doubts(rigs, now), func(d Doubt) bool {
		return slices.ContainsFunc(known, func(k Doubt) bool { return k.Field == d.Field && k.Says == d.Says })
	})
}

// DeletedSession is a session that can still be brought back.
type DeletedSession struct {
	Session
	DeletedAt time.Time
}

// Normalize puts a session into the form in which it is stored and compared.
func (s *Session) Normalize() {
	s.LoggedAt = s.LoggedAt.UTC().Truncate(time.Microsecond)
	for _, t := range []**time.Time{&s.Start, &s.End} {
		if *t != nil {
			utc := (*t).UTC().Truncate(time.Microsecond)
			*t = &utc
		}
	}
	s.FromGauge = slices.Clone(s.FromGauge)
	slices.Sort(s.FromGauge)
	s.Stints = slices.Clone(s.Stints)
	for i := range s.Stints {
		st := &s.Stints[i]
		st.Minutes = MinutesOf(st.Seconds())
		st.Positions = slices.DeleteFunc(slices.Clone(st.Positions), func(p StintPosition) bool { return p == StintPosition{Position: p.Position} })
		slices.SortStableFunc(st.Positions, func(a, b StintPosition) int { return cmp.Compare(a.Position, b.Position) })
	}
}

func (s Session) RigIDs() []ID {
	ids := make([]ID, 0, len(s.Stints))
	for _, st := range s.Stints {
		ids = append(ids, st.RigID)
	}
	return ids
}
