package shape

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/words"
)

// gathering is the events of one stint.
type gathering struct {
	rows   []Row
	cells  []string         // what its rows share
	places []string         // positions in the order in which they come
	at     map[string]*hits // by position, "" without a column of positions
	wrong  *Problem
	open   bool // its last row of a fish is one hooked, whose end may come in the next
}

// seen is what the rows of a sheet tell as a whole.
type seen struct {
	kinds         map[string]bool
	ended, opened int // rows of how a fish ended, and those of them that follow a row of one hooked
}

// hits counts what happened at one place of the rig.
type hits struct {
	counts map[string]int
	lost   []string       // the time lost, as written
	tied   map[int]string // by column: what the rows say of the fly there
}

// implied is what also happened with an event.
var implied = map[string]string{"landed": "hookups", "lost": "hookups", "broke_off": "hookups", "foul_hookups": "hookups", "junction_breaks": "broke_off",
	"twists": "tangles", "wind_knots": "tangles", "nests": "tangles"}

// Gather puts the events of the same day, angler, water, session, start and rig into one
// row, or one for each position, with a column of counts for each kind that occurs
// anywhere in the sheet. A blank cell says the same as the row before it. A stint with
// an event that isn't understood is a problem as a whole, since its counts would not be
// complete; so is one whose rows differ in the time fished.
func (e *Events) Gather(rows []Row) Table {
	var t Table
	var list []*gathering
	all := &seen{kinds: map[string]bool{}}
	for _, r := range rows {
		g := e.find(list, r)
		if g == nil {
			g = &gathering{cells: make([]string, len(e.names)), at: map[string]*hits{}}
			list = append(list, g)
		}
		g.rows = append(g.rows, r)
		if wrong := e.take(g, r, all); wrong != nil && g.wrong == nil {
			g.wrong = wrong
		}
	}
	if all.ended > 0 && all.ended == all.opened {
		t.Problems = []Problem{{Header: e.names[e.Column], What: "has a row of a fish hooked before each row of how one ended, so that fish may have two rows",
			Remedy: "write one row for each fish, of how it ended"}}
		return t
	}
	t.Notes = e.notes(all.kinds)
	columns, where := slices.Sorted(maps.Keys(all.kinds)), places(list)
	t.Names = e.header(columns)
	for i, g := range list {
		if g.wrong != nil {
			g.wrong.With = g.others(g.wrong.Row)
			t.Problems = append(t.Problems, *g.wrong)
			continue
		}
		t.Rows = append(t.Rows, e.rows(g, columns, i+1, where)...)
	}
	return t
}

// sharedBy reports whether a column must be the same in the rows of a stint: what tells sessions and rigs apart.
func (e *Events) sharedBy(column int) bool {
	switch key := e.keys[column]; key {
	case "date", "session", "angler", "water", "beat", "start", "end", "stint", "rig", "method", "rod_length", "leader_length", "tippet_length":
		return true
	default:
		return natures[key].is(ofTag) && !slices.Contains(e.keys, "position")
	}
}

// find returns the stint that a row belongs to: that of the row before for what it
// leaves blank, else any with the same cells.
func (e *Events) find(list []*gathering, r Row) *gathering {
	for i := len(list) - 1; i >= 0; i-- {
		g, same := list[i], true
		for at := range e.names {
			if !e.sharedBy(at) {
				continue
			}
			cell := r.cell(at)
			if units.IsBlank(cell) && (i == len(list)-1 || e.keys[at] != "date") {
				continue
			}
			if !alike(cell, g.cells[at]) {
				same = false
				break
			}
		}
		if same {
			return g
		}
	}
	return nil
}

