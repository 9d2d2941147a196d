package journal

import (
	"encoding/binary"
	"math"
	"slices"

	"github.com/jackc/pgx/v5"
)

// unknown is the code of what was not noted.
const unknown = -1

// rowReader codes the rows of a question as they arrive.
type rowReader struct {
	q         Question
	out       *Rows
	factors   []Factor // those asked by and given
	coders    []coder  // of each factor
	rigs      rigCodes
	sessions  sessionCodes
	own       []int // places of the factors that rows have themselves
	tags      int   // the place of the tag length, or −1
	positions bool  // the rows are of positions, not of whole stints
	spells    bool  // and may be spells of a tag's length
	// hoursApart says that the exposure is not the time fished, which is read beside it.
	hoursApart bool
	cells      cellTable // places in the columns of out; or what is missing, below 0
	sums       sumsRead
	scratch    []int32
}

// sumsRead is what all the rows read add up to.
type sumsRead struct{ events, exposure float64 }

// rigCodes holds what each rig, or each position of one, has of some factors.
type rigCodes struct {
	needed  bool
	factors []int
	combos  combos
	table   idTable
	of      [][]rigCode // of each rig by the numbers of table: of its positions, or at 0 of the whole rig
}

type rigCode struct {
	combo int32 // unknown where the question is not about the position
	tied  int32 // code of the length of the tag as tied
}

// put keeps a code.
func (r *rigCodes) put(rig ID, position int, code rigCode) {
	at, fresh := r.table.number(rig)
	if fresh {
		r.of = append(r.of, nil)
	}
	for len(r.of[at]) <= position {
		r.of[at] = append(r.of[at], rigCode{unknown, unknown})
	}
	r.of[at][position] = code
}

// at is the code kept.
func (r *rigCodes) at(rig ID, position int) (code rigCode, ok bool) {
	at, ok := r.table.known(rig)
	if !ok || position >= len(r.of[at]) {
		return rigCode{}, false
	}
	code = r.of[at][position]
	return code, code.combo != unknown
}

// sessionCodes holds what each session has of some factors, and its number once
// a row of it is used.
type sessionCodes struct {
	needed  bool
	factors []int
	combos  combos
	table   idTable
	list    []sessionCode // by the numbers of table
}

type sessionCode struct{ combo, number int32 }

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
		c.codes = append(c.codes, append([]int32(nil), codes...))
	}
	return n
}

// cellKey holds the codes of a row's rig, session and own factors.
type cellKey struct {
	rig, session int32
	own          [2]int32
}

func newRowReader(q Question) *rowReader {
	r := &rowReader{q: q, out: &Rows{Answer: Answer{LeftOut: map[string]int{}}}, tags: -1, positions: q.byPosition(), spells: q.ofSpells()}
	for _, by := range q.By {
		r.add(by)
		r.out.By = append(r.out.By, Column{Factor: by.Factor})
	}
	for _, f := range q.Given {
		r.add(By{Factor: f})
		r.out.Given = append(r.out.Given, Column{Factor: f})
	}
	r.rigs.needed = len(r.rigs.factors) > 0 || q.ofTags()
	r.sessions.needed = len(r.sessions.factors) > 0
	r.hoursApart = q.Outcome.exposure != perHour
	return r
}

func (r *rowReader) add(by By) {
	i := len(r.factors)
	switch by.Factor.place() {
	case ofRig:
		r.rigs.factors = append(r.rigs.factors, i)
	case ofSession:
		r.sessions.factors = append(r.sessions.factors, i)
	default:
		r.own = append(r.own, i)
	}
	if by.Factor.Key == tagLength {
		r.tags = i
	}
	r.factors = append(r.factors, by.Factor)
	r.coders = append(r.coders, coder{by: by, words: map[string]int32{}, numbers: map[float64]int32{}})
}

// readRigs takes rows of a rig's id, its position, the levels of its factors
// and the length of its tag.
func (r *rowReader) readRigs(rows pgx.Rows) error {
	return eachRow(rows, func(in *wire) {
		rig, position := in.id(), 0
		if r.positions {
			position = int(in.number())
		}
		code := rigCode{combo: r.rigs.combos.add(r.codes(in, r.rigs.factors)), tied: unknown}
		if r.tags >= 0 {
			code.tied = r.coders[r.tags].code(in)
		}
		r.rigs.put(rig, position, code)
	})
}

// readSessions takes rows of a session's id and the levels of its factors.
func (r *rowReader) readSessions(rows pgx.Rows) error {
	return eachRow(rows, func(in *wire) {
		at := r.sessionAt(in.id())
		r.sessions.list[at].combo = r.sessions.combos.add(r.codes(in, r.sessions.factors))
	})
}

// codes reads the levels of some factors; the next call overwrites what it returns.
func (r *rowReader) codes(in *wire, factors []int) []int32 {
	r.scratch = r.scratch[:0]
	for _, i := range factors {
		r.scratch = append(r.scratch, r.coders[i].code(in))
	}
	return r.scratch
}

// row is one as it arrives.
type row struct {
	session          ID
	key              cellKey // but for the session
	events, exposure float64
	hours            float64 // NaN when not noted
	refused          uint    // a bit for each condition of the outcome that does not hold
	stint            uint32  // tells the stints of a session apart, where a stint may have several rows
}

