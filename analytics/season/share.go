package season

import (
	"fmt"
	"slices"

	"rigtally/analytics"
	"rigtally/analytics/claim"
	"rigtally/journal"
)

// Sharing says what a review leaves out before it is handed on.
type Sharing struct {
	WithoutNames bool // of people
	BlurWaters   bool // names of waters; days become months
}

// Any reports whether anything is left out.
func (s Sharing) Any() bool { return s.WithoutNames || s.BlurWaters }

// The words that stand for names.
const (
	SomeAngler = "the angler"
	SomeOutfit = "the outfit"
	SomeGuide  = "Guide"
	ownKnot    = "a knot of their own"
)

// Share returns the review with names left out or waters blurred. What people word
// themselves may hold either (the names of the outfit, of rigs and knots, claims),
// so it goes with both; so do ids, which tell the moment they were made.
func (a Answer) Share(s Sharing) Answer {
	if !s.Any() {
		return a
	}
	m := sharer{Sharing: s, people: map[string]string{}, rigs: map[string]string{}}
	a.Shared = s
	m.namePeople(&a)
	a.Waters = m.waters(a.Waters)
	a.People = slices.Clone(a.People)
	for i := range a.People {
		a.People[i].Angler = m.person(a.People[i].Angler)
	}
	slices.SortFunc(a.People, func(x, y Part) int { return compareDown(0, 0, x.Angler, y.Angler) })
	a.Rigs = m.namedRigs(a.Rigs)
	a.Charts = m.charts(a.Charts)
	a.Evidence = m.evidence(a.Evidence)
	a.Cautions = slices.Clone(a.Cautions)
	for i := range a.Cautions {
		a.Cautions[i].Stopped = m.sessions(a.Cautions[i].Stopped)
	}
	if s.BlurWaters {
		a.Days = monthly(a.Days)
		a.Totals.First, a.Totals.Last = monthOf(a.Totals.First), monthOf(a.Totals.Last)
	}
	a.Outfit = SomeOutfit
	a.Angler = m.person(a.Angler)
	return a
}

// sharer replaces names, each always by the same words.
type sharer struct {
	Sharing
	people map[string]string
	rigs   map[string]string
}

// letter is A to Z, then A2 and so on.
func letter(i int) string {
	text := string(rune('A' + i%26))
	if i >= 26 {
		text += fmt.Sprint(i/26 + 1)
	}
	return text
}

// namePeople gives everyone a name to be known by.
func (m *sharer) namePeople(a *Answer) {
	if a.Angler != "" {
		m.people[a.Angler] = SomeAngler
	}
	guides, others := 0, 0
	for _, p := range a.People {
		if p.Kind == journal.AnglerOwner || p.Kind == "guide" {
			if guides++; guides == 1 {
				m.people[p.Angler] = SomeGuide
			} else {
				m.people[p.Angler] = fmt.Sprintf("%s %d", SomeGuide, guides)
			}
			continue
		}
		m.people[p.Angler] = "Angler " + letter(others)
		others++
	}
}

func (m *sharer) person(name string) string {
	if !m.WithoutNames || name == "" {
		return name
	}
	if alias, ok := m.people[name]; ok {
		return alias
	}
	return "an angler"
}

func (m *sharer) waters(list []Water) []Water {
	out := slices.Clone(list)
	for i := range out {
		if m.BlurWaters {
			out[i].Name = fmt.Sprintf("Water %d", i+1)
		}
	}
	return out
}

// namedRigs calls rigs by letters, in the order in which they were fished most, and
// keeps how they are tied, without what anyone wrote.
func (m *sharer) namedRigs(r Rigs) Rigs {
	r.List = slices.Clone(r.List)
	for i := range r.List {
		name := "Rig " + letter(i)
		m.rigs[r.List[i].Name] = name
		r.List[i].Name = name
		rig := r.List[i].Rig
		rig.ID, rig.Name, rig.Revision, rig.Notes = journal.ID{}, name, 1, ""
		rig.Positions = slices.Clone(rig.Positions)
		for j := range rig.Positions {
			rig.Positions[j].Fly = ""
			if rig.Positions[j].JunctionName != "" {
				rig.Positions[j].JunctionName = ownKnot
			}
		}
		r.List[i].Rig = rig
	}
	rename := func(word string) string { return m.rigs[word] }
	r.Tangles, r.Hookups, r.Landed = relevelled(r.Tangles, rename), relevelled(r.Hookups, rename), relevelled(r.Landed, rename)
	return r
}

