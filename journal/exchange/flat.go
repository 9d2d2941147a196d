package exchange

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"rigtally/journal"
)

// names finds what sessions refer to.
type names struct {
	anglers map[journal.ID]string
	waters  map[journal.ID]string
	beats   map[journal.ID]string
	rigs    map[journal.ID]journal.Rig
	zones   map[string]*time.Location
}

func newNames(c journal.Contents) *names {
	n := &names{anglers: map[journal.ID]string{}, waters: map[journal.ID]string{}, beats: map[journal.ID]string{}, rigs: map[journal.ID]journal.Rig{},
		zones: map[string]*time.Location{}}
	for _, a := range c.Anglers {
		n.anglers[a.ID] = a.Name
	}
	for _, w := range c.Waters {
		n.addWater(w)
	}
	for _, rig := range c.Rigs {
		n.rigs[rig.ID] = rig
	}
	return n
}

func (n *names) addWater(w journal.Water) {
	n.waters[w.ID] = w.Name
	for _, b := range w.Beats {
		n.beats[b.ID] = b.Name
	}
}

// names finds everything that the plan refers to, in the journal or new.
func (p *plan) names() *names {
	n := newNames(journal.Contents{})
	for _, a := range p.people.anglers {
		n.anglers[a.ID] = a.Name
	}
	for _, book := range p.people.waters {
		n.addWater(book.water)
		for _, b := range book.newBeat {
			n.beats[b.ID] = b.Name
		}
	}
	for _, same := range p.rigs.byTying {
		for _, rig := range same {
			n.rigs[rig.ID] = *rig
		}
	}
	return n
}

// flatten makes the rows of a session, one for each stint and position of its
// rig, droppers first, and one for the whole rig where something happened on no
// fly in particular. What a row can't hold (species, minutes of events, …) is
// left to the backup.
func (n *names) flatten(s journal.Session) []*row {
	base := row{session: s.ID.String(), day: s.Day, zone: s.TimeZone, angler: n.anglers[s.AnglerID], water: n.waters[s.WaterID], outing: s}
	if s.GuideID != nil {
		base.guide = n.anglers[*s.GuideID]
	}
	if s.BeatID != nil {
		base.beat = n.beats[*s.BeatID]
	}
	base.start, base.end = n.clock(s.Start, s.TimeZone), n.clock(s.End, s.TimeZone)
	var rows []*row
	for i, st := range s.Stints {
		rows = append(rows, flattenStint(base, i+1, st, n.rigs[st.RigID])...)
	}
	return rows
}

// clock returns a time as seconds after midnight in a zone.
func (n *names) clock(t *time.Time, zone string) *int {
	if t == nil {
		return nil
	}
	loc := n.zones[zone]
	if loc == nil {
		var err error
		if loc, err = time.LoadLocation(zone); err != nil {
			loc = time.UTC
		}
		n.zones[zone] = loc
	}
	local := t.In(loc)
	seconds := local.Hour()*3600 + local.Minute()*60 + local.Second()
	return &seconds
}

func flattenStint(base row, number int, st journal.Stint, rig journal.Rig) []*row {
	base.stint, base.rig, base.leader, base.fished = &number, rig.Title(), rig, st
	base.fished.Minutes, base.fished.Casts, base.fished.Notes = nil, nil, ""
	ends := tagEnds(st, rig)
	positions := slices.Clone(rig.Positions)
	slices.SortFunc(positions, func(a, b journal.RigPosition) int {
		// The point comes after the droppers.
		return cmp.Or(cmp.Compare(b2i(a.Position == 0), b2i(b.Position == 0)), cmp.Compare(a.Position, b.Position))
	})
	tally, err := journal.TallyStint(rig, st)
	counted := err == nil // the journal holds no stint that can't be
	var rows []*row
	for _, p := range positions {
		r := base
		// Minutes and casts belong to every position that was fished; a row of
		// the whole rig leaves them out, so that nobody adds them up twice.
		r.fished.Minutes, r.fished.Casts = st.Minutes, st.Casts
		r.place, r.fly, r.tag.TagEndMM = placeOf(p.Position), p, ends[p.Position]
		for _, sp := range st.Positions {
			if sp.Position == p.Position {
				r.tag.TagStartMM, r.fly.Fly = sp.TagStartMM, first(sp.Fly, p.Fly)
			}
		}
		r.tally, _ = tallyOf(st.Events, rig, &p.Position)
		if counts := tally.Positions[p.Position]; counted && p.Position > 0 {
			r.loads, r.failures = new(counts.Int(journal.CountLoads)), new(counts.Int(journal.CountBrokeJunction)+counts.Int(journal.CountBrokeTag))
		}
		r.hideUncounted()
		rows = append(rows, &r)
	}
	if t, any := tallyOf(st.Events, rig, nil); any {
		r := base
		r.place, r.tally = placeRig, t
		r.hideUncounted()
		rows = append(rows, &r)
	}
	if len(rows) > 0 {
		rows[0].fished.Notes = st.Notes
	}
	return rows
}

