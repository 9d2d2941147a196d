package exchange

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"rigtally/journal"
)

// people brings in anglers, waters and beats. One that has the name of another in the journal is that one.
func (m *Merge) people(held journal.Contents) {
	c := &m.contents
	anglers := shelve(held.Anglers, func(a journal.Angler) (journal.ID, string) { return a.ID, a.Name })
	c.Anglers = slices.DeleteFunc(c.Anglers, func(a journal.Angler) bool {
		other, known := anglers.meet(a.ID, a.Name)
		switch {
		case !known:
			anglers.add(a)
			m.addition.Anglers, m.result.NewAnglers = append(m.addition.Anglers, a), append(m.result.NewAnglers, a.Name)
		case other.ID != a.ID:
			m.of[a.ID] = other.ID
			m.meant("angler", a.Name)
		case other != a:
			m.stays("angler", a.Name, other.Name)
		}
		return known && other.ID != a.ID
	})
	waters := shelve(held.Waters, func(w journal.Water) (journal.ID, string) { return w.ID, w.Name })
	beatsOf := map[journal.ID]journal.ID{}
	for _, w := range held.Waters {
		for _, b := range w.Beats {
			beatsOf[b.ID] = w.ID
		}
	}
	c.Waters = slices.DeleteFunc(c.Waters, func(w journal.Water) bool {
		other, known := waters.meet(w.ID, w.Name)
		if !known {
			own := w
			own.Beats = nil
			waters.add(own)
			m.addition.Waters, m.result.NewWaters = append(m.addition.Waters, own), append(m.result.NewWaters, w.Name)
			other = own
		} else if other.ID != w.ID {
			m.of[w.ID] = other.ID
			m.meant("water", w.Name)
		} else if w.Name != other.Name || w.Kind != other.Kind || w.TimeZone != other.TimeZone || !reflect.DeepEqual(w.Gauges, other.Gauges) {
			m.stays("water", w.Name, other.Name)
		}
		m.beats(w, other, beatsOf)
		return known && other.ID != w.ID
	})
}

// beats brings in the beats of a water, which is called otherwise in the journal, or new there.
func (m *Merge) beats(w, water journal.Water, of map[journal.ID]journal.ID) {
	beats := shelve(slices.Concat(water.Beats, m.addition.Beats[water.ID]), func(b journal.Beat) (journal.ID, string) { return b.ID, b.Name })
	for _, b := range w.Beats {
		other, known := beats.meet(b.ID, b.Name)
		on := b.Name + " on " + water.Name
		switch {
		case !known:
			was := b.ID
			if _, elsewhere := of[b.ID]; elsewhere { // it is on another water by now
				b.ID = journal.NewID()
				m.of[was] = b.ID
			}
			of[b.ID] = water.ID
			beats.add(b)
			m.addition.Beats[water.ID] = append(m.addition.Beats[water.ID], b)
			m.result.NewBeats = append(m.result.NewBeats, on)
		case other.ID != b.ID:
			m.of[b.ID] = other.ID
			m.meant("beat", on)
		case other != b:
			m.stays("beat", on, other.Name+" on "+water.Name)
		}
	}
}

// rigs brings in rigs. One is the journal's of its id if that is tied alike, else any of its name that is; a rig that was
// fished never changes, so one that is tied otherwise comes beside the journal's, under a name of its own.
func (m *Merge) rigs(held journal.Contents) {
	c := &m.contents
	knots := knotsNow(held.Aliases, c.Aliases)
	type called struct {
		name     string
		revision int
	}
	byID, named := map[journal.ID]journal.Rig{}, map[called]bool{}
	all := slices.Clone(held.Rigs)
	note := func(r journal.Rig) { byID[r.ID], named[called{strings.ToLower(r.Name), r.Revision}] = r, true }
	for _, r := range all {
		note(r)
	}
	c.Rigs = slices.DeleteFunc(c.Rigs, func(r journal.Rig) bool {
		same, known := byID[r.ID]
		if known && knots.tiedAlike(same, r) {
			if !strings.EqualFold(same.Name, r.Name) && !numbered(same.Name, r.Name) || same.Notes != r.Notes {
				m.stays("rig", r.Title(), same.Title())
			}
			return false
		}
		if at := slices.IndexFunc(all, func(o journal.Rig) bool {
			return (strings.EqualFold(o.Name, r.Name) || numbered(o.Name, r.Name)) && knots.tiedAlike(o, r)
		}); at >= 0 {
			m.of[r.ID] = all[at].ID
			m.meant("rig", r.Title())
			return true
		}
		was := r
		if known {
			r.ID = journal.NewID()
			m.of[was.ID] = r.ID
		}
		r.Name = unused(r.Name, func(name string) bool { return named[called{strings.ToLower(name), r.Revision}] })
		if r.Name != was.Name {
			m.notes.renamed = append(m.notes.renamed, fmt.Sprintf("the rig %s, as %s, since it is tied otherwise", was.Title(), r.Title()))
		}
		note(r)
		all = append(all, r)
		m.addition.Rigs, m.result.NewRigs = append(m.addition.Rigs, r), append(m.result.NewRigs, r.Title())
		return known
	})
}

