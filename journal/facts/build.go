package facts

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"slices"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// Builder makes facts from rows as they are read: first people, waters and rigs,
// then sessions with their stints, then flies, spells and moments. Nothing of the facts that it starts
// from changes.
type Builder struct {
	old    *Facts
	part   Facts // what is new, numbered from 0
	index  *factIndex
	forget []journal.ID

	sessions map[journal.ID]int32 // new ones, by their place in part
	rows     idTable              // of new stints, in the order in which they came
	read     []readStint          // the same
	counts   tallies              // of the same
	place    []int32              // of each of those in part.stints
	spells   []readSpell
	moments  []readMoment
	err      error
}

// factIndex finds what facts hold by its id. The latest facts and their builder share it.
type factIndex struct {
	sessions               sessionIndex
	anglers, waters, beats map[journal.ID]int32
	rigs                   map[journal.ID]int32
	zones                  map[string]uint16
	lengths, values        map[float64]int32
}

// bytes are roughly those of what grows with the journal.
func (x *factIndex) bytes() int {
	const entry = 32 // of a map, at its usual load
	return cap(x.sessions.slots)*4 + (len(x.lengths)+len(x.values))*entry
}

// sessionIndex finds sessions by their id, in a quarter of the room of a map. Ids are random in their
// last eight bytes (RFC 9562, version 7); others are still told apart, only more slowly.
type sessionIndex struct {
	slots []int32 // one more than a place in the facts' sessions, 0 for none; a power of two of them
	used  int
}

// slot is that of an id, or the free one where it belongs.
func (x *sessionIndex) slot(sessions []factSession, id journal.ID) int {
	random := binary.LittleEndian.Uint64(id[8:])
	last := len(x.slots) - 1
	at := int(random^random>>32) & last
	for x.slots[at] > 0 && sessions[x.slots[at]-1].id != id {
		at = (at + 1) & last
	}
	return at
}

// put keeps the place of an id.
func (x *sessionIndex) put(sessions []factSession, id journal.ID, at int32) {
	if 2*x.used >= len(x.slots) {
		old := x.slots
		x.slots = make([]int32, max(1024, 2*len(old)))
		for _, n := range old {
			if n > 0 {
				x.slots[x.slot(sessions, sessions[n-1].id)] = n
			}
		}
	}
	slot := x.slot(sessions, id)
	if x.slots[slot] == 0 {
		x.used++
	}
	x.slots[slot] = at + 1
}

// at is the place last kept of an id.
func (x *sessionIndex) at(sessions []factSession, id journal.ID) (at int32, ok bool) {
	if len(x.slots) == 0 {
		return 0, false
	}
	n := x.slots[x.slot(sessions, id)]
	return n - 1, n > 0
}

// readStint is a stint as it came.
type readStint struct {
	factStint
	session int32
	ordinal int
}

type readSpell struct {
	fly, length int32
	ordinal     int
	share       int32
	from, to    int // of its parts
}

// Session is a session without its stints.
type Session struct {
	ID, Angler, Water                       journal.ID
	Beat                                    *journal.ID
	Day                                     journal.Date
	Start                                   *time.Time
	Logged                                  time.Time
	TimeZone                                string
	FlowM3S, WaterTempC, DepthM, VelocityMS float64 // NaN when not noted; flow and temperature as typed, else as its gauge has them
	FlowPercentile, TempPeakC               float64 // NaN when no gauge tells
	Trend6H, Trend24H                       gauge.Trend
	Storm                                   bool
}

// Stint is a stint with its counts for the whole rig.
type Stint struct {
	ID, Session, Rig journal.ID
	Ordinal          int  // in its session, from 1
	Seconds          *int // nil when not noted
	Recorded         journal.Recorded
	Stroke           journal.Stroke
	Counts           *journal.Counts // of StintCounts; not kept by the builder
}

// StintCounts are the counts that facts hold of stints.
func StintCounts() []journal.Count { return slices.Clone(stintCounts) }

// FlyCounts are the counts that facts hold of flies.
func FlyCounts() []journal.Count { return slices.Clone(flyCounts) }

// SpellCounts are the counts that facts hold of spells of tags.
func SpellCounts() []journal.Count { return slices.Clone(spellCounts) }

