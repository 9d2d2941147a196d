package journal

import (
	"cmp"
	"errors"
	"fmt"
	"iter"
	"maps"
	"slices"
)

// Addition is what an import brings to the journal: all of it is added, or nothing.
type Addition struct {
	Outfit   *Outfit   // takes the place of the journal's own, if set
	Usual    *UsualRig // takes the place of an earlier one
	Anglers  []Angler
	Waters   []Water
	Beats    map[ID][]Beat // further beats of waters that the journal holds already, by water
	Rigs     []Rig
	Claims   []Claim // new, or in the place of the one of the same id
	Pulls    []BenchPull
	Trials   []Trial   // new, as they are
	RuleSets []RuleSet // as Claims
	Sessions []Session
	// Events, which may be nil, gives those of stints that come without: all of them at once take much memory.
	Events   func(stint ID) []Event
	Taken    []Taken    // of Sessions, as far as gauges say nothing of them here
	Replaced map[ID]int // version held by the journal of those Sessions that take the place of one
	Deleted  []DeletedSession
	Aliases  []Alias // new
	// Told is what the step is called by which the addition can be taken back ("Imported season.csv: 40 sessions");
	// "" makes no step. Step is its id, which the caller may choose and is drawn otherwise.
	Told string
	Step ID
	AsOf int64 // the revision of the journal that it was made for, of which another is an ErrConflict; 0 is any
}

// Prepare checks everything but the sessions, which are checked as they are copied.
func (a *Addition) Prepare() error {
	for _, angler := range a.Anglers {
		if err := angler.Validate(); err != nil {
			return err
		}
	}
	for _, w := range a.Waters {
		if err := w.Validate(); err != nil {
			return err
		}
	}
	var err [5]error
	a.Rigs, err[0] = prepared(a.Rigs)
	a.Claims, err[1] = prepared(a.Claims)
	a.Pulls, err[2] = prepared(a.Pulls)
	a.Trials, err[3] = prepared(a.Trials)
	a.RuleSets, err[4] = prepared(a.RuleSets)
	if err := cmp.Or(err[:]...); err != nil {
		return err
	}
	for _, t := range a.Trials {
		if err := t.CheckSeal(); err != nil {
			return fmt.Errorf("trial %s: %w", t.Name, err)
		}
	}
	if a.Outfit != nil {
		return a.Outfit.Validate()
	}
	return nil
}

