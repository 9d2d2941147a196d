package facts

import (
	"math"
	"sync"

	"rigtally/journal"
)

// join puts what was read together, in the order of the sessions, and returns the cells.
func (c *coded) join(parts []rowPart) (*Rows, []cellKey) {
	out := &Rows{Answer: journal.Answer{LeftOut: map[string]int{}}}
	var keys []cellKey
	place := map[cellKey]int32{}
	unplaced, untold, rows := 0.0, 0.0, 0
	for i := range parts {
		p := &parts[i]
		p.place = make([]int32, len(p.keys))
		for k, key := range p.keys {
			n, ok := place[key]
			if !ok {
				n = int32(len(keys))
				place[key] = n
				keys, out.cellHours = append(keys, key), append(out.cellHours, 0)
			}
			p.place[k] = n
			out.cellHours[n] += p.hours[k]
		}
		p.before, p.sessionsBefore = rows, int32(out.Sessions)
		rows += len(p.cell)
		out.Sessions += int(p.sessions)
		out.Stints += p.stintsUsed
		out.Assumed += p.found.Assumed
		out.AsFair += p.found.AsFair
		unplaced, untold = unplaced+p.unplaced, untold+p.untold
		for why, n := range p.leftOut {
			out.LeftOut[why] += n
		}
	}
	out.Untimed, out.Untold = out.LeftOut[journal.NotAllTimed], int(math.Round(untold))
	c.noteUnplaced(out, int(math.Round(unplaced)))
	if rows > 0 {
		c.gather(out, parts, rows)
	}
	return out, keys
}

// gather puts the rows of all parts one behind the other.
func (c *coded) gather(out *Rows, parts []rowPart, rows int) {
	out.Cell, out.Session, out.Events, out.Exposure = make([]int32, rows), make([]int32, rows), make([]float64, rows), make([]float64, rows)
	if c.spells {
		out.stint = make([]uint32, rows)
	}
	var wait sync.WaitGroup
	for i := range parts {
		p := &parts[i]
		wait.Go(func() {
			for row, cell := range p.cell {
				out.Cell[p.before+row], out.Session[p.before+row] = p.place[cell], p.session[row]+p.sessionsBefore
			}
			copy(out.Events[p.before:], p.events)
			copy(out.Exposure[p.before:], p.exposure)
			if c.spells {
				copy(out.stint[p.before:], p.of)
			}
		})
	}
	wait.Wait()
}

// group makes groups of the cells, which are the same where nothing is given.
func (c *coded) group(out *journal.Answer, parts []rowPart, keys []cellKey) {
	groups := make([]journal.Sums, len(keys))
	for _, p := range parts {
		for cell, sums := range p.sums {
			addSums(&groups[p.place[cell]], sums)
			groups[p.place[cell]].Hours += p.hours[cell]
		}
	}
	for cell, key := range keys {
		g := groups[cell]
		if g.Stints == 0 { // fished, but without exposure
			continue
		}
		for i, code := range c.codesOf(key) {
			g.Level = append(g.Level, c.coders[i].levels[code])
		}
		out.Groups = append(out.Groups, g)
	}
}

// noteUnplaced says what belongs to no position, which a question by position leaves out.
func (c *coded) noteUnplaced(out *Rows, n int) {
	if n <= 0 {
		return
	}
	o := c.q.Outcome
	name, on := o.Events, "on no fly in particular"
	if o.Measure == journal.ShareOf && o.Exposure != "loads" {
		name = o.Exposure
	}
	if c.terms.OnTag {
		on = "on no dropper in particular"
	}
	out.LeftOut[name+" "+on] = n
	out.Unplaced = n
}

// columns are the factors from one place up to another, with their level in each cell.
func (c *coded) columns(from, to int, keys []cellKey) []Column {
	var list []Column
	for i := from; i < to; i++ {
		list = append(list, Column{Factor: c.factors[i], Levels: c.coders[i].levels, Of: make([]int32, len(keys))})
	}
	for cell, key := range keys {
		codes := c.codesOf(key)
		for k := range list {
			list[k].Of[cell] = codes[from+k]
		}
	}
	return list
}
