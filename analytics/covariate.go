package analytics

import (
	"errors"
	"slices"

	"rigtally/analytics/stat/regress"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// covariate is a factor as columns of a regression.
type covariate struct {
	factor  journal.Factor
	of      []int32         // of each cell: a place in rows
	levels  []journal.Level // those of categories
	rows    [][]float64     // of each level: its columns
	columns int
	spline  *regress.NaturalSpline // of a curve
	scale   float64                // of a straight line: what a step of 1 in its column is in the factor's unit
	centre  float64                // of a straight line: the value at which its column is 0
}

// exposureByLevel adds up the exposure of the cells at each level of a column.
func exposureByLevel(c facts.Column, cellExposure []float64) []float64 {
	sums := make([]float64, len(c.Levels))
	for cell, level := range c.Of {
		sums[level] += cellExposure[cell]
	}
	return sums
}

// newCovariate codes a given. Categories are contrasts with the first level that
// has exposure; a curve is the natural spline of regress.NewWeightedSpline, or a
// straight line where there are too few values for one.
func newCovariate(g Given, column facts.Column, cellExposure []float64) (covariate, error) {
	weight := exposureByLevel(column, cellExposure)
	if g.categories() {
		return categories(column, weight), nil
	}
	values := numbers(column)
	if g.curved() {
		spline, err := regress.NewWeightedSpline(values, weight)
		if err == nil {
			return curveOf(column, values, spline), nil
		}
		if !errors.Is(err, regress.ErrFewValues) {
			return covariate{}, err
		}
	}
	return lineOf(column, values, weight), nil
}

func numbers(c facts.Column) []float64 {
	values := make([]float64, len(c.Levels))
	for i, l := range c.Levels {
		values[i] = l.Number
	}
	return values
}

func categories(column facts.Column, weight []float64) covariate {
	order := make([]int, 0, len(weight))
	for i, w := range weight {
		if w > 0 {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(a, b int) int { return CompareLevels(column.Factor, column.Levels[a], column.Levels[b]) })
	c := indicators(column.Factor, column.Of, len(weight), order[min(1, len(order)):])
	c.levels = column.Levels
	return c
}

// indicators has a column for each of the listed levels.
func indicators(f journal.Factor, of []int32, levels int, listed []int) covariate {
	c := covariate{factor: f, of: of, columns: len(listed), rows: make([][]float64, levels)}
	none := make([]float64, len(listed))
	for i := range c.rows {
		c.rows[i] = none
	}
	for j, level := range listed {
		c.rows[level] = make([]float64, len(listed))
		c.rows[level][j] = 1
	}
	return c
}

func curveOf(column facts.Column, values []float64, spline *regress.NaturalSpline) covariate {
	c := covariate{factor: column.Factor, of: column.Of, columns: spline.Columns(), spline: spline, rows: make([][]float64, len(values))}
	for i, v := range values {
		c.rows[i] = spline.Basis(v)
	}
	return c
}

// lineOf centres and scales the values, which changes no comparison, so that
// large ones do not cost digits. A factor that never changes has no column.
func lineOf(column facts.Column, values, weight []float64) covariate {
	c := covariate{factor: column.Factor, of: column.Of, rows: make([][]float64, len(values))}
	low, high, seen := 0.0, 0.0, false
	for i, v := range values {
		if weight[i] > 0 {
			if !seen || v < low {
				low = v
			}
			if !seen || v > high {
				high = v
			}
			seen = true
		}
	}
	if low == high {
		return c
	}
	c.columns, c.centre, c.scale = 1, (low+high)/2, (high-low)/2
	for i, v := range values {
		c.rows[i] = []float64{(v - c.centre) / c.scale}
	}
	return c
}

// row is the columns at a value of a curve or straight line.
func (c covariate) row(v float64) []float64 {
	switch {
	case c.spline != nil:
		return c.spline.Basis(v)
	case c.columns == 0:
		return nil
	}
	return []float64{(v - c.centre) / c.scale}
}
