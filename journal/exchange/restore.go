package exchange

import (
	"context"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// ReadBackup brings a backup into the journal, all of it or nothing. What the
// journal holds already in the same form is passed over; anything it holds in
// another form, or a name that something else has, is an error that lists them.
// An empty journal takes the backup's name, units and time zone too. Progress,
// which may be nil, is told of sessions.
func ReadBackup(ctx context.Context, store *pg.Store, r io.Reader, progress func(done, total int64)) (Result, error) {
	b, err := parseBackup(r)
	if err != nil {
		return Result{}, err
	}
	if err := b.check(); err != nil {
		return Result{}, err
	}
	m, err := b.merge(ctx, store)
	if err != nil {
		return Result{}, err
	}
	if err := store.Add(ctx, m.addition, progress); err != nil {
		return Result{}, fmt.Errorf("nothing was written: %w", err)
	}
	m.result.Sort()
	return m.result, nil
}

// check applies the rules that need nothing but the backup; the sessions' come
// when they are written.
func (b *backup) check() error {
	c := &b.contents
	at := func(id journal.ID, err error) error {
		if err == nil {
			return nil
		}
		return fmt.Errorf("line %d: %w", b.lines[id], err)
	}
	for _, a := range c.Anglers {
		if err := a.Validate(); err != nil {
			return at(a.ID, err)
		}
	}
	for _, w := range c.Waters {
		if err := w.Validate(); err != nil {
			return at(w.ID, err)
		}
	}
	for _, rig := range c.Rigs {
		if err := rig.Validate(); err != nil {
			return at(rig.ID, err)
		}
		if rig.Revision < 1 {
			return at(rig.ID, fmt.Errorf("the rig has the revision %d; they count from 1", rig.Revision))
		}
	}
	for _, claim := range c.Claims {
		if err := claim.Validate(); err != nil {
			return at(claim.ID, err)
		}
	}
	for _, pull := range c.Pulls {
		if err := pull.Validate(); err != nil {
			return at(pull.ID, err)
		}
	}
	for _, trial := range c.Trials {
		if err := errors.Join(trial.Validate(), trial.CheckSeal()); err != nil {
			return at(trial.ID, err)
		}
	}
	for _, r := range c.RuleSets {
		if err := r.Validate(); err != nil {
			return at(r.ID, err)
		}
	}
	for _, s := range c.Sessions {
		if s.Version < 1 {
			return at(s.ID, fmt.Errorf("the session has the version %d; they count from 1", s.Version))
		}
	}
	return nil
}

// merge finds out what of a backup is new to the journal.
type merge struct {
	backup    *backup
	addition  journal.Addition
	result    Result
	conflicts []string
	count     int
}

func (b *backup) merge(ctx context.Context, store *pg.Store) (*merge, error) {
	held, err := store.Directory(ctx)
	if err != nil {
		return nil, err
	}
	c := b.contents
	m := &merge{backup: b, addition: journal.Addition{Beats: map[journal.ID][]journal.Beat{}}}
	if len(held.Anglers)+len(held.Waters)+len(held.Rigs) == 0 && c.Outfit.Name != "" {
		m.addition.Outfit = &c.Outfit
	}
	m.anglers(held.Anglers)
	m.waters(held.Waters)
	m.rigs(held.Rigs)
	m.claims(held.Claims)
	m.pulls(held.Pulls)
	m.trials(held.Trials)
	m.ruleSets(held.RuleSets)
	if err := m.references(held); err != nil {
		return nil, err
	}
	if err := m.sessions(ctx, store); err != nil {
		return nil, err
	}
	if m.count > 0 {
		text := strings.Join(m.conflicts, "\n  ")
		if n := m.count - len(m.conflicts); n > 0 {
			text += fmt.Sprintf("\n  … and %d more", n)
		}
		return nil, fmt.Errorf("the journal holds other things than the backup, so nothing was written:\n  %s\nBring the backup into an empty journal (another --data-dir), or settle these first", text)
	}
	return m, nil
}

// conflict notes something that can't be brought in.
func (m *merge) conflict(id journal.ID, format string, args ...any) {
	const most = 20
	m.count++
	if len(m.conflicts) < most {
		m.conflicts = append(m.conflicts, fmt.Sprintf("line %d: ", m.backup.lines[id])+fmt.Sprintf(format, args...))
	}
}

func (m *merge) anglers(held []journal.Angler) {
	byID, byName := map[journal.ID]journal.Angler{}, map[string]bool{}
	for _, a := range held {
		byID[a.ID], byName[strings.ToLower(a.Name)] = a, true
	}
	for _, a := range m.backup.contents.Anglers {
		switch other, known := byID[a.ID]; {
		case known && other == a:
		case known:
			m.conflict(a.ID, "the angler %s differs from the journal's %s", a.Name, other.Name)
		case byName[strings.ToLower(a.Name)]:
			m.conflict(a.ID, "another angler in the journal is called %s", a.Name)
		default:
			m.addition.Anglers = append(m.addition.Anglers, a)
			m.result.NewAnglers = append(m.result.NewAnglers, a.Name)
		}
	}
}

func (m *merge) waters(held []journal.Water) {
	byID, byName := map[journal.ID]journal.Water{}, map[string]bool{}
	for _, w := range held {
		byID[w.ID], byName[strings.ToLower(w.Name)] = w, true
	}
	for _, w := range m.backup.contents.Waters {
		switch other, known := byID[w.ID]; {
		case known:
			m.knownWater(w, other)
		case byName[strings.ToLower(w.Name)]:
			m.conflict(w.ID, "another water in the journal is called %s", w.Name)
		default:
			m.addition.Waters = append(m.addition.Waters, w)
			m.result.NewWaters = append(m.result.NewWaters, w.Name)
		}
	}
}

// knownWater takes further beats of a water that the journal holds.
func (m *merge) knownWater(w, held journal.Water) {
	names := map[journal.ID]string{}
	for _, b := range held.Beats {
		names[b.ID] = b.Name
	}
	for _, b := range w.Beats {
		switch name, known := names[b.ID]; {
		case !known:
			m.addition.Beats[w.ID] = append(m.addition.Beats[w.ID], b)
			m.result.NewBeats = append(m.result.NewBeats, b.Name+" on "+w.Name)
		case name != b.Name:
			m.conflict(w.ID, "the beat %s of %s differs from the journal's %s", b.Name, w.Name, name)
		}
	}
	w.Beats, held.Beats = nil, nil
	if !reflect.DeepEqual(w, held) {
		m.conflict(w.ID, "the water %s differs from the journal's %s", w.Name, held.Name)
	}
}

func (m *merge) rigs(held []journal.Rig) {
	byID, byTitle := map[journal.ID]journal.Rig{}, map[string]bool{}
	title := func(r journal.Rig) string { return fmt.Sprintf("%s\x00%d", strings.ToLower(r.Name), r.Revision) }
	for _, r := range held {
		byID[r.ID], byTitle[title(r)] = r, true
	}
	for _, r := range m.backup.contents.Rigs {
		switch other, known := byID[r.ID]; {
		case known && other.Equal(r):
		case known:
			m.conflict(r.ID, "the rig %s differs from the journal's %s", r.Title(), other.Title())
		case byTitle[title(r)]:
			m.conflict(r.ID, "another rig in the journal is called %s", r.Title())
		default:
			m.addition.Rigs = append(m.addition.Rigs, r)
			m.result.NewRigs = append(m.result.NewRigs, r.Title())
		}
	}
}

// references checks that everything a session names is in the backup or the journal.
func (m *merge) references(held journal.Contents) error {
	there := map[journal.ID]bool{}
	for _, c := range []journal.Contents{held, m.backup.contents} {
		for _, a := range c.Anglers {
			there[a.ID] = true
		}
		for _, w := range c.Waters {
			there[w.ID] = true
			for _, b := range w.Beats {
				there[b.ID] = true
			}
		}
		for _, r := range c.Rigs {
			there[r.ID] = true
		}
	}
	for _, t := range m.backup.contents.Trials {
		for _, arm := range t.Arms {
			if arm.RigID != nil && !there[*arm.RigID] {
				return fmt.Errorf("line %d: the trial %s names a rig that the backup does not hold; the backup was altered", m.backup.lines[t.ID], t.Name)
			}
		}
	}
	for _, p := range m.backup.contents.Pulls {
		if p.AnglerID != nil && !there[*p.AnglerID] {
			return fmt.Errorf("line %d: the bench pull of %s names an angler that the backup does not hold; the backup was altered", m.backup.lines[p.ID], p.Day)
		}
	}
	for _, s := range m.backup.contents.Sessions {
		missing := ""
		switch {
		case !there[s.AnglerID]:
			missing = "an angler"
		case !there[s.WaterID]:
			missing = "a water"
		case s.GuideID != nil && !there[*s.GuideID]:
			missing = "a guide"
		case s.BeatID != nil && !there[*s.BeatID]:
			missing = "a beat"
		}
		for _, st := range s.Stints {
			if !there[st.RigID] {
				missing = "a rig"
			}
		}
		if missing != "" {
			return fmt.Errorf("line %d: the session of %s names %s that the backup does not hold; the backup was altered", m.backup.lines[s.ID], s.Day, missing)
		}
	}
	return nil
}

func (m *merge) sessions(ctx context.Context, store *pg.Store) error {
	sessions := m.backup.contents.Sessions
	standings, err := store.Standings(ctx, sessions)
	if err != nil {
		return err
	}
	for i, s := range sessions {
		switch standings[i] {
		case journal.Same:
			m.result.AlreadyThere++
			continue
		case journal.Different:
			m.conflict(s.ID, "the session of %s differs from the journal's", s.Day)
			continue
		case journal.Waiting:
			m.result.Returned++
		}
		m.addition.Sessions = append(m.addition.Sessions, s)
		m.result.Added++
		m.result.Stints += len(s.Stints)
	}
	deleted := make([]journal.Session, len(m.backup.contents.Deleted))
	for i, d := range m.backup.contents.Deleted {
		deleted[i] = d.Session
	}
	if standings, err = store.Standings(ctx, deleted); err != nil {
		return err
	}
	for i, d := range m.backup.contents.Deleted {
		if standings[i] == journal.New { // else it is in the journal, which knows better
			m.addition.Deleted = append(m.addition.Deleted, d)
		}
	}
	return nil
}

// claims takes a backup's claims. Every journal starts with the same board, so
// where one side has left a claim as it was, the other side's change holds.
func (m *merge) claims(held []journal.Claim) {
	byID, byWords := map[journal.ID]journal.Claim{}, map[string]journal.ID{}
	for _, c := range held {
		byID[c.ID], byWords[strings.ToLower(c.Words)] = c, c.ID
	}
	start := journal.StartingClaims()
	untouched := func(c journal.Claim) bool { return slices.ContainsFunc(start, c.Equal) }
	for _, c := range m.backup.contents.Claims {
		other, known := byID[c.ID]
		namesake, taken := byWords[strings.ToLower(c.Words)]
		switch {
		case known && (other.Equal(c) || untouched(c)):
		case taken && namesake != c.ID:
			m.conflict(c.ID, "another claim in the journal says: %s", c.Words)
		case !known:
			m.addition.Claims = append(m.addition.Claims, c)
			m.result.NewClaims = append(m.result.NewClaims, c.Words)
		case untouched(other):
			m.addition.Claims = append(m.addition.Claims, c)
		default:
			m.conflict(c.ID, "the claim that says %q differs from the journal's, which says %q", c.Words, other.Words)
		}
	}
}

// ruleSets takes a backup's rule sets. As with claims, every journal starts with
// the same ones, so where one side has left a set as it was, the other side's
// change holds.
func (m *merge) ruleSets(held []journal.RuleSet) {
	byID, byName := map[journal.ID]journal.RuleSet{}, map[string]journal.ID{}
	for _, r := range held {
		byID[r.ID] = r
		if !r.Deleted() {
			byName[strings.ToLower(r.Name)] = r.ID
		}
	}
	start := journal.StartingRules()
	untouched := func(r journal.RuleSet) bool { return slices.ContainsFunc(start, r.Equal) }
	for _, r := range m.backup.contents.RuleSets {
		other, known := byID[r.ID]
		namesake, taken := byName[strings.ToLower(r.Name)]
		switch {
		case known && (other.Equal(r) || untouched(r)):
		case taken && namesake != r.ID && !r.Deleted():
			m.conflict(r.ID, "another rule set in the journal is called %s", r.Name)
		case known && !untouched(other):
			m.conflict(r.ID, "the rule set %s differs from the journal's", r.Name)
		default:
			if !known {
				m.result.NewRules = append(m.result.NewRules, r.Name)
			}
			m.addition.RuleSets = append(m.addition.RuleSets, r)
		}
	}
}

// pulls takes a backup's bench pulls. One that was deleted on either side comes
// in deleted only where the journal does not hold it.
func (m *merge) pulls(held []journal.BenchPull) {
	byID := map[journal.ID]journal.BenchPull{}
	for _, p := range held {
		byID[p.ID] = p
	}
	for _, p := range m.backup.contents.Pulls {
		other, known := byID[p.ID]
		switch {
		case known && !other.Equal(p):
			m.conflict(p.ID, "the bench pull of %s differs from the journal's of %s", p.Day, other.Day)
		case known && (other.DeletedAt == nil || p.DeletedAt != nil):
		default: // new, or deleted here and not there
			m.addition.Pulls = append(m.addition.Pulls, p)
			if p.DeletedAt == nil {
				m.result.NewPulls++
			}
		}
	}
}

// trials takes a backup's trials. One that the journal holds must be the same to
// the last unit: two courses of one trial can't be joined.
func (m *merge) trials(held []journal.Trial) {
	byID, byName := map[journal.ID]journal.Trial{}, map[string]bool{}
	for _, t := range held {
		byID[t.ID], byName[strings.ToLower(t.Name)] = t, true
	}
	for _, t := range m.backup.contents.Trials {
		switch other, known := byID[t.ID]; {
		case known && other.Equal(t):
		case known:
			m.conflict(t.ID, "the trial %s differs from the journal's %s", t.Name, other.Name)
		case byName[strings.ToLower(t.Name)]:
			m.conflict(t.ID, "another trial in the journal is called %s", t.Name)
		default:
			m.addition.Trials = append(m.addition.Trials, t)
			m.result.NewTrials = append(m.result.NewTrials, t.Name)
		}
	}
}
