package facts

import (
	"runtime"
	"slices"
	"sync"

	"rigtally/journal"
)

// Rows returns the rows that a question is about, one by one, with the value of
// every factor. A row on which a factor was not noted is left out, and LeftOut
// says so.
//
// What each rig, session and length of a tag has of the factors is coded first; the rows
// themselves are then read in several runs of sessions at once, which come together in their order.
func (f *Facts) Rows(q journal.Question) (*Rows, error) {
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
func (f *Facts) Ask(q journal.Question) (journal.Answer, error) {
	if len(q.Given) > 0 {
		r, err := f.Rows(q)
		if err != nil {
			return journal.Answer{}, err
		}
		return r.Answer, nil
	}
	c, parts, err := f.readParts(q, true)
	if err != nil {
		return journal.Answer{}, err
	}
	out, keys := c.join(parts)
	c.group(&out.Answer, parts, keys)
	return out.Answer, nil
}

// fewStints are not worth a goroutine.
const fewStints = 20_000

func (f *Facts) readParts(q journal.Question, sumsOnly bool) (*coded, []rowPart, error) {
	if len(q.By) > 2 {
		return nil, nil, &journal.Invalid{Problems: []string{"a question can be divided by two factors at most; leave one out"}}
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
	found            journal.Answer // what was not told
	lastKey          cellKey
	lastCell         int32   // unasked before the first
	direct           []int32 // cells by the rig's set, where only that tells them apart
	row              reading
	sums             []journal.Sums // of the cells, without a level, when rows are not kept
	inSession        []sessionSum   // of the cells, in the session under way
	present          []int32        // the cells met in it
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
		row.why = p.q.Outcome.Usable(st.recorded, row.hours, 0)
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
		p.untold += detail(&p.found, p.q.Outcome.Key, p.terms.Untold, st.recorded, &p.ofStint, i)
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
		if fly := st.fly + int32(k); pos.Position > 0 || !p.terms.OnTag {
			n += p.ofFly.sum(p.what, fly) - p.ofFly.sum(p.less, fly)
		}
	}
	return n
}

// allKept reports whether every count that the outcome needs was kept.
func (c *coded) allKept(r journal.Recorded) bool { return r.Assumed() || r&c.needs == c.needs }

// sum adds counts of a row up; of one alone it is quicker.
func (c *coded) sum(t *tallies, counts []journal.Count, row int32) float64 {
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
	row.events, row.exposure = c.sum(t, c.terms.Events, at), row.hours
	if !c.hourly {
		row.exposure = c.sum(t, c.terms.Over, at) - t.sum(c.terms.Less, at)
	}
	if c.terms.Timed {
		row.untimed = t.at(journal.CountUntimed, at)
	}
}

// takeSpell counts a row that is a spell of a tag's length.
func (row *reading) takeSpell(c *coded, spell int) {
	row.events, row.exposure = c.sumOfSpell(c.terms.Events, spell), row.hours
	if !c.hourly {
		row.exposure = c.sumOfSpell(c.terms.Over, spell) - c.sumOfSpell(c.terms.Less, spell)
	}
	if c.terms.Timed {
		row.untimed = c.sumOfSpell([]journal.Count{journal.CountUntimed}, spell)
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
		why = journal.NotAllTimed
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
		addSession(&p.sums[cell], p.inSession[cell].k, p.inSession[cell].t)
		p.inSession[cell] = sessionSum{}
	}
	p.present = p.present[:0]
}

// addSession takes in a session with k events and t of exposure.
func addSession(s *journal.Sums, k, t float64) {
	addSums(s, journal.Sums{Sessions: 1, K: k, T: t, KK: k * k, KT: k * t, TT: t * t, TTT: t * t * t})
}

// addSums takes in the sums of other sessions.
func addSums(s *journal.Sums, o journal.Sums) {
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
		p.sums, p.inSession = append(p.sums, journal.Sums{}), append(p.inSession, sessionSum{})
	}
	return int32(len(p.keys) - 1)
}
