package sheet

import (
	"errors"
	"reflect"
	"slices"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet/shape"
	"rigtally/journal/words"
)

// part is rows under the same headers: those of a table, or of one of the rigs that
// stand side by side in it.
type part struct {
	*table
	from     []int    // by column of the Sheet: which of the part's it is, -1 if it has none
	headers  []string // by column of the Sheet: as written here
	width    int      // columns of the part's own
	straight bool     // whose columns are those of the Sheet, in the same order
	counts   [len(journal.Counts{})]bool
}

// has reports whether the part has a column of the Sheet.
func (p *part) has(i int) bool { return i < len(p.from) && p.from[i] >= 0 }

// unfold makes rows of the lines of all tables: one of each, of each of the rigs side by
// side, or of several lines that tell of an event each.
func (s *Sheet) unfold() error {
	made := make([]shape.Table, len(s.tables))
	for i, t := range s.tables {
		if len(t.header.Problems) > 0 {
			return t.refuse(t.header.Problems)
		}
		events, problems := t.events(s)
		switch {
		case len(problems) > 0:
			return t.refuse(problems)
		case t.header.Fold != nil:
			made[i] = t.header.Fold.Unfold(t.lines)
			for k := range t.header.Fold.Parts {
				s.joinRig(t, made[i].Names, k)
			}
		case events != nil:
			made[i] = events.Gather(t.lines)
			if len(made[i].Names) == 0 {
				return t.refuse(made[i].Problems)
			}
			s.join(t, made[i].Names, made[i].Names)
		default:
			s.join(t, t.header.Names, t.header.Names)
		}
		for _, note := range made[i].Notes {
			s.choose("%s", note)
		}
	}
	for i, t := range s.tables {
		for _, p := range t.parts {
			p.straight = p.width == len(s.columns)
			for at, from := range p.from {
				p.straight = p.straight && from == at
			}
		}
		s.takeRows(t, made[i])
	}
	return nil
}

func (t *table) events(s *Sheet) (*shape.Events, []shape.Problem) {
	if t.header.Fold != nil || s.layout.pulls {
		return nil, nil
	}
	return shape.FindEvents(t.header.Names, t.lines, s.reader.keyOf, s.words.Event)
}

func (t *table) refuse(problems []shape.Problem) error {
	var errs []error
	for _, p := range problems {
		text := p.String()
		if t.name != "" {
			text = t.name + ", " + text
		}
		errs = append(errs, errors.New(text))
	}
	return errors.Join(errs...)
}

// joinRig takes the columns of one of the rigs side by side.
func (s *Sheet) joinRig(t *table, names []string, rig int) {
	headers, fold := slices.Clone(names), t.header.Fold
	for i := range fold.Names {
		added := !slices.ContainsFunc(fold.From[i], func(at int) bool { return at >= 0 })
		if !added {
			headers[i] = fold.Written(i, rig)
		}
	}
	s.join(t, names, headers)
}

// join makes columns of the Sheet of a part's. Those that have the same header, or the
// same meaning and unit, in several parts are one. An empty header with a label is that
// of a column which the part lacks.
func (s *Sheet) join(t *table, labels, headers []string) {
	p := &part{table: t, width: len(labels)}
	taken := map[*column]bool{}
	for at, label := range labels {
		if headers[at] == "" && label != "" {
			continue
		}
		m := s.reader.meaning(label)
		free := func(same func(c *column) bool) int {
			return slices.IndexFunc(s.columns, func(c *column) bool { return !taken[c] && same(c) })
		}
		i := free(func(c *column) bool { return headerKey(c.Header) == headerKey(label) })
		if i < 0 && m.field != nil {
			i = free(func(c *column) bool { return c.field == m.field && c.unit == m.unit && c.order == m.order })
		}
		if i < 0 {
			i = len(s.columns)
			s.columns = append(s.columns, newColumn(label, m))
		}
		c := s.columns[i]
		taken[c] = true
		for len(p.from) <= i {
			p.from, p.headers = append(p.from, -1), append(p.headers, "")
		}
		p.from[i], p.headers[i] = at, headers[at]
		if !slices.Contains(c.Headers, headers[at]) {
			c.Headers = append(c.Headers, headers[at])
		}
	}
	t.parts = append(t.parts, p)
}

