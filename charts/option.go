package charts

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"rigtally/internal/svg"
)

// option is an ECharts option object. Its colors are those of the page's style, which
// ECharts passes on. Functions can't travel as JSON: what a custom series draws, what
// ticks say and what pointing shows is in static/chart, found by the ids of series.
type option struct {
	Grid   []opts.Grid            `json:"grid"`
	XAxis  []axisOption           `json:"xAxis"`
	YAxis  []axisOption           `json:"yAxis"`
	Series []echarts.SingleSeries `json:"series"`
}

// axisOption is an axis either way; go-echarts has two types of the same keys.
type axisOption struct {
	opts.XAxis
	Ticks []Tick  `json:"ticks,omitempty"`
	Lift  float64 `json:"lift,omitempty"` // of names: how far above the middles of their rows
}

// Ids of series, before a colon and a number.
const (
	idInterval = "interval" // custom: the whiskers of marks, and the ground that takes the pointer
	idBand     = "band"     // custom: the ground between two lines
	idBehind   = "behind"   // the bars of exposure beside rows
	idStop     = "stop"
)

// datum is a datum of any series.
type datum struct {
	Name         string          `json:"name,omitempty"`
	Value        []*float64      `json:"value"` // x and y; of an interval also left, right, low, high, from and to; of a cell its heat
	Symbol       string          `json:"symbol,omitempty"`
	SymbolSize   float64         `json:"symbolSize,omitempty"`
	SymbolOffset *[2]float64     `json:"symbolOffset,omitempty"`
	ItemStyle    *opts.ItemStyle `json:"itemStyle,omitempty"`
	Label        *label          `json:"label,omitempty"`

	Color  string       `json:"color,omitempty"`  // of whiskers or a band
	Ring   float64      `json:"ring,omitempty"`   // see Mark
	Down   float64      `json:"down,omitempty"`   // px below the place
	Ground string       `json:"ground,omitempty"` // what takes the pointer: a "row", a "column", or a "spot"
	Wide   float64      `json:"wide,omitempty"`   // of a bar, in the axis's unit
	Share  float64      `json:"share,omitempty"`
	Note   string       `json:"note,omitempty"`
	Faint  float64      `json:"faint,omitempty"` // opacity
	Points [][2]float64 `json:"points,omitempty"`
	Detail [][]string   `json:"detail,omitempty"`
	Href   string       `json:"href,omitempty"`
}

// label is what is written at a datum.
type label struct {
	Show        bool        `json:"show"`
	Text        string      `json:"formatter"`
	Position    any         `json:"position,omitempty"` // a word, or px from the upper left
	Distance    float64     `json:"distance,omitempty"`
	Offset      *[2]float64 `json:"offset,omitempty"`
	Align       string      `json:"align,omitempty"`
	Color       string      `json:"color"`
	Size        float64     `json:"fontSize"`
	Weight      int         `json:"fontWeight,omitempty"`
	Border      string      `json:"textBorderColor,omitempty"`
	BorderWidth float64     `json:"textBorderWidth,omitempty"`
}

func written(text, colour string, size float64) *label {
	return &label{Show: true, Text: plain(text), Color: paint(colour), Size: size, Border: paint("paper"), BorderWidth: 3}
}

// plain takes out what means something in the texts of ECharts.
func plain(text string) string {
	return strings.NewReplacer("{", "(", "}", ")", "|", "/").Replace(text)
}

// MarshalJSON writes what a page hands to the script that draws.
func (c Chart) MarshalJSON() ([]byte, error) {
	t := translator{chart: c, trigger: "item"}
	for i, f := range c.Fields {
		t.Field, t.grid = f, i
		t.field()
	}
	if c.Behind != "" {
		t.behind(c.Fields[0])
	}
	return json.Marshal(struct {
		Trigger string `json:"trigger"`
		Option  option `json:"option"`
	}{t.trigger, t.option})
}

// translator turns the fields of a chart into an option.
type translator struct {
	Field
	option
	chart   Chart
	grid    int
	trigger string
}

// add appends a series of the field at hand.
func (t *translator) add(id string, s echarts.SingleSeries) {
	s.Id = fmt.Sprintf("%s:%d", id, len(t.Series))
	s.XAxisIndex, s.YAxisIndex = t.grid, t.grid
	t.Series = append(t.Series, s)
}

func pixels(v float64) string { return svg.Num(v) }

