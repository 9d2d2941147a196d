package analytics

import (
	"rigtally/analytics/stat"
	"rigtally/journal"
)

// design is a regression on some rows: an intercept, the givens, and last what
// is asked about, so that where those say the same it is the latter that can't be
// told (stat.FitPoisson drops later columns).
type design struct {
	rows   *journal.Rows
	givens []covariate
	asked  covariate
	first  int   // first column of what is asked about
	of     []int // of each cell of the rows: its row in cells, or −1 for one without exposure
	cells  stat.Design
}

// newDesign sums the rows over their cells.
func newDesign(rows *journal.Rows, givens []covariate, asked covariate) *design {
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
	used := 0
	for cell, t := range exposure {
		d.of[cell] = -1
		if t > 0 {
			d.of[cell] = used
			used++
		}
	}
	d.cells.X = make([]float64, 0, used*d.cells.P)
	d.cells.Y, d.cells.Exposure = make([]float64, 0, used), make([]float64, 0, used)
	for cell, t := range exposure {
		if t > 0 {
			d.cells.X = d.appendRow(d.cells.X, cell)
			d.cells.Y = append(d.cells.Y, events[cell])
			d.cells.Exposure = append(d.cells.Exposure, t)
		}
	}
	return d
}

func cellExposure(rows *journal.Rows) []float64 {
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

// without is the design with one given left out.
func (d *design) without(given int) *design {
	var rest []covariate
	for i, g := range d.givens {
		if i != given {
			rest = append(rest, g)
		}
	}
	return newDesign(d.rows, rest, d.asked)
}

// contrast has the given weights on the columns asked about and none elsewhere.
func (d *design) contrast(weights []float64) []float64 {
	c := make([]float64, d.cells.P)
	copy(c[d.first:], weights)
	return c
}

// dependencies are, for each column that the fit left out, weights on the columns
// whose sum is zero in every row: 1 on the column itself, and on those it is
// made of. With them one sees which contrasts the rows say nothing about.
func (d *design) dependencies(aliased []int) ([][]float64, error) {
	return stat.Dependencies(&d.cells, aliased)
}
