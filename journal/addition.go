package journal

import (
	"cmp"
	"errors"
	"fmt"
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
	Replaced map[ID]int // version held by the journal of those Sessions that take the place of one
	Deleted  []DeletedSession
	Aliases  []Alias // new
	// Told is what the step is called by which the addition can be taken back ("Imported season.csv: 40 sessions");
	// "" makes no step. Step is its id, which the caller may choose and is drawn otherwise.
	Told string
	Step ID
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
	to := func(id *ID) {
		if other, ok := held[*id]; ok {
			*id = other
		}
	}
	maybe := func(id **ID) {
		if *id != nil {
			*id = new(**id)
			to(*id)
		}
	}
	session := func(s *Session) {
		to(&s.AnglerID)
		to(&s.WaterID)
		maybe(&s.GuideID)
		maybe(&s.BeatID)
	}
	a.Pulls, a.Sessions, a.Deleted = slices.Clone(a.Pulls), slices.Clone(a.Sessions), slices.Clone(a.Deleted)
	for i := range a.Pulls {
		maybe(&a.Pulls[i].AnglerID)
	}
	for i := range a.Sessions {
		session(&a.Sessions[i])
	}
	for i := range a.Deleted {
		session(&a.Deleted[i].Session)
	}
	return a
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
