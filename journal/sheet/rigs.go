package sheet

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"rigtally/internal/units"
	"rigtally/journal"
	catalogue "rigtally/journal/field"
)

// rigBook finds or makes the rig of every stint. A stint takes an existing rig
// tied the same way, but for the fly, which may differ from stint to stint.
type rigBook struct {
	byTying map[string][]*journal.Rig // oldest first
	byName  map[string][]*journal.Rig // by revision
	fresh   []*journal.Rig
	named   map[journal.ID]bool // of the fresh ones, those that the file gives a name
	called  map[string]string   // what rigs of former names, in small letters, are called now
	knots   map[string]string   // the same of knots of own names
	system  units.System
	now     time.Time
}

func newRigBook(c journal.Contents, system units.System, now time.Time) *rigBook {
	b := &rigBook{called: map[string]string{}, knots: map[string]string{}, byTying: map[string][]*journal.Rig{}, byName: map[string][]*journal.Rig{}, named: map[journal.ID]bool{}, system: system, now: now.UTC().Truncate(time.Microsecond)}
	known := slices.Clone(c.Rigs)
	slices.SortFunc(known, func(a, c journal.Rig) int {
		return cmp.Or(a.CreatedAt.Compare(c.CreatedAt), strings.Compare(a.ID.String(), c.ID.String()))
	})
	for i := range known {
		b.keep(&known[i])
	}
	for _, a := range c.Aliases {
		at := slices.IndexFunc(known, func(r journal.Rig) bool { return a.Of != nil && r.ID == *a.Of })
		switch key := strings.ToLower(a.Name); {
		case a.Kind == journal.ThingRig && at >= 0 && len(b.byName[key]) == 0:
			b.called[key] = known[at].Name
		case a.Kind == journal.ThingKnot:
			b.knots[key] = a.Knot
		}
	}
	return b
}

// present gives the rig of a stint the names that its knots have now.
func (b *rigBook) present(st *stintRows) {
	for i, p := range st.rig.Positions {
		now, ok := b.knots[strings.ToLower(p.JunctionName)]
		if p.JunctionName == "" || !ok {
			continue
		}
		rig := *st.rig // which others share
		rig.Positions = slices.Clone(rig.Positions)
		st.rig = &rig
		on := &rig.Positions[i]
		on.Junction, on.JunctionName = journal.JunctionOther, now
		if slices.Contains(catalogue.By(journal.FlyFields(), "junction").Words, now) {
			on.Junction, on.JunctionName = journal.Junction(now), ""
		}
		st.tied = tyingKey(rig)
	}
}

func (b *rigBook) keep(rig *journal.Rig) {
	tying, name := tyingKey(*rig), strings.ToLower(rig.Name)
	b.byTying[tying] = append(b.byTying[tying], rig)
	b.byName[name] = append(b.byName[name], rig)
	slices.SortStableFunc(b.byName[name], func(a, c *journal.Rig) int { return cmp.Compare(a.Revision, c.Revision) })
}

// wanted is the stints of the file that ask for the same rig.
type wanted struct {
	name     string // as written, without revision; "" when the file names none
	revision int    // 0: any
	tying    string
	rig      journal.Rig
	stints   []*stintRows
}

// assign returns the rig of every stint.
func (b *rigBook) assign(outings []*outing) map[*stintRows]*journal.Rig {
	groups := map[string]*wanted{}
	var order []*wanted
	for _, o := range outings {
		for _, st := range o.stints {
			name, revision := rigName(st.head.Rig)
			name = cmp.Or(b.called[strings.ToLower(name)], name)
			if len(b.knots) > 0 {
				b.present(st)
			}
			key := strings.ToLower(name) + "\x00" + strconv.Itoa(revision) + "\x00" + st.tied
			w := groups[key]
			if w == nil {
				w = &wanted{name: name, revision: revision, tying: st.tied, rig: *st.rig}
				groups[key] = w
				order = append(order, w)
			}
			w.stints = append(w.stints, st)
		}
	}
	// Stints that only name a rig come last: the file may tell elsewhere how it is tied.
	slices.SortStableFunc(order, func(a, c *wanted) int {
		return cmp.Or(cmp.Compare(a.nameOnly(), c.nameOnly()), cmp.Compare(a.revision, c.revision))
	})
	rigs := map[*stintRows]*journal.Rig{}
	for _, w := range order {
		b.choose(w, rigs)
	}
	return rigs
}

