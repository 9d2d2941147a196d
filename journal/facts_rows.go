package journal

import (
	"math"
	"runtime"
	"slices"
	"sync"
)

// Rows returns the rows that a question is about, one by one, with the value of
// every factor. A row on which a factor was not noted is left out, and LeftOut
// says so.
//
// What each rig, session and length of a tag has of the factors is coded first; the rows
// themselves are then read in several runs of sessions at once, which come together in their order.
func (f *Facts) Rows(q Question) (*Rows, error) {
	c, parts, err := f.readParts(q, false)
	if err != nil {
		return nil, err
	}
	out, keys := c.join(parts)
	out.By, out.Given = c.columns(0, len(q.By), keys), c.columns(len(q.By), len(c.factors), keys)
	out.sum()
	return out, nil
}

// Ask returns the sufficient statistics of a question's groups. Unless something is given it
// adds the rows up as it meets them, and keeps none.
func (f *Facts) Ask(q Question) (Answer, error) {
	if len(q.Given) > 0 {
		r, err := f.Rows(q)
		if err != nil {
			return Answer{}, err
		}
		return r.Answer, nil
	}
	c, parts, err := f.readParts(q, true)
	if err != nil {
		return Answer{}, err
	}
	out, keys := c.join(parts)
	c.group(&out.Answer, parts, keys)
	return out.Answer, nil
}

// fewStints are not worth a goroutine.
const fewStints = 20_000

func (f *Facts) readParts(q Question, sumsOnly bool) (*coded, []rowPart, error) {
	if len(q.By) > 2 {
		return nil, nil, &Invalid{Problems: []string{"a question can be divided by two factors at most; leave one out"}}
	}
	c := f.code(q)
	c.sumsOnly = sumsOnly
	parts := make([]rowPart, max(1, min(runtime.GOMAXPROCS(0), len(f.stints)/fewStints)))
	var wait sync.WaitGroup
	for i := range parts {
		from, to := i*len(f.sessions)/len(parts), (i+1)*len(f.sessions)/len(parts)
		parts[i].coded = c
		wait.Go(func() { parts[i].read(from, to) })
	}
	wait.Wait()
	return c, parts, nil
}

// coded is a question with what rigs, sessions and lengths have of its factors.
type coded struct {
	*Facts
	q       Question
	factors []Factor // those asked by and given
	coders  []coder  // of each of them
	ofRig   []int    // places of the factors that a rig or a fly of it has
	ofSess  []int    // … a session
	stroke  int      // place of the stroke, or unknown
	tag     int      // place of the tag length, or unknown

	perFly, spells bool
	rigs           []int32   // by rig: where it begins in flies, which has one for the whole rig unless perFly
	flies          []int32   // set of codes, or unasked
	rigSets        combos    //
	sessions       []int32   // by session: set of codes, or unasked; nil when all are in the one set there is
	sessSets       combos    //
	strokes        [16]int32 // by stroke: code, or unasked
	lengths        []int32   // by length: code, or unasked; the last is that of a length not noted
	what           []Count   // of which a rig may have more than its flies
	needs          Recorded  // the kinds that the outcome needs
	hourly         bool      // it is counted against hours
	sumsOnly       bool      // rows are added up by cell, and not kept
	oneOfEach      bool      // sessions, lengths and strokes are all the same to the question
	less           []Count
}

// unasked stands in place of a code for what the question is not about, or has not come to yet.
const unasked = math.MinInt32

func unaskedCodes(n int) []int32 {
	codes := make([]int32, n)
	for i := range codes {
		codes[i] = unasked
	}
	return codes
}

// combos numbers the different combinations of codes.
type combos struct {
	known map[string]int32
	codes [][]int32
}

func (c *combos) add(codes []int32) int32 {
	var room [64]byte
	key := room[:0]
	for _, code := range codes {
		key = append(key, byte(code), byte(code>>8), byte(code>>16), byte(code>>24))
	}
	n, ok := c.known[string(key)]
	if !ok {
		if c.known == nil {
			c.known = map[string]int32{}
		}
		n = int32(len(c.codes))
		c.known[string(key)] = n
		c.codes = append(c.codes, slices.Clone(codes))
	}
	return n
}