// align puts a row's cells in the order of the Sheet's columns. Those beyond the header
// stay behind.
func (p *part) align(cells []string, width int) []string {
	if p.straight {
		return cells
	}
	aligned := make([]string, width, width+max(0, len(cells)-p.width))
	for i, at := range p.from {
		if at >= 0 && at < len(cells) {
			aligned[i] = cells[at]
		}
	}
	return append(aligned, cells[min(p.width, len(cells)):]...)
}

// takeRows makes rows of a table's lines, or of what unfolding made of them.
func (s *Sheet) takeRows(t *table, made shape.Table) {
	first := len(s.rows)
	if made.Rows == nil && made.Problems == nil {
		rows := make([]row, len(t.lines))
		for i, l := range t.lines {
			rows[i] = row{of: t.parts[0], number: l.Number, cells: t.parts[0].align(l.Cells, len(s.columns))}
			s.rows = append(s.rows, &rows[i])
		}
	}
	for _, out := range made.Rows {
		p := t.parts[min(out.Part, len(t.parts)-1)]
		s.rows = append(s.rows, &row{of: p, number: out.Number, others: out.With, together: out.Stint, cells: p.align(out.Cells, len(s.columns))})
	}
	if !s.layout.pulls {
		s.findLists(s.rows[first:])
	}
	s.takeProblems(t, made.Problems)
	s.takeTorn(t, s.rows[first:])
	slices.SortStableFunc(s.rows[first:], func(a, b *row) int { return a.number - b.number })
	s.Rows += len(t.lines)
	for i := range s.Sheets {
		if s.Sheets[i].Name == t.name && s.Sheets[i].Left == "" {
			s.Sheets[i].Rows = len(t.lines)
		}
	}
}

// takeProblems keeps the rows that could not be unfolded as bad ones, with the cells of
// each of their parts: what blanks mean is judged by all that was written.
func (s *Sheet) takeProblems(t *table, problems []shape.Problem) {
	bad := map[int]*row{}
	for _, p := range problems {
		r := bad[p.Row]
		if r == nil {
			r = &row{of: t.parts[0], number: p.Row, others: p.With}
			bad[p.Row] = r
			s.rows = append(s.rows, r)
			if at := slices.IndexFunc(t.lines, func(l shape.Row) bool { return l.Number == p.Row }); at >= 0 && t.header.Fold != nil {
				s.takeApart(t, r, t.lines[at])
			}
		}
		s.bad(r, p.Header, p.Text, &problem{what: p.What, remedy: p.Remedy})
	}
}

// takeApart gives a bad row the cells of a line's first part, and adds a bad row for each other.
func (s *Sheet) takeApart(t *table, first *row, l shape.Row) {
	f := t.header.Fold
	for part := range f.Parts {
		cells := f.Cells(part, l.Cells)
		if part == 0 {
			first.cells = t.parts[0].align(cells, len(s.columns))
			continue
		}
		for i := range cells {
			if f.Shared(i) {
				cells[i] = ""
			}
		}
		s.rows = append(s.rows, &row{of: t.parts[part], number: l.Number, cells: t.parts[part].align(cells, len(s.columns)), bad: true, with: first})
	}
}

// findLists refuses cells that hold several values where one belongs.
func (s *Sheet) findLists(rows []*row) {
	knots := s.words.Knots()
	isKnot := func(word string) bool { return knots[words.CompactKnot(word)] != "" }
	for i, c := range s.columns {
		if c.field == nil || c.field.Key == "uncounted" {
			continue
		}
		name, key := []string{c.Header}, func(string) string { return c.field.Key }
		single := map[string]bool{} // cells that hold one
		for _, r := range rows {
			cell := r.cell(i)
			if cell == "" || single[cell] {
				continue
			}
			problems := shape.Lists(name, shape.Row{Number: r.number, Cells: []string{cell}}, key, isKnot)
			for _, p := range problems {
				s.bad(r, r.of.headers[i], p.Text, &problem{what: p.What, remedy: p.Remedy})
				r.lists = append(r.lists, i)
			}
			if len(problems) == 0 && len(single) < maxCached {
				single[cell] = true
			}
		}
	}
}

// findIn returns a field's column in a part, and its place.
func (s *Sheet) findIn(p *part, key string) (int, *column) {
	for i, c := range s.columns {
		if c.field != nil && c.field.Key == key && p.has(i) {
			return i, c
		}
	}
	return len(s.columns), nil
}

