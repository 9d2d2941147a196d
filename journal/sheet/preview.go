package sheet

import (
	"context"
	"fmt"
	"slices"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
)

// Preview is what an import would do to the journal.
type Preview struct {
	Sessions     int                   // that would be added
	Stints       int                   // of these
	AlreadyThere int                   // sessions that the journal holds as they are
	Returned     int                   // of those added: sessions that had been deleted from the journal
	Extended     int                   // sessions that would gain corrected rows
	Changed      []Changed             // told otherwise, and as they were imported: an update takes them
	Conflicts    []Changed             // told otherwise, and edited in the journal since: left as they are
	Different    []Changed             // told otherwise, and from elsewhere: another session of the day, or another sheet's; left as they are
	Beside       []exchange.Difference // of those added: beside another of the same day, angler and water
	Gone         []exchange.Difference // that came with an earlier state of the sheet and are no longer in it: left as they are
	New          []New                 // who and what would come with the sessions
	NotRecorded  []NotRecorded
	Wrong        []string // what may not be meant as it was read, in sentences
	Stops        []Stop
	BadRows      int
}

// NotRecorded is a kind of event of which no count was kept.
type NotRecorded struct {
	Kind    journal.Kind
	Stints  int
	Minutes int // that these lasted, as far as noted
}

func (n NotRecorded) String() string {
	return fmt.Sprintf("No count was kept of %s in %s (%d min).", n.Kind.Title(), exchange.Counted(n.Stints, "stint"), n.Minutes)
}

// Preview tells what an import would do. It writes nothing.
func (s *Sheet) Preview(ctx context.Context, store *pg.Store) (*Preview, error) {
	p, err := s.plan(ctx, store, How{})
	if err != nil {
		return nil, err
	}
	r := p.result
	return &Preview{Sessions: r.Added, Stints: r.Stints, AlreadyThere: r.AlreadyThere, Returned: r.Returned, Extended: r.Extended, Changed: p.changed, Conflicts: p.conflicts, Different: p.different, Beside: r.Beside, Gone: r.Gone,
		New: p.names(), NotRecorded: p.notRecorded(), Wrong: slices.Concat(s.Warnings, s.sayAccepted()), Stops: s.Stops, BadRows: s.BadRows()}, nil
}

// Asked are the names of which somebody has to say what they mean before anything is written.
func (p *Preview) Asked() []New { return asked(p.New) }

// Ready reports whether nothing has to be decided or corrected before an import.
func (p *Preview) Ready() bool { return len(p.Stops) == 0 && len(p.Asked()) == 0 && p.BadRows == 0 }

func asked(list []New) []New {
	return slices.DeleteFunc(slices.Clone(list), func(n New) bool { return !n.Asked })
}

// notRecorded sums up of what no count was kept in the sheet's sessions.
func (p *plan) notRecorded() []NotRecorded {
	var list []NotRecorded
	for _, kind := range journal.Kinds() {
		n := NotRecorded{Kind: kind}
		for i := range p.sessions {
			for at := range p.sessions[i].Stints {
				st := &p.sessions[i].Stints[at]
				if st.Recorded.Has(kind) {
					continue
				}
				n.Stints++
				if st.Minutes != nil {
					n.Minutes += int(*st.Minutes)
				}
			}
		}
		if n.Stints > 0 {
			list = append(list, n)
		}
	}
	return list
}
