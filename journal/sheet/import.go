package sheet

import (
	"cmp"
	"context"
	"fmt"
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

// Import writes the sheet into the journal in one transaction. With bad rows it
// writes nothing and returns a *Refused, unless allowBad leaves them out.
//
// A session that the journal holds already is left as it is. Only the rows of a
// corrected rejects file, known by its column problem, are added to their session.
func (s *Sheet) Import(ctx context.Context, store *pg.Store, allowBad bool) (exchange.Result, error) {
	if n := s.BadRows(); n > 0 && !allowBad {
		return exchange.Result{}, &Refused{Name: s.Name, Rows: s.Rows, BadRows: n, Bad: s.Bad}
	}
	known, err := store.Directory(ctx)
	if err != nil {
		return exchange.Result{}, err
	}
	p, err := s.plan(known)
	if err != nil {
		return exchange.Result{}, err
	}
	if err := p.compare(ctx, store); err != nil {
		return exchange.Result{}, err
	}
	a := p.addition()
	if err := store.Add(ctx, a, s.options.Progress); err != nil {
		return exchange.Result{}, fmt.Errorf("%s: nothing was written: %w", s.Name, err)
	}
	p.result.Rows, p.result.Rejected, p.result.Accepted = s.Rows-s.BadRows(), s.BadRows(), len(s.Accepted)
	return p.result, nil
}

// plan is what an import is going to write.
type plan struct {
	sheet    *Sheet
	people   *people
	rigs     *rigBook
	outings  []*outing // as the sessions
	sessions []journal.Session
	add      []journal.Session
	replaced map[journal.ID]int
	result   exchange.Result
}

// plan makes the journal's sessions of the sheet's.
func (s *Sheet) plan(known journal.Contents) (*plan, error) {
	p := &plan{sheet: s, people: newPeople(known, s.options.TimeZone), rigs: newRigBook(known.Rigs, cmp.Or(s.options.Units, s.Units()), s.options.now()),
		outings: s.outings, replaced: map[journal.ID]int{}}
	rigs := p.rigs.assign(s.outings)
	logged := s.options.now().UTC().Truncate(time.Microsecond)
	for _, o := range s.outings {
		session, err := p.people.place(o)
		if err != nil {
			return nil, fmt.Errorf("row %d: %w", o.head.number, err)
		}
		session.LoggedAt, session.Version = logged, 1
		for i, st := range o.stints {
			rig := rigs[st]
			session.Stints[i].RigID = rig.ID
			noteFlies(&session.Stints[i], st.rig, *rig)
		}
		p.sessions = append(p.sessions, session)
	}
	return p, nil
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

// compare looks for the sessions in the journal and decides about each.
func (p *plan) compare(ctx context.Context, store *pg.Store) error {
	standings, err := store.Standings(ctx, p.sessions)
	if err != nil {
		return err
	}
	var doubtful []journal.ID
	for i, standing := range standings {
		if standing == journal.Different {
			doubtful = append(doubtful, p.sessions[i].ID)
		}
	}
	held, err := p.heldSessions(ctx, store, doubtful)
	if err != nil {
		return err
	}
	v := p.sheet.viewer(exchange.NewNames(p.contents()))
	for i, session := range p.sessions {
		switch standings[i] {
		case journal.Same:
			p.result.AlreadyThere++
		case journal.Different:
			p.meet(i, held[session.ID], v)
		case journal.Waiting:
			p.result.Returned++
			p.addNew(session)
		default:
			p.addNew(session)
		}
	}
	return nil
}

func (p *plan) addNew(session journal.Session) {
	p.add = append(p.add, session)
	p.result.Added++
	p.result.Stints += len(session.Stints)
}

func (p *plan) heldSessions(ctx context.Context, store *pg.Store, ids []journal.ID) (map[journal.ID]journal.Session, error) {
	list, err := store.SessionsByID(ctx, ids)
	held := make(map[journal.ID]journal.Session, len(list))
	for _, s := range list {
		held[s.ID] = s
	}
	return held, err
}

// meet decides about a session of which the journal holds another form: it may
// say the same all the same, as far as the file tells.
func (p *plan) meet(i int, held journal.Session, v *viewer) {
	s := p.sessions[i]
	if p.sheet.origin == foreign && assumed(held) {
		s.Stints = slices.Clone(s.Stints) // compared as it would have been taken then
		for at := range s.Stints {
			s.Stints[at].Recorded = 0
		}
	}
	ours, theirs := v.view(s), v.view(held)
	if ours.head == theirs.head {
		missing := ours.without(theirs)
		if len(missing) == 0 {
			p.result.AlreadyThere++
			return
		}
		if p.sheet.has("problem") {
			grown := held
			grown.Version++
			for _, at := range missing {
				st := p.sessions[i].Stints[at]
				st.ID = deriveID(s.Day, "further stint", s.ID.String(), ours.stints[at], fmt.Sprint(len(grown.Stints)))
				grown.Stints = append(grown.Stints[:len(grown.Stints):len(grown.Stints)], st)
			}
			p.replaced[s.ID] = held.Version
			p.add = append(p.add, grown)
			p.result.Extended++
			p.result.Stints += len(missing)
			return
		}
	}
	o := p.outings[i]
	p.result.Differ = append(p.result.Differ, exchange.Difference{Day: s.Day, Angler: o.head.Angler, Water: o.head.Water, Row: o.head.number})
}

// assumed reports whether a session is from before it was said of what count was kept.
func assumed(s journal.Session) bool {
	return !slices.ContainsFunc(s.Stints, func(st journal.Stint) bool { return !st.Recorded.Assumed() })
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

// view is what a spreadsheet tells of a session, for comparing.
type view struct {
	head   string
	stints []string
}

// viewer shows sessions as far as the columns of a sheet tell of them.
type viewer struct {
	names          *exchange.Names
	outing, stints []*exchange.Column
}

func (s *Sheet) viewer(n *exchange.Names) *viewer {
	v := &viewer{names: n}
	for _, c := range exchange.FlatColumns() {
		switch {
		// Labels and numbers of the file need not be the journal's.
		case c.Key == "session" || c.Key == "stint" || c.Key == "rig":
		case c.Key != "position" && !s.has(c.Key):
		case c.About == exchange.OfOuting:
			v.outing = append(v.outing, c)
		default:
			v.stints = append(v.stints, c)
		}
	}
	return v
}

func (v *viewer) view(session journal.Session) view {
	rows := v.names.Flatten(session)
	out := view{stints: make([]string, len(session.Stints))}
	for i, r := range rows {
		if i == 0 {
			out.head = joined(v.outing, r)
		}
		out.stints[*r.Stint-1] += joined(v.stints, r) + "\n"
	}
	return out
}

func joined(columns []*exchange.Column, r *exchange.Row) string {
	var b strings.Builder
	for _, c := range columns {
		b.WriteString(c.Cell(r))
		b.WriteByte(0)
	}
	return b.String()
}

// without returns the places of the stints that other does not have.
func (v view) without(other view) []int {
	count := map[string]int{}
	for _, st := range other.stints {
		count[st]++
	}
	var missing []int
	for i, st := range v.stints {
		if count[st] == 0 {
			missing = append(missing, i)
			continue
		}
		count[st]--
	}
	return missing
}