// NewBuilder starts from older facts, or from nothing.
func NewBuilder(old *Facts) *Builder {
	b := &Builder{old: old, sessions: map[journal.ID]int32{}}
	if old == nil {
		b.old = &Facts{index: &factIndex{anglers: map[journal.ID]int32{}, waters: map[journal.ID]int32{}, beats: map[journal.ID]int32{}, rigs: map[journal.ID]int32{},
			zones: map[string]uint16{}, lengths: map[float64]int32{}, values: map[float64]int32{}}}
	}
	b.index = b.old.index
	p := &b.part
	p.anglers, p.waters, p.beats = slices.Clone(b.old.anglers), slices.Clone(b.old.waters), slices.Clone(b.old.beats)
	p.zones, p.rigs, p.lengths, p.values = b.old.zones, b.old.rigs, b.old.lengths, b.old.values
	return b
}

// numbered puts a value under an id's number, a new one if need be.
func numbered[T any](index map[journal.ID]int32, list []T, id journal.ID, v T) []T {
	if at, ok := index[id]; ok {
		list[at] = v
		return list
	}
	index[id] = int32(len(list))
	return append(list, v)
}

// People takes all anglers, and all waters with their beats.
func (b *Builder) People(anglers []journal.Angler, waters []journal.Water) {
	p := &b.part
	for _, a := range anglers {
		p.anglers = numbered(b.index.anglers, p.anglers, a.ID, a)
	}
	for _, w := range waters {
		p.waters = numbered(b.index.waters, p.waters, w.ID, w)
		for _, beat := range w.Beats {
			p.beats = numbered(b.index.beats, p.beats, beat.ID, beat.Name)
		}
	}
}

// Rig takes a rig that is new, or that was replaced before it was fished.
func (b *Builder) Rig(rig journal.Rig) {
	f := factRig{Rig: rig, tied: make([]int32, len(rig.Positions))}
	for i, p := range rig.Positions {
		f.tied[i] = b.length(p.TagLengthMM)
	}
	b.index.rigs[rig.ID] = int32(len(b.part.rigs))
	b.part.rigs = append(b.part.rigs, f)
}

// length is the code of a tag's length, unknown when it was not noted.
func (b *Builder) length(mm *float64) int32 {
	if mm == nil {
		return unknown
	}
	return codeIn(b.index.lengths, &b.part.lengths, *mm)
}

// value is the code of a number, unknown for NaN, which is one not noted.
func (b *Builder) value(v float64) int32 {
	if v != v {
		return unknown
	}
	return codeIn(b.index.values, &b.part.values, v)
}

// codeIn is the code of a number in a list, which it joins if need be.
func codeIn(index map[float64]int32, list *[]float64, v float64) int32 {
	code, ok := index[v]
	if !ok {
		code = int32(len(*list))
		index[v] = code
		*list = append(*list, v)
	}
	return code
}

// Expect makes room for so many rows.
func (b *Builder) Expect(sessions, stints int) {
	b.part.sessions = slices.Grow(b.part.sessions, sessions)
	b.read = slices.Grow(b.read, stints)
}

// Session takes a session that is new, or that takes the place of the one of its id.
func (b *Builder) Session(s Session) {
	out := factSession{id: s.ID, beat: unknown, day: packDay(s.Day), storm: s.Storm, start: never, logged: s.Logged.UnixMicro(),
		flow: b.value(s.FlowM3S), temp: b.value(s.WaterTempC), depth: b.value(s.DepthM), velocity: b.value(s.VelocityMS),
		trends: trendCode(s.Trend6H) | trendCode(s.Trend24H)<<4}
	var known [2]bool
	out.angler, known[0] = b.index.anglers[s.Angler]
	out.water, known[1] = b.index.waters[s.Water]
	if !known[0] || !known[1] {
		b.fail("session %s: its angler or water was not read", s.ID)
	}
	if s.Beat != nil {
		out.beat = b.index.beats[*s.Beat]
	}
	if s.Start != nil {
		out.start = int32(s.Start.Unix() / 60)
	}
	zone, ok := b.index.zones[s.TimeZone]
	if !ok {
		zone = uint16(len(b.part.zones))
		b.index.zones[s.TimeZone] = zone
		b.part.zones = append(b.part.zones, s.TimeZone)
	}
	out.zone = zone
	if gauged := (factGauged{b.value(s.FlowPercentile), b.value(s.TempPeakC)}); gauged != (factGauged{unknown, unknown}) {
		b.part.gauged = append(reaching(b.part.gauged, len(b.part.sessions)), gauged)
	}
	b.sessions[s.ID] = int32(len(b.part.sessions))
	b.part.sessions = append(b.part.sessions, out)
}

