package journal

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Kind is a kind of thing that happens, of which count may be kept or not.
type Kind uint8

// The kinds. Their numbers are stored: new ones go to the end.
const (
	KindHookups     Kind = iota // fish on
	KindLanded                  // fish landed
	KindLost                    // fish whose hook came out
	KindBrokeOff                // fish broken off
	KindHooking                 // whether a fish was hooked fair or foul
	KindBreakPlace              // where the rig broke
	KindSnags                   //
	KindTangles                 //
	KindTangleKind              // whether a tangle was a twist, a wind knot or a nest
	KindTurns                   // checks of the tag, and the turns seen at them
	KindChanges                 // fly changes and re-ties
	KindMinutesLost             // minutes lost to tangles and re-ties
	numKinds
)

var kindWords = [numKinds]string{"hookups", "landed", "lost", "broke-off", "hooking", "break-place", "snags", "tangles", "tangle-kind", "turns", "changes", "minutes-lost"}

var kindTitles = [numKinds]string{"hookups", "fish landed", "fish lost", "fish broken off", "fair or foul", "where it broke", "snags", "tangles", "kinds of tangle",
	"turns around the line", "fly changes and re-ties", "minutes lost"}

// Kinds lists every kind.
func Kinds() []Kind {
	all := make([]Kind, numKinds)
	for i := range all {
		all[i] = Kind(i)
	}
	return all
}

// String is the kind's word, as in JSON and commands.
func (k Kind) String() string { return kindWords[k] }

// Title names the kind to people: "count kept of tangles".
func (k Kind) Title() string { return kindTitles[k] }

// KindByWord finds a kind; its error lists those there are.
func KindByWord(word string) (Kind, error) {
	if i := slices.Index(kindWords[:], strings.ToLower(strings.TrimSpace(word))); i >= 0 {
		return Kind(i), nil
	}
	return 0, &Invalid{Problems: []string{fmt.Sprintf("kind %q is not known; name one of: %s", word, strings.Join(kindWords[:], ", "))}}
}

// Recorded is the set of kinds of which count was kept through a stint, decided
// before anything happened. Only of these is none a zero.
//
// Its zero value says nothing: a stint from before it was asked for. All kinds
// are then taken to have been counted, and the stint is marked as assumed. A bit for
// each kind is set otherwise, and one more that says so, as stored.
type Recorded uint16

const said Recorded = 1 << 15

// RecordedOf is the set of these kinds and no other.
func RecordedOf(kinds ...Kind) Recorded {
	r := said
	for _, k := range kinds {
		r |= 1 << k
	}
	return r
}

// AllRecorded is the set of every kind.
func AllRecorded() Recorded { return RecordedOf(Kinds()...) }

// Assumed reports whether nothing was said of what was counted.
func (r Recorded) Assumed() bool { return r&said == 0 }

// Has reports whether count was kept of every one of the kinds, or is assumed to have been.
func (r Recorded) Has(kinds ...Kind) bool {
	want := RecordedOf(kinds...)
	return r.Assumed() || r&want == want
}

// With is the set with further kinds.
func (r Recorded) With(kinds ...Kind) Recorded {
	if r.Assumed() {
		return AllRecorded()
	}
	return r | RecordedOf(kinds...)
}

// Without is the set but for some kinds. What was assumed is said from then on.
func (r Recorded) Without(kinds ...Kind) Recorded {
	if r.Assumed() {
		r = AllRecorded()
	}
	return r&^RecordedOf(kinds...) | said
}

// Kinds lists the kinds of which count was kept, or is assumed to have been.
func (r Recorded) Kinds() []Kind {
	return slices.DeleteFunc(Kinds(), func(k Kind) bool { return !r.Has(k) })
}

// Missing lists the kinds of which no count was kept.
func (r Recorded) Missing() []Kind {
	return slices.DeleteFunc(Kinds(), func(k Kind) bool { return r.Has(k) })
}

// MarshalJSON writes the words of the kinds, and null where nothing was said.
func (r Recorded) MarshalJSON() ([]byte, error) {
	if r.Assumed() {
		return []byte("null"), nil
	}
	kinds := []string{}
	for _, k := range r.Kinds() {
		kinds = append(kinds, k.String())
	}
	return json.Marshal(kinds)
}

// UnmarshalJSON reads what MarshalJSON writes. Its error names every word that is none of a kind.
func (r *Recorded) UnmarshalJSON(b []byte) error {
	var list *[]string
	if err := json.Unmarshal(b, &list); err != nil {
		return fmt.Errorf("read what was recorded, a list of words: %w", err)
	}
	*r = 0
	if list == nil {
		return nil
	}
	*r = said
	var unknown []string
	for _, word := range *list {
		k, err := KindByWord(word)
		if err != nil {
			unknown = append(unknown, strconv.Quote(word))
			continue
		}
		*r |= 1 << k
	}
	if len(unknown) > 0 {
		return &Invalid{Problems: []string{fmt.Sprintf("recorded names %s, which is not a kind that is counted; name any of: %s", strings.Join(unknown, ", "), strings.Join(kindWords[:], ", "))}}
	}
	return nil
}

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