// take adds a row to its stint.
func (e *Events) take(g *gathering, r Row, all *seen) *Problem {
	place := ""
	if at := slices.Index(e.keys, "position"); at >= 0 {
		place = plain(r.cell(at))
	}
	h := g.at[place]
	if h == nil {
		h = &hits{counts: map[string]int{}, tied: map[int]string{}}
		g.at[place] = h
		g.places = append(g.places, place)
	}
	for i, key := range e.keys {
		cell := r.cell(i)
		if i == e.Column || i == e.Count || units.IsBlank(cell) || key == "position" {
			continue
		}
		is := natures[key]
		switch {
		case key == "minutes_lost":
			h.lost = append(h.lost, cell)
			if _, ok := sumTimes(h.lost); !ok {
				return &Problem{Row: r.Number, Header: e.names[i], Text: cell, What: "can't be added to the other times of its stint", Remedy: "write whole minutes in each row"}
			}
		case is.is(ofFly) && slices.Contains(e.keys, "position"):
			if was := h.tied[i]; was != "" && !alike(was, cell) && is.is(ofTag) {
				return &Problem{Row: r.Number, Header: e.names[i], Text: cell, What: fmt.Sprintf("differs from %q in the same stint", was), Remedy: "make them the same, or number the stints in a column named stint"}
			} else if was == "" {
				h.tied[i] = cell
			} else {
				h.tied[i] = joined(was, cell, ", ")
			}
		case is.is(span) && g.cells[i] != "" && !alike(g.cells[i], cell):
			return &Problem{Row: r.Number, Header: e.names[i], Text: cell, What: fmt.Sprintf("differs from “%s” in row %d of the same stint", g.cells[i], g.said(i)),
				Remedy: "write the same time in each row of a stint, or number the stints in a column named stint"}
		case g.cells[i] == "":
			g.cells[i] = cell
		case is.is(ofFly) && !is.is(ofTag|measure):
			g.cells[i] = joined(g.cells[i], cell, ", ")
		case key == "notes" || key == "session_notes":
			g.cells[i] = joined(g.cells[i], cell, "; ")
		}
	}
	return e.tally(g, h, r, all)
}

// said is the number of the first row that says something in a column.
func (g *gathering) said(column int) int {
	for _, r := range g.rows {
		if !units.IsBlank(r.cell(column)) {
			return r.Number
		}
	}
	return g.rows[0].Number
}

func joined(list, more, by string) string {
	if slices.ContainsFunc(strings.Split(list, by), func(s string) bool { return alike(s, more) }) {
		return list
	}
	return list + by + more
}

// tally counts the event of a row.
func (e *Events) tally(g *gathering, h *hits, r Row, all *seen) *Problem {
	word := r.cell(e.Column)
	if units.IsBlank(word) {
		return nil
	}
	key, ok := e.event(word)
	if !ok && !words.Built().None(word) {
		return &Problem{Row: r.Number, Header: e.names[e.Column], Text: word, What: "is not an event that is known", Remedy: "write landed, lost, broke off, tangle, snag or none, or leave the row out"}
	}
	for also := key; also != ""; also = implied[also] {
		all.kinds[also] = true
	}
	n := 1
	if e.Count >= 0 && !units.IsBlank(r.cell(e.Count)) {
		var err error
		if n, err = strconv.Atoi(strings.TrimSpace(r.cell(e.Count))); err != nil || n < 0 || n > 100000 {
			return &Problem{Row: r.Number, Header: e.names[e.Count], Text: r.cell(e.Count), What: "is not a number of events", Remedy: "write a whole number"}
		}
	}
	switch {
	case key == "hookups":
		g.open = true
	case implied[key] == "hookups" || key == "junction_breaks":
		all.ended++
		if g.open {
			all.opened++
		}
		g.open = false
	}
	for ; key != ""; key = implied[key] {
		h.counts[key] += n
	}
	return nil
}

// sumTimes adds up times as written: numbers without a unit, or times with one.
func sumTimes(list []string) (string, bool) {
	sum, bare := 0.0, 0
	for _, cell := range list {
		if n, ok := number(cell); ok {
			sum += n
			bare++
		}
	}
	switch bare {
	case len(list):
		return strconv.FormatFloat(sum, 'f', -1, 64), true
	case 0:
	default:
		return "", false
	}
	for _, cell := range list {
		n, err := units.Parser{}.Minutes(cell, "")
		if err != nil {
			return "", false
		}
		sum += n
	}
	return strconv.FormatFloat(sum, 'f', -1, 64) + " min", true
}

// others are the numbers of the rows of a stint but one.
func (g *gathering) others(number int) (list []int) {
	for _, r := range g.rows {
		if r.Number != number {
			list = append(list, r.Number)
		}
	}
	return list
}

