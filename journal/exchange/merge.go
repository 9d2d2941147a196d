package exchange

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// MergeOptions say how a journal's contents are brought into another.
type MergeOptions struct {
	From string // where they come from, as a person knows it, such as the name of a file; "" for "a backup"
	// Take has sessions, claims, bench pulls and rule sets that the journal tells otherwise replaced by what comes, as
	// their next versions. Without it the journal's stay. People, waters, beats, rigs and trials are always the journal's.
	Take bool
}

// Merge is what bringing contents into a journal does, planned and not yet done.
type Merge struct {
	how      MergeOptions
	given    journal.Contents // as they came
	contents journal.Contents // under the ids and names of the journal
	revision int64            // of the journal that it was planned for
	of       map[journal.ID]journal.ID
	addition journal.Addition
	result   Result
	notes    notes
}

// PlanMerge finds out what bringing contents, those of a backup or of another journal, into the journal would do. It only
// reads. Things are known by their ids, then by their names; what is new is added, and nothing that the journal
// holds is lost.
func PlanMerge(ctx context.Context, store *pg.Store, contents journal.Contents, how MergeOptions) (*Merge, error) {
	m := &Merge{how: how, given: contents, of: map[journal.ID]journal.ID{}, addition: journal.Addition{Beats: map[journal.ID][]journal.Beat{}}}
	var err error
	if m.revision, err = store.Revision(ctx); err != nil {
		return nil, err
	}
	held, err := store.Directory(ctx)
	if err != nil {
		return nil, err
	}
	m.present(held)
	m.settings(held)
	m.people(held)
	m.rigs(held)
	m.contents = refer(m.contents, m.of)
	m.trials(held)
	m.shelves(held)
	m.aliases(held)
	m.usual(held)
	if err := m.sessions(ctx, store, held); err != nil {
		return nil, err
	}
	m.addition.Taken = contents.Taken
	m.result.Sort()
	return m, nil
}

// Write does what was planned, all of it or nothing, as a step that can be taken back for journal.UndoDays. If the
// journal was written meanwhile and the plan would be another one by now, it is an ErrConflict. Progress, which may be
// nil, is told of sessions.
func (m *Merge) Write(ctx context.Context, store *pg.Store, progress func(done, total int64)) (Result, error) {
	const tries = 5
	for try := 1; ; try++ {
		if !m.writes() {
			return m.result, nil
		}
		a := m.addition
		a.AsOf, a.Step, a.Told = m.revision, journal.NewID(), m.told()
		err := store.Add(ctx, a, progress)
		if err == nil {
			m.result.Step = a.Step
			return m.result, nil
		}
		if !errors.Is(err, journal.ErrConflict) {
			return Result{}, fmt.Errorf("nothing was written: %w", err)
		}
		again, planErr := PlanMerge(ctx, store, m.given, m.how)
		if planErr != nil {
			return Result{}, planErr
		}
		if try == tries || !slices.Equal(again.Preview().Lines(0), m.Preview().Lines(0)) {
			return Result{}, fmt.Errorf("nothing was written: %w; look at what it would do now, and bring it in again", err)
		}
		m = again
	}
}

// told says what a merge did, for whoever may take it back.
func (m *Merge) told() string {
	text := fmt.Sprintf("Brought in %s: %s", cmp.Or(m.how.From, "a backup"), Counted(m.result.Added, "session"))
	if m.result.Updated > 0 {
		text += fmt.Sprintf(", %d updated", m.result.Updated)
	}
	return text
}

// writes reports whether anything would be written.
func (m *Merge) writes() bool {
	a := m.addition
	return a.Outfit != nil || a.Usual != nil || len(a.Beats) > 0 ||
		len(a.Anglers)+len(a.Waters)+len(a.Rigs)+len(a.Claims)+len(a.Pulls)+len(a.Trials)+len(a.RuleSets)+len(a.Sessions)+len(a.Deleted)+len(a.Aliases) > 0
}

// settings takes the outfit's name, units and time zone into a journal that has nothing yet, and the later of two usual rigs.
func (m *Merge) settings(held journal.Contents) {
	c := m.contents
	if len(held.Anglers)+len(held.Waters)+len(held.Rigs) == 0 && c.Outfit.Name != "" && c.Outfit != held.Outfit {
		m.addition.Outfit = &c.Outfit
	}
}

// usual takes the later of two usual rigs.
func (m *Merge) usual(held journal.Contents) {
	if u := m.contents.Usual; u != nil && (held.Usual == nil || held.Usual.Since.Before(u.Since)) {
		m.addition.Usual = u
	}
}
