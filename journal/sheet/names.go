package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"rigtally/journal"
	"rigtally/journal/exchange"
	catalogue "rigtally/journal/field"
	"rigtally/journal/near"
)

// Kinds of names, as in NameRule.Kind.
const (
	KindAngler   = "angler"
	KindWater    = "water"
	KindBeat     = "beat"
	KindRig      = "rig"
	KindJunction = "junction"
)

// ParseNameRule reads a rule such as Jon Felt=J. Felt.
func ParseNameRule(s string) (NameRule, error) {
	written, means, _ := strings.Cut(s, "=")
	rule := NameRule{Written: strings.TrimSpace(written), Means: strings.TrimSpace(means)}
	if rule.Written == "" || rule.Means == "" {
		return rule, fmt.Errorf("%q does not say who or what a name means; write the name of the sheet and the one that it means, as in \"Jon Felt=J. Felt\"", s)
	}
	return rule, rule.check()
}

// NewName is the rule of a name that is new and meant so.
func NewName(name string) (NameRule, error) {
	rule := NameRule{Written: strings.TrimSpace(name), Means: strings.TrimSpace(name)}
	if rule.Written == "" {
		return rule, fmt.Errorf("%q is no name; write the name of the sheet that is meant as it stands", name)
	}
	return rule, rule.check()
}

func (r NameRule) check() error {
	if len(r.Means) > maxName {
		return fmt.Errorf("%q is too long for a name; write at most %d characters", shown(r.Means), maxName)
	}
	return nil
}

// isNew reports whether the rule says that a name is meant as it stands.
func (r NameRule) isNew() bool { return r.Written == r.Means }

// about reports whether the rule is of a name.
func (r NameRule) about(kind, name string) bool {
	return (r.Kind == "" || r.Kind == kind) && strings.EqualFold(strings.TrimSpace(r.Written), name)
}

// rename takes the names of the rows for those that they mean, before sessions are
// made of them: two spellings of a name are one session.
func (s *Sheet) rename() {
	knots, _ := s.find("junction")
	for _, rule := range s.options.Names {
		taken := 0
		for _, r := range s.rows {
			hit := false
			for _, n := range []struct {
				kind string
				name *string
			}{{KindAngler, &r.Angler}, {KindAngler, &r.Guide}, {KindWater, &r.Water}, {KindBeat, &r.Beat}} {
				if rule.about(n.kind, *n.name) {
					hit, *n.name = true, rule.Means
				}
			}
			if own := r.Fly.JunctionName; own != "" && rule.about(KindJunction, own) {
				hit = true
				if !rule.isNew() {
					fly := *r.Fly // which others share
					r.Fly = &fly
					if err := setJunction(s.columns[knots], r, rule.Means); err != nil {
						s.bad(r, s.columns[knots].Header, rule.Means, err)
					}
				}
			}
			if hit {
				taken++
			}
		}
		switch {
		case taken == 0:
			s.warn("No name in this sheet is “%s”, of which it was said what it means.", shown(rule.Written))
		case !rule.isNew():
			s.choose("“%s” is taken for %s in %s, as asked for.", shown(rule.Written), rule.Means, exchange.Counted(taken, "row"))
		}
	}
}

// New is somebody or something that an import would bring to the journal.
type New struct {
	Kind    string // angler, water, beat, rig or junction
	Name    string
	Of      string // of a beat: its water
	Rows    int    // of the sheet that name it
	First   string // of them: "row 7", or "April, row 7" of a workbook
	Similar string // the name that was probably meant, "" if there is none
	Known   bool   // that name is the journal's, not another one of the sheet
	Asked   bool   // nobody has said yet whether that was meant
}

func (n New) String() string {
	text := fmt.Sprintf("%s %s", kindNoun(n.Kind), n.Name)
	if n.Of != "" {
		text += " on " + n.Of
	}
	text += fmt.Sprintf(" (%s, from %s on)", exchange.Counted(n.Rows, "row"), n.First)
	if n.Similar == "" {
		return text
	}
	where := "also in this sheet"
	if n.Known {
		where = "in the journal"
	}
	return text + fmt.Sprintf("; did you mean %s, which is %s?", n.Similar, where)
}

// kindNoun names a kind to people.
func kindNoun(kind string) string {
	if kind == KindJunction {
		return "knot"
	}
	return kind
}

// Flags are the answers to a question about a name at a terminal.
func (n New) Flags() (same, isNew string) {
	return fmt.Sprintf("--same %q", n.Name+"="+n.Similar), fmt.Sprintf("--new %q", n.Name)
}

// naming gathers the names of a kind that are to be written and that the journal lacks.
type naming struct {
	kind, of string
	known    roll
	found    map[string]*New
	order    []*New
}

func (g *naming) meet(name string, first *row, rows int) {
	key := strings.ToLower(name)
	if name == "" || g.known.has[key] {
		return
	}
	n := g.found[key]
	if n == nil {
		n = &New{Kind: g.kind, Of: g.of, Name: name, First: first.at()}
		g.found[key] = n
		g.order = append(g.order, n)
	}
	n.Rows += rows
}

