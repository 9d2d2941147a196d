package journal

import (
	"fmt"
	"slices"
)

// RecordedMark says of the stints of some days of an angler of what count was kept.
type RecordedMark struct {
	Angler   ID
	From, To Date   // both taken in
	Not      []Kind // no count was kept of these
	Kept     []Kind // count was kept of these
	Forget   bool   // nothing is said: everything is assumed, as before anybody was asked
}

// Validate checks that the mark says one thing of days in order.
func (m RecordedMark) Validate() error {
	var wrong []string
	if m.From.IsZero() || m.To.IsZero() {
		wrong = append(wrong, "name the first and the last day, as 2026-04-30")
	} else if m.To.String() < m.From.String() {
		wrong = append(wrong, "the last day, "+m.To.String()+", is before the first, "+m.From.String()+"; swap them")
	}
	both := slices.ContainsFunc(m.Not, func(k Kind) bool { return slices.Contains(m.Kept, k) })
	switch said := len(m.Not)+len(m.Kept) > 0; {
	case both:
		wrong = append(wrong, "a kind can't be both counted and not; name it once")
	case said == m.Forget:
		wrong = append(wrong, "say which kinds were counted, or which were not, or that it is assumed again; only one of these")
	}
	if len(wrong) > 0 {
		return &Invalid{Problems: wrong}
	}
	return nil
}

// of is what is said of a stint once it is marked.
func (m RecordedMark) of(r Recorded) Recorded {
	if m.Forget {
		return 0
	}
	if len(m.Not) > 0 {
		r = r.Without(m.Not...)
	}
	if len(m.Kept) > 0 {
		r = r.With(m.Kept...)
	}
	return r
}

// Marked is what a mark is about, and what it changes.
type Marked struct {
	Sessions, Stints int     // of the days
	Hours            float64 // of stints with minutes noted
	Changed          int     // stints of which something else is said from then on
	Assumed          int     // of the changed ones, those of which nothing had been said
	Noted            map[Kind]int
	Also             []Kind
}

// note adds a stint that changes. Noted are the events there are of what was not counted: they stay,
// and are no longer all that happened. Also are the other kinds that never occur in stints of which
// nothing had been said: from then on it is said that they were counted.
func (m *Marked) note(mark RecordedMark, st Stint, tally Counts) {
	m.Changed++
	if st.Recorded.Assumed() {
		if m.Assumed++; m.Assumed == 1 && len(mark.Not) > 0 {
			m.Also = slices.DeleteFunc(Kinds(), func(k Kind) bool { return slices.Contains(mark.Not, k) || slices.Contains(mark.Kept, k) })
		}
		m.Also = slices.DeleteFunc(m.Also, func(k Kind) bool { n, _ := k.Noted(tally, 0); return n > 0 })
	}
	for _, k := range mark.Not {
		if n, _ := k.Noted(tally, 0); n > 0 {
			m.Noted[k] += int(n)
		}
	}
}

// Mark marks the stints of a session, and reports whether any changed.
func (m *Marked) Mark(mark RecordedMark, session *Session, rigs map[ID]Rig) (changed bool, err error) {
	for i := range session.Stints {
		st := &session.Stints[i]
		m.Stints++
		if st.Minutes != nil {
			m.Hours += *st.Minutes / 60
		}
		next := mark.of(st.Recorded)
		if next == st.Recorded {
			continue
		}
		tally, err := TallyStint(rigs[st.RigID], *st)
		if err != nil {
			return false, fmt.Errorf("count the session of %s: %w", session.Day, err)
		}
		m.note(mark, *st, tally.Stint)
		st.Recorded, changed = next, true
	}
	return changed, nil
}
