package analytics

import (
	"encoding/binary"
	"slices"

	"rigtally/analytics/stat/regress"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// design is a regression on some rows: an intercept, the givens, and last what
// is asked about, so that where those say the same it is the latter that can't be
// told (regress.Poisson drops later columns).
type design struct {
	rows   *facts.Rows
	givens []covariate
	asked  covariate
	trials bool  // events are a share of the exposure
	first  int   // first column of what is asked about
	of     []int // of each cell of the rows: its row in cells, or −1 for one without exposure
	cells  regress.Design
}

// newDesign sums the rows over their cells.
func newDesign(rows *facts.Rows, o journal.Outcome, givens []covariate, asked covariate) *design {
	d := designOf(rows, givens, asked, func(cell int) int { return cell })
	d.trials = o.Measure == journal.ShareOf
	return d
}

// designOf sums the rows over cells that have the same key, below the number of cells.
func designOf(rows *facts.Rows, givens []covariate, asked covariate, key func(cell int) int) *design {
	d := &design{rows: rows, givens: givens, asked: asked, first: 1}
	for _, g := range givens {
		d.first += g.columns
	}
	d.cells.P = d.first + asked.columns
	events, exposure := make([]float64, len(rows.Group)), cellExposure(rows)
	for row, cell := range rows.Cell {
		events[cell] += rows.Events[row]
	}
	d.of = make([]int, len(rows.Group))
	place := make([]int, len(rows.Group)) // of each key: one more than its row
	for cell, t := range exposure {
		d.of[cell] = -1
		if t == 0 {
			continue
		}
		k := key(cell)
		if place[k] == 0 {
			d.cells.X = d.appendRow(d.cells.X, cell)
			d.cells.Y, d.cells.Exposure = append(d.cells.Y, 0), append(d.cells.Exposure, 0)
			place[k] = len(d.cells.Y)
		}
		at := place[k] - 1
		d.of[cell] = at
		d.cells.Y[at] += events[cell]
		d.cells.Exposure[at] += t
	}
	return d
}

func cellExposure(rows *facts.Rows) []float64 {
	exposure := make([]float64, len(rows.Group))
	for row, cell := range rows.Cell {
		exposure[cell] += rows.Exposure[row]
	}
	return exposure
}

func (d *design) appendRow(x []float64, cell int) []float64 {
	x = append(x, 1)
	for _, g := range d.givens {
		if g.columns > 0 {
			x = append(x, g.rows[g.of[cell]]...)
		}
	}
	if d.asked.columns > 0 {
		x = append(x, d.asked.rows[d.asked.of[cell]]...)
	}
	return x
}

// without is the design with one given left out, and with an exposure for each of its cells.
func (d *design) without(given int, exposure []float64) *design {
	return d.given(slices.Concat(d.givens[:given], d.givens[given+1:]), exposure)
}

// given is the design with other givens of its rows, those cells summed that they do not tell apart.
func (d *design) given(rest []covariate, exposure []float64) *design {
	known := make(map[string]int)
	var text []byte
	out := designOf(d.rows, rest, d.asked, func(cell int) int {
		text = binary.AppendVarint(text[:0], int64(d.asked.of[cell]))
		for _, g := range rest {
			text = binary.AppendVarint(text, int64(g.of[cell]))
		}
		k, ok := known[string(text)]
		if !ok {
			k = len(known)
			known[string(text)] = k
		}
		return k
	})
	clear(out.cells.Exposure)
	for cell, at := range d.of {
		if at >= 0 {
			out.cells.Exposure[out.of[cell]] += exposure[at]
		}
	}
	return out
}

// contrast has the given weights on the columns asked about and none elsewhere.
func (d *design) contrast(weights []float64) []float64 {
	c := make([]float64, d.cells.P)
	copy(c[d.first:], weights)
	return c
}