// compare looks for what each of the names may mean: one of the journal's, or else the
// more frequent one of the sheet's own.
func (g *naming) compare(rules []NameRule) []New {
	journals := near.Of(g.known.names)
	byRows := slices.SortedStableFunc(slices.Values(g.order), func(a, b *New) int { return cmp.Compare(b.Rows, a.Rows) })
	var before []string // more frequent ones
	for _, n := range byRows {
		if similar, ok := journals.Near(n.Name); ok {
			n.Similar, n.Known = similar, true
		} else {
			n.Similar, _ = near.Name(n.Name, before)
		}
		told := slices.ContainsFunc(rules, func(r NameRule) bool { return r.about(g.kind, n.Name) })
		n.Asked = n.Similar != "" && !told
		before = append(before, n.Name)
	}
	list := make([]New, len(g.order))
	for i, n := range g.order {
		list[i] = *n
	}
	return list
}

// names lists who and what comes with the sessions that are to be written.
func (p *plan) names() []New {
	var groups []*naming
	group := func(kind, of string, known roll) *naming {
		groups = append(groups, &naming{kind: kind, of: of, known: known, found: map[string]*New{}})
		return groups[len(groups)-1]
	}
	anglers, waters, knots := group(KindAngler, "", p.known.anglers), group(KindWater, "", p.known.waters), group(KindJunction, "", p.known.junctions)
	beats := map[string]*naming{}
	fished := map[journal.ID]*New{} // rigs
	for _, i := range p.adding {
		o, rows := p.outings[i], 0
		for at, st := range o.stints {
			rows += len(st.rows)
			for _, r := range st.rows {
				knots.meet(r.Fly.JunctionName, r, 1)
			}
			id := p.sessions[i].Stints[at].RigID
			if fished[id] == nil {
				fished[id] = &New{Kind: KindRig, First: st.rows[0].at()}
			}
			fished[id].Rows += len(st.rows)
		}
		anglers.meet(o.head.Angler, o.head, rows)
		anglers.meet(o.head.Guide, o.head, rows)
		waters.meet(o.head.Water, o.head, rows)
		if o.head.Beat != "" {
			key := strings.ToLower(p.people.water(o.head.Water).water.Name)
			if beats[key] == nil {
				beats[key] = group(KindBeat, o.head.Water, p.known.beats[key])
			}
			beats[key].meet(o.head.Beat, o.head, rows)
		}
	}
	var all []New
	for _, g := range groups {
		all = append(all, g.compare(p.sheet.options.Names)...)
	}
	return append(all, p.newRigs(fished)...)
}

// newRigs lists the rigs of the sheet that the journal lacks. Which are alike is told,
// not asked: rigs are told apart by how they are tied.
func (p *plan) newRigs(fished map[journal.ID]*New) []New {
	var list []New
	known := near.Of(p.known.rigs.names)
	for _, rig := range p.rigs.fresh {
		n := fished[rig.ID]
		if n == nil {
			continue
		}
		n.Name = rig.Title()
		if p.rigs.named[rig.ID] {
			if n.Similar, n.Known = known.Near(rig.Name); !n.Known {
				n.Similar, _ = near.Name(rig.Name, oftener(rig, p.rigs, fished))
			}
		}
		list = append(list, *n)
	}
	return list
}

// oftener are the names that the file gives to rigs which come in more of its rows.
func oftener(rig *journal.Rig, book *rigBook, fished map[journal.ID]*New) []string {
	var names []string
	for _, other := range book.fresh {
		if n := fished[other.ID]; book.named[other.ID] && n != nil && n.Rows > fished[rig.ID].Rows {
			names = append(names, other.Name)
		}
	}
	return names
}

// roll is names that are known.
type roll struct {
	names []string
	has   map[string]bool // in small letters
}

func (r *roll) add(name string) {
	key := strings.ToLower(name)
	if r.has == nil {
		r.has = map[string]bool{}
	}
	if name != "" && !r.has[key] {
		r.has[key], r.names = true, append(r.names, name)
	}
}

// also knows a former name, which is none to be meant.
func (r *roll) also(name string) {
	if r.has == nil {
		r.has = map[string]bool{}
	}
	r.has[strings.ToLower(name)] = true
}

// knownNames are those of the journal.
type knownNames struct {
	anglers, waters, rigs, junctions roll
	beats                            map[string]roll // by the water's name in small letters
}

func namesOf(c journal.Contents) knownNames {
	k := knownNames{beats: map[string]roll{}}
	for _, word := range catalogue.By(journal.FlyFields(), "junction").Words {
		if word != string(journal.JunctionOther) {
			k.junctions.add(word)
		}
	}
	for _, a := range c.Anglers {
		k.anglers.add(a.Name)
	}
	for _, w := range c.Waters {
		k.waters.add(w.Name)
		beats := k.beats[strings.ToLower(w.Name)]
		for _, b := range w.Beats {
			beats.add(b.Name)
		}
		k.beats[strings.ToLower(w.Name)] = beats
	}
	for _, r := range c.Rigs {
		k.rigs.add(r.Name)
		for _, p := range r.Positions {
			k.junctions.add(p.JunctionName)
		}
	}
	k.alias(c)
	return k
}

func (k *knownNames) alias(c journal.Contents) {
	waters := map[journal.ID]string{}
	for _, w := range c.Waters {
		waters[w.ID] = strings.ToLower(w.Name)
	}
	for _, a := range c.Aliases {
		switch a.Kind {
		case journal.ThingAngler:
			k.anglers.also(a.Name)
		case journal.ThingWater:
			k.waters.also(a.Name)
		case journal.ThingRig:
			k.rigs.also(a.Name)
		case journal.ThingKnot:
			k.junctions.also(a.Name)
		case journal.ThingBeat:
			if a.Water != nil {
				beats := k.beats[waters[*a.Water]]
				beats.also(a.Name)
				k.beats[waters[*a.Water]] = beats
			}
		}
	}
}