// relevelled gives an answer's groups other words for levels.
func relevelled(a analytics.RateAnswer, word func(string) string) analytics.RateAnswer {
	a.Where = nil
	a.Groups = slices.Clone(a.Groups)
	for i := range a.Groups {
		levels := slices.Clone(a.Groups[i].Level)
		for j := range levels {
			if levels[j].Kind == journal.WordLevel {
				levels[j].Word = word(levels[j].Word)
			}
		}
		a.Groups[i].Level = levels
	}
	return a
}

// monthOf is the first day of a day's month.
func monthOf(d journal.Date) journal.Date {
	if !d.IsZero() {
		d.Day = 1
	}
	return d
}

func (m *sharer) session(s journal.SessionRef) journal.SessionRef {
	s.ID, s.Angler = journal.ID{}, m.person(s.Angler)
	if m.BlurWaters {
		s.Day = monthOf(s.Day)
	}
	return s
}

func (m *sharer) sessions(list []journal.SessionRef) []journal.SessionRef {
	out := make([]journal.SessionRef, len(list))
	for i, s := range list {
		out[i] = m.session(s)
	}
	return out
}

func (m *sharer) charts(list []Chart) []Chart {
	out := slices.Clone(list)
	for i := range out {
		out[i].Points = slices.Clone(out[i].Points)
		for j := range out[i].Points {
			out[i].Points[j].SessionRef = m.session(out[i].Points[j].SessionRef)
		}
	}
	return out
}

// knot is a junction of the vocabulary, or one that someone named.
func knot(f journal.Factor) func(string) string {
	return func(word string) string {
		if slices.Contains(f.Vocabulary(), word) {
			return word
		}
		return ownKnot
	}
}

// evidence keeps what is about things that everyone calls the same.
func (m *sharer) evidence(list []Evidence) []Evidence {
	out := slices.Clone(list)
	for i := range out {
		e := &out[i]
		e.Angler = m.person(e.Angler)
		e.Choices = slices.Clone(e.Choices)
		for j, c := range e.Choices {
			if len(c.By) > 0 {
				e.Choices[j] = relevelled(c, knot(c.By[0].Factor))
			}
		}
		e.Claims.Rest = nil
		e.Claims.Claims = slices.Clone(e.Claims.Claims)
		for j := range e.Claims.Claims {
			m.claim(&e.Claims.Claims[j])
		}
		e.Findings, e.Open = m.findings(e.Findings), m.findings(e.Open)
	}
	return out
}

// findings leaves out those about people, waters or rigs.
func (m *sharer) findings(list []Finding) []Finding {
	var out []Finding
	for _, f := range list {
		if named(f.Factor) {
			continue
		}
		f.Level, f.Versus = knots(f.Factor, f.Level), knots(f.Factor, f.Versus)
		out = append(out, f)
	}
	return out
}

func knots(f journal.Factor, words []string) []string {
	if f.Quantity != journal.Words {
		return words
	}
	out := slices.Clone(words)
	for i := range out {
		out[i] = knot(f)(out[i])
	}
	return out
}

// named reports whether people give a factor's levels their names.
func named(f journal.Factor) bool { return f.Quantity == journal.Words && f.Vocabulary() == nil }

// claim takes away what its author worded.
func (m *sharer) claim(a *claim.Answer) {
	starting := slices.ContainsFunc(journal.StartingClaims(), func(c journal.Claim) bool {
		return c.Words == a.Claim.Words
	})
	c := journal.Claim{Words: a.Claim.Words, Outcome: a.Claim.Outcome, Factor: a.Claim.Factor, Direction: a.Claim.Direction,
		Level: knots(a.Factor, a.Claim.Level), Versus: knots(a.Factor, a.Claim.Versus), Given: a.Claim.Given, Source: a.Claim.Source}
	if !starting {
		c.Words = ""
	}
	a.Claim, a.Problem, a.Notes = c, nil, nil
}
