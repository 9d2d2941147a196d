// Package charts turns answers into option objects of ECharts, which
// static/chart.js draws in a browser.
package charts

import (
	"math"
	"slices"
	"strings"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Chart is what a page hands to the script that draws.
type Chart struct {
	Option  Option   `json:"option"`
	Rows    []Row    `json:"rows,omitempty"`    // labels of the category axis, from the top
	Names   []string `json:"names,omitempty"`   // what FormatNames writes at 0, 1, 2 and so on
	Columns []string `json:"columns,omitempty"` // labels of a category axis above, from the left
	Scale   *Scale   `json:"scale,omitempty"`   // of a heat map
	Behind  string   `json:"behind,omitempty"`  // heads the column of exposures beside rows
	Height  int      `json:"height"`            // of the whole, in CSS px
	Tenths  bool     `json:"-"`                 // intervals of 10% strengths are drawn
	Key     []Key    `json:"-"`                 // what the looks of the marks mean
	Drawn   int      `json:"-"`                 // how many groups of the answer it shows
	Ratios  bool     `json:"-"`                 // it shows ratios to the reference, not rates
	Crossed bool     `json:"-"`                 // it crosses two factors
}

// Option is an ECharts option object. Functions can't travel as JSON, so the
// shape of a custom series is found in the script under the series' id; the
// colours come from the page's style there too.
type Option struct {
	Grid   []opts.Grid            `json:"grid"`
	XAxis  []opts.XAxis           `json:"xAxis"`
	YAxis  []opts.YAxis           `json:"yAxis"`
	Series []echarts.SingleSeries `json:"series"`
}

// Row labels a row of a chart.
type Row struct {
	Name    string `json:"name"`
	Note    string `json:"note,omitempty"`    // a second line, smaller
	Heading bool   `json:"heading,omitempty"` // names the rows below it and has no mark of its own
}

// Shapes are the ids of the series that the script knows how to draw. Each says
// what the numbers of its marks' values are; a missing end is nil. A chart with
// several series of one shape tells their ids apart after a colon: "line:2".
const (
	ShapeInterval = "interval" // lying: rate, row, low, high, radius in px and, if any, the uncorrected rate
	ShapePoint    = "point"    // standing: x, rate, low, high, radius in px
	ShapeBand     = "band"     // standing: middle, rate, low, high, radius in px, x from, x to
	ShapeBars     = "bars"     // standing: middle, height, x from, x to
	ShapeLevel    = "level"    // a line across at one rate, with the mark's label: the rate
	ShapeCurve    = "curve"    // a line in its band, through the mark's points: x, rate, low, high
	ShapeStop     = "stop"     // a place on a curve that tells its numbers: x, rate, x from, x to
	ShapeCell     = "cell"     // of a heat map: column, row
	ShapeScale    = "scale"    // the legend of a heat map
	ShapeLine     = "line"     // standing: a line through the mark's points (x, y), in its tone; by Dash broken, by Step in steps: x, y of its label
	ShapeMean     = "mean"     // lying, low in its row: value, row, low, high, radius in px
	ShapePull     = "pull"     // lying, high in its row, by its look or in its tone: value, row, how many lie below it
	ShapeCross    = "cross"    // standing: x, y, x low, x high, y low, y high
	ShapeSteps    = "steps"    // standing: a line in steps within its band, in its tone, through the mark's points: x, y, low, high
	ShapeWord     = "word"     // standing: the mark's label at x, y; with LookStart from the chart's left edge on
	ShapeDots     = "dots"     // standing: a dot by its look, or in its tone: x, y, radius in px, which may be missing
)

// Formats of an axis's numbers, for opts.AxisLabel's Formatter. The script
// writes them, since functions can't travel as JSON.
const (
	FormatNames = "@names" // the chart's Names at whole numbers, nothing between
	FormatClock = "@clock" // minutes as 1:30
	FormatMonth = "@month" // 1 to 12 as Jan to Dec
	FormatDate  = "@date"  // days since 1 January 1970 as 3 May
	FormatYear  = "@year"  // a year without a separator
)

// Looks of a mark; each differs in form, not in colour alone.
const (
	LookAlone     = "alone"     // nothing to compare with
	LookReference = "reference" // the others are compared with it
	LookDiffers   = "differs"
	LookLeans     = "leans"
	LookSame      = "same"
	LookOpen      = "open"  // can't tell yet
	LookStart     = "start" // of a word: from the left edge on
	LookPlain     = "plain" // the uncorrected comparison beside a corrected one
)

// Mark is a datum of a series.
type Mark struct {
	Name   string       `json:"name"`
	Value  []*float64   `json:"value"`
	Label  string       `json:"label,omitempty"`  // written at the mark
	Look   string       `json:"look,omitempty"`   //
	Detail [][]string   `json:"detail,omitempty"` // what pointing at it shows: pairs of a heading and a value
	Href   string       `json:"href,omitempty"`   // where a click leads
	Points [][]*float64 `json:"points,omitempty"` // of a curve or a line
	Note   string       `json:"note,omitempty"`   // written small: the exposure behind the mark
	Share  *float64     `json:"share,omitempty"`  // the exposure as a part of the most that any mark has
	Heat   *float64     `json:"heat,omitempty"`   // of a cell: its place on the scale from 0 to 1
	Fade   int          `json:"fade,omitempty"`   // of a cell: how far its colour fades, 0 to 3
	Tone   int          `json:"tone,omitempty"`   // of a line, a dot or a bar: 1 to 4, colours that can be told apart
	Dash   bool         `json:"dash,omitempty"`
	Step   bool         `json:"step,omitempty"`
}

// Key explains a look in words. Besides the looks of marks there are those of
// lines, "line-1" to "line-4" by tone and "dash-1" to "dash-4", of dots, "dot-1"
// to "dot-4", and "band" for the band of a curve.
type Key struct{ Look, Text string }

// verdicts in the order of the key, with their looks.
var verdicts = []struct {
	look    string
	verdict stat.Verdict
}{{LookDiffers, stat.Differs}, {LookLeans, stat.Leans}, {LookSame, stat.SameForPractice}, {LookOpen, stat.CannotTell}}

// key explains the looks that a chart's marks have.
func (p picture) key(marks []Mark) []Key {
	if p.Reference < 0 || len(p.Groups) < 2 {
		return nil
	}
	reference := prose.Levels(p.By, p.Groups[p.Reference].Level, p.sys)
	list := []Key{{LookReference, prose.Reference(reference)}}
	for _, v := range verdicts {
		if slices.ContainsFunc(marks, func(m Mark) bool { return m.Look == v.look }) {
			list = append(list, Key{v.look, prose.Verdict(v.verdict, reference)})
		}
	}
	return list
}

// Link gives the address to which a click on a group leads; "" leads nowhere.
type Link func(analytics.Group) string

// picture is an answer on its way to a chart.
type picture struct {
	analytics.RateAnswer
	sys  units.System
	link Link
	rows table.Table
}

func newPicture(a analytics.RateAnswer, sys units.System, link Link) picture {
	p := picture{RateAnswer: a, sys: sys, link: link}
	p.rows = prose.RatesTable(a, sys)
	return p
}

// mark makes what all marks of a group have in common.
func (p picture) mark(i int, value ...*float64) Mark {
	g := p.Groups[i]
	m := Mark{Name: prose.Levels(p.By, g.Level, p.sys), Value: value, Label: p.short(g.Rate), Look: p.look(i), Detail: pairs(p.rows, i)}
	if p.link != nil {
		m.Href = p.link(g)
	}
	return m
}

// pairs are what pointing at a mark shows: headings of a table with the cells of a row.
func pairs(t table.Table, row int) [][]string {
	var list [][]string
	for _, p := range t.Detail(row) {
		if p.Text == table.Unknown {
			continue
		}
		list = append(list, []string{p.Title, p.Text})
	}
	return list
}

// exposure says what is behind a group, briefly.
func (p picture) exposure(i int) string {
	cell := p.rows.Cell(i, "exposure").Text
	if p.Outcome.Exposure == "hours" {
		return cell + " h"
	}
	return cell + " " + p.Outcome.Exposure
}

// short is a rate without its unit, which stands beside the chart.
func (p picture) short(rate float64) string {
	number, _, _ := strings.Cut(prose.Rate(p.Outcome, rate), " ")
	return number
}

func (p picture) look(i int) string {
	versus := p.Groups[i].Versus
	switch {
	case i == p.Reference && len(p.Groups) > 1:
		return LookReference
	case versus == nil:
		return LookAlone
	}
	for _, v := range verdicts {
		if v.verdict == versus.Verdict {
			return v.look
		}
	}
	return LookOpen
}

// scale turns a rate into the chart's number: shares are shown in percent.
func (p picture) scale(rate float64) float64 {
	if p.Outcome.Measure == journal.ShareOf {
		return 100 * rate
	}
	return rate
}

// interval returns the ends of a group's interval, nil where there is none.
func (p picture) interval(g analytics.Group) (low, high *float64) {
	if !g.HasInterval {
		return nil, nil
	}
	return finite(p.scale(g.Low)), finite(p.scale(g.High))
}

// rateLabels formats the ticks of a rate axis.
func (p picture) rateLabels() *opts.AxisLabel {
	label := &opts.AxisLabel{}
	if p.Outcome.Measure == journal.ShareOf {
		label.Formatter = types.FuncStr("{value}%")
	}
	return label
}

// reference is the line at the rate of the group that others are compared with.
func (p picture) reference() []echarts.SingleSeries {
	if p.Reference < 0 || len(p.Groups) < 2 {
		return nil
	}
	g := p.Groups[p.Reference]
	line := Mark{Name: prose.Levels(p.By, g.Level, p.sys), Value: []*float64{finite(p.scale(g.Rate)), finite(0)}}
	return []echarts.SingleSeries{{Type: types.ChartCustom, Id: ShapeLevel, Data: []Mark{line}}}
}

// finite returns nil for what JSON can't hold.
func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}