// notes says what was done.
func (e *Events) notes(kinds map[string]bool) (notes []string) {
	names := slices.Sorted(maps.Keys(kinds))
	notes = append(notes, fmt.Sprintf("Read as one row for each event, by the column %s. Counted in every stint: %s.", e.names[e.Column], strings.ReplaceAll(strings.Join(names, ", "), "_", " ")))
	if kinds["landed"] || kinds["lost"] || kinds["broke_off"] {
		notes = append(notes, "A fish landed, lost or broken off counts as hooked, too.")
	}
	if kinds["junction_breaks"] {
		notes = append(notes, "A break at the knot counts as a fish broken off.")
	}
	if kinds["twists"] || kinds["wind_knots"] || kinds["nests"] {
		notes = append(notes, "A twist, wind knot or nest counts as a tangle, too.")
	}
	return notes
}

// kept are the columns as written that a gathered sheet keeps.
func (e *Events) kept() (list []int) {
	for i := range e.names {
		if i != e.Column && i != e.Count {
			list = append(list, i)
		}
	}
	return list
}

func (e *Events) header(counts []string) (names []string) {
	for _, i := range e.kept() {
		names = append(names, e.names[i])
	}
	return append(names, counts...)
}

// rows makes the rows of a stint: one, or one for each position and for the whole rig.
func (e *Events) rows(g *gathering, counts []string, stint int, places map[string]string) []Out {
	position := slices.Index(e.keys, "position")
	tag := map[int]string{} // what is said of a dropper's tag, in whichever row
	droppers := 0
	for _, place := range g.places {
		if isDropper(places[place]) {
			droppers++
		}
		for i, cell := range g.at[place].tied {
			if tag[i] == "" && natures[e.keys[i]].is(ofTag) {
				tag[i] = cell
			}
		}
	}
	if position >= 0 && droppers == 0 && len(tag) > 0 {
		const unnamed = "\x00"
		places = maps.Clone(places)
		places[unnamed] = "1"
		g.places, g.at[unnamed] = append([]string{unnamed}, g.places...), &hits{}
	}
	var all []Out
	for _, place := range g.places {
		h, where := g.at[place], places[place]
		if position >= 0 && where == "rig" && len(g.places) > 1 && len(h.counts) == 0 && len(h.lost) == 0 {
			continue
		}
		out := Out{Number: g.rows[0].Number, With: g.others(g.rows[0].Number), Stint: stint}
		for _, i := range e.kept() {
			cell := g.cells[i]
			is := natures[e.keys[i]]
			switch {
			case i == position:
				cell = where
			case e.keys[i] == "minutes_lost":
				cell, _ = sumTimes(h.lost)
				if len(h.lost) == 0 {
					cell = ""
				}
			case position < 0 || !is.is(ofFly):
			case is.is(ofTag) && isDropper(where):
				if cell = h.tied[i]; cell == "" {
					cell = tag[i]
				}
			case !is.is(ofTag) && where != "rig":
				cell = h.tied[i]
			default:
				cell = ""
			}
			out.Cells = append(out.Cells, cell)
		}
		for _, key := range counts {
			out.Cells = append(out.Cells, strconv.Itoa(h.counts[key]))
		}
		all = append(all, out)
	}
	return all
}

func isDropper(place string) bool { return place != "rig" && place != "point" && place != "" }

// places reads words for positions as a column of positions has them, over the whole sheet.
func places(list []*gathering) map[string]string {
	read, index := map[string]string{}, map[string]int{}
	a := &arrangement{family: byFly}
	for _, g := range list {
		for _, place := range g.places {
			if _, done := read[place]; done {
				continue
			}
			read[place] = place
			if units.IsBlank(place) || slices.Contains([]string{"rig", "whole rig", "whole", "all"}, place) {
				read[place] = "rig"
				continue
			}
			for _, l := range labels(tokens(place)) {
				if l.family == byFly {
					a.add(l, place, member{})
					index[place] = l.index
				}
			}
		}
	}
	slices.SortFunc(a.parts, func(x, y *arranged) int { return x.index - y.index })
	f := &Fold{Parts: make([]Part, len(a.parts))}
	if problems := f.place(a); len(problems) > 0 {
		return read // which the reader of positions refuses
	}
	for place, at := range index {
		read[place] = f.Parts[slices.IndexFunc(a.parts, func(part *arranged) bool { return part.index == at })].Position
	}
	return read
}
