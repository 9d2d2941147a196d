package journal

import (
	"slices"
	"strings"
)

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
	r := &Rows{Answer: Answer{LeftOut: map[string]int{}}, By: by, Given: given, Cell: cell, Session: session, Events: events, Exposure: exposure, cellHours: hours}
	if len(session) > 0 {
		r.Sessions = int(slices.Max(session)) + 1
	}
	r.sum()
	return r
}
