package sheet

import (
	"slices"
	"strconv"
	"strings"

	"rigtally/journal"
	"rigtally/journal/exchange"
	catalogue "rigtally/journal/field"
)

// origin says who wrote a spreadsheet.
type origin int

const (
	foreign origin = iota
	ours           // a flat CSV of rigtally
	oldOurs        // one from before it said of what count was kept: all of it, as assumed
)

// recognize tells a flat CSV that rigtally wrote by headers that nobody else has.
func (s *Sheet) recognize() {
	for _, key := range []string{"session", "time_zone", "untimed_tangles"} {
		if _, c := s.find(key); c == nil || c.Header != key {
			return
		}
	}
	s.origin = oldOurs
	if s.has(exchange.CountsKept) {
		s.origin = ours
	}
}

// telling is what a row says of one count.
type telling uint8

const (
	untold telling = iota // nothing
	told                  // a count, perhaps none
	denied                // that no count was kept
)

// recorded returns of what count was kept in a stint: of a kind that every row
// tells which it concerns, and no row denies.
func (s *Sheet) recorded(st *stintRows) journal.Recorded {
	if s.origin == oldOurs {
		return 0
	}
	r := journal.RecordedOf()
	for _, k := range journal.Kinds() {
		if s.isRecorded(st, k) {
			r = r.With(k)
		}
	}
	if len(r.Missing()) == 0 && s.origin == ours && slices.ContainsFunc(st.rows, func(r *row) bool { return r.assumed }) {
		return 0
	}
	return r
}

func (s *Sheet) isRecorded(st *stintRows, k journal.Kind) bool {
	needed, further := exchange.ColumnsOf(k)
	if s.origin == ours { // where these are blank too when nothing was noted
		switch k {
		case journal.KindTurns:
			needed, further = further, nil
		case journal.KindMinutesLost:
			needed = []journal.Count{journal.CountUntimed}
		}
	}
	for _, c := range further {
		if s.counts[c] && slices.ContainsFunc(st.rows, func(r *row) bool { return r.of.counts[c] }) {
			needed = append(needed, c)
		}
	}
	for _, c := range needed {
		if !st.tells(c, st.concerned(k)) {
			return false
		}
	}
	return true
}

// tells reports whether rows that have a column of a count tell it: those that are
// concerned, or where none of these has it, all.
func (st *stintRows) tells(c journal.Count, concerned []*row) bool {
	var all, own []*row
	for _, r := range st.rows {
		if !r.of.counts[c] {
			continue
		}
		if r.told[c] == denied {
			return false
		}
		all = append(all, r)
		if slices.Contains(concerned, r) {
			own = append(own, r)
		}
	}
	if len(own) == 0 {
		own = all
	}
	return len(own) > 0 && !slices.ContainsFunc(own, func(r *row) bool {
		noChecks := c == journal.CountTurns && r.told[journal.CountChecks] == told && r.Tally.N(journal.CountChecks) == 0
		return r.told[c] != told && !noChecks
	})
}

// concerned are the rows of a stint without which a kind is not recorded: those of
// flies, or that of the whole rig alone. What belongs to a tag does not concern the point.
func (st *stintRows) concerned(k journal.Kind) []*row {
	var droppers, flies []*row
	for _, r := range st.rows {
		if r.Place >= exchange.PlacePoint {
			flies = append(flies, r)
		}
		if r.Place >= exchange.PlaceDropper {
			droppers = append(droppers, r)
		}
	}
	ofTag := slices.Contains([]journal.Kind{journal.KindTangles, journal.KindTangleKind, journal.KindTurns, journal.KindBreakPlace, journal.KindMinutesLost}, k)
	switch {
	case ofTag && len(droppers) > 0:
		return droppers
	case len(flies) > 0:
		return flies
	}
	return st.rows
}

// takeCount reads a cell of a column of counts.
func (s *Sheet) takeCount(c *column, r *row, cell string) {
	of := *c.field.Of
	switch s.kindOf(cell) {
	case blankCell:
		if c.Reading.BlankIs == BlankZero {
			r.told[of] = told
		}
		// A number may follow from other cells all the same, unless it is one that
		// ours gives wherever it is not none.
		given := s.origin == ours && (of == journal.CountBrokeOff || of == journal.CountHookingUntold || of == journal.CountFairLost)
		if given || c.Reading.BlankIs == BlankZero && neverZero(of) {
			r.Tally[of] = new(0)
		}
	case zeroCell:
		r.Tally[of], r.told[of] = new(0), told
	case unknownCell:
		r.told[of] = denied
	default:
		if err := c.field.set(c, r, cell); err != nil {
			s.bad(r, s.headerOf(r, c), cell, err)
			return
		}
		r.told[of] = told
	}
}

// headerOf is a column's header as written in the part of a row.
func (s *Sheet) headerOf(r *row, c *column) string { return r.of.headers[slices.Index(s.columns, c)] }

// sayRecorded tells which kinds no column of the file tells of.
func (s *Sheet) sayRecorded() {
	if s.origin == oldOurs {
		s.choose("This flat CSV is from before rigtally said what was counted: everything is assumed counted.")
		return
	}
	var without []string
	for _, k := range journal.Kinds() {
		needed, _ := exchange.ColumnsOf(k)
		if slices.ContainsFunc(needed, func(c journal.Count) bool { return !s.counts[c] }) {
			without = append(without, k.Title())
		}
	}
	if len(without) > 0 {
		s.choose("Not recorded, since it has no column: %s.", strings.Join(without, ", "))
	}
}

func setCountsKept(_ *column, r *row, cell string) error {
	switch catalogue.Plain(strings.TrimSpace(cell)) {
	case exchange.KeptAssumed:
		r.assumed = true
	case exchange.KeptNoted:
	default:
		return &problem{what: "does not say whether what was counted was noted", remedy: "write noted or assumed"}
	}
	return nil
}

// setUncounted reads what happened of kinds of which no count was kept, as
// uncountedCell writes it.
func setUncounted(_ *column, r *row, cell string) error {
	r.Uncounted = map[journal.Count]int{}
	for part := range strings.SplitSeq(cell, ";") {
		words := strings.Fields(part)
		bad := &problem{what: "is not a list of counts", remedy: "write it as tangles 1; twists 1"}
		if len(words) != 2 {
			return bad
		}
		columns := exchange.Columns()
		at := slices.IndexFunc(columns, func(c *exchange.Column) bool { return c.Of != nil && c.Key == words[0] })
		n, err := strconv.Atoi(words[1])
		if at < 0 || err != nil || n < 0 || n > maxCount {
			return bad
		}
		r.Uncounted[*columns[at].Of] = n
	}
	return nil
}