func (t *translator) field() {
	t.Grid = append(t.Grid, opts.Grid{Left: pixels(t.chart.Left), Right: pixels(t.chart.Right), Top: pixels(t.Top), Height: pixels(t.Height)})
	across, up := t.axis(t.X), t.axis(t.Y)
	across.NameLocation, across.NameGap = "middle", 26
	up.NameLocation, up.NameGap = "end", 12
	if len(t.X.Rows) > 0 {
		across.Position, across.NameGap = "top", int(t.Top)-20
	}
	if len(t.Y.Rows) > 0 {
		up.Inverse, up.NameLocation = opts.Bool(true), "start"
		up.Lift += t.Y.Clear - t.offset(Mark{})
	}
	t.XAxis, t.YAxis = append(t.XAxis, across), append(t.YAxis, up)
	for _, l := range t.Layers {
		t.layer(l)
	}
}

func (t *translator) axis(a Axis) axisOption {
	o := axisOption{XAxis: opts.XAxis{Type: "value", Name: a.Title, GridIndex: t.grid, Min: a.From, Max: a.To}, Ticks: a.Ticks}
	switch {
	case len(a.Rows) > 0:
		names := make([]string, len(a.Rows))
		headed := slices.ContainsFunc(a.Rows, func(r Row) bool { return r.Heading })
		for i, r := range a.Rows {
			names[i] = richName(r)
			if headed && !r.Heading {
				names[i] += "\n{drop| }"
			}
		}
		if headed {
			o.Lift = -headingDrop
		}
		o.Type, o.Data, o.Min, o.Max = "category", names, nil, nil
	case a.Log:
		o.Type = "log"
	}
	if a.Bare {
		o.AxisLabel = &opts.AxisLabel{Show: opts.Bool(false)}
	}
	return o
}

// richName writes the lines of a row's name, its number and its note.
func richName(r Row) string {
	kind := "name"
	if r.Heading {
		kind = "heading"
	}
	lines := strings.Split(r.Name, "\n")
	for i, line := range lines {
		lines[i] = "{" + kind + "|" + plain(line) + "}"
	}
	text := strings.Join(lines, "\n")
	if r.Value != "" {
		text += "  {value|" + plain(r.Value) + "}"
	}
	if r.Note != "" {
		text += "  {note|" + plain(r.Note) + "}"
	}
	return text
}

func (t *translator) layer(l Layer) {
	switch l.Shape {
	case Points:
		t.points(l)
	case Line:
		t.line(l)
	case Stops:
		t.trigger = "axis"
		t.add(idStop, echarts.SingleSeries{Type: types.ChartLine, Data: each(l.Marks, t.told), Symbol: "circle", SymbolSize: 11, ShowSymbol: opts.Bool(false),
			LineStyle: &opts.LineStyle{Opacity: opts.Float(0)}, ItemStyle: &opts.ItemStyle{Color: paint("paper"), BorderColor: paint("data-1"), BorderWidth: 2.5}})
	case Bars:
		t.add("bars", echarts.SingleSeries{Type: types.ChartBar, Data: each(l.Marks, func(m Mark) datum {
			d := t.told(m)
			d.ItemStyle, d.Wide = &opts.ItemStyle{Color: paint(barColour(m))}, m.Wide.High-m.Wide.Low
			if text := barLabel(l, m); text != "" {
				d.Label = written(text, "ink", smallSize)
				d.Label.Position = "top"
			}
			return d
		})})
	case Washes:
		t.add(idInterval, echarts.SingleSeries{Type: types.ChartCustom, Data: each(l.Marks, func(m Mark) datum { return t.interval(l, m) })})
	case Cells:
		t.cells(l)
	case Levels:
		t.levels(l)
	case Words:
		t.add("words", echarts.SingleSeries{Type: types.ChartScatter, SymbolSize: 1, ItemStyle: &opts.ItemStyle{Color: "transparent"}, Data: each(l.Marks, func(m Mark) datum {
			d := datum{Value: values(m.X, m.Y), Label: written(m.Label, tone(l.Tone), smallSize)}
			d.Label.Position = "inside"
			if l.Dash {
				d.Label.Position, d.Label.Weight = [2]float64{8 - t.chart.Left, -6}, 600
			}
			return d
		})})
	}
}

// each makes a datum of each mark.
func each(marks []Mark, of func(Mark) datum) []datum {
	list := make([]datum, len(marks))
	for i, m := range marks {
		list[i] = of(m)
	}
	return list
}

// told is a datum that tells its numbers.
func (t *translator) told(m Mark) datum {
	return datum{Name: m.Name, Value: values(m.X, m.Y), Detail: m.Detail, Href: m.Href}
}

// values are numbers as JSON takes them.
func values(list ...float64) []*float64 {
	out := make([]*float64, len(list))
	for i, v := range list {
		out[i] = finite(v)
	}
	return out
}

