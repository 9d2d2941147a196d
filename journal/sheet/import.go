package sheet

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
)

// Refused is the error of a sheet with bad rows that was to be imported whole.
type Refused struct {
	Name    string
	Rows    int
	BadRows int
	Bad     []BadCell
	Remedy  string // "": rows can be kept apart
}

func (e *Refused) Error() string {
	const most = 200
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %d of %d rows can't be taken, so nothing was written:", e.Name, e.BadRows, e.Rows)
	for i, bad := range e.Bad {
		if i == most {
			fmt.Fprintf(&b, "\n  … and %d more", len(e.Bad)-most)
			break
		}
		b.WriteString("\n  " + bad.String())
	}
	b.WriteString("\n" + cmp.Or(e.Remedy, "Correct them and import again, or import the other rows and keep these in a file of their own with --rejects FILE."))
	return b.String()
}

// How says what an import does beyond adding what is new.
type How struct {
	AllowBad bool // leave bad rows out
	Update   bool // take what the sheet tells otherwise of sessions that nobody has edited since they were imported
}

// Import writes the sheet into the journal in one transaction. While somebody has to
// decide about a column or a name it writes nothing and returns a *Stopped. With bad
// rows it writes nothing and returns a *Refused, unless they are left out.
//
// A session that the journal holds already is left as it is, unless it is updated. Only
// the rows of a corrected rejects file, known by its column problem, are added to theirs.
func (s *Sheet) Import(ctx context.Context, store *pg.Store, how How) (exchange.Result, error) {
	if len(s.Stops) > 0 {
		return exchange.Result{}, s.stopped(ctx, store, how)
	}
	if n := s.BadRows(); n > 0 && !how.AllowBad {
		return exchange.Result{}, &Refused{Name: s.Name, Rows: s.Rows, BadRows: n, Bad: s.Bad}
	}
	p, err := s.plan(ctx, store, how)
	if err != nil {
		return exchange.Result{}, err
	}
	if asked := asked(p.names()); len(asked) > 0 {
		return exchange.Result{}, &Stopped{Name: s.Name, Names: asked}
	}
	a := p.addition()
	if len(a.Sessions) > 0 {
		a.Step, a.Told = journal.NewID(), p.told()
		p.result.Step = a.Step
	}
	if err := store.Add(ctx, a, s.options.Progress); err != nil {
		return exchange.Result{}, fmt.Errorf("%s: nothing was written: %w", s.Name, err)
	}
	p.result.Rows, p.result.Rejected, p.result.Accepted = s.Rows-s.BadRows(), s.BadRows(), len(s.Accepted)
	return p.result, nil
}

// stopped tells all that somebody must decide about: columns, and the names as far as the
// other columns tell them.
func (s *Sheet) stopped(ctx context.Context, store *pg.Store, how How) error {
	e := &Stopped{Name: s.Name, Stops: s.Stops}
	if s.lacking {
		return e
	}
	p, err := s.plan(ctx, store, how)
	if err != nil {
		return err
	}
	e.Names = asked(p.names())
	return e
}

// plan is what an import is going to write.
type plan struct {
	sheet    *Sheet
	how      How
	known    knownNames
	people   *people
	rigs     *rigBook
	outings  []*outing         // as the sessions
	sessions []journal.Session // without their events: all of them at once take much memory
	adding   []int             // places of sessions that are written
	add      []journal.Session
	replaced map[journal.ID]int
	eventful map[journal.ID]*stintRows // by stint of a session that is added: what gives its events

	changed, conflicts, different []Changed
	result                        exchange.Result
}

// plan makes the journal's sessions of the sheet's, and looks which of them it holds. It
// only reads.
func (s *Sheet) plan(ctx context.Context, store *pg.Store, how How) (*plan, error) {
	known, err := store.Directory(ctx)
	if err != nil {
		return nil, err
	}
	p := &plan{sheet: s, how: how, known: namesOf(known), people: newPeople(known, s.options.TimeZone),
		rigs: newRigBook(known, cmp.Or(s.options.Units, s.Units()), s.options.now()), outings: s.outings, replaced: map[journal.ID]int{}, eventful: map[journal.ID]*stintRows{}}
	rigs := p.rigs.assign(s.outings)
	logged := s.options.now().UTC().Truncate(time.Microsecond)
	for _, o := range s.outings {
		session, err := p.people.place(o)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", o.head.at(), err)
		}
		session.LoggedAt, session.Version = logged, 1
		for i, st := range o.stints {
			rig := rigs[st]
			session.Stints[i].RigID, session.Stints[i].Events = rig.ID, nil
			noteFlies(&session.Stints[i], *st.rig, *rig)
		}
		p.sessions = append(p.sessions, session)
	}
	return p, p.compare(ctx, store)
}