// trials brings in trials. Two courses of one can't be joined, so of one that both have the journal's stays.
func (m *Merge) trials(held journal.Contents) {
	trials := shelve(held.Trials, func(t journal.Trial) (journal.ID, string) { return t.ID, t.Name })
	for _, t := range m.contents.Trials {
		if other, known := trials.byID[t.ID]; known {
			if numbered(other.Name, t.Name) {
				t.Name = other.Name
			}
			if !other.Equal(t) {
				m.stay("the trial %s: two courses of one trial can't be joined", t.Name)
			}
			continue
		}
		if name := unused(t.Name, trials.taken); name != t.Name {
			m.notes.renamed = append(m.notes.renamed, fmt.Sprintf("the trial %s, as %s", t.Name, name))
			t.Name = name
		}
		trials.add(t)
		m.addition.Trials, m.result.NewTrials = append(m.addition.Trials, t), append(m.result.NewTrials, t.Name)
	}
}

// shelves brings in claims, rule sets and bench pulls. Every journal starts with the same claims and rule sets, so where
// one side has left one as it was, the other side's change holds.
func (m *Merge) shelves(held journal.Contents) {
	startClaims, startRules := journal.StartingClaims(), journal.StartingRules()
	asStarted := func(c journal.Claim) bool { return slices.ContainsFunc(startClaims, c.Equal) }
	claims := shelve(held.Claims, func(c journal.Claim) (journal.ID, string) { return c.ID, c.Words })
	for _, c := range m.contents.Claims {
		other, known := claims.byID[c.ID]
		namesake, taken := claims.named(c.Words)
		switch {
		case known && (other.Equal(c) || asStarted(c)):
		case taken && namesake.ID != c.ID:
			if !namesake.Asks(c) {
				m.stay("the claim %q, which asks something else in the backup", c.Words)
			}
		case known && (m.how.Take || asStarted(other)):
			m.takes(!asStarted(other), "the claim %q", c.Words)
			m.addition.Claims = append(m.addition.Claims, c)
		case known:
			m.stay("the claim %q, which is %q in the backup", other.Words, c.Words)
		default:
			claims.add(c)
			m.addition.Claims, m.result.NewClaims = append(m.addition.Claims, c), append(m.result.NewClaims, c.Words)
		}
	}
	m.ruleSets(held, func(r journal.RuleSet) bool { return slices.ContainsFunc(startRules, r.Equal) })
	pulls := map[journal.ID]journal.BenchPull{}
	for _, p := range held.Pulls {
		pulls[p.ID] = p
	}
	for _, p := range m.contents.Pulls {
		other, known := pulls[p.ID]
		title := fmt.Sprintf("the bench pull of %s", p.Day)
		switch {
		case known && other.Equal(p) && (other.DeletedAt == nil || p.DeletedAt != nil):
			continue
		case known && other.Equal(p): // it was deleted here, and comes back
			m.notes.returning = append(m.notes.returning, title)
		case known && !m.how.Take:
			m.stay("%s", title)
			continue
		case known:
			m.takes(true, "%s", title)
		}
		m.addition.Pulls = append(m.addition.Pulls, p)
		if p.DeletedAt == nil && !(known && m.how.Take) {
			m.result.NewPulls++
		}
	}
}

// sameRules reports whether two sets say the same, though they are two.
func sameRules(a, b journal.RuleSet) bool {
	b.ID, b.Name = a.ID, a.Name
	return a.SameRules(b)
}

func (m *Merge) ruleSets(held journal.Contents, asStarted func(journal.RuleSet) bool) {
	sets := shelve(held.RuleSets, func(r journal.RuleSet) (journal.ID, string) {
		if r.Deleted() {
			return r.ID, ""
		}
		return r.ID, r.Name
	})
	for _, r := range m.contents.RuleSets {
		other, known := sets.byID[r.ID]
		if known && numbered(other.Name, r.Name) {
			r.Name = other.Name
		}
		namesake, taken := sets.named(r.Name)
		taken = taken && !r.Deleted() && namesake.ID != r.ID
		switch {
		case known && (other.Equal(r) || asStarted(r)), taken && !known && sameRules(namesake, r):
		case known && !taken && (m.how.Take || asStarted(other)):
			m.takes(!asStarted(other), "the rule set %s", r.Name)
			m.addition.RuleSets = append(m.addition.RuleSets, r)
		case known:
			m.stay("the rule set %s", other.Name)
		default:
			if name := unused(r.Name, sets.taken); taken && name != r.Name {
				m.notes.renamed = append(m.notes.renamed, fmt.Sprintf("the rule set %s, as %s", r.Name, name))
				r.Name = name
			}
			sets.add(r)
			m.addition.RuleSets, m.result.NewRules = append(m.addition.RuleSets, r), append(m.result.NewRules, r.Name)
		}
	}
}

