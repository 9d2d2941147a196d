package exchange

import (
	"cmp"
	"context"
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
// An empty journal takes the backup's name, units and time zone too, and of two
// usual rigs the later holds. Progress, which may be nil, is told of sessions.
func ReadBackup(ctx context.Context, store *pg.Store, r io.Reader, progress func(done, total int64)) (Result, error) {
	b, err := parseBackup(r)
	if err != nil {
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
	m.present(held)
	m.take(held)
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

// kind says how things of one kind are brought in beside those that the journal holds.
type kind[T any] struct {
	what     string
	goes     string // what stands before its title, if not "is called"
	id       func(T) journal.ID
	title    func(T) string
	name     func(T) string         // that nothing else may have, whatever its case; "" for none
	same     func(held, v T) bool   // nothing is to be done
	replaces func(held, v T) bool   // it takes the place of the one held; nil: never
	differs  func(v, held T) string // what is said of the two, if not the usual
}

// fresh returns what is to be added of one kind, and the titles of what is new.
func fresh[T any](m *merge, k kind[T], held, brought []T) (add []T, titles []string) {
	byID, byName := map[journal.ID]T{}, map[string]journal.ID{}
	for _, h := range held {
		byID[k.id(h)], byName[strings.ToLower(k.name(h))] = h, k.id(h)
	}
	for _, v := range brought {
		other, known := byID[k.id(v)]
		namesake, taken := byName[strings.ToLower(k.name(v))]
		switch {
		case known && k.same(other, v):
		case taken && k.name(v) != "" && namesake != k.id(v):
			m.conflict(k.id(v), "another %s in the journal %s %s", k.what, cmp.Or(k.goes, "is called"), k.title(v))
		case !known:
			add, titles = append(add, v), append(titles, k.title(v))
		case k.replaces != nil && k.replaces(other, v):
			add = append(add, v)
		case k.differs != nil:
			m.conflict(k.id(v), "%s", k.differs(v, other))
		default:
			m.conflict(k.id(v), "the %s %s differs from the journal's %s", k.what, k.title(v), k.title(other))
		}
	}
	return add, titles
}

// take brings in everything but sessions.
func (m *merge) take(held journal.Contents) {
	c, a, r := m.backup.contents, &m.addition, &m.result
	anglerName := func(a journal.Angler) string { return a.Name }
	a.Anglers, r.NewAnglers = fresh(m, kind[journal.Angler]{what: "angler", id: func(a journal.Angler) journal.ID { return a.ID }, title: anglerName, name: anglerName,
		same: func(held, a journal.Angler) bool { return held == a }}, held.Anglers, c.Anglers)
	waterName := func(w journal.Water) string { return w.Name }
	a.Waters, r.NewWaters = fresh(m, kind[journal.Water]{what: "water", id: func(w journal.Water) journal.ID { return w.ID }, title: waterName, name: waterName,
		same: m.sameWater}, held.Waters, c.Waters)
	a.Rigs, r.NewRigs = fresh(m, kind[journal.Rig]{what: "rig", id: func(r journal.Rig) journal.ID { return r.ID }, title: journal.Rig.Title,
		name: func(r journal.Rig) string { return fmt.Sprintf("%s\x00%d", r.Name, r.Revision) }, same: journal.Rig.Equal}, held.Rigs, c.Rigs)
	trialName := func(t journal.Trial) string { return t.Name }
	// Two courses of one trial can't be joined: one that the journal holds must be the same to the last unit.
	a.Trials, r.NewTrials = fresh(m, kind[journal.Trial]{what: "trial", id: func(t journal.Trial) journal.ID { return t.ID }, title: trialName, name: trialName,
		same: journal.Trial.Equal}, held.Trials, c.Trials)

	// Every journal starts with the same claims and rule sets, so where one side has left one as it was, the
	// other side's change holds.
	for i := range c.Claims {
		c.Claims[i].Renew()
	}
	startClaims, startRules := journal.StartingClaims(), journal.StartingRules()
	untouched := func(c journal.Claim) bool { return slices.ContainsFunc(startClaims, c.Equal) }
	words := func(c journal.Claim) string { return c.Words }
	a.Claims, r.NewClaims = fresh(m, kind[journal.Claim]{what: "claim", goes: "says:", id: func(c journal.Claim) journal.ID { return c.ID }, title: words, name: words,
		same:     func(held, c journal.Claim) bool { return held.Equal(c) || untouched(c) },
		replaces: func(held, _ journal.Claim) bool { return untouched(held) },
		differs: func(c, held journal.Claim) string {
			return fmt.Sprintf("the claim that says %q differs from the journal's, which says %q", c.Words, held.Words)
		}}, held.Claims, c.Claims)
	asStarted := func(r journal.RuleSet) bool { return slices.ContainsFunc(startRules, r.Equal) }
	a.RuleSets, r.NewRules = fresh(m, kind[journal.RuleSet]{what: "rule set", id: func(r journal.RuleSet) journal.ID { return r.ID },
		title: func(r journal.RuleSet) string { return r.Name },
		name: func(r journal.RuleSet) string {
			if r.Deleted() {
				return ""
			}
			return r.Name
		},
		same:     func(held, r journal.RuleSet) bool { return held.Equal(r) || asStarted(r) },
		replaces: func(held, _ journal.RuleSet) bool { return asStarted(held) },
		differs: func(r, _ journal.RuleSet) string {
			return fmt.Sprintf("the rule set %s differs from the journal's", r.Name)
		}}, held.RuleSets, c.RuleSets)

	// A pull that was deleted here comes back with one that was not.
	a.Pulls, _ = fresh(m, kind[journal.BenchPull]{what: "bench pull", id: func(p journal.BenchPull) journal.ID { return p.ID },
		title: func(p journal.BenchPull) string { return "of " + p.Day.String() }, name: func(journal.BenchPull) string { return "" },
		same: func(held, p journal.BenchPull) bool {
			return held.Equal(p) && (held.DeletedAt == nil || p.DeletedAt != nil)
		},
		replaces: journal.BenchPull.Equal}, held.Pulls, c.Pulls)
	a.Aliases, _ = fresh(m, kind[journal.Alias]{what: "alias", id: func(a journal.Alias) journal.ID { return a.ID },
		title: func(a journal.Alias) string { return a.Name }, name: func(journal.Alias) string { return "" },
		same: func(journal.Alias, journal.Alias) bool { return true }}, held.Aliases, c.Aliases)
	a.Usual = c.Usual
	for _, p := range a.Pulls {
		if p.DeletedAt == nil {
			r.NewPulls++
		}
	}
}

// sameWater takes further beats of a water that the journal holds, and compares the rest.
func (m *merge) sameWater(held, w journal.Water) bool {
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
	return reflect.DeepEqual(w, held)
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
	if u := m.backup.contents.Usual; u != nil && !there[u.RigID] {
		return fmt.Errorf("line %d: the usual rig is one that the backup does not hold; the backup was altered", m.backup.usual)
	}
	for _, a := range m.backup.contents.Aliases {
		if a.Of != nil && !there[*a.Of] {
			return fmt.Errorf("line %d: the alias %s is of something that the backup does not hold; the backup was altered", m.backup.lines[a.ID], a.Name)
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