// Forget takes a session out.
func (b *Builder) Forget(id journal.ID) { b.forget = append(b.forget, id) }

// Stint takes a stint of a session taken before, in any order.
func (b *Builder) Stint(s Stint) {
	session, ok1 := b.sessions[s.Session]
	rig, ok2 := b.index.rigs[s.Rig]
	if !ok1 || !ok2 {
		b.fail("stint %s: its session or rig was not read", s.ID)
		return
	}
	st := readStint{factStint{rig: rig, seconds: unknown, recorded: s.Recorded, stroke: uint8(slices.Index(journal.Strokes(), s.Stroke) + 1)}, session, s.Ordinal}
	if s.Seconds != nil {
		st.seconds = int32(*s.Seconds)
	}
	b.rows.number(s.ID)
	for _, c := range stintCounts {
		if len(b.read)&1 == 0 {
			b.counts.small[c] = append(b.counts.small[c], 0)
		}
	}
	b.counts.put(stintCounts, int32(len(b.read)), s.Counts)
	b.read = append(b.read, st)
}

func (b *Builder) fail(format string, args ...any) {
	if b.err == nil {
		b.err = fmt.Errorf(format, args...)
	}
}

// arrange puts the stints read into order, and makes room for their flies.
func (b *Builder) arrange() {
	p := &b.part
	of := make([]int32, len(p.sessions)+1) // stints of each session, then where they begin
	for _, st := range b.read {
		of[st.session+1]++
	}
	for s := range p.sessions {
		of[s+1] += of[s]
		p.sessions[s].stint, p.sessions[s].end = of[s], of[s+1]
	}
	p.stints = withRoom[factStint](len(b.read))
	b.place = make([]int32, len(b.read))
	for i, st := range b.read {
		at := of[st.session] + int32(st.ordinal) - 1
		if at >= of[st.session+1] || st.ordinal < 1 {
			b.fail("session %s: its stints are not numbered from 1 on", p.sessions[st.session].id)
			return
		}
		b.place[i] = at
		p.stints[at] = st.factStint
	}
	flies := int32(0)
	for i := range p.stints {
		p.stints[i].fly = flies
		flies += int32(len(p.rigs[p.stints[i].rig].Positions))
	}
	p.flies = withRoom[int32](int(flies))
	for i := range p.flies {
		p.flies[i] = unknown
	}
	p.ofStint.makeRoom(stintCounts, len(b.read))
	p.ofFly.makeRoom(flyCounts, int(flies))
	for _, c := range stintCounts {
		for i, at := range b.place {
			p.ofStint.set(c, at, b.counts.small[c][i>>1]>>(i&1*4)&beyond)
		}
	}
	for _, l := range b.counts.large {
		l.row = b.place[l.row]
		p.ofStint.large = append(p.ofStint.large, l)
	}
	b.read, b.counts = nil, tallies{}
}

// withRoom makes a list that sessions can be added to without copying it.
func withRoom[T any](n int) []T { return make([]T, n, n+n/128+1024) }

func (t *tallies) makeRoom(counts []journal.Count, rows int) {
	for _, c := range counts {
		t.small[c] = withRoom[uint8]((rows + 1) / 2)
	}
}

func (t *tallies) put(counts []journal.Count, row int32, from *journal.Counts) {
	for _, c := range counts {
		n := from[c]
		if n >= beyond {
			t.large = append(t.large, largeTally{row, c, int32(n)})
			n = beyond
		}
		t.set(c, row, uint8(n))
	}
}

