// Package charts describes figures of answers and draws them as SVG, which needs no script.
//
// Ink is knowledge: what is less known is fainter and never larger (see ink), and what rests on
// fewer than six sessions is hollow and dotted.
package charts

import (
	"math"
	"slices"

	"rigtally/internal/svg"
)

// Chart is a figure: fields one below the other, and what is drawn in them. The
// template of a page asks it for its SVG.
type Chart struct {
	Fields  []Field
	Height  float64 // of the whole, in CSS px, as all lengths here that are not of an axis
	Left    float64 // kept free beside the fields
	Right   float64
	Behind  string // heads the column of exposures beside rows; "" for none
	Scale   *Scale // the legend of a heat map
	Key     []Key  // what the looks of the marks mean
	Drawn   int    // how many groups of the answer it shows
	Ratios  bool   // it shows ratios to the reference, not rates
	Crossed bool   // it crosses two factors
	Tight   bool   // rows are so low that their names stand beside the marks
}

// Field is a rectangle with an axis across and one upright.
type Field struct {
	Name, Knot  string // heads it, with a junction's mark if it has one
	Top, Height float64
	X, Y        Axis
	Layers      []Layer // from the lowest
}

// Axis holds numbers or, if it has any, rows: from the top, or as columns from the left.
type Axis struct {
	Title    string
	From, To float64
	Log      bool // twice as much lies as far everywhere
	Ticks    []Tick
	Bare     bool    // ticks without their words
	Hung     float64 // of tag lengths: the axis is a leader above the field with tags to scale, the longest so many px
	Rows     []Row
	Clear    float64 // of rows: room between the marks and the names above them
}

// Tick is a place on an axis.
type Tick struct {
	At    float64
	Text  string
	Spare bool // left out on a phone
}

// Row is a row of a field, or a column.
type Row struct {
	Name    string
	Value   string // the number of its mark, written after the name
	Note    string // in a quieter voice
	Heading bool   // names the rows below it and has no mark of its own
}

// Shape says how the marks of a layer are drawn.
type Shape string

// The shapes of layers.
const (
	Points Shape = "points" // each by its look or the layer's tone, with its intervals
	Line   Shape = "line"   // one line through all marks, in a ribbon where they have intervals upright, which fades as they widen
	Stops  Shape = "stops"  // places across that tell their numbers; unseen until pointed at
	Bars   Shape = "bars"   // from 0 up to Y, each as wide as the mark
	Cells  Shape = "cells"  // of a heat map
	Levels Shape = "levels" // a broken line across the field at the mark's Y, its label to the left if it has an X too; without a Y upright at its X
	Words  Shape = "words"  // the label of each mark, in the layer's color
	Washes Shape = "washes" // pale ground: each as wide and high as the mark
	Spells Shape = "spells" // stretches of time as high as the field, named above it
	Gaps   Shape = "gaps"   // stretches in which nothing is known, at the foot of the field, with their reason
)

// Layer is a set of marks of one shape.
type Layer struct {
	Shape  Shape
	Name   string
	Says   string // of a line: written beside it
	Tone   int    // of data: 1 to 4; 0 is ink
	Knot   string // a junction's color and mark in place of the tone's
	Dash   bool   // of a line: broken; of points: hollow
	Step   bool   // of a line: in steps
	Small  bool   // of points: many beside each other; of a line: thin
	Loose  bool   // of a line: what may still be revised, and is thinner
	Strong bool   // of pale ground: nothing lies behind it
	Ground bool   // of a line: pale below it
	Marks  []Mark
}

// Span is a stretch of an axis. An end may be infinite.
type Span struct{ Low, High float64 }

// noSpan holds nothing yet.
var noSpan = Span{math.Inf(1), math.Inf(-1)}

// with is the span stretched to hold some places.
func (s Span) with(places ...float64) Span {
	for _, v := range places {
		s.Low, s.High = math.Min(s.Low, v), math.Max(s.High, v)
	}
	return s
}

// most is the greatest number of a list, 0 at least.
func most[T any](list []T, of func(T) float64) float64 {
	most := 0.0
	for _, t := range list {
		most = math.Max(most, of(t))
	}
	return most
}

// Mark is one of what a layer draws. What it lacks is NaN or nil.
type Mark struct {
	Name            string
	X, Y            float64
	Across, Upright *Span   // its intervals
	Wide            *Span   // the stretch across that it stands for
	Ring            float64 // another X, as fished, as a light ring; 0 for none
	Radius          float64
	Up              float64 // px above the middle of its row
	Look            string
	Knot            string // the junction whose color and mark it has
	Few             bool   // it rests on fewer than fewSessions
	Label           string
	Detail          [][]string // what pointing at it shows: pairs of a heading and a value
	Href            string     // where a click leads
	Note            string     // written beside its row: the exposure behind it
	Share           float64    // the exposure as a part of the most that any mark has
	Heat            float64    // of a cell: its place on the scale from 0 to 1, or NaN
}

// Scale is the legend of a heat map: what its colors and the sizes of its squares mean.
type Scale struct {
	Title string
	Ticks []Tick // from 0 to 1
	Sizes string // what a larger square has more of
}

