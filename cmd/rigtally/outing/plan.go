package outing

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// plan is a session ready to be stored, with all that it needs and the journal
// does not hold yet. Until it is stored, what is new has ids that serve to show it.
type plan struct {
	session journal.Session
	draft   journal.Draft              // names of what is new
	rigs    map[journal.ID]journal.Rig // new ones
	added   []string                   // what the journal learns beside the session
	known   Known                      // of the journal as it will be
	sys     units.System
	names   names
}

// planner puts the journal's own rows in place of a draft's known. The journal
// is as it was when the planner was made; storing looks again.
type planner struct {
	known Known
	zone  string // of waters added
	sys   units.System
	now   time.Time
	names names
}

// today is the day at a water, which may be another than where the program runs.
func (pl planner) today(water string) (journal.Date, error) {
	zone := pl.zone
	if names := pl.known.waterNames(); water == "" && len(names) == 1 {
		water = names[0]
	}
	if w, known := pl.known.water(water); known {
		zone = w.TimeZone
	}
	loc, err := time.LoadLocation(zone)
	if err != nil {
		return journal.Date{}, fmt.Errorf("find the water's time zone: %w", err)
	}
	return journal.DateOf(pl.now.In(loc)), nil
}

// make turns a draft into a plan whose every part is valid. It writes nothing.
func (pl planner) make(d draft) (plan, error) {
	p := plan{session: d.session, known: pl.known.clone(), sys: pl.sys, names: pl.names}
	p.rigs = map[journal.ID]journal.Rig{}
	s := &p.session
	s.LoggedAt = pl.now.UTC().Truncate(time.Microsecond)
	s.ID = journal.NewID()
	if err := p.people(d); err != nil {
		return plan{}, err
	}
	if err := p.place(d, pl.zone); err != nil {
		return plan{}, err
	}
	for i, sd := range d.stints {
		st, err := p.stint(sd, pl.now)
		if err != nil {
			if len(d.stints) > 1 {
				err = fmt.Errorf("stint %d: %w", i+1, err)
			}
			return plan{}, err
		}
		s.Stints = append(s.Stints, st)
	}
	return p, s.Validate(p.known.Rigs)
}

func (p *plan) people(d draft) (err error) {
	if p.session.AnglerID, p.draft.Angler, err = p.angler(d.angler, journal.Client); err != nil || d.guide == "" {
		return err
	}
	id, name, err := p.angler(d.guide, journal.Guiding)
	p.session.GuideID, p.draft.Guide = &id, name
	return err
}

// angler finds someone by name or plans to add them, and returns the name then.
// Without a name it is the only one that the journal knows.
func (p *plan) angler(name string, kind journal.AnglerKind) (id journal.ID, fresh string, err error) {
	if known := p.known.anglerNames(); name == "" {
		if len(known) != 1 {
			return id, "", terminal.Misusef("--angler is missing; say who fished%s", amongKnown(known))
		}
		name = known[0]
	}
	name = p.names.now(name)
	if a, ok := p.known.angler(name); ok {
		return a.ID, "", nil
	}
	if err := p.names.check("angler", name, p.known.anglerNames()); err != nil {
		return id, "", err
	}
	id = journal.NewID()
	a := journal.Angler{ID: id, Name: name, Kind: kind, Active: true}
	p.known.Anglers[id] = a
	p.added = append(p.added, "new angler "+name)
	return id, name, a.Validate()
}

func amongKnown(known []string) string {
	if len(known) == 0 {
		return ""
	}
	return "; the journal knows " + strings.Join(known, ", ")
}