// Fly takes a fly of a stint with what was noted of its tag at the start and its counts.
// All stints have been taken by then.
func (b *Builder) Fly(stint journal.ID, position int, tagMM *float64, counts *journal.Counts) {
	row, ok := b.fly(stint, position)
	if !ok {
		return
	}
	b.part.flies[row] = b.length(tagMM)
	b.part.ofFly.put(flyCounts, row, counts)
}

// fly finds the row of a fly.
func (b *Builder) fly(stint journal.ID, position int) (row int32, ok bool) {
	if b.place == nil && b.err == nil {
		b.arrange()
	}
	n, ok := b.rows.known(stint)
	if !ok || b.err != nil {
		b.fail("stint %s: a fly of it came before it", stint)
		return 0, false
	}
	st := b.part.stints[b.place[n]]
	for i, p := range b.part.rigs[st.rig].Positions {
		if p.Position == position {
			return st.fly + int32(i), true
		}
	}
	return 0, false // something happened on a fly that the rig does not have, of which check tells
}

// Spell takes a part of a stint through which a tag kept its length.
func (b *Builder) Spell(stint journal.ID, position, ordinal int, tagMM, share float64, counts *journal.Counts) {
	row, ok := b.fly(stint, position)
	if !ok {
		return
	}
	s := readSpell{fly: row, length: b.length(&tagMM), ordinal: ordinal, share: b.value(share), from: len(b.part.parts)}
	for _, c := range spellCounts {
		if n := counts[c]; n != 0 {
			b.part.parts = append(b.part.parts, b.value(n))
			b.part.partOf = append(b.part.partOf, uint8(c))
		}
	}
	s.to = len(b.part.parts)
	b.spells = append(b.spells, s)
}

// arrangeSpells puts the spells read into order.
func (b *Builder) arrangeSpells() {
	slices.SortFunc(b.spells, func(x, y readSpell) int { return cmp.Or(cmp.Compare(x.fly, y.fly), cmp.Compare(x.ordinal, y.ordinal)) })
	p := &b.part
	p.spells, p.shares = withRoom[factSpell](len(b.spells)), withRoom[int32](len(b.spells))
	parts, partOf := withRoom[int32](len(p.parts)), withRoom[uint8](len(p.parts))
	next := int32(0)
	for i, s := range b.spells {
		p.spells[i], p.shares[i] = factSpell{s.fly, s.length, next}, s.share
		copy(parts[next:], p.parts[s.from:s.to])
		next += int32(copy(partOf[next:], p.partOf[s.from:s.to]))
	}
	p.parts, p.partOf = parts, partOf
	at := 0
	for i := range p.sessions {
		fly := int32(len(p.flies))
		if from := p.sessions[i].stint; int(from) < len(p.stints) {
			fly = p.stints[from].fly
		}
		for at < len(p.spells) && p.spells[at].fly < fly {
			at++
		}
		p.sessions[i].spell = int32(at)
	}
	b.spells = nil
}

// Facts returns what was taken, at a revision of the journal, in place of the older facts. The builder
// and the older facts' builder are used up by it.
func (b *Builder) Facts(revision int64) (*Facts, error) {
	if b.place == nil && b.err == nil {
		b.arrange()
	}
	if b.err != nil {
		return nil, fmt.Errorf("put the journal's facts in order: %w", b.err)
	}
	b.arrangeSpells()
	b.arrangeMoments()
	for _, t := range []*tallies{&b.part.ofStint, &b.part.ofFly} {
		slices.SortFunc(t.large, func(x, y largeTally) int { return cmp.Compare(x.row, y.row) })
	}
	f := b.part
	f.Revision, f.index = revision, b.index
	base := int32(len(b.old.sessions))
	if base > 0 {
		b.append(&f)
	}
	f.gone = make([]uint64, len(f.sessions)/64+1)
	copy(f.gone, b.old.gone)
	for _, id := range b.forget {
		b.leave(&f, id)
	}
	for id, at := range b.sessions {
		b.leave(&f, id)
		b.index.sessions.put(f.sessions, id, base+at)
	}
	return &f, nil
}

// leave marks the session of an id as gone.
func (b *Builder) leave(f *Facts, id journal.ID) {
	if at, ok := b.index.sessions.at(f.sessions, id); ok {
		f.gone[at/64] |= 1 << (at % 64)
	}
}