// finite returns nil for what JSON can't hold.
func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// ends are the ends of an interval on an axis; what is off the axis stays there.
func (a Axis) ends(s *Span) (low, high float64) {
	if s == nil {
		return math.NaN(), math.NaN()
	}
	low, high = s.Low, s.High
	if a.Log {
		return math.Max(low, a.From/8), math.Min(high, a.To*8)
	}
	return low, math.Min(high, a.To+(a.To-a.From))
}

func (t *translator) interval(l Layer, m Mark) datum {
	left, right := t.X.ends(m.Across)
	low, high := t.Y.ends(m.Upright)
	from, to := t.X.ends(m.Wide)
	d := t.told(m)
	d.Value = values(m.X, m.Y, left, right, low, high, from, to)
	d.Color, d.Ring, d.Down, d.Ground = paint(l.lookOf(m).line), m.Ring, t.offset(m), "column"
	switch {
	case l.Shape == Washes:
		d.Color, d.Faint, d.Ground = paint("data-band"), 0.5, ""
	case len(t.Y.Rows) > 0:
		d.Ground = "row"
	case m.Across != nil || m.Upright == nil:
		d.Ground = "spot"
	}
	return d
}

// points are symbols of ECharts, with their whiskers and ground below them.
func (t *translator) points(l Layer) {
	if !l.Small {
		t.add(idInterval, echarts.SingleSeries{Type: types.ChartCustom, Data: each(l.Marks, func(m Mark) datum { return t.interval(l, m) })})
	}
	beside := sides(t.Field, l)
	s := echarts.SingleSeries{Type: types.ChartScatter, Data: each(l.Marks, func(m Mark) datum {
		k := l.lookOf(m)
		d := t.told(m)
		d.Symbol, d.SymbolSize = symbols[k.form], 2*m.Radius
		d.ItemStyle = &opts.ItemStyle{Color: paint(k.fill), BorderColor: paint(k.line), BorderWidth: 2.5, Opacity: opts.Float(1)}
		if l.Small && k.fill == k.line {
			d.ItemStyle.BorderColor, d.ItemStyle.BorderWidth = paint("paper"), 1
		}
		if down := t.offset(m); down != 0 {
			d.SymbolOffset = &[2]float64{0, down}
		}
		if m.Label != "" && len(t.Y.Rows) == 0 {
			d.Label = written(m.Label, "ink", textSize)
			d.Label.Weight, d.Label.Position = 600, "top"
			if place, ok := beside[m.Name]; ok {
				d.Label.Position, d.Label.Distance, d.Label.Offset = "right", place.across, &[2]float64{0, place.up}
				if place.align == "right" {
					d.Label.Position, d.Label.Distance = "left", -place.across
				}
			} else if m.Upright != nil {
				_, high := t.Y.ends(m.Upright)
				d.Label.Distance = 5 + math.Max(0, math.Min(t.Y.at(high), 1)-t.Y.at(m.Y))*t.Height - m.Radius
				if t.Y.at(high) > 1 {
					d.Label.Distance += 9
				}
			}
		}
		return d
	})}
	if !t.crossed(l) {
		s.LabelLayout = &opts.LabelLayout{HideOverlap: opts.Bool(true)}
	}
	id := "points"
	if l.Small {
		id, s.Emphasis = "pulls", &opts.Emphasis{ItemStyle: &opts.ItemStyle{Color: "inherit", BorderColor: paint("ink"), BorderWidth: 2}}
	}
	t.add(id, s)
}

// symbols are the forms of looks as ECharts has them.
var symbols = map[string]string{"circle": "circle", "diamond": "diamond", "rect": "rect",
	LookSlipped: "path://" + crossPath, LookBeyond: "path://" + beyondPath}

func (t *translator) line(l Layer) {
	stroke := l.stroke()
	if band := l.band(); len(band) > 0 {
		d := datum{Value: values(band[0].X, band[0].Y), Color: paint(stroke.colour), Faint: stroke.faint}
		for _, m := range band {
			d.Points = append(d.Points, [2]float64{m.X, math.Min(math.Max(m.Y, t.Y.From), t.Y.To)})
		}
		t.add(idBand, echarts.SingleSeries{Type: types.ChartCustom, Data: []datum{d}})
	}
	s := echarts.SingleSeries{Type: types.ChartLine, Name: l.Name, Symbol: "none", LineStyle: &opts.LineStyle{Color: paint(stroke.colour), Width: float32(stroke.width)},
		Data: each(l.Marks, func(m Mark) datum { return datum{Value: values(m.X, m.Y)} })}
	if l.Dash {
		s.LineStyle.Type = "dashed"
	}
	if l.Step {
		s.Step = "end"
	}
	t.add("line", s)
}