// coder numbers the levels of a factor as they occur.
type coder struct {
	by      By
	words   map[string]int32
	numbers map[float64]int32
	levels  []Level
}

// code is the number of the factor's level in a setting, unknown where it was not noted.
func (c *coder) code(s *Setting) int32 {
	if c.by.Factor.Quantity == Words {
		word := c.by.Factor.Word(s)
		if word == "" {
			return unknown
		}
		n, ok := c.words[word]
		if !ok {
			n = c.add(c.by.level(word, 0))
			c.words[word] = n
		}
		return n
	}
	v := c.by.Factor.NumberIn(s)
	if v == nil {
		return unknown
	}
	key := *v
	if c.by.Edges != nil {
		key = float64(c.by.band(*v))
	}
	n, ok := c.numbers[key]
	if !ok {
		n = c.add(c.by.level("", *v))
		c.numbers[key] = n
	}
	return n
}

func (c *coder) add(l Level) int32 {
	c.levels = append(c.levels, l)
	return int32(len(c.levels) - 1)
}

func (f *Facts) code(q Question) *coded {
	c := &coded{Facts: f, q: q, stroke: unknown, tag: unknown, perFly: q.byPosition(), spells: q.ofSpells()}
	for _, by := range q.By {
		c.add(by)
	}
	for _, given := range q.Given {
		c.add(By{Factor: given})
	}
	o := q.Outcome
	c.what = o.events
	if o.Measure == ShareOf && o.Exposure != "loads" {
		c.what, c.less = o.over, o.less
	}
	where := newConditions(q.Where)
	on := func(of noted) conditions { return where.on(func(f Factor) bool { return f.of == of }) }
	c.codeRigs(on(ofRig), on(ofFly))
	c.codeSessions(on(ofSession))
	c.codeStrokes(on(ofStint))
	c.codeLengths(on(ofSpell))
	c.needs, c.hourly = RecordedOf(o.Needs...), o.hourly()
	c.oneOfEach = len(c.ofSess) == 0 && c.stroke == unknown && c.tag == unknown
	return c
}

func (c *coded) add(by By) {
	i := len(c.factors)
	switch by.Factor.of {
	case ofSession:
		c.ofSess = append(c.ofSess, i)
	case ofStint:
		c.stroke = i
	case ofSpell:
		c.tag = i
	default:
		c.ofRig = append(c.ofRig, i)
	}
	c.factors = append(c.factors, by.Factor)
	c.coders = append(c.coders, coder{by: by, words: map[string]int32{}, numbers: map[float64]int32{}})
}

// set is the number of the codes that some factors have in a setting.
func (c *coded) set(sets *combos, factors []int, s *Setting) int32 {
	codes := make([]int32, 0, 8)
	for _, i := range factors {
		codes = append(codes, c.coders[i].code(s))
	}
	return sets.add(codes)
}

func (c *coded) codeRigs(onRig, onFly conditions) {
	droppers, tags := c.q.ofDroppers(), c.q.ofTags()
	c.rigs = make([]int32, len(c.Facts.rigs))
	for i := range c.Facts.rigs {
		rig := &c.Facts.rigs[i].Rig
		c.rigs[i] = int32(len(c.flies))
		s := Setting{Rig: rig}
		holds := onRig.hold(&s)
		if !c.perFly {
			set := int32(unasked)
			if holds {
				set = c.set(&c.rigSets, c.ofRig, &s)
			}
			c.flies = append(c.flies, set)
			continue
		}
		for p := range rig.Positions {
			s.Fly = &rig.Positions[p]
			set := int32(unasked)
			if asked := holds && (!droppers || s.Fly.Position > 0) && (!tags || s.Fly.Hang == HangTag); asked && onFly.hold(&s) {
				set = c.set(&c.rigSets, c.ofRig, &s)
			}
			c.flies = append(c.flies, set)
		}
	}
}

func (c *coded) codeSessions(where conditions) {
	if len(c.ofSess) == 0 {
		c.set(&c.sessSets, nil, nil)
		if len(where) == 0 {
			return
		}
	}
	c.sessions = make([]int32, len(c.Facts.sessions))
	var s Setting
	for i := range c.sessions {
		c.sessions[i] = unasked
		if c.isGone(i) {
			continue
		}
		if c.place(&s, i); where.hold(&s) {
			c.sessions[i] = c.set(&c.sessSets, c.ofSess, &s)
		}
	}
}