// choose finds the rig of each of the stints, making one for those left over.
func (b *rigBook) choose(w *wanted, rigs map[*stintRows]*journal.Rig) {
	var left []*stintRows
	for _, st := range w.stints {
		if rig := b.find(w, st); rig != nil {
			rigs[st] = rig
		} else {
			left = append(left, st)
		}
	}
	if len(left) == 0 {
		return
	}
	rig := b.make(w, left)
	for _, st := range left {
		rigs[st] = rig
	}
}

// nameOnly is 1 when the stints name a rig without telling how it is tied.
func (w *wanted) nameOnly() int {
	if w.name == "" || slices.ContainsFunc(journal.RigFields(), func(f catalogue.Field[journal.Rig]) bool { return f.Noted(&w.rig) }) {
		return 0
	}
	for _, p := range w.rig.Positions {
		if (p != journal.RigPosition{Position: p.Position, Hang: p.Hang, Fly: p.Fly}) || p.Hang == journal.HangEye || p.Hang == journal.HangBend {
			return 0
		}
	}
	return 1
}

// find returns the best of the rigs that a stint may have been fished with:
// one with the same fly, else the oldest; nil if there is none.
func (b *rigBook) find(w *wanted, st *stintRows) *journal.Rig {
	var best *journal.Rig
	for _, rig := range b.byTying[w.tying] {
		if w.name != "" && (!strings.EqualFold(rig.Name, w.name) || w.revision > 0 && rig.Revision != w.revision) {
			continue
		}
		same, possible := compareFlies(*st.rig, *rig)
		if same {
			return rig
		}
		if possible && best == nil {
			best = rig
		}
	}
	if best != nil || w.nameOnly() == 0 {
		return best
	}
	for _, rig := range slices.Backward(b.byName[strings.ToLower(w.name)]) {
		if (w.revision == 0 || rig.Revision == w.revision) && holds(*rig, st) {
			return rig
		}
	}
	return nil
}

// compareFlies reports whether the flies are the same, and whether the stint's
// can be noted as differing from the rig's.
func compareFlies(stint, rig journal.Rig) (same, possible bool) {
	same, possible = true, true
	for i, p := range stint.Positions {
		other := rig.Positions[i].Fly
		same = same && p.Fly == other
		possible = possible && (p.Fly != "" || other == "")
	}
	return same, possible
}

// holds reports whether a rig has every position that the rows of a stint tell of.
func holds(rig journal.Rig, st *stintRows) bool {
	for _, r := range st.rows {
		if p := r.Place.Position(); p != nil {
			on, ok := rig.At(*p)
			if !ok || on.Hang != journal.HangTag && *r.Tag != (journal.StintPosition{}) {
				return false
			}
		}
	}
	return true
}

// make adds a rig for stints that are tied alike. It has their fly if all have the same.
func (b *rigBook) make(w *wanted, stints []*stintRows) *journal.Rig {
	rig := w.rig
	rig.ID, rig.CreatedAt, rig.Revision = journal.NewID(), b.now, max(1, w.revision)
	rig.Positions = slices.Clone(rig.Positions)
	for i := range rig.Positions {
		p := &rig.Positions[i]
		p.Fly = stints[0].rig.Positions[i].Fly
		for _, st := range stints {
			if st.rig.Positions[i].Fly != p.Fly {
				p.Fly = ""
			}
		}
	}
	if w.name == "" {
		rig.Name = b.freeName(describeRig(rig, b.system))
	} else {
		rig.Name, b.named[rig.ID] = w.name, true
		b.nextRevision(&rig)
	}
	b.keep(&rig)
	b.fresh = append(b.fresh, &rig)
	return &rig
}

