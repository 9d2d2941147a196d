package sheet

import (
	"context"
	"strconv"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
)

// twins are sessions of the journal that those of the sheet may be under another id:
// on the same day, of the same angler and water. A start or name that was corrected
// gives a session another id.
type twins struct {
	open  []int // places of the sheet's sessions that the journal lacks under their ids
	found map[place][]journal.ID
	came  map[journal.ID]bool // sessions of the journal that came with an earlier state of this sheet
	lost  []pg.Placed         // of these, not in the sheet under their ids
	taken map[journal.ID]bool
	twin  map[int]journal.ID
}

// place is when and where somebody fished.
type place struct {
	day           journal.Date
	angler, water journal.ID
}

// findTwins looks for sessions that may be those of the sheet that the journal lacks.
func (p *plan) findTwins(ctx context.Context, store *pg.Store, standings []journal.Standing) (*twins, error) {
	t := &twins{found: map[place][]journal.ID{}, came: map[journal.ID]bool{}, taken: map[journal.ID]bool{}, twin: map[int]journal.ID{}}
	own, open := make(map[journal.ID]bool, len(p.sessions)), map[place]bool{}
	var held []journal.ID
	var days []journal.Date
	for i, s := range p.sessions {
		own[s.ID] = true
		switch standings[i] {
		case journal.Same, journal.Different:
			held = append(held, s.ID)
		case journal.Waiting:
		default:
			t.open, open[placeOf(s)] = append(t.open, i), true
			days = append(days, s.Day)
		}
	}
	together, err := store.WrittenWith(ctx, held)
	if err != nil {
		return nil, err
	}
	in, all := map[int64]int{}, map[int64]int{}
	for _, at := range together {
		all[at.Written]++
		if own[at.ID] {
			in[at.Written]++
		}
	}
	for _, at := range together {
		// An import most of whose sessions are in the sheet was one of this sheet.
		switch ours := 2*in[at.Written] >= all[at.Written]; {
		case own[at.ID]:
			t.came[at.ID] = ours || at.Merged
		case ours && !at.Merged:
			t.came[at.ID] = true
			t.lost = append(t.lost, at)
		}
	}
	there, err := store.SessionsOn(ctx, days)
	if err != nil {
		return nil, err
	}
	for _, at := range there {
		if key := (place{at.Day, at.Angler, at.Water}); !own[at.ID] && open[key] {
			t.found[key] = append(t.found[key], at.ID)
		}
	}
	return t, nil
}

func placeOf(s journal.Session) place { return place{s.Day, s.AnglerID, s.WaterID} }

// ids are those of the sessions to be compared.
func (t *twins) ids() []journal.ID {
	var ids []journal.ID
	for _, found := range t.found {
		ids = append(ids, found...)
	}
	for _, at := range t.lost {
		ids = append(ids, at.ID)
	}
	return ids
}

// same pairs sessions: those that say the same first, then those of the same place that came
// with this sheet, in their order.
func (t *twins) same(p *plan, held map[journal.ID]journal.Session, v *viewer) {
	pair := func(alike func(s journal.Session, id journal.ID) bool) {
		for _, i := range t.open {
			if !t.twin[i].IsZero() {
				continue
			}
			for _, id := range t.found[placeOf(p.sessions[i])] {
				if !t.taken[id] && alike(p.whole(i), id) {
					t.twin[i], t.taken[id] = id, true
					break
				}
			}
		}
	}
	pair(func(s journal.Session, id journal.ID) bool {
		ours, theirs := v.view(s), v.view(held[id])
		return ours.head == theirs.head && len(ours.stints) == len(theirs.stints) && len(ours.without(theirs)) == 0
	})
	pair(func(_ journal.Session, id journal.ID) bool { return t.came[id] })
}

func (t *twins) of(i int) journal.ID { return t.twin[i] }

// beside reports whether the journal has another session at the same place that may be the same.
func (t *twins) beside(s journal.Session) bool {
	for _, id := range t.found[placeOf(s)] {
		if !t.taken[id] {
			return true
		}
	}
	return false
}

// gone lists the sessions that came with this sheet and are no longer in it.
func (t *twins) gone(v *viewer, held map[journal.ID]journal.Session) []exchange.Difference {
	var list []exchange.Difference
	for _, at := range t.lost {
		if t.taken[at.ID] {
			continue
		}
		d := exchange.Difference{Day: at.Day}
		for _, r := range v.names.Flatten(held[at.ID]) {
			d.Angler, d.Water = r.Angler, r.Water
		}
		list = append(list, d)
	}
	return list
}

// under is a session with the id of another, in whose place it comes.
func under(s journal.Session, id journal.ID) journal.Session {
	s.ID = id
	stints := make([]journal.Stint, len(s.Stints))
	for i, st := range s.Stints {
		st.ID = deriveID(s.Day, "stint", id.String(), strconv.Itoa(i+1))
		stints[i] = st
	}
	s.Stints = stints
	return s
}
