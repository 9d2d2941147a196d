package exchange

import (
	"cmp"
	"slices"
	"time"

	"rigtally/journal"
)

// Names finds what sessions refer to.
type Names struct {
	anglers map[journal.ID]string
	waters  map[journal.ID]string
	beats   map[journal.ID]string
	rigs    map[journal.ID]journal.Rig
	zones   map[string]*time.Location
	taken   map[journal.ID]*journal.Taken // of gauges, by session; see tell
}

// NewNames takes them from a journal.
func NewNames(c journal.Contents) *Names {
	n := &Names{anglers: map[journal.ID]string{}, waters: map[journal.ID]string{}, beats: map[journal.ID]string{}, rigs: map[journal.ID]journal.Rig{},
		zones: map[string]*time.Location{}}
	for _, a := range c.Anglers {
		n.anglers[a.ID] = a.Name
	}
	for _, w := range c.Waters {
		n.waters[w.ID] = w.Name
		for _, b := range w.Beats {
			n.beats[b.ID] = b.Name
		}
	}
	for _, rig := range c.Rigs {
		n.rigs[rig.ID] = rig
	}
	return n
}

// Flatten makes the rows of a session, one for each stint and position of its
// rig, droppers first, and one for the whole rig where something happened on no
// fly in particular. What a row can't hold (species, minutes of events, …) is
// left to the backup.
func (n *Names) Flatten(s journal.Session) []*Row {
	base := Row{Session: s.ID.String(), Day: s.Day, Zone: s.TimeZone, Angler: n.anglers[s.AnglerID], Water: n.waters[s.WaterID], Catalogue: Untold()}
	base.Outing, base.taken = &s, n.taken[s.ID]
	if s.GuideID != nil {
		base.Guide = n.anglers[*s.GuideID]
	}
	if s.BeatID != nil {
		base.Beat = n.beats[*s.BeatID]
	}
	base.Start, base.End = n.clock(s.Start, s.TimeZone), n.clock(s.End, s.TimeZone)
	var rows []*Row
	for i, st := range s.Stints {
		rows = append(rows, flattenStint(base, i+1, st, n.rigs[st.RigID])...)
	}
	return rows
}

// clock returns a time as seconds after midnight in a zone.
func (n *Names) clock(t *time.Time, zone string) *int {
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

func flattenStint(base Row, number int, st journal.Stint, rig journal.Rig) []*Row {
	base.Stint, base.Rig, base.Leader = &number, rig.Title(), &rig
	whole := st
	whole.Minutes, whole.Casts, whole.Notes = nil, nil, ""
	base.Fished = &whole
	ends := tagEnds(st, rig)
	positions := slices.Clone(rig.Positions)
	slices.SortFunc(positions, func(a, b journal.RigPosition) int {
		// The point comes after the droppers.
		return cmp.Or(cmp.Compare(b2i(a.Position == 0), b2i(b.Position == 0)), cmp.Compare(a.Position, b.Position))
	})
	tally, err := journal.TallyStint(rig, st)
	counted := err == nil // the journal holds no stint that can't be
	var rows []*Row
	for _, p := range positions {
		r := base
		// Minutes and casts belong to every position that was fished; a row of
		// the whole rig leaves them out, so that nobody adds them up twice.
		fished := whole
		fished.Minutes, fished.Casts = st.Minutes, st.Casts
		r.Place, r.Fished, r.Fly, r.Tag = PlaceOf(p.Position), &fished, &p, &journal.StintPosition{TagEndMM: ends[p.Position]}
		for _, sp := range st.Positions {
			if sp.Position == p.Position {
				r.Tag.TagStartMM, r.Fly.Fly = sp.TagStartMM, cmp.Or(sp.Fly, p.Fly)
			}
		}
		r.Tally, _ = TallyOf(st.Events, rig, &p.Position)
		if counts := tally.Positions[p.Position]; counted && p.Position > 0 {
			r.loads, r.failures = new(counts.Int(journal.CountLoads)), new(counts.Int(journal.CountBrokeJunction)+counts.Int(journal.CountBrokeTag))
		}
		r.hideUncounted()
		rows = append(rows, &r)
	}
	if t, any := TallyOf(st.Events, rig, nil); any {
		r := base
		r.Place, r.Tally = PlaceRig, t
		r.hideUncounted()
		rows = append(rows, &r)
	}
	if len(rows) > 0 {
		rows[0].Fished.Notes = st.Notes
	}
	return rows
}

// hideUncounted leaves blank what no count was kept of, and keeps apart what
// happened of it all the same.
func (r *Row) hideUncounted() {
	if r.Fished.Recorded.Has(journal.KindHookups) {
		r.fairHookups = new(r.Tally.N(journal.CountHookups) - r.Tally.N(journal.CountFoul))
	}
	if !r.Fished.Recorded.Has(journal.KindHookups, journal.KindSnags) {
		r.loads = nil
	}
	if !r.Fished.Recorded.Has(journal.KindBreakPlace) {
		r.failures = nil
	}
	if len(r.Fished.Recorded.Missing()) == 0 {
		return
	}
	all := r.Tally
	r.Uncounted = map[journal.Count]int{}
	for _, c := range journal.AllCounts() {
		if r.Fished.Recorded.Has(kindOf(c)) {
			continue
		}
		noted := all.N(c) > 0 || c == journal.CountTurns && all.N(journal.CountChecks) > 0 || c == journal.CountMinutesLost && all.N(journal.CountTangles) > all.N(journal.CountUntimed)
		if noted {
			r.Uncounted[c] = all.N(c)
		}
		r.Tally[c] = nil
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
