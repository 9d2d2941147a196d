package sheet

import (
	"fmt"
	"slices"
	"strings"

	lines "rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
)

// Changed is a session that the sheet tells otherwise than the journal.
type Changed struct {
	exchange.Difference
	ID    journal.ID
	Edits []Edit // what the journal says, and what the sheet says
}

// Edit is something that was changed of a session.
type Edit struct {
	Stint         int    // as the sheet has it now, from 1; 0: of the whole session
	Gone          bool   // the stint is no longer in the sheet, and has the number that the journal gives it
	Fly           string // of a rig with several, the fly's position
	What          string
	Before, After string // in words, never empty
}

func (e Edit) String() string {
	at := ""
	if e.Stint > 0 {
		at = fmt.Sprintf("stint %d, ", e.Stint)
	}
	if e.Fly != "" {
		at += e.Fly + ", "
	}
	return fmt.Sprintf("%s%s: %s → %s", at, e.What, e.Before, e.After)
}

// differ notes that the sheet tells a session otherwise than the journal, and has the
// sheet's written where that was asked for, the journal's came with this sheet and nobody
// has edited it.
func (p *plan) differ(i int, held journal.Session, from origins, v *viewer) {
	s := p.whole(i)
	c := Changed{Difference: p.difference(i), ID: s.ID, Edits: v.edits(held, s)}
	switch {
	case !from.sheet:
		p.different = append(p.different, c)
		p.result.Elsewhere = append(p.result.Elsewhere, c.Difference)
		return
	case !from.untouched:
		p.conflicts = append(p.conflicts, c)
		if p.how.Update {
			p.result.Conflicts = append(p.result.Conflicts, c.Difference)
			return
		}
	case p.how.Update:
		p.changed = append(p.changed, c)
		p.replace(i, s, held)
		p.result.Updated++
		return
	default:
		p.changed = append(p.changed, c)
	}
	p.result.Differ = append(p.result.Differ, c.Difference)
}

// edits lists what a session says otherwise than one before.
func (v *viewer) edits(before, after journal.Session) []Edit {
	was, is := v.byStint(before), v.byStint(after)
	var list []Edit
	if len(was) > 0 && len(is) > 0 {
		list = v.differences(list, Edit{}, exchange.OfOuting, was[0].rows[0], is[0].rows[0])
	}
	for _, pair := range aligned(was, is) {
		switch {
		case pair.after < 0:
			list = append(list, Edit{Stint: pair.before + 1, Gone: true, What: "the whole stint", Before: v.summary(was[pair.before]), After: "no longer there"})
		case pair.before < 0:
			list = append(list, Edit{Stint: pair.after + 1, What: "the whole stint", Before: "not there", After: v.summary(is[pair.after])})
		default:
			list = v.stintEdits(list, pair.after+1, was[pair.before], is[pair.after])
		}
	}
	return list
}

// stintTold is the rows that tell a stint, and what they say in all.
type stintTold struct {
	rows []*exchange.Row
	says string
}

func (v *viewer) byStint(s journal.Session) []stintTold {
	list := make([]stintTold, len(s.Stints))
	for _, r := range v.names.Flatten(s) {
		st := &list[*r.Stint-1]
		st.rows = append(st.rows, r)
		for _, c := range exchange.FlatColumns() {
			if c.About != exchange.OfOuting && !following[c.Key] {
				st.says += c.Cell(r) + "\x00"
			}
		}
	}
	return list
}

// following are columns whose cells a file and the journal need not have alike, and those
// that follow from the rest.
var following = map[string]bool{"session": true, "stint": true, "rig": true, "position": true, "uncounted": true, exchange.CountsKept: true,
	"fair_hookups": true, "junction_loads": true, "junction_failures": true}

// pairing is a stint before and the one that became of it; -1: there is none.
type pairing struct{ before, after int }