// Measures of charts, in px.
const (
	nameSize, textSize, smallSize = 15, 14, 12.5
	nameStep                      = 18 // from line to line of names

	rowFoot     = 17 // from the marks of a row to its lower edge
	rowClear    = 13 // from the marks of a row to its name
	headingDrop = 20 // of a name that has no marks below it
	aboveRows   = 28 // for the name of the reference line
	belowRows   = 30 // for the ticks

	besideRows  = 92  // for the exposure behind rows
	besideAxis  = 46  // for the numbers of an upright axis
	besideCell  = 112 // for the names of rows of a heat map
	besideTight = 230 // for the names of low rows

	ratesTop, ratesHeight = 28, 260
	hungTop, longestTag   = 128, 60 // where a field begins whose axis is tags to scale, and the longest
	barsApart, barsHeight = 52, 56  // bars below a field
	belowAxis             = 46      // for the numbers and the title of an axis
	multipleHeight        = 110
)

// wideNames breaks the names of rows into lines that fit a phone, and returns of how
// many lines the longest is.
func wideNames(rows []Row, room float64) (broken []Row, lines int) {
	lines = 1
	for _, r := range rows {
		r.Name = joined(svg.Lines(r.Name, nameSize, room-16-svg.Width(r.Value, nameSize)-svg.Width(r.Note, smallSize), 4))
		broken = append(broken, r)
		lines = max(lines, lineCount(r.Name))
	}
	return broken, lines
}

// lying is a chart of rows with a number across. behind heads the exposures.
func lying(rows []Row, x Axis, behind string, layers ...Layer) Chart {
	return lyingApart(rows, x, behind, rowClear, layers...)
}

// lyingApart has so much room between marks and names.
func lyingApart(rows []Row, x Axis, behind string, apart float64, layers ...Layer) Chart {
	c := Chart{Behind: behind, Left: 8, Right: 16}
	if behind != "" {
		c.Right = besideRows
	}
	rows, lines := wideNames(rows, phone+c.Left+besideAxis-c.Right)
	height := (rowFoot + apart + 4 + nameStep*float64(lines)) * float64(len(rows))
	c.Height = aboveRows + height + belowRows
	c.Fields = []Field{{Top: aboveRows, Height: height, X: x, Y: Axis{Rows: rows, Clear: apart}, Layers: layers}}
	return c
}

// upright is a chart with numbers on both axes.
func upright(height float64, fields ...Field) Chart {
	return Chart{Left: besideAxis, Right: 12, Height: height, Fields: fields}
}

// tagAxis is an axis of tag lengths as tags to scale.
func tagAxis(title string, from, to float64) Axis {
	x := numbers(title, from, to, stepFor(0.8*(to-from)), "")
	x.Hung = longestTag
	return x
}

// overBars is a chart over one axis in two fields: rates above, bars below.
func overBars(x, y, below Axis, bars Layer, layers ...Layer) Chart {
	top, room, bare := float64(ratesTop), float64(belowAxis), x
	bare.Bare, bare.Title, bare.Hung = true, "", 0
	upper, lower := bare, x
	if x.Hung > 0 {
		top, room, upper, lower = hungTop, 8, x, bare
	}
	foot := top + ratesHeight + barsApart + barsHeight
	return upright(foot+room, Field{Top: top, Height: ratesHeight, X: upper, Y: y, Layers: layers},
		Field{Top: foot - barsHeight, Height: barsHeight, X: lower, Y: below, Layers: []Layer{bars}})
}

// multiples are fields over one axis, one below the other: in each a line by itself, among the
// others as faint ones, so that none lies on another. The axis is below the last.
func multiples(x, y Axis, apart float64, lines []Layer, own func(i int) []Layer) Chart {
	bare := x
	bare.Bare, bare.Title = true, ""
	var fields []Field
	for i, l := range lines {
		f := Field{Name: l.Name, Knot: l.Knot, Top: 34 + float64(i)*(multipleHeight+apart), Height: multipleHeight, X: bare, Y: y}
		for j, other := range lines {
			if j != i {
				f.Layers = append(f.Layers, Layer{Shape: Line, Small: true, Step: l.Step, Marks: bared(other.Marks)})
			}
		}
		f.Layers = append(append(f.Layers, l), own(i)...)
		fields = append(fields, f)
	}
	foot := 34 + float64(len(fields))*(multipleHeight+apart) - 1.25*34 + 0.25*apart
	fields = append(fields, Field{Top: foot - 1, Height: 1, X: x, Y: Axis{To: 1, Bare: true}})
	return upright(foot+belowAxis, fields...)
}

// bared are marks without their intervals.
func bared(marks []Mark) []Mark {
	list := slices.Clone(marks)
	for i := range list {
		list[i].Upright = nil
	}
	return list
}

// level is a broken line with its name: see Levels.
func level(x, y float64, name string) Layer {
	return Layer{Shape: Levels, Marks: []Mark{{Label: name, X: x, Y: y}}}
}

var nowhere = math.NaN()

// offset is how far below the middle of its row a mark lies.
func (f Field) offset(m Mark) float64 {
	if len(f.Y.Rows) == 0 {
		return 0
	}
	return f.Height/float64(len(f.Y.Rows))/2 - rowFoot - m.Up
}
