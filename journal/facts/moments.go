package facts

import (
	"cmp"
	"slices"

	"rigtally/journal"
)

// moment is when something happened in a stint.
type moment struct {
	row    int32 // of the stint
	minute int16
	n      uint16 // how often
	what   uint32 // a bit for each Count
}

// bitsOf are the bits of some counts in a moment.
func bitsOf(counts []journal.Count) (bits uint32) {
	for _, c := range counts {
		bits |= 1 << c
	}
	return bits
}

var tagChanges = bitsOf([]journal.Count{journal.CountFlyChanges, journal.CountReties})

// Moment takes an event of which the minute in its stint is known. All stints have been taken by then.
func (b *Builder) Moment(stint journal.ID, minute int, e journal.Event) {
	if b.place == nil && b.err == nil {
		b.arrange()
	}
	n, ok := b.rows.known(stint)
	if !ok || b.err != nil {
		b.fail("stint %s: an event of it came before it", stint)
		return
	}
	m := moment{row: b.place[n], minute: int16(minute), n: uint16(e.Count)}
	for c, n := range e.Counts() {
		if n > 0 {
			m.what |= 1 << c
		}
	}
	b.part.moments = append(b.part.moments, m)
}

// arrangeMoments puts the moments read into order.
func (b *Builder) arrangeMoments() {
	list := withRoom[moment](len(b.part.moments))
	copy(list, b.part.moments)
	slices.SortFunc(list, func(x, y moment) int { return cmp.Or(cmp.Compare(x.row, y.row), cmp.Compare(x.minute, y.minute)) })
	b.part.moments = list
}