// levels are mark lines of a series without data.
func (t *translator) levels(l Layer) {
	for _, m := range l.Marks {
		style := opts.MarkLineStyle{Symbol: []string{"none", "none"}, LineStyle: &opts.LineStyle{Color: paint("ink"), Width: 1, Type: "dashed"}}
		style.Label = &opts.Label{Formatter: "{b}", Position: "insideEndTop", Color: paint("quiet"), FontSize: smallSize}
		if !math.IsNaN(m.X) {
			style.Label.Position = "insideStartTop"
		}
		var at any = opts.MarkLineNameYAxisItem{Name: plain(m.Label), YAxis: m.Y}
		if m.upright() {
			at = opts.MarkLineNameXAxisItem{Name: plain(m.Label), XAxis: m.X}
			style.Label.Position, style.Label.Align = "start", besideLevel(t.X.at(m.X), m.Label)
		}
		if m.Label == "" {
			style.Label.Show = opts.Bool(false)
		}
		t.add("level", echarts.SingleSeries{Type: types.ChartScatter, Data: []datum{}, MarkLines: &opts.MarkLines{Data: []any{at}, MarkLineStyle: style}})
	}
}

func (t *translator) cells(l Layer) {
	t.add("cells", echarts.SingleSeries{Type: types.ChartHeatMap, Emphasis: &opts.Emphasis{ItemStyle: &opts.ItemStyle{Color: "inherit", BorderColor: paint("ink"), BorderWidth: 3}},
		Data: each(l.Marks, func(m Mark) datum {
			d := t.told(m)
			d.Value = append(d.Value, finite(m.Heat))
			d.ItemStyle = &opts.ItemStyle{Color: paint("paper"), BorderColor: paint("paper"), BorderWidth: 2}
			if !math.IsNaN(m.Heat) {
				d.ItemStyle.Color = shadeOf(m.Heat, m.Fade).mixed()
			}
			d.Label = written(m.Label, onHeat(m.Heat, m.Fade), cellSize(len(t.X.Rows)))
			d.Label.Border, d.Label.BorderWidth, d.Note = "", 0, plain(m.Note)
			if sign := verdictSign(m.Look); sign != "" {
				d.Label.Text += "{sign|" + sign + "}"
			}
			if m.Fade < 2 {
				d.Label.Weight = 600
			}
			return d
		})})
	t.add("shares", echarts.SingleSeries{Type: types.ChartScatter, Symbol: "rect", Data: each(l.Marks, func(m Mark) datum {
		return datum{Value: values(m.X, m.Y), Share: m.Share, ItemStyle: &opts.ItemStyle{Color: paint(onHeat(m.Heat, m.Fade)), Opacity: opts.Float(0.65)},
			SymbolOffset: &[2]float64{0, t.Height/float64(len(t.Y.Rows))/2 - 6.5}}
	})})
}

// behind adds the column of exposures, whose rows lie as deep as their marks.
func (t *translator) behind(f Field) {
	t.Field, t.grid = f, len(t.Grid)
	down := t.offset(Mark{})
	t.Grid = append(t.Grid, opts.Grid{Right: "0", Width: pixels(besideRows - 20), Top: pixels(f.Top + down), Height: pixels(f.Height)})
	hidden := &opts.AxisLabel{Show: opts.Bool(false)}
	t.XAxis = append(t.XAxis, axisOption{XAxis: opts.XAxis{Type: "value", Name: t.chart.Behind, NameLocation: "start", Position: "top", GridIndex: t.grid, Min: 0, Max: 1, AxisLabel: hidden}})
	t.YAxis = append(t.YAxis, axisOption{XAxis: opts.XAxis{Type: "category", Inverse: opts.Bool(true), GridIndex: t.grid, Data: make([]string, len(f.Y.Rows)), AxisLabel: hidden}})
	list := []datum{}
	for _, l := range f.Layers {
		for _, m := range l.Marks {
			if m.Note != "" {
				d := datum{Value: values(m.Share, m.Y), ItemStyle: &opts.ItemStyle{Color: paint("edge")}, Label: written(m.Note, "quiet", smallSize)}
				d.Label.Position = [2]float64{0, -17}
				list = append(list, d)
			}
		}
	}
	t.add(idBehind, echarts.SingleSeries{Type: types.ChartBar, BarWidth: "7", Data: list})
}