// hideUncounted leaves blank what no count was kept of, and keeps apart what
// happened of it all the same.
func (r *row) hideUncounted() {
	if r.fished.Recorded.Has(journal.KindHookups) {
		r.fairHookups = new(r.tally.n(cHookups) - r.tally.n(cFoul))
	}
	if !r.fished.Recorded.Has(journal.KindHookups, journal.KindSnags) {
		r.loads = nil
	}
	if !r.fished.Recorded.Has(journal.KindBreakPlace) {
		r.failures = nil
	}
	if len(r.fished.Recorded.Missing()) == 0 {
		return
	}
	all := r.tally
	r.uncounted = map[count]int{}
	for c := range numCounts {
		if r.fished.Recorded.Has(countKind(c)) {
			continue
		}
		noted := all.n(c) > 0 || c == cTurns && all.n(cChecks) > 0 || c == cMinutesLost && all.n(cTangles) > all.n(cUntimed)
		if noted {
			r.uncounted[c] = all.n(c)
		}
		r.tally[c] = nil
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// tagEnds returns the length of each tag at the end of a stint: as noted, else as
// its cuts leave it.
func tagEnds(st journal.Stint, rig journal.Rig) map[int]*float64 {
	ends := map[int]*float64{}
	for _, p := range st.Positions {
		ends[p.Position] = p.TagEndMM
	}
	cut := slices.ContainsFunc(st.Events, func(e journal.Event) bool { return e.Kind == journal.EventFlyChange || e.Kind == journal.EventRetie })
	if !cut {
		return ends
	}
	tally, err := journal.TallyStint(rig, st)
	if err != nil { // the journal holds no such stint
		return ends
	}
	lengths := map[int][]float64{}
	for _, spell := range tally.Spells {
		lengths[spell.Position] = append(lengths[spell.Position], spell.TagMM)
	}
	for position, mm := range lengths {
		last := mm[len(mm)-1]
		if end := ends[position]; end == nil || *end > mm[0] {
			ends[position] = &last
		}
	}
	return ends
}

// view is what a spreadsheet tells of a session, for comparing.
type view struct {
	head   string
	stints []string
}

// viewer shows sessions as far as the columns of a sheet tell of them.
type viewer struct {
	names          *names
	outing, stints []*field
}

func (s *Sheet) viewer(n *names) *viewer {
	v := &viewer{names: n}
	for _, c := range flatColumns() {
		switch {
		// Labels and numbers of the file need not be the journal's.
		case c.key == "session" || c.key == "stint" || c.key == "rig":
		case c.key != "position" && !s.has(c.key):
		case c.about == ofOuting:
			v.outing = append(v.outing, c)
		default:
			v.stints = append(v.stints, c)
		}
	}
	return v
}

func (v *viewer) view(session journal.Session) view {
	rows := v.names.flatten(session)
	out := view{stints: make([]string, len(session.Stints))}
	for i, r := range rows {
		if i == 0 {
			out.head = joined(v.outing, r)
		}
		out.stints[*r.stint-1] += joined(v.stints, r) + "\n"
	}
	return out
}

func joined(columns []*field, r *row) string {
	var b strings.Builder
	for _, c := range columns {
		b.WriteString(c.cell(r))
		b.WriteByte(0)
	}
	return b.String()
}

// without returns the places of the stints that other does not have.
func (v view) without(other view) []int {
	count := map[string]int{}
	for _, st := range other.stints {
		count[st]++
	}
	var missing []int
	for i, st := range v.stints {
		if count[st] == 0 {
			missing = append(missing, i)
			continue
		}
		count[st]--
	}
	return missing
}
