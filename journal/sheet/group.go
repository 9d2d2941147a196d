package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"rigtally/journal"
	"rigtally/journal/exchange"
)

// outing is the rows of one session.
type outing struct {
	rows   []*row
	start  *int
	head   *row // the first row, and what the others say of the session that it does not
	stints []*stintRows
}

// stintRows is the rows of one stint, each of another fly or of the whole rig.
type stintRows struct {
	rows []*row
	head *row         // the first good row, and what the others say of the stint that it does not
	rig  *journal.Rig // others may share it
	tied string       // the rig's tyingKey

	spell    *spell // that gives the minutes when none are noted
	recorded journal.Recorded
}

// group makes sessions and stints of the rows, and takes out the bad ones.
func (s *Sheet) group() {
	s.rename()
	s.conflicts, s.soundRigs, s.rigs = map[string]conflict{}, map[string]bool{}, map[string]sharedRig{}
	for _, f := range s.reader.fields {
		switch {
		case f.Alike == nil || !s.tells(f):
		case f.About == exchange.OfOuting:
			s.outingFields = append(s.outingFields, f)
		case f.About == exchange.OfStint:
			s.stintFields = append(s.stintFields, f)
		}
	}
	for _, o := range s.gather() {
		s.divide(o)
		s.clocks(o)
		s.doubt(o)
		s.withhold(o)
		if len(o.stints) == 0 {
			continue
		}
		s.merge(o)
		if err := s.valid(o); err != nil {
			s.refuse(o, err)
			continue
		}
		s.outings = append(s.outings, o)
	}
	s.sharedLabels()
	s.sayTimes()
	for _, f := range s.outingFields {
		if n := s.conflicts[f.Key]; n.rows > 0 && !slices.Contains(untoldConflicts, f.Key) {
			differ := "rows differ"
			if n.rows == 1 {
				differ = "row differs"
			}
			s.warn("%d %s from the first row of its session in %s (%s does); the first is kept. A column named session tells sessions of the same day apart.", n.rows, differ, f.Title, n.example)
		}
	}
}

// tells reports whether rows of the sheet may say something of a field.
func (s *Sheet) tells(f *field) bool {
	return s.has(f.Key) || slices.Contains([]string{"date", "angler", "water", "start", "end"}, f.Key)
}

type conflict struct {
	rows    int
	example string // of a row
}

// untoldConflicts tell sessions apart, or need not be told.
var untoldConflicts = []string{"date", "session", "angler", "water", "storm"}

// gather puts rows into sessions, in the order of the file. Bad rows come too,
// if they say where they belong, so that their stint is known.
func (s *Sheet) gather() []*outing {
	var list []*outing
	byKey := map[string][]*outing{}
	for _, r := range s.rows {
		if r.Day.IsZero() || r.Angler == "" || r.Water == "" {
			continue
		}
		key := strings.Join([]string{r.Day.String(), strings.ToLower(r.Angler), strings.ToLower(r.Water), r.Session}, "\x00")
		o := placeFor(byKey[key], r)
		if o == nil {
			o = &outing{}
			list = append(list, o)
			byKey[key] = append(byKey[key], o)
		}
		o.rows = append(o.rows, r)
		if o.start == nil {
			o.start = r.Start
		}
	}
	return list
}

// placeFor finds the session of a row among those of the same day, angler, water
// and label. Without a label, another start is another session, unless it stands in the
// same row of the file.
func placeFor(among []*outing, r *row) *outing {
	if len(among) == 0 {
		return nil
	}
	if r.Session != "" || r.Start == nil {
		return among[len(among)-1]
	}
	for _, o := range among {
		if o.rows[len(o.rows)-1].sameLine(r) || o.start == nil || *o.start == *r.Start {
			return o
		}
	}
	return nil
}

// divide puts the rows of a session into stints, ordered by number where they have one.
func (s *Sheet) divide(o *outing) {
	type key struct {
		of     *table // nil: by the number that the row gives
		number int
	}
	known := map[key]*stintRows{}
	numbered := true
	for _, r := range o.rows {
		numbered = numbered && r.Stint != nil
		k := key{r.of.table, r.together}
		if r.Stint != nil {
			k = key{nil, *r.Stint}
		}
		st := known[k]
		if st == nil || k.number == 0 {
			st = &stintRows{}
			o.stints = append(o.stints, st)
			known[k] = st
		}
		st.rows = append(st.rows, r)
	}
	if numbered {
		slices.SortStableFunc(o.stints, func(a, b *stintRows) int { return cmp.Compare(*a.rows[0].Stint, *b.rows[0].Stint) })
	}
	for _, st := range o.stints {
		s.checkStint(st)
	}
}