func (c *coded) codeStrokes(where conditions) {
	for i, word := range append([]Stroke{""}, Strokes()...) {
		s := Setting{Stroke: word}
		switch {
		case !where.hold(&s):
			c.strokes[i] = unasked
		case c.stroke != unknown:
			c.strokes[i] = c.coders[c.stroke].code(&s)
		}
	}
}

func (c *coded) codeLengths(where conditions) {
	if !c.spells {
		return
	}
	c.lengths = make([]int32, len(c.Facts.lengths)+1)
	for i := range c.lengths {
		s := Setting{Fly: &RigPosition{}}
		if i < len(c.Facts.lengths) {
			s.TagMM = &c.Facts.lengths[i]
		}
		switch {
		case !where.hold(&s):
			c.lengths[i] = unasked
		case c.tag != unknown:
			c.lengths[i] = c.coders[c.tag].code(&s)
		}
	}
}

// cellKey holds the codes of a row: sets of those of its rig and its session, then of its
// tag's length and its stroke.
type cellKey struct {
	rig, session int32
	own          [2]int32
}

// missing is the first factor that was not noted in a cell, or unknown.
func (c *coded) missing(key cellKey) int {
	for i, code := range c.codesOf(key) {
		if code == unknown {
			return i
		}
	}
	return unknown
}

// codesOf are the codes of a cell, by factor.
func (c *coded) codesOf(key cellKey) []int32 {
	codes := make([]int32, len(c.factors))
	for k, i := range c.ofRig {
		codes[i] = c.rigSets.codes[key.rig][k]
	}
	for k, i := range c.ofSess {
		codes[i] = c.sessSets.codes[key.session][k]
	}
	if c.tag != unknown {
		codes[c.tag] = key.own[0]
	}
	if c.stroke != unknown {
		codes[c.stroke] = key.own[1]
	}
	return codes
}

// rowPart is what was read of a run of sessions.
type rowPart struct {
	*coded
	table            cellTable // of cells, or of what is missing, below 0
	keys             []cellKey // of the cells
	hours            []float64 // of the cells
	cell, session    []int32
	events, exposure []float64
	of               []uint32 // fly of each row, when the rows are of spells
	leftOut          map[string]int
	counted          []string // reasons for which the fly under way was left out
	sessions         int32
	unplaced         float64
	untold           float64
	found            Answer // what was not told
	lastKey          cellKey
	lastCell         int32   // unasked before the first
	direct           []int32 // cells by the rig's set, where only that tells them apart
	row              reading
	sums             []Sums       // of the cells, without a level, when rows are not kept
	inSession        []sessionSum // of the cells, in the session under way
	present          []int32      // the cells met in it
	stintsUsed       int
	number           int32 // of the session under way, or unknown
	usedStint        bool
	countedFly       bool // the fly under way counts already

	// When parts come together: where each cell stands among all, and what comes before the part.
	place          []int32
	before         int
	sessionsBefore int32
}

func (p *rowPart) read(from, to int) {
	p.leftOut, p.lastCell, p.direct = map[string]int{}, unasked, unaskedCodes(len(p.rigSets.codes))
	for s := from; s < to; s++ {
		set := int32(0)
		if p.coded.sessions != nil {
			set = p.coded.sessions[s]
		}
		if set == unasked || p.isGone(s) {
			continue
		}
		p.number = unknown
		spell := int(p.Facts.sessions[s].spell)
		first, end := p.stintsOf(s)
		for i := first; i < end; i++ {
			spell = p.stint(i, set, spell)
		}
		p.endSession()
	}
}