// prepared is a list of things in the form in which they are stored, or what is wrong with one of them.
func prepared[T any, P interface {
	*T
	Normalize()
	Validate() error
}](list []T) ([]T, error) {
	list = slices.Clone(list)
	for i := range list {
		P(&list[i]).Normalize()
		if err := P(&list[i]).Validate(); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// Refer returns the addition with the ids that the journal holds in the place of
// those that it came with. Its sessions and pulls are copies.
func (a Addition) Refer(held map[ID]ID) Addition {
	if len(held) == 0 {
		return a
	}
	a.Pulls, a.Sessions, a.Deleted = slices.Clone(a.Pulls), slices.Clone(a.Sessions), slices.Clone(a.Deleted)
	for i := range a.Pulls {
		a.Pulls[i].AnglerID = referMaybe(a.Pulls[i].AnglerID, held)
	}
	for i := range a.Sessions {
		a.Sessions[i] = a.Sessions[i].Refer(held)
	}
	for i := range a.Deleted {
		a.Deleted[i].Session = a.Deleted[i].Session.Refer(held)
	}
	return a
}

// Eventful returns a session with the events that its stints came without.
func (a Addition) Eventful(s Session) Session {
	if a.Events == nil {
		return s
	}
	s.Stints = slices.Clone(s.Stints)
	for i, st := range s.Stints {
		if st.Events == nil {
			s.Stints[i].Events = a.Events(st.ID)
		}
	}
	return s
}

// AllNames are the ids of people, waters, beats and rigs that it brings or names.
func (a Addition) AllNames() []ID {
	named := map[ID]bool{}
	for _, angler := range a.Anglers {
		named[angler.ID] = true
	}
	for water, beats := range a.AllBeats() {
		named[water] = true
		for _, b := range beats {
			named[b.ID] = true
		}
	}
	for _, w := range a.Waters {
		named[w.ID] = true
	}
	for _, rig := range a.Rigs {
		named[rig.ID] = true
	}
	for _, p := range a.Pulls {
		if p.AnglerID != nil {
			named[*p.AnglerID] = true
		}
	}
	for _, s := range a.Sessions {
		for id := range s.Names() {
			named[id] = true
		}
	}
	return slices.Collect(maps.Keys(named))
}

// Refer returns the session with other ids in the place of those that it names: of people, water, beat and rigs.
func (s Session) Refer(held map[ID]ID) Session {
	if !slices.ContainsFunc(slices.Collect(s.Names()), func(id ID) bool { _, ok := held[id]; return ok }) {
		return s
	}
	s.AnglerID, s.WaterID = refer(s.AnglerID, held), refer(s.WaterID, held)
	s.GuideID, s.BeatID = referMaybe(s.GuideID, held), referMaybe(s.BeatID, held)
	s.Stints = slices.Clone(s.Stints)
	for i := range s.Stints {
		s.Stints[i].RigID = refer(s.Stints[i].RigID, held)
	}
	return s
}

// Unmerge returns the session with what it named before a merge in the place of what that was merged into: as far as it
// still names that. It is not so where its water was, but with another beat since.
func (s Session) Unmerge(before Session, into map[ID]ID) (Session, bool) {
	back := func(now, was ID) ID {
		if other, merged := into[was]; merged && other == now {
			return was
		}
		return now
	}
	maybe := func(now, was *ID) *ID {
		if now == nil || was == nil {
			return now
		}
		return new(back(*now, *was))
	}
	out := s
	out.AnglerID, out.WaterID = back(s.AnglerID, before.AnglerID), back(s.WaterID, before.WaterID)
	out.GuideID, out.BeatID = maybe(s.GuideID, before.GuideID), maybe(s.BeatID, before.BeatID)
	if out.WaterID != s.WaterID && s.BeatID != nil && *out.BeatID == *s.BeatID {
		return s, false
	}
	rigs := map[ID]ID{}
	for _, st := range before.Stints {
		rigs[st.ID] = st.RigID
	}
	out.Stints = slices.Clone(s.Stints)
	for i, st := range out.Stints {
		out.Stints[i].RigID = back(st.RigID, rigs[st.ID])
	}
	return out, true
}

// Names are the ids of people, water, beat and rigs that a session names.
func (s Session) Names() iter.Seq[ID] {
	return func(yield func(ID) bool) {
		for _, id := range append(s.RigIDs(), s.AnglerID, s.WaterID) {
			if !yield(id) {
				return
			}
		}
		for _, id := range []*ID{s.GuideID, s.BeatID} {
			if id != nil && !yield(*id) {
				return
			}
		}
	}
}

func refer(id ID, held map[ID]ID) ID {
	if other, ok := held[id]; ok {
		return other
	}
	return id
}

func referMaybe(id *ID, held map[ID]ID) *ID {
	if id == nil {
		return nil
	}
	return new(refer(*id, held))
}

// AllBeats are those of new waters and of others, by water.
func (a Addition) AllBeats() map[ID][]Beat {
	all := maps.Clone(a.Beats)
	if all == nil {
		all = map[ID][]Beat{}
	}
	for _, w := range a.Waters {
		all[w.ID] = slices.Concat(all[w.ID], w.Beats)
	}
	return all
}

// InSession says which session an error is about and keeps it correctable.
func InSession(session Session, err error) error {
	var invalid *Invalid
	if errors.As(err, &invalid) {
		return &Invalid{Problems: []string{fmt.Sprintf("session of %s: %v", session.Day, err)}}
	}
	return fmt.Errorf("session of %s: %w", session.Day, err)
}