// aliases brings in other names of things, but for those that lead to something else in the journal: names that something
// has there, and ids of what was merged into another in the backup alone.
func (m *Merge) aliases(held journal.Contents) {
	type called struct {
		kind  journal.ThingKind
		name  string
		water journal.ID
	}
	as := func(a journal.Alias) called {
		k := called{kind: a.Kind, name: strings.ToLower(a.Name)}
		if a.Water != nil {
			k.water = *a.Water
		}
		return k
	}
	has, there := map[called]bool{}, map[journal.ID]bool{}
	for _, a := range held.Aliases {
		has[as(a)], there[a.ID] = true, true
	}
	live := map[journal.ID]bool{}
	thing := func(kind journal.ThingKind, id, water journal.ID, name string) {
		live[id], has[called{kind, strings.ToLower(name), water}] = true, true
	}
	for _, a := range held.Anglers {
		thing(journal.ThingAngler, a.ID, journal.ID{}, a.Name)
	}
	for _, w := range held.Waters {
		thing(journal.ThingWater, w.ID, journal.ID{}, w.Name)
		for _, b := range w.Beats {
			thing(journal.ThingBeat, b.ID, w.ID, b.Name)
		}
	}
	for _, r := range held.Rigs {
		thing(journal.ThingRig, r.ID, journal.ID{}, r.Name)
	}
	for _, a := range m.contents.Aliases {
		if !there[a.ID] && !has[as(a)] && (a.Was == nil || !live[*a.Was]) {
			m.addition.Aliases = append(m.addition.Aliases, a)
		}
	}
}

// shelf finds things of one kind by id and name.
type shelf[T any] struct {
	tell   func(T) (journal.ID, string)
	byID   map[journal.ID]T
	byName map[string]journal.ID
}

func shelve[T any](list []T, tell func(T) (journal.ID, string)) *shelf[T] {
	s := &shelf[T]{tell, map[journal.ID]T{}, map[string]journal.ID{}}
	for _, v := range list {
		s.add(v)
	}
	return s
}

// add puts a thing there; of two of a name the first has it.
func (s *shelf[T]) add(v T) {
	id, name := s.tell(v)
	s.byID[id] = v
	if _, taken := s.named(name); !taken {
		s.byName[strings.ToLower(name)] = id
	}
}

// meet finds what something is: by its id, else by its name.
func (s *shelf[T]) meet(id journal.ID, name string) (T, bool) {
	if v, known := s.byID[id]; known {
		return v, true
	}
	return s.named(name)
}

func (s *shelf[T]) named(name string) (v T, ok bool) {
	id, ok := s.byName[strings.ToLower(name)]
	return s.byID[id], ok && name != ""
}

func (s *shelf[T]) taken(name string) bool {
	_, taken := s.named(name)
	return taken
}

// unused is a name, with a number behind it where it is taken: "Long (2)".
func unused(name string, taken func(string) bool) string {
	free := name
	for n := 2; taken(free); n++ {
		free = fmt.Sprintf("%s (%d)", name, n)
	}
	return free
}

// numbered reports whether a name is another with a number behind it.
func numbered(name, other string) bool {
	rest, ok := strings.CutPrefix(strings.ToLower(name), strings.ToLower(other)+" (")
	digits := strings.TrimRight(rest, ")")
	return ok && digits != "" && digits+")" == rest && strings.Trim(digits, "0123456789") == ""
}

// knotNames are what own knots are called by now, by the names that they had.
type knotNames map[string]string

func knotsNow(held, comes []journal.Alias) knotNames {
	knots := knotNames{}
	for _, a := range slices.Concat(comes, held) { // where both say, the journal's holds
		if a.Kind == journal.ThingKnot {
			knots[strings.ToLower(a.Name)] = a.Knot
		}
	}
	return knots
}

// tiedAlike reports whether two rigs are tied alike, whatever their knots were called.
func (k knotNames) tiedAlike(a, b journal.Rig) bool {
	return k.present(a).TiedLike(k.present(b))
}

func (k knotNames) present(r journal.Rig) journal.Rig {
	r.Normalize()
	for i := range r.Positions {
		p := &r.Positions[i]
		if p.Junction != journal.JunctionOther {
			continue
		}
		if now, ok := k[strings.ToLower(p.JunctionName)]; ok {
			p.Junction, p.JunctionName = journal.KnotNamed(now)
		}
	}
	return r
}