// stint reads the rows of a stint, whose spells are from the given one on, and
// returns the first spell of the next.
func (p *rowPart) stint(i, session int32, spell int) int {
	st := &p.stints[i]
	stroke := p.strokes[st.stroke]
	row := &p.row
	row.key.session, row.key.own[1], row.hours, row.why = session, stroke, st.hours(), ""
	if !p.allKept(st.recorded) || p.hourly && st.seconds == unknown {
		row.why = p.q.Outcome.usable(st.recorded, row.hours, 0)
	}
	p.usedStint = false
	sets := p.coded.flies[p.coded.rigs[st.rig]:]
	switch {
	case stroke == unasked:
		if p.coded.spells {
			spell = p.pass(spell, st)
		}
		return spell
	case !p.perFly:
		if row.key.rig = sets[0]; row.key.rig != unasked {
			row.take(p.coded, &p.ofStint, i)
			p.add()
		}
	default:
		for k, tied := range p.Facts.rigs[st.rig].tied {
			fly := st.fly + int32(k)
			row.key.rig = sets[k]
			if p.coded.spells {
				row.fly, p.counted, p.countedFly = uint32(fly), p.counted[:0], false
				spell = p.fly(sets[k] != unasked, fly, tied, spell)
			} else if sets[k] != unasked {
				row.take(p.coded, &p.ofFly, fly)
				p.add()
			}
		}
		if n := p.sum(&p.ofStint, p.what, i); n != 0 && p.allKept(st.recorded) {
			p.unplaced += n - p.ofStint.sum(p.less, i) - p.onFlies(st)
		}
	}
	if p.usedStint {
		p.untold += p.found.detail(p.q.Outcome, st.recorded, &p.ofStint, i)
	}
	return spell
}

// pass returns the first spell that is not of a stint.
func (p *rowPart) pass(spell int, st *factStint) int {
	end := st.fly + int32(len(p.Facts.rigs[st.rig].tied))
	for spell < len(p.Facts.spells) && p.Facts.spells[spell].fly < end {
		spell++
	}
	return spell
}

// fly reads the spells of a fly, or the fly as one when its tag kept its length.
func (p *rowPart) fly(asked bool, fly, tied int32, spell int) int {
	row := &p.row
	hours := row.hours
	first := spell
	for ; spell < len(p.Facts.spells) && p.Facts.spells[spell].fly == fly; spell++ {
		if row.key.own[0] = p.lengths[p.Facts.spells[spell].length]; !asked || row.key.own[0] == unasked {
			continue
		}
		row.hours = hours * p.values[p.shares[spell]]
		row.takeSpell(p.coded, spell)
		p.add()
	}
	row.hours = hours
	if spell > first || !asked {
		return spell
	}
	length := p.Facts.flies[fly]
	if length == unknown {
		length = tied
	}
	if length == unknown {
		length = int32(len(p.Facts.lengths))
	}
	if row.key.own[0] = p.lengths[length]; row.key.own[0] != unasked {
		row.take(p.coded, &p.ofFly, fly)
		p.add()
	}
	return spell
}

// onFlies is what a stint's flies tell of what it is asked.
func (p *rowPart) onFlies(st *factStint) float64 {
	n := 0.0
	for k, pos := range p.Facts.rigs[st.rig].Positions {
		if fly := st.fly + int32(k); pos.Position > 0 || !p.q.Outcome.onTag {
			n += p.ofFly.sum(p.what, fly) - p.ofFly.sum(p.less, fly)
		}
	}
	return n
}

// allKept reports whether every count that the outcome needs was kept.
func (c *coded) allKept(r Recorded) bool { return r.Assumed() || r&c.needs == c.needs }

// sum adds counts of a row up; of one alone it is quicker.
func (c *coded) sum(t *tallies, counts []Count, row int32) float64 {
	if len(counts) == 1 {
		return t.at(counts[0], row)
	}
	return t.sum(counts, row)
}

// reading is a row as it is read.
type reading struct {
	key              cellKey
	events, exposure float64
	hours            float64 // NaN when not noted
	why              string  // it can't be used
	untimed          float64
	fly              uint32
}

// take counts a row.
func (row *reading) take(c *coded, t *tallies, at int32) {
	row.events, row.exposure = c.sum(t, c.q.Outcome.events, at), row.hours
	if !c.hourly {
		row.exposure = c.sum(t, c.q.Outcome.over, at) - t.sum(c.q.Outcome.less, at)
	}
	if c.q.Outcome.timed {
		row.untimed = t.at(CountUntimed, at)
	}
}