// place finds the water and beat or plans to add them, and reads the clock
// times in the water's zone.
func (p *plan) place(d draft, zone string) error {
	if known := p.known.waterNames(); d.water == "" {
		if len(known) != 1 {
			return terminal.Misusef("--water is missing; say where it was%s", amongKnown(known))
		}
		d.water = known[0]
	}
	d.water = p.names.now(d.water)
	w, known := p.known.water(d.water)
	if !known {
		if err := p.names.check("water", d.water, p.known.waterNames()); err != nil {
			return err
		}
		w = journal.Water{ID: journal.NewID(), Name: d.water, Kind: journal.WaterOther, TimeZone: zone}
		p.draft.Water, p.added = d.water, append(p.added, "new water "+d.water)
	}
	if err := p.beat(d.beat, &w); err != nil {
		return err
	}
	p.known.Waters[w.ID] = w
	p.session.WaterID, p.session.TimeZone = w.ID, w.TimeZone
	if err := w.Validate(); err != nil {
		return err
	}
	return p.times(d)
}

func (p *plan) beat(name string, w *journal.Water) error {
	if name == "" {
		return nil
	}
	name = p.names.now(name)
	i := slices.IndexFunc(w.Beats, func(b journal.Beat) bool { return strings.EqualFold(b.Name, name) })
	if id, was := p.known.formerly(journal.ThingBeat, name, w.ID); i < 0 && was {
		i = slices.IndexFunc(w.Beats, func(b journal.Beat) bool { return b.ID == id })
	}
	if i < 0 {
		if err := p.names.check("beat", name, command.Keys(w.Beats, func(b journal.Beat) string { return b.Name })); err != nil {
			return err
		}
		i, w.Beats = len(w.Beats), append(slices.Clone(w.Beats), journal.Beat{ID: journal.NewID(), Name: name})
		p.draft.Beat, p.added = name, append(p.added, fmt.Sprintf("new beat %s of %s", name, w.Name))
	}
	p.session.BeatID = &w.Beats[i].ID
	return nil
}

func (p *plan) times(d draft) error {
	s := &p.session
	loc, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		return fmt.Errorf("find the water's time zone: %w", err)
	}
	if s.Start, err = parseClock(d.start, s.Day, loc); err != nil {
		return terminal.Misusef("--start %w", err)
	}
	if s.End, err = parseClock(d.end, s.Day, loc); err != nil {
		return terminal.Misusef("--end %w", err)
	}
	return nil
}

// stint finds or plans the rig and turns counts into events.
func (p *plan) stint(d stintDraft, now time.Time) (journal.Stint, error) {
	st := d.stint
	st.ID = journal.NewID()
	rig, start, err := p.rig(d, now)
	if err != nil {
		return st, err
	}
	st.RigID = rig.ID
	if start != nil || d.tag.TagEndMM != nil {
		st.Positions = []journal.StintPosition{{Position: d.fly.Position, TagStartMM: start, TagEndMM: d.tag.TagEndMM}}
	}
	// Counts belong to the fly that was named, or to a rig's only one.
	var position *int
	if d.placed {
		position = &d.fly.Position
	} else if len(rig.Positions) == 1 {
		position = &rig.Positions[0].Position
	}
	c := d.counts
	if c.MinutesLost != nil && *c.MinutesLost > 0 && !c.TangledOrTied() {
		return st, fmt.Errorf("%d minutes were lost, but no tangle or re-tie is counted; add it", *c.MinutesLost)
	}
	st.Recorded = c.Recorded()
	st.Events, err = c.Events(position)
	return st, err
}

// store logs the session with all that it needs: all of it, or nothing.
func (p plan) store(ctx context.Context, store *pg.Store, confirmed bool) (journal.Session, error) {
	d := p.draft
	d.Session, d.Confirmed = p.session, confirmed
	d.Session.Stints = slices.Clone(d.Session.Stints)
	d.Rigs = map[int]journal.Rig{}
	for i := range d.Session.Stints {
		st := &d.Session.Stints[i]
		if rig, fresh := p.rigs[st.RigID]; fresh {
			d.Rigs[i], st.RigID = rig, journal.ID{}
		}
	}
	return store.LogSession(ctx, d)
}