// read takes the rows themselves, with the columns that sql selects.
func (r *rowReader) read(rows pgx.Rows) error {
	out := omissions{of: map[omission]int{}}
	var lastID ID
	last := int32(unknown)
	err := eachRow(rows, func(in *wire) {
		row, ok := r.decode(in)
		r.sums.events += zeroIfNull(row.events)
		r.sums.exposure += zeroIfNull(row.exposure)
		if !ok {
			return
		}
		if last == unknown || row.session != lastID {
			lastID, last = row.session, r.sessionAt(row.session)
		}
		row.key.session = r.sessions.list[last].combo
		cell := r.cells.of(row.key, r.newCell)
		if cell < 0 {
			out.add(r, r.factors[-cell-1].Missing, row.stint)
			return
		}
		for i, u := range r.q.Outcome.usable {
			if row.refused&(1<<i) != 0 {
				out.add(r, u.otherwise, row.stint)
			}
		}
		r.out.cellHours[cell] += zeroIfNull(row.hours)
		if row.refused == 0 && row.exposure > 0 {
			r.use(last, cell, row)
		}
	})
	for o, n := range out.of {
		r.out.LeftOut[o.reason] += n
	}
	r.out.Untimed = r.out.LeftOut[timedOnly.otherwise]
	return err
}

// omissions counts what is left out, a stint's position once for each reason.
type omissions struct{ of map[omission]int }

type omission struct {
	reason string
	stint  uint32 // 0 where every row is another one
}

func (o *omissions) add(r *rowReader, reason string, stint uint32) {
	key := omission{reason, stint}
	if !r.spells {
		o.of[key]++
		return
	}
	o.of[key] = 1
}

// decode takes the columns of a row in the order of sql. A fly that is on no tag is
// not asked about, and not ok.
func (r *rowReader) decode(in *wire) (row row, ok bool) {
	row.session = in.id()
	row.events = in.number()
	if r.hoursApart {
		row.exposure = in.number()
	}
	for i, u := range r.q.Outcome.usable {
		if u != withMinutes && !in.truth() {
			row.refused |= 1 << i
		}
	}
	row.hours = in.number() / 3600 // as perHour
	for i, u := range r.q.Outcome.usable {
		if u == withMinutes && math.IsNaN(row.hours) {
			row.refused |= 1 << i
		}
	}
	if !r.hoursApart {
		row.exposure = row.hours
	}
	tied, position := int32(unknown), 0
	if r.rigs.needed {
		rig := in.id()
		if r.positions {
			position = int(in.number())
		}
		code, known := r.rigs.at(rig, position)
		if !known {
			return row, false
		}
		row.key.rig, tied = code.combo, code.tied
	}
	if r.spells {
		id := in.id()
		row.stint = binary.BigEndian.Uint32(id[12:]) ^ uint32(position)<<24 // random, by RFC 9562
	}
	for k, i := range r.own {
		code := r.coders[i].code(in)
		if i == r.tags && code == unknown {
			code = tied
		}
		row.key.own[k] = code
	}
	return row, true
}

// sessionAt is the place of a session in the list, which it joins if need be.
func (r *rowReader) sessionAt(id ID) int32 {
	at, fresh := r.sessions.table.number(id)
	if fresh {
		r.sessions.list = append(r.sessions.list, sessionCode{0, unknown})
	}
	return at
}

// use adds a row with exposure.
func (r *rowReader) use(session, cell int32, row row) {
	s := &r.sessions.list[session]
	if s.number == unknown {
		s.number = int32(r.out.Sessions)
		r.out.Sessions++
	}
	out := r.out
	if n := len(out.Cell); n == cap(out.Cell) { // doubled, where append would copy a large one many times
		more := max(n, 1024)
		out.Cell, out.Session = slices.Grow(out.Cell, more), slices.Grow(out.Session, more)
		out.Events, out.Exposure = slices.Grow(out.Events, more), slices.Grow(out.Exposure, more)
	}
	out.Cell = append(out.Cell, cell)
	out.Session = append(out.Session, s.number)
	out.Events = append(out.Events, row.events)
	out.Exposure = append(out.Exposure, row.exposure)
	if r.spells {
		out.stint = append(out.stint, row.stint)
	}
}

// newCell adds a cell to every column and returns its place; or, when a factor
// was not noted, minus one more than the place of that factor.
func (r *rowReader) newCell(key cellKey) int32 {
	codes := make([]int32, len(r.factors))
	for k, i := range r.own {
		codes[i] = key.own[k]
	}
	for k, i := range r.rigs.factors {
		codes[i] = r.rigs.combos.codes[key.rig][k]
	}
	for k, i := range r.sessions.factors {
		codes[i] = r.sessions.combos.codes[key.session][k]
	}
	for i, code := range codes {
		if code == unknown {
			return int32(-i - 1)
		}
	}
	for i, code := range codes {
		column := r.column(i)
		column.Of = append(column.Of, code)
	}
	r.out.cellHours = append(r.out.cellHours, 0)
	return int32(len(r.out.cellHours) - 1)
}

// result is what was read, its groups added up.
func (r *rowReader) result() *Rows {
	for i := range r.coders {
		r.column(i).Levels = r.coders[i].levels
	}
	r.out.sum()
	return r.out
}

func (r *rowReader) column(i int) *Column {
	if n := len(r.out.By); i >= n {
		return &r.out.Given[i-n]
	}
	return &r.out.By[i]
}