// aligned pairs stints: those that say the same first, what is left between them in its order.
func aligned(was, is []stintTold) []pairing {
	var pairs []pairing
	from, at := 0, 0
	close := func(before, after int) {
		for from < before || at < after {
			pair := pairing{from, at}
			if from >= before {
				pair.before = -1
			} else {
				from++
			}
			if at >= after {
				pair.after = -1
			} else {
				at++
			}
			pairs = append(pairs, pair)
		}
	}
	for i := range is {
		if i < at {
			continue
		}
		if j := slices.IndexFunc(was[from:], func(st stintTold) bool { return st.says == is[i].says }); j >= 0 {
			close(from+j, i)
			from, at = from+1, at+1
		}
	}
	close(len(was), len(is))
	return pairs
}

func (v *viewer) stintEdits(list []Edit, number int, was, is stintTold) []Edit {
	list = v.differences(list, Edit{Stint: number}, exchange.OfStint, was.rows[0], is.rows[0])
	for _, r := range is.rows {
		e := Edit{Stint: number}
		if len(is.rows) > 1 {
			e.Fly = placeWord(r.Place)
		}
		before := &exchange.Row{Place: r.Place, Catalogue: exchange.Untold()}
		if i := slices.IndexFunc(was.rows, func(o *exchange.Row) bool { return o.Place == r.Place }); i >= 0 {
			before = was.rows[i]
		}
		list = v.differences(list, e, exchange.OfRow, before, r)
	}
	for _, r := range was.rows {
		if !slices.ContainsFunc(is.rows, func(o *exchange.Row) bool { return o.Place == r.Place }) {
			list = append(list, Edit{Stint: number, Fly: placeWord(r.Place), What: "this fly", Before: "there", After: "no longer there"})
		}
	}
	return list
}

func placeWord(p exchange.Place) string {
	switch n := p.Position(); {
	case n == nil:
		return "the whole rig"
	case *n == 0:
		return "point fly"
	default:
		return fmt.Sprintf("dropper %d", *n)
	}
}

// differences adds what the cells of two rows do not say alike.
func (v *viewer) differences(list []Edit, e Edit, about exchange.Scope, was, is *exchange.Row) []Edit {
	for _, c := range exchange.FlatColumns() {
		if c.About != about || following[c.Key] {
			continue
		}
		before, after := c.Cell(was), c.Cell(is)
		// Of counts that the sheet has no column for, only what gets lost is told: the rest follows.
		if before == after || c.Of != nil && !v.tells[c.Key] && (after != "" || before == "0") {
			continue
		}
		e.What, e.Before, e.After = c.Title, v.said(c, was, before), v.said(c, is, after)
		list = append(list, e)
	}
	return list
}

// said is a cell for people: with its unit, and a word for nothing.
func (v *viewer) said(c *exchange.Column, r *exchange.Row, cell string) string {
	switch {
	case cell == "" && c.Of != nil:
		return "not recorded"
	case cell == "":
		return "nothing"
	case c.Noted != nil && c.Quantity != "":
		return c.Noted.Show(r, v.system)
	case c.Quantity == units.Duration:
		return cell + " min"
	case c.Key == "start" || c.Key == "end":
		return strings.TrimSuffix(cell, ":00")
	}
	return lines.Unguard(cell)
}

// summary is a stint in a few words.
func (v *viewer) summary(st stintTold) string {
	var parts []string
	for _, c := range exchange.FlatColumns() {
		for i, r := range st.rows {
			cell := c.Cell(r)
			switch {
			case cell == "" || cell == "0" || !v.tells[c.Key]:
			case c.Of != nil:
				parts = append(parts, c.Title+" "+v.said(c, r, cell))
			case c.Key == "minutes" && i == 0:
				parts = append(parts, v.said(c, r, cell))
			}
		}
	}
	if len(parts) == 0 {
		return "a stint without times and counts"
	}
	return strings.Join(parts, ", ")
}
