package exchange

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// sessions decides about each session that comes.
func (m *Merge) sessions(ctx context.Context, store *pg.Store, held journal.Contents) error {
	sessions := m.contents.Sessions
	standings, err := store.Standings(ctx, sessions)
	if err != nil {
		return err
	}
	differing, err := m.differing(ctx, store, standings)
	if err != nil {
		return err
	}
	places, err := m.placesHeld(ctx, store)
	if err != nil {
		return err
	}
	names := namesOfBoth(held, m.contents)
	m.addition.Replaced = map[journal.ID]int{}
	for i, s := range sessions {
		switch standings[i] {
		case journal.Same:
			m.result.AlreadyThere++
		case journal.Different:
			m.meet(s, differing[s.ID], names.difference(s))
		case journal.Waiting:
			m.result.Returned++
			m.notes.returning = append(m.notes.returning, names.difference(s).String())
			m.add(s)
		default:
			if places[placeOf(s)] {
				m.result.Beside = append(m.result.Beside, names.difference(s))
			}
			m.add(s)
		}
	}
	return m.deleted(ctx, store)
}

// differing reads the journal's form of the sessions that it tells otherwise.
func (m *Merge) differing(ctx context.Context, store *pg.Store, standings []journal.Standing) (map[journal.ID]journal.Session, error) {
	var ids []journal.ID
	for i, standing := range standings {
		if standing == journal.Different {
			ids = append(ids, m.contents.Sessions[i].ID)
		}
	}
	held := map[journal.ID]journal.Session{}
	if len(ids) == 0 {
		return held, nil
	}
	list, err := store.SessionsByID(ctx, ids)
	for _, s := range list {
		held[s.ID] = s
	}
	return held, err
}

// place is a day of an angler on a water.
type place struct {
	day           journal.Date
	angler, water journal.ID
}

func placeOf(s journal.Session) place { return place{s.Day, s.AnglerID, s.WaterID} }

// placesHeld are where the journal has sessions that do not come, on the days of those that do.
func (m *Merge) placesHeld(ctx context.Context, store *pg.Store) (map[place]bool, error) {
	comes, days := map[journal.ID]bool{}, map[journal.Date]bool{}
	var list []journal.Date
	for _, s := range m.contents.Sessions {
		if comes[s.ID] = true; !days[s.Day] {
			days[s.Day], list = true, append(list, s.Day)
		}
	}
	held, err := store.SessionsOn(ctx, list)
	places := map[place]bool{}
	for _, p := range held {
		if !comes[p.ID] {
			places[place{p.Day, p.Angler, p.Water}] = true
		}
	}
	return places, err
}

func (m *Merge) add(s journal.Session) {
	m.addition.Sessions = append(m.addition.Sessions, s)
	m.result.Added++
	m.result.Stints += len(s.Stints)
}

// meet decides about a session that the journal tells otherwise.
func (m *Merge) meet(s, held journal.Session, which Difference) {
	s.Normalize()
	held.Normalize()
	newer := ""
	switch {
	case held.Version > s.Version:
		newer = "; the journal's is newer"
	case held.Version < s.Version:
		newer = "; the backup's is newer"
	}
	m.notes.differing = append(m.notes.differing, fmt.Sprintf("%s: %s (version %d in the journal, %d in the backup%s)",
		which, strings.Join(journal.ChangeWords(s.Changes(held)), ", "), held.Version, s.Version, newer))
	if !m.how.Take {
		m.result.Differ = append(m.result.Differ, which)
		return
	}
	s.Version, s.LoggedAt = max(s.Version, held.Version+1), held.LoggedAt
	m.addition.Replaced[s.ID] = held.Version
	m.addition.Sessions = append(m.addition.Sessions, s)
	m.result.Updated++
}

// deleted takes over what had been deleted, but for what is in the journal, which knows better.
func (m *Merge) deleted(ctx context.Context, store *pg.Store) error {
	list := m.contents.Deleted
	sessions := make([]journal.Session, len(list))
	for i, d := range list {
		sessions[i] = d.Session
	}
	standings, err := store.Standings(ctx, sessions)
	if err != nil {
		return err
	}
	for i, d := range list {
		switch standings[i] {
		case journal.New:
			m.addition.Deleted = append(m.addition.Deleted, d)
		case journal.Same, journal.Different:
			m.notes.stay++
		}
	}
	return nil
}

// namesOfBoth finds what sessions refer to in the journal or in what comes.
func namesOfBoth(held, c journal.Contents) *Names {
	return NewNames(journal.Contents{Anglers: slices.Concat(c.Anglers, held.Anglers), Waters: slices.Concat(c.Waters, held.Waters)})
}

// difference says which session one is.
func (n *Names) difference(s journal.Session) Difference {
	return Difference{Day: s.Day, Angler: n.anglers[s.AnglerID], Water: n.waters[s.WaterID]}
}