// checkStint checks that the rows of a stint go together.
func (s *Sheet) checkStint(st *stintRows) {
	seen := map[exchange.Place]*row{}
	st.head = st.rows[max(0, slices.IndexFunc(st.rows, func(r *row) bool { return !r.bad }))]
	if len(st.rows) > 1 { // of which the others add to what the first shares with other rows
		leader, fished := *st.head.Leader, *st.head.Fished
		st.head.Leader, st.head.Fished = &leader, &fished
	}
	for _, r := range st.rows {
		if r.bad {
			continue
		}
		if other := seen[r.Place]; other != nil {
			s.bad(r, "", "", &problem{field: "position", what: fmt.Sprintf("comes twice in this stint (%s has it too)", other.at()), remedy: "give each fly its own position, or the stint another number"})
			continue
		}
		seen[r.Place] = r
		if len(seen) > maxFlies+1 {
			s.bad(r, "", "", &problem{field: "position", what: "is one fly too many", remedy: fmt.Sprintf("a rig has at most %d", maxFlies)})
		}
		for _, f := range s.stintFields {
			if !f.Alike(&st.head.Row, &r.Row) {
				s.bad(r, "", "", &problem{field: f.Key, what: fmt.Sprintf("differs from the first row of its stint (%s)", st.rows[0].at()),
					remedy: "make them the same, or give the stint another number"})
			}
		}
		addNotes(&st.head.Fished.Notes, r.Fished.Notes)
	}
	s.checkTags(st)
}

// checkTags refuses a tag that was only cut and yet grew. A re-tie on any row of
// the stint may explain it, since that of a rig need not name its dropper.
func (s *Sheet) checkTags(st *stintRows) {
	if slices.ContainsFunc(st.rows, func(r *row) bool { return r.Tally.N(journal.CountReties) > 0 }) {
		return
	}
	for _, r := range st.rows {
		start, end := cmp.Or(r.Tag.TagStartMM, r.Fly.TagLengthMM), r.Tag.TagEndMM
		if !r.bad && start != nil && end != nil && *end > *start && r.Tally.N(journal.CountFlyChanges) > 0 {
			s.bad(r, "", "", &problem{field: "tag_end", what: fmt.Sprintf("is longer than the %.4g mm it began with, though it was only cut", *start),
				remedy: "correct one of them, or count the re-tie"})
		}
	}
}

// withhold takes the stints with a bad row out of a session.
func (s *Sheet) withhold(o *outing) {
	o.stints = slices.DeleteFunc(o.stints, func(st *stintRows) bool {
		at := slices.IndexFunc(st.rows, func(r *row) bool { return r.bad })
		if at < 0 {
			return false
		}
		for _, r := range st.rows {
			if !r.bad {
				r.bad, r.with = true, st.rows[at]
			}
		}
		return true
	})
}

// merge gathers what the rows say of their session. Where they differ, the
// first is kept, and the others are counted.
func (s *Sheet) merge(o *outing) {
	o.head = o.stints[0].rows[0]
	if len(o.rows) > 1 { // of which the others add to what the first shares with other rows
		outing := *o.head.Outing
		o.head.Outing = &outing
	}
	for _, st := range o.stints {
		for _, r := range st.rows {
			for _, f := range s.outingFields {
				if !f.Alike(&o.head.Row, &r.Row) {
					c := s.conflicts[f.Key]
					s.conflicts[f.Key] = conflict{c.rows + 1, r.at()}
				}
			}
			addNotes(&o.head.Outing.Notes, r.Outing.Notes)
		}
		st.recorded = s.recorded(st)
	}
}

// addNotes adds what was not noted yet.
func addNotes(to *string, notes string) {
	if notes != "" && !strings.Contains(*to, notes) {
		*to = strings.TrimPrefix(*to+"; "+notes, "; ")
	}
}

// refuse keeps a whole session out for what its rows say together.
func (s *Sheet) refuse(o *outing, err error) {
	s.Bad = append(s.Bad, BadCell{Sheet: o.head.of.name, Row: o.head.number, row: o.stints[0].rows[0], Problem: "the session that starts here can't be right: " + err.Error(), Remedy: "correct its rows"})
	for _, st := range o.stints {
		for _, r := range st.rows {
			r.bad, r.with = true, o.stints[0].rows[0]
		}
	}
	o.stints[0].rows[0].with = nil
}

// sharedLabels refuses sessions that claim the same id of a journal.
func (s *Sheet) sharedLabels() {
	owner := map[journal.ID]*outing{}
	s.outings = slices.DeleteFunc(s.outings, func(o *outing) bool {
		id, err := journal.ParseID(o.head.Session)
		if err != nil {
			return false
		}
		if other := owner[id]; other != nil {
			s.refuse(o, fmt.Errorf("%s has the same session id but another day, angler or water", other.head.at()))
			return true
		}
		owner[id] = o
		return false
	})
}