// whole is a session with its events.
func (p *plan) whole(i int) journal.Session {
	s := p.sessions[i]
	s.Stints = slices.Clone(s.Stints)
	for at, st := range p.outings[i].stints {
		s.Stints[at].Events = st.events()
	}
	return s
}

// told says what an import did, for whoever may take it back.
func (p *plan) told() string {
	text := fmt.Sprintf("Imported %s: %s", filepath.Base(p.sheet.Name), exchange.Counted(p.result.Added, "session"))
	if n := p.result.Updated + p.result.Extended; n > 0 {
		text += fmt.Sprintf(", %d updated", n)
	}
	return text
}

// noteFlies notes the flies of a stint that differ from the rig's.
func noteFlies(st *journal.Stint, tied, rig journal.Rig) {
	for _, fished := range tied.Positions {
		on, ok := rig.At(fished.Position)
		if !ok || fished.Fly == "" || fished.Fly == on.Fly {
			continue
		}
		noted := false
		for i := range st.Positions {
			if st.Positions[i].Position == fished.Position {
				st.Positions[i].Fly, noted = fished.Fly, true
			}
		}
		if !noted {
			st.Positions = append(st.Positions, journal.StintPosition{Position: fished.Position, Fly: fished.Fly})
		}
	}
}

// contents are everybody and everything that the plan refers to, in the journal or new.
func (p *plan) contents() journal.Contents {
	var c journal.Contents
	for _, a := range p.people.anglers {
		c.Anglers = append(c.Anglers, *a)
	}
	for _, book := range p.people.waters {
		w := book.water
		w.Beats = slices.Concat(w.Beats, book.newBeat)
		c.Waters = append(c.Waters, w)
	}
	for _, same := range p.rigs.byTying {
		for _, rig := range same {
			c.Rigs = append(c.Rigs, *rig)
		}
	}
	return c
}

// addition gathers what is to be written, without what only sessions left as
// they are would need.
func (p *plan) addition() journal.Addition {
	a := journal.Addition{Sessions: p.add, Replaced: p.replaced, Beats: map[journal.ID][]journal.Beat{}}
	a.Events = func(stint journal.ID) []journal.Event {
		if st := p.eventful[stint]; st != nil {
			return st.events()
		}
		return nil
	}
	used := map[journal.ID]bool{}
	for _, s := range p.add {
		used[s.AnglerID], used[s.WaterID] = true, true
		for _, id := range []*journal.ID{s.GuideID, s.BeatID} {
			if id != nil {
				used[*id] = true
			}
		}
		for _, st := range s.Stints {
			used[st.RigID] = true
		}
	}
	for _, angler := range p.people.fresh {
		if used[angler.ID] {
			a.Anglers = append(a.Anglers, *angler)
			p.result.NewAnglers = append(p.result.NewAnglers, angler.Name)
		}
	}
	for _, book := range p.people.waters {
		p.addWater(&a, book, used)
	}
	for _, rig := range p.rigs.fresh {
		if used[rig.ID] {
			a.Rigs = append(a.Rigs, *rig)
			p.result.NewRigs = append(p.result.NewRigs, rig.Title())
		}
	}
	p.result.Sort()
	return a
}

func (p *plan) addWater(a *journal.Addition, book *waterBook, used map[journal.ID]bool) {
	var beats []journal.Beat
	for _, b := range book.newBeat {
		if used[b.ID] {
			beats = append(beats, b)
			p.result.NewBeats = append(p.result.NewBeats, b.Name+" on "+book.water.Name)
		}
	}
	switch {
	case book.isNew && used[book.water.ID]:
		w := book.water
		w.Beats = beats
		a.Waters = append(a.Waters, w)
		p.result.NewWaters = append(p.result.NewWaters, w.Name)
	case len(beats) > 0:
		a.Beats[book.water.ID] = beats
	}
}