// takeSpell counts a row that is a spell of a tag's length.
func (row *reading) takeSpell(c *coded, spell int) {
	row.events, row.exposure = c.sumOfSpell(c.q.Outcome.events, spell), row.hours
	if !c.hourly {
		row.exposure = c.sumOfSpell(c.q.Outcome.over, spell) - c.sumOfSpell(c.q.Outcome.less, spell)
	}
	if c.q.Outcome.timed {
		row.untimed = c.sumOfSpell([]Count{CountUntimed}, spell)
	}
}

// add takes the row that was read, or says why it is left out.
func (p *rowPart) add() {
	row := &p.row
	cell := p.cellOf(row.key)
	if cell < 0 {
		p.leave(p.factors[-cell-1].Missing)
		return
	}
	why := row.why
	if why == "" && row.untimed > 0 {
		why = notAllTimed
	}
	if row.hours == row.hours {
		p.hours[cell] += row.hours
	}
	if why != "" {
		p.leave(why)
		return
	}
	if row.exposure <= 0 {
		return
	}
	if p.number == unknown {
		p.number = p.sessions
		p.sessions++
	}
	p.usedStint = true
	if p.sumsOnly {
		p.sumUp(cell)
		return
	}
	n := len(p.cell)
	if n == cap(p.cell) { // doubled, where append would copy a large one many times
		more := max(n, 1024)
		p.cell, p.session = slices.Grow(p.cell, more), slices.Grow(p.session, more)
		p.events, p.exposure = slices.Grow(p.events, more), slices.Grow(p.exposure, more)
	}
	p.cell, p.session = append(p.cell, cell), append(p.session, p.number)
	p.events, p.exposure = append(p.events, row.events), append(p.exposure, row.exposure)
	if p.coded.spells {
		p.of = append(p.of, row.fly)
	}
}

// sessionSum is what a session adds to a cell.
type sessionSum struct {
	k, t float64
	fly  uint32 // one more than that counted last, when rows are of spells
}

// sumUp adds the row that was read to its cell. A fly counts once in a cell and once in all,
// however many lengths its tag had.
func (p *rowPart) sumUp(cell int32) {
	s := &p.inSession[cell]
	if s.t == 0 {
		p.present = append(p.present, cell)
	}
	s.k += p.row.events
	s.t += p.row.exposure
	if !p.coded.spells {
		p.stintsUsed++
		p.sums[cell].Stints++
		return
	}
	if s.fly != p.row.fly+1 {
		s.fly = p.row.fly + 1
		p.sums[cell].Stints++
	}
	if !p.countedFly {
		p.countedFly = true
		p.stintsUsed++
	}
}

// endSession adds a session to the sums of its cells.
func (p *rowPart) endSession() {
	for _, cell := range p.present {
		k, t := p.inSession[cell].k, p.inSession[cell].t
		p.sums[cell].add(Sums{Sessions: 1, K: k, T: t, KK: k * k, KT: k * t, TT: t * t, TTT: t * t * t})
		p.inSession[cell] = sessionSum{}
	}
	p.present = p.present[:0]
}

// add takes in the sums of other sessions.
func (s *Sums) add(o Sums) {
	s.Stints, s.Sessions = s.Stints+o.Stints, s.Sessions+o.Sessions
	s.K, s.T, s.KK, s.KT, s.TT, s.TTT = s.K+o.K, s.T+o.T, s.KK+o.KK, s.KT+o.KT, s.TT+o.TT, s.TTT+o.TTT
}

// cellOf is the place of a cell, as newCell gives it.
func (p *rowPart) cellOf(key cellKey) int32 {
	if p.oneOfEach { // only the rig tells cells apart
		cell := &p.direct[key.rig]
		if *cell == unasked {
			*cell = p.newCell(key)
		}
		return *cell
	}
	if p.lastCell == unasked || key != p.lastKey {
		p.lastKey, p.lastCell = key, p.table.of(key, p.newCell)
	}
	return p.lastCell
}

// leave counts what is left out, a fly once for each reason.
func (p *rowPart) leave(why string) {
	if p.coded.spells {
		if slices.Contains(p.counted, why) {
			return
		}
		p.counted = append(p.counted, why)
	}
	p.leftOut[why]++
}

