package exchange

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rigtally/journal"
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
	if s.has(countsKept) {
		s.origin = ours
	}
}

// The column of a flat CSV that says whether it was said of what count was kept,
// and its words.
const (
	countsKept  = "counts_kept"
	keptNoted   = "noted"
	keptAssumed = "assumed"
)

// telling is what a row says of one count.
type telling uint8

const (
	untold telling = iota // nothing
	told                  // a count, perhaps none
	denied                // that no count was kept
)

// columnsOf are the columns that tell of a kind: those without which it is not
// recorded, and those that must be told too where the file has them.
func columnsOf(k journal.Kind) (needed, further []count) {
	switch k {
	case journal.KindHookups:
		return []count{cHookups}, nil
	case journal.KindLanded:
		return []count{cLanded}, nil
	case journal.KindLost:
		return []count{cLost}, nil
	case journal.KindBrokeOff:
		return []count{cBrokeOff}, nil
	case journal.KindHooking:
		return []count{cFoul}, nil
	case journal.KindBreakPlace:
		return []count{cJunctionBreaks}, nil
	case journal.KindSnags:
		return []count{cSnags}, nil
	case journal.KindTangles:
		return []count{cTangles}, nil
	case journal.KindTangleKind:
		return []count{cTwists}, []count{cWindKnots, cNests}
	case journal.KindTurns:
		return []count{cTurns}, []count{cChecks}
	case journal.KindChanges:
		return []count{cFlyChanges, cReties}, nil
	case journal.KindMinutesLost:
		return []count{cMinutesLost}, nil
	}
	return nil, nil
}

// countKind is the kind of event that a count is of.
func countKind(c count) journal.Kind {
	switch c {
	case cUntold:
		return journal.KindHooking
	case cFairLost:
		return journal.KindLost
	case cUntimed:
		return journal.KindMinutesLost
	}
	for _, k := range journal.Kinds() {
		needed, further := columnsOf(k)
		if slices.Contains(needed, c) || slices.Contains(further, c) {
			return k
		}
	}
	panic(fmt.Sprintf("count %d has no kind", c))
}

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
	needed, further := columnsOf(k)
	if s.origin == ours { // where these are blank too when nothing was noted
		switch k {
		case journal.KindTurns:
			needed, further = further, nil
		case journal.KindMinutesLost:
			needed = []count{cUntimed}
		}
	}
	for _, c := range further {
		if s.counts[c] {
			needed = append(needed, c)
		}
	}
	if slices.ContainsFunc(needed, func(c count) bool { return !s.counts[c] }) {
		return false
	}
	concerned := st.concerned(k)
	for _, r := range st.rows {
		for _, c := range needed {
			noChecks := c == cTurns && r.told[cChecks] == told && r.tally.n(cChecks) == 0
			if r.told[c] == denied || slices.Contains(concerned, r) && r.told[c] != told && !noChecks {
				return false
			}
		}
	}
	return true
}

// concerned are the rows of a stint without which a kind is not recorded: those of
// flies, or that of the whole rig alone. What belongs to a tag does not concern the point.
func (st *stintRows) concerned(k journal.Kind) []*row {
	var droppers, flies []*row
	for _, r := range st.rows {
		if r.place >= placePoint {
			flies = append(flies, r)
		}
		if r.place >= placeDropper {
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
	of := *c.field.of
	switch kindOf(cell) {
	case blankCell:
		if c.Reading.BlankIs == BlankZero {
			r.told[of] = told
		}
		// A number may follow from other cells all the same, unless it is one that
		// ours gives wherever it is not none.
		given := s.origin == ours && (of == cBrokeOff || of == cUntold || of == cFairLost)
		if given || c.Reading.BlankIs == BlankZero && neverZero(of) {
			r.tally[of] = new(0)
		}
	case zeroCell:
		r.tally[of], r.told[of] = new(0), told
	case unknownCell:
		r.told[of] = denied
	default:
		if err := c.field.set(c, r, cell); err != nil {
			s.bad(r, c.Header, cell, err)
			return
		}
		r.told[of] = told
	}
}

// sayRecorded tells which kinds no column of the file tells of.
func (s *Sheet) sayRecorded() {
	if s.origin == oldOurs {
		s.choose("This is a flat CSV of rigtally from before it said of what count was kept: every count is assumed to have been.")
		return
	}
	var without []string
	for _, k := range journal.Kinds() {
		needed, _ := columnsOf(k)
		if slices.ContainsFunc(needed, func(c count) bool { return !s.counts[c] }) {
			without = append(without, k.Title())
		}
	}
	if len(without) > 0 {
		s.choose("Not recorded, since no column tells of it: %s.", strings.Join(without, ", "))
	}
}

func setCountsKept(_ *column, r *row, cell string) error {
	switch plain(strings.TrimSpace(cell)) {
	case keptAssumed:
		r.assumed = true
	case keptNoted:
	default:
		return &problem{what: "does not say whether it was said of what count was kept", remedy: "write noted or assumed"}
	}
	return nil
}

// setUncounted reads what happened of kinds of which no count was kept, as
// uncountedCell writes it.
func setUncounted(_ *column, r *row, cell string) error {
	r.uncounted = map[count]int{}
	for part := range strings.SplitSeq(cell, ";") {
		words := strings.Fields(part)
		bad := &problem{what: "is not a list of counts", remedy: "write it as tangles 1; twists 1"}
		if len(words) != 2 {
			return bad
		}
		at := slices.IndexFunc(countFields(), func(f *field) bool { return f.of != nil && f.key == words[0] })
		n, err := strconv.Atoi(words[1])
		if at < 0 || err != nil || n < 0 || n > maxCount {
			return bad
		}
		r.uncounted[*countFields()[at].of] = n
	}
	return nil
}
