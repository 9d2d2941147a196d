package facts

import (
	"slices"
	"strings"

	"rigtally/journal"
)

// Rows are the rows that a question is about, coded for fitting: each a position
// of a stint, a whole stint, or a spell of a tag's length, as the question wants,
// with exposure and with every factor known. Rows that agree in every factor
// share a cell.
type Rows struct {
	journal.Answer           // the sums of its groups
	By             []Column  // as in Question.By
	Given          []Column  // as in Question.Given
	Group          []int32   // of each cell: its place in Answer.Groups
	Cell           []int32   // of each row
	Session        []int32   // of each row: a number from 0 to Answer.Sessions−1
	Events         []float64 // of each row
	Exposure       []float64 // of each row

	cellHours []float64 // also of rows that have no exposure
	stint     []uint32  // of each row that may be one of several of a stint's position: which
}

// Column is a factor of some rows.
type Column struct {
	Factor journal.Factor
	Levels []journal.Level // the different ones, in no particular order
	Of     []int32         // of each cell: its place in Levels
}

// sum fills the answer from the rows.
func (r *Rows) sum() {
	r.group()
	if len(r.Groups) == 0 {
		return
	}
	for cell, g := range r.Group {
		r.Groups[g].Hours += r.cellHours[cell]
	}
	type sums struct{ k, t float64 }
	inSession := make([]sums, len(r.Groups))
	var present []int32
	for _, rows := range bySession(r.Session, r.Sessions) {
		r.countStints(rows)
		for _, row := range rows {
			g := r.Group[r.Cell[row]]
			s := &inSession[g]
			if s.t == 0 {
				present = append(present, g)
			}
			s.k += r.Events[row]
			s.t += r.Exposure[row]
		}
		for _, i := range present {
			addSession(&r.Groups[i], inSession[i].k, inSession[i].t)
			inSession[i] = sums{}
		}
		present = present[:0]
	}
	r.dropEmptyGroups()
}

// countStints counts the stints of a session's rows, each once in a group and
// once in all, however many lengths its tag had.
func (r *Rows) countStints(rows []int32) {
	type stint struct {
		which uint32
		group int32
	}
	var seen []stint
	for _, row := range rows {
		g := r.Group[r.Cell[row]]
		if r.stint != nil {
			s := stint{r.stint[row], g}
			if slices.Contains(seen, s) {
				continue
			}
			if !slices.ContainsFunc(seen, func(other stint) bool { return other.which == s.which }) {
				r.Stints++
			}
			seen = append(seen, s)
		} else {
			r.Stints++
		}
		r.Groups[g].Stints++
	}
}

// group numbers the combinations of levels asked by.
func (r *Rows) group() {
	type levels [2]int32
	known := map[levels]int32{}
	r.Group = make([]int32, len(r.cellHours))
	for cell := range r.Group {
		var key levels
		for i, c := range r.By {
			key[i] = c.Of[cell]
		}
		g, ok := known[key]
		if !ok {
			g = int32(len(r.Groups))
			known[key] = g
			group := journal.Sums{}
			for i, c := range r.By {
				group.Level = append(group.Level, c.Levels[key[i]])
			}
			r.Groups = append(r.Groups, group)
		}
		r.Group[cell] = g
	}
}

// dropEmptyGroups removes groups that were fished, but without exposure.
func (r *Rows) dropEmptyGroups() {
	place := make([]int32, len(r.Groups))
	kept := r.Groups[:0]
	for i, g := range r.Groups {
		place[i] = -1
		if g.Stints > 0 {
			place[i] = int32(len(kept))
			kept = append(kept, g)
		}
	}
	r.Groups = kept
	for cell, g := range r.Group {
		r.Group[cell] = place[g]
	}
}

// bySession yields the rows of each session, through a counting sort.
func bySession(session []int32, sessions int) func(yield func(int, []int32) bool) {
	end := make([]int32, sessions+1)
	for _, s := range session {
		end[s+1]++
	}
	for s := range sessions {
		end[s+1] += end[s]
	}
	rows := make([]int32, len(session))
	next := append([]int32(nil), end[:sessions]...)
	for row, s := range session {
		rows[next[s]] = int32(row)
		next[s]++
	}
	return func(yield func(int, []int32) bool) {
		for s := range sessions {
			if !yield(s, rows[end[s]:end[s+1]]) {
				return
			}
		}
	}
}

// Sides returns rows of one factor of words with the levels of each list taken
// together as one, named after all of them. Other levels stay as they are, and
// so does r.
func (r *Rows) Sides(sides ...[]string) *Rows {
	out := *r
	out.Groups = nil
	column := Column{Factor: r.By[0].Factor, Of: slices.Clone(r.By[0].Of)}
	place := make([]int32, len(r.By[0].Levels))
	known := map[string]int32{}
	for i, level := range r.By[0].Levels {
		for _, side := range sides {
			if slices.ContainsFunc(side, func(word string) bool { return strings.EqualFold(word, level.Word) }) {
				level.Word = SideName(side)
			}
		}
		at, ok := known[level.Word]
		if !ok {
			at = int32(len(column.Levels))
			known[level.Word] = at
			column.Levels = append(column.Levels, level)
		}
		place[i] = at
	}
	for cell, level := range column.Of {
		column.Of[cell] = place[level]
	}
	out.By = []Column{column}
	out.sum()
	return &out
}

// SideName names levels taken together.
func SideName(side []string) string { return strings.Join(side, " or ") }

// NewRows adds up rows that did not come from a journal, such as invented ones.
// Columns hold a level for each cell, and hours the hours fished in each; cell,
// session, events and exposure, above 0, belong to the rows. Sessions are
// numbered from 0.
func NewRows(by, given []Column, hours []float64, cell, session []int32, events, exposure []float64) *Rows {
	r := &Rows{Answer: journal.Answer{LeftOut: map[string]int{}}, By: by, Given: given, Cell: cell, Session: session, Events: events, Exposure: exposure, cellHours: hours}
	if len(session) > 0 {
		r.Sessions = int(slices.Max(session)) + 1
	}
	r.sum()
	return r
}