// nextRevision gives a rig the spelling and, if its revision is taken, the next
// revision of its name.
func (b *rigBook) nextRevision(rig *journal.Rig) {
	known := b.byName[strings.ToLower(rig.Name)]
	taken := slices.ContainsFunc(known, func(k *journal.Rig) bool { return k.Revision == rig.Revision })
	if taken {
		rig.Revision = known[len(known)-1].Revision + 1
	}
}

// freeName adds a number to a name that is taken.
func (b *rigBook) freeName(name string) string {
	free := name
	for n := 2; len(b.byName[strings.ToLower(free)]) > 0; n++ {
		free = name + " (" + strconv.Itoa(n) + ")"
	}
	return free
}

// tyingKey tells apart rigs that are tied differently, flies aside.
func tyingKey(r journal.Rig) string {
	b := make([]byte, 0, 128)
	for _, f := range journal.RigFields() {
		b = append(append(b, f.String(&r)...), '|')
	}
	for i := range r.Positions {
		p := &r.Positions[i]
		b = append(strconv.AppendInt(append(b, '\n'), int64(p.Position), 10), '|')
		for _, f := range journal.FlyFields() {
			if f.Key != "fly" {
				b = append(append(b, f.String(p)...), '|')
			}
		}
	}
	return string(b)
}

// sharedRig is a rig of several stints, with its tyingKey.
type sharedRig struct {
	rig  *journal.Rig
	tied string
}

// sharedRig returns the rig that says the same as this one, so that both are held once.
func (s *Sheet) sharedRig(rig journal.Rig) (*journal.Rig, string) {
	tied := tyingKey(rig)
	key := tied
	for _, p := range rig.Positions {
		key += "\x00" + p.Fly
	}
	own, ok := s.rigs[key]
	if !ok {
		own = sharedRig{&rig, tied}
		s.rigs[key] = own
	}
	return own.rig, own.tied
}

// describeRig names a rig by what is known of it: Figure-eight 165 mm, 6X, slim.
func describeRig(rig journal.Rig, system units.System) string {
	var parts []string
	for _, p := range slices.Backward(rig.Positions) {
		if text := describePosition(p, system); text != "" {
			parts = append(parts, text)
		}
	}
	name := strings.Join(parts, " + ")
	for _, extra := range []string{string(rig.Method), swivelName(rig.Swivel)} {
		if extra != "" {
			name = strings.TrimPrefix(name+", "+extra, ", ")
		}
	}
	if name == "" {
		name = "Rig as imported"
	}
	const room = maxName - len(" (10000)")
	for i, r := range name { // cut at a whole letter
		if i+len(string(r)) > room {
			name = name[:i]
			break
		}
	}
	first, size := utf8.DecodeRuneInString(name)
	return string(unicode.ToUpper(first)) + name[size:]
}

func swivelName(s journal.Swivel) string {
	if s == "" || s == "none" {
		return ""
	}
	return string(s) + " above"
}

func describePosition(p journal.RigPosition, system units.System) string {
	var words []string
	junction := p.JunctionWord()
	switch {
	case p.Position == 0:
		words = append(words, "point")
	case p.Hang != journal.HangTag:
		words = append(words, "dropper at the "+string(p.Hang))
	case junction != "":
		words = append(words, junction)
	case p.TagLengthMM != nil:
		words = append(words, "tag")
	}
	if p.TagLengthMM != nil {
		words = append(words, units.FormatLength(*p.TagLengthMM, system))
	}
	parts := []string{strings.Join(words, " ")}
	if p.Facing != "" {
		parts = append(parts, "facing "+string(p.Facing))
	}
	if p.Prop != "" && p.Prop != "none" {
		parts = append(parts, string(p.Prop))
	}
	if p.TippetMM != nil {
		size, _, _ := strings.Cut(units.FormatTippet(*p.TippetMM), " (")
		parts = append(parts, size)
	}
	parts = append(parts, string(p.Material), string(p.Bulk), p.Fly)
	if p.HookSize != nil {
		parts = append(parts, "#"+strconv.Itoa(*p.HookSize))
	}
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), ", ")
}