// row is one data row as understood.
type row struct {
	exchange.Row
	of       *part
	number   int      // as a spreadsheet shows it
	others   []int    // numbers of further rows that it was gathered from
	together int      // the same for rows of a table that unfolding made of one stint; 0: it made none
	cells    []string // as written, by column of the Sheet
	lists    []int    // columns whose cells are bad, since they hold several values
	bad      bool
	accused  []string // headers of its bad cells
	with     *row     // the bad row of the same stint that keeps this good one out

	breaks  *float64 // minutes of the time from start to end in which nobody fished
	told    [len(journal.Counts{})]telling
	assumed bool // it was never said of what count was kept

	pullID string // in a sheet of bench pulls
}

// shared is what a row before has said too, so that both hold it once.
type shared struct {
	last  exchange.Catalogue
	flies map[journal.RigPosition]*journal.RigPosition
}

func (s *shared) keep(c *exchange.Catalogue) {
	if s.flies == nil {
		s.flies = map[journal.RigPosition]*journal.RigPosition{}
	}
	if fly := s.flies[*c.Fly]; fly != nil {
		c.Fly = fly
	} else if len(s.flies) < maxCached {
		s.flies[*c.Fly] = c.Fly
	}
	c.Outing, c.Leader, c.Fished, c.Tag = either(s.last.Outing, c.Outing), either(s.last.Leader, c.Leader), either(s.last.Fished, c.Fished), either(s.last.Tag, c.Tag)
	s.last = *c
}

// either is the first of two that say the same, else the second.
func either[T any](first, second *T) *T {
	if reflect.DeepEqual(first, second) {
		return first
	}
	return second
}

// at names the row in a sentence.
func (r *row) at() string { return atRow(r.of.name, r.number) }

// sameLine reports whether two rows stand in the same row of the file.
func (r *row) sameLine(other *row) bool {
	return r.of.table == other.of.table && r.number == other.number
}

// cell returns a cell as written; those that a row leaves off are blank.
func (r *row) cell(i int) string {
	if i < len(r.cells) {
		return r.cells[i]
	}
	return ""
}

// construction tells whether the row says anything about how its fly hangs.
func (r *row) construction() bool {
	return *r.Fly != journal.RigPosition{} || *r.Tag != journal.StintPosition{}
}

// events are what the row's tally makes. They are made when they are wanted, since all of
// them at once would take more memory than the rows.
func (r *row) events() ([]journal.Event, error) {
	return eventsOf(&r.Tally, r.Place.Position(), eventRules{
		foulTold:    r.told[journal.CountFoul] == told,
		checkColumn: r.of.counts[journal.CountChecks],
		noTurns:     r.told[journal.CountChecks] == denied || r.told[journal.CountTurns] == denied,
	})
}

// eventsOf turns a row's counts into the events of its position; nil is the whole
// rig. journal.Counted settles what totals do not say.
func eventsOf(t *exchange.Tally, position *int, as eventRules) ([]journal.Event, error) {
	c := journal.Counted{Hookups: t[journal.CountHookups], Foul: t[journal.CountFoul], Landed: t[journal.CountLanded], Lost: t[journal.CountLost], BrokeOff: t[journal.CountBrokeOff], Untold: t[journal.CountHookingUntold], FairLost: t[journal.CountFairLost],
		FoulAtLeast: !as.foulTold, JunctionBreaks: t[journal.CountBrokeJunction], Snags: t[journal.CountSnags], Tangles: t[journal.CountTangles], Twists: t[journal.CountTwists], WindKnots: t[journal.CountWindKnots], Nests: t[journal.CountNests],
		Untimed: t[journal.CountUntimed], MinutesLost: t[journal.CountMinutesLost], Checks: t[journal.CountChecks], Turns: t[journal.CountTurns], FlyChanges: t[journal.CountFlyChanges], Reties: t[journal.CountReties]}
	if as.foulTold && c.Foul == nil {
		c.Foul = new(int)
	}
	switch {
	case as.noTurns:
		c.Checks, c.Turns = nil, nil
	case c.Turns != nil && !as.checkColumn:
		c.Checks = new(1) // turns without a column of checks are those of one check
	}
	events, err := c.Events(position)
	var wrong *journal.Miscounted
	if errors.As(err, &wrong) {
		if wrong.Field == "checks" {
			wrong.Remedy += ", or ? if they were not counted"
		}
		return nil, &problem{field: wrong.Field, what: "doesn't add up: " + wrong.What, remedy: wrong.Remedy}
	}
	return events, err
}

// eventRules says what a row tells besides its counts.
type eventRules struct {
	foulTold    bool // fish hooked foul were told apart from the others
	checkColumn bool // a column counts the checks
	noTurns     bool // no count was kept of checks or turns
}
