package sheet

import (
	"context"
	"fmt"
	"slices"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
)

// compare looks for the sessions in the journal and decides about each.
func (p *plan) compare(ctx context.Context, store *pg.Store) error {
	standings, err := p.standings(ctx, store)
	if err != nil {
		return err
	}
	twins, err := p.findTwins(ctx, store, standings)
	if err != nil {
		return err
	}
	var doubtful []journal.ID
	for i, standing := range standings {
		if standing == journal.Different {
			doubtful = append(doubtful, p.sessions[i].ID)
		}
	}
	doubtful = append(doubtful, twins.ids()...)
	held, err := p.heldSessions(ctx, store, doubtful)
	if err != nil {
		return err
	}
	untouched, err := store.Untouched(ctx, doubtful)
	if err != nil {
		return err
	}
	v := p.sheet.viewer(exchange.NewNames(p.contents()))
	twins.same(p, held, v)
	for i, session := range p.sessions {
		twin := twins.of(i)
		switch {
		case standings[i] == journal.Same:
			p.result.AlreadyThere++
		case standings[i] == journal.Different:
			p.meet(i, held[session.ID], origins{untouched[session.ID], twins.came[session.ID]}, v)
		case standings[i] == journal.Waiting:
			p.result.Returned++
			p.addNew(i)
		case !twin.IsZero():
			p.sessions[i] = under(session, twin)
			p.meet(i, held[twin], origins{untouched[twin], twins.came[twin]}, v)
		default:
			if twins.beside(session) {
				p.result.Beside = append(p.result.Beside, p.difference(i))
			}
			p.addNew(i)
		}
	}
	p.result.Gone = twins.gone(v, held)
	return nil
}

// standings asks for some sessions at a time, since they are compared with their events.
func (p *plan) standings(ctx context.Context, store *pg.Store) ([]journal.Standing, error) {
	const some = 1000
	list := make([]journal.Standing, 0, len(p.sessions))
	for from := 0; from < len(p.sessions); from += some {
		var part []journal.Session
		for i := from; i < min(from+some, len(p.sessions)); i++ {
			part = append(part, p.whole(i))
		}
		of, err := store.Standings(ctx, part)
		if err != nil {
			return nil, err
		}
		list = append(list, of...)
	}
	return list, nil
}

// difference says which session of the sheet one is.
func (p *plan) difference(i int) exchange.Difference {
	o := p.outings[i]
	return exchange.Difference{Day: p.sessions[i].Day, Angler: o.head.Angler, Water: o.head.Water, At: o.head.at()}
}

func (p *plan) addNew(i int) {
	p.write(i, p.sessions[i])
	for at, st := range p.sessions[i].Stints {
		p.eventful[st.ID] = p.outings[i].stints[at]
	}
	p.result.Added++
	p.result.Stints += len(p.sessions[i].Stints)
}

// write has a session written for one of the sheet.
func (p *plan) write(i int, session journal.Session) {
	p.adding, p.add = append(p.adding, i), append(p.add, session)
}

// replace has a session written in the place of the one held, as its next version.
func (p *plan) replace(i int, session, held journal.Session) {
	session.Version, session.LoggedAt = held.Version+1, held.LoggedAt
	p.replaced[held.ID] = held.Version
	p.write(i, session)
}

func (p *plan) heldSessions(ctx context.Context, store *pg.Store, ids []journal.ID) (map[journal.ID]journal.Session, error) {
	list, err := store.SessionsByID(ctx, ids)
	held := make(map[journal.ID]journal.Session, len(list))
	for _, s := range list {
		held[s.ID] = s
	}
	return held, err
}

// origins says where a session of the journal is from.
type origins struct {
	untouched bool // it is as an import wrote it
	sheet     bool // that was one of this sheet, or nobody can tell
}

// meet decides about a session of which the journal holds another form: it may
// say the same all the same, as far as the file tells.
func (p *plan) meet(i int, held journal.Session, from origins, v *viewer) {
	s := p.whole(i)
	if p.sheet.origin == foreign && assumed(held) {
		s.Stints = slices.Clone(s.Stints) // compared as it would have been taken then
		for at := range s.Stints {
			s.Stints[at].Recorded = 0
		}
	}
	ours, theirs := v.view(s), v.view(held)
	if ours.head == theirs.head {
		missing := ours.without(theirs)
		// Stints that the journal has beside these were added there, or their rows are bad.
		more := !from.untouched || !from.sheet || p.sheet.has("problem") || p.sheet.BadRows() > 0
		if len(missing) == 0 && (more || len(ours.stints) == len(theirs.stints)) {
			p.result.AlreadyThere++
			return
		}
		if p.sheet.has("problem") {
			grown := held
			for _, at := range missing {
				st := p.whole(i).Stints[at]
				st.ID = deriveID(s.Day, "further stint", s.ID.String(), ours.stints[at], fmt.Sprint(len(grown.Stints)))
				grown.Stints = append(grown.Stints[:len(grown.Stints):len(grown.Stints)], st)
			}
			p.replace(i, grown, held)
			p.result.Extended++
			p.result.Stints += len(missing)
			return
		}
	}
	p.differ(i, held, from, v)
}

// assumed reports whether a session is from before it was said of what count was kept.
func assumed(s journal.Session) bool {
	return !slices.ContainsFunc(s.Stints, func(st journal.Stint) bool { return !st.Recorded.Assumed() })
}