// newCell returns the place of a new cell; or, when a factor was not noted, minus one
// more than the place of that factor.
func (p *rowPart) newCell(key cellKey) int32 {
	if i := p.missing(key); i != unknown {
		return int32(-i - 1)
	}
	p.keys, p.hours = append(p.keys, key), append(p.hours, 0)
	if p.sumsOnly {
		p.sums, p.inSession = append(p.sums, Sums{}), append(p.inSession, sessionSum{})
	}
	return int32(len(p.keys) - 1)
}

// join puts what was read together, in the order of the sessions, and returns the cells.
func (c *coded) join(parts []rowPart) (*Rows, []cellKey) {
	out := &Rows{Answer: Answer{LeftOut: map[string]int{}}}
	var keys []cellKey
	place := map[cellKey]int32{}
	unplaced, untold, rows := 0.0, 0.0, 0
	for i := range parts {
		p := &parts[i]
		p.place = make([]int32, len(p.keys))
		for k, key := range p.keys {
			n, ok := place[key]
			if !ok {
				n = int32(len(keys))
				place[key] = n
				keys, out.cellHours = append(keys, key), append(out.cellHours, 0)
			}
			p.place[k] = n
			out.cellHours[n] += p.hours[k]
		}
		p.before, p.sessionsBefore = rows, int32(out.Sessions)
		rows += len(p.cell)
		out.Sessions += int(p.sessions)
		out.Stints += p.stintsUsed
		out.Assumed += p.found.Assumed
		out.AsFair += p.found.AsFair
		unplaced, untold = unplaced+p.unplaced, untold+p.untold
		for why, n := range p.leftOut {
			out.LeftOut[why] += n
		}
	}
	out.Untimed, out.Untold = out.LeftOut[notAllTimed], int(math.Round(untold))
	c.noteUnplaced(out, int(math.Round(unplaced)))
	if rows > 0 {
		c.gather(out, parts, rows)
	}
	return out, keys
}

// gather puts the rows of all parts one behind the other.
func (c *coded) gather(out *Rows, parts []rowPart, rows int) {
	out.Cell, out.Session, out.Events, out.Exposure = make([]int32, rows), make([]int32, rows), make([]float64, rows), make([]float64, rows)
	if c.spells {
		out.stint = make([]uint32, rows)
	}
	var wait sync.WaitGroup
	for i := range parts {
		p := &parts[i]
		wait.Go(func() {
			for row, cell := range p.cell {
				out.Cell[p.before+row], out.Session[p.before+row] = p.place[cell], p.session[row]+p.sessionsBefore
			}
			copy(out.Events[p.before:], p.events)
			copy(out.Exposure[p.before:], p.exposure)
			if c.spells {
				copy(out.stint[p.before:], p.of)
			}
		})
	}
	wait.Wait()
}

// group makes groups of the cells, which are the same where nothing is given.
func (c *coded) group(out *Answer, parts []rowPart, keys []cellKey) {
	groups := make([]Sums, len(keys))
	for _, p := range parts {
		for cell, sums := range p.sums {
			groups[p.place[cell]].add(sums)
			groups[p.place[cell]].Hours += p.hours[cell]
		}
	}
	for cell, key := range keys {
		g := groups[cell]
		if g.Stints == 0 { // fished, but without exposure
			continue
		}
		for i, code := range c.codesOf(key) {
			g.Level = append(g.Level, c.coders[i].levels[code])
		}
		out.Groups = append(out.Groups, g)
	}
}

// noteUnplaced says what belongs to no position, which a question by position leaves out.
func (c *coded) noteUnplaced(out *Rows, n int) {
	if n <= 0 {
		return
	}
	o := c.q.Outcome
	name, on := o.Events, "on no fly in particular"
	if o.Measure == ShareOf && o.Exposure != "loads" {
		name = o.Exposure
	}
	if o.onTag {
		on = "on no dropper in particular"
	}
	out.LeftOut[name+" "+on] = n
	out.Unplaced = n
}

// columns are the factors from one place up to another, with their level in each cell.
func (c *coded) columns(from, to int, keys []cellKey) []Column {
	var list []Column
	for i := from; i < to; i++ {
		list = append(list, Column{Factor: c.factors[i], Levels: c.coders[i].levels, Of: make([]int32, len(keys))})
	}
	for cell, key := range keys {
		codes := c.codesOf(key)
		for k := range list {
			list[k].Of[cell] = codes[from+k]
		}
	}
	return list
}
