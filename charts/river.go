package charts

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/prose"
)

// River is what is known of a river around a session.
type River struct {
	Session journal.Session
	Series  []gauge.Series // those that its water takes, the first of a quantity before others
	Usual   gauge.Usual    // of the flow; may be empty
	Now     time.Time      // after which nothing can be known
	Units   units.System
}

// Hydrograph is a figure of a river around a session, and what of it needs words.
type Hydrograph struct {
	Chart    *Chart // nil where nothing was read
	Main     gauge.Series
	Warmth   *gauge.Series // the temperature in a field of its own
	From, To time.Time     // what it shows
	Gaps     []gauge.Gap   // in the line of Main
	Years    int           // by which it is known what is usual; 0 where that is not drawn
	Flags    gauge.Flags   // any of those drawn
	Final    bool          // some of what is drawn may no more be revised
	Log      bool

	start, end time.Time // of the session, or its day
	timed      bool
	loc        *time.Location
	units      units.System
}

// Headline says how the river went.
func (h Hydrograph) Headline() string {
	list := []gauge.Series{h.Main}
	if h.Warmth != nil {
		list = append(list, *h.Warmth)
	}
	if h.timed {
		return prose.RiverDuring(list, h.start, h.end, h.loc, h.units)
	}
	return prose.RiverOnDay(list, h.start, h.end, h.units)
}

// Read says how to read the drawing: what is missing, what may change, and what the axes do.
func (h Hydrograph) Read() string {
	said := []string{prose.RiverGaps(h.Gaps, h.loc, h.Main.Statistic == gauge.DailyMean)}
	if h.Main.Statistic == gauge.DailyMean {
		said = append(said, "Each step is the mean of a day.")
	}
	if h.Flags&gauge.Provisional != 0 && !h.Final {
		said = append(said, prose.Provisional)
	}
	if h.Log {
		said = append(said, "The axis of flow has no 0: each doubling takes the same height.")
	}
	if h.Main.Statistic == gauge.Instant {
		said = append(said, prose.ClocksChanged(h.From, h.To, h.loc))
	}
	return strings.Join(slices.DeleteFunc(said, func(text string) bool { return text == "" }), " ")
}

// Measures of a hydrograph, in px and in times.
const (
	besideFlow                    = 58 // for the numbers of an axis of flow
	riverTop, riverHeight         = 30, 150
	warmthHeight, duringHeight    = 76, 96
	lane                          = 18  // of what happened, above the line
	riverParts                    = 400 // into which a line is thinned
	daysBefore, daysAfter         = 7, 3
	besideSession                 = 30 * time.Minute
	floods                        = 10.0 // the greatest through the least from which the axis is logarithmic
	leastStage, leastTemperatureC = 0.3, 5.0
)

// Around draws the river around a session: from the midnight before the day before to that after it, or a week of daily
// means where nothing else is known.
func (r River) Around() Hydrograph {
	loc, err := time.LoadLocation(r.Session.TimeZone)
	if err != nil {
		return Hydrograph{}
	}
	last := r.Session.Day
	if e := r.Session.End; e != nil && journal.DateOf(e.In(loc)).In(time.UTC).After(last.In(time.UTC)) {
		last = journal.DateOf(e.In(loc))
	}
	h := Hydrograph{From: dayAfter(r.Session.Day, -1).In(loc), To: dayAfter(last, 1).In(loc)}
	main, ok := r.first(gauge.Instant, h.From, h.To)
	if !ok {
		h.From, h.To = dayAfter(r.Session.Day, -daysBefore).In(time.UTC), dayAfter(r.Session.Day, daysAfter+1).In(time.UTC)
		if main, ok = r.first(gauge.DailyMean, h.From, h.To); !ok {
			return Hydrograph{}
		}
		loc = time.UTC // the gauge's own days
	}
	h.Main = main
	p := &riverPlan{River: r, Hydrograph: &h, first: r.Session.Day, last: last}
	h.loc, h.units = loc, r.Units
	h.start, h.end, h.timed = p.times()
	p.draw()
	return h
}

// dayAfter is the day so many days after another.
func dayAfter(d journal.Date, n int) journal.Date {
	return journal.DateOf(d.In(time.UTC).AddDate(0, 0, n))
}

// first is the first series with usable readings in a time: of flow, else of stage, else of temperature.
func (r River) first(of gauge.Statistic, from, to time.Time) (gauge.Series, bool) {
	for _, q := range gauge.Quantities() {
		if s, ok := r.of(q, of, from, to); ok {
			return s, true
		}
	}
	return gauge.Series{}, false
}

func (r River) of(q gauge.Quantity, of gauge.Statistic, from, to time.Time) (gauge.Series, bool) {
	for _, s := range r.Series {
		if runs, _ := s.Runs(from, to); s.Quantity == q && s.Statistic == of && len(runs) > 0 {
			return s, true
		}
	}
	return gauge.Series{}, false
}

// riverPlan lays a hydrograph out.
type riverPlan struct {
	River
	*Hydrograph
	first, last journal.Date // the days of the session
}

func (p *riverPlan) daily() bool { return p.Main.Statistic == gauge.DailyMean }

func (p *riverPlan) draw() {
	c := Chart{Left: besideFlow, Right: 12}
	x := p.days()
	main := p.field(p.Main, p.From, p.To, riverTop, riverHeight, true)
	main.X = x
	foot := float64(riverTop + riverHeight)
	c.Fields = []Field{main}
	if s, ok := p.of(gauge.Temperature, p.Main.Statistic, p.From, p.To); ok && p.Main.Quantity != gauge.Temperature {
		p.Warmth = &s
		warm := p.field(s, p.From, p.To, foot+40, warmthHeight, false)
		warm.X = x
		c.Fields[0].X.Bare, c.Fields[0].X.Title = true, ""
		c.Fields, foot = append(c.Fields, warm), foot+40+warmthHeight
	}
	if !p.daily() {
		c.Fields[len(c.Fields)-1].Layers = append(c.Fields[len(c.Fields)-1].Layers, p.named(x))
	}
	foot += belowAxis
	if during, ok := p.during(foot + 30); ok {
		c.Fields, foot = append(c.Fields, during), foot+30+during.Height+belowAxis
	}
	c.Height = foot
	c.Key = p.keys(c)
	p.Chart = &c
}

// field draws a series: what is usual behind, the session as a band, the line in its runs, and gaps by their reason.
func (p *riverPlan) field(s gauge.Series, from, to time.Time, top, height float64, whole bool) Field {
	f := Field{Top: top, Height: height}
	end := earlier(to, p.Now)
	if p.daily() {
		end = end.Add(-time.Nanosecond) // the day that begins then is not shown
	}
	runs, gaps := s.Runs(from, end)
	span := noSpan
	for i := range runs {
		runs[i] = gauge.Thinned(runs[i], riverParts)
		for _, r := range runs[i] {
			span = span.with(r.Value)
			p.Flags |= r.Flags
			p.Final = p.Final || r.Flags&gauge.Provisional == 0
		}
	}
	var usual []Mark
	if whole && s.Quantity == gauge.Flow {
		usual = p.usual(from, to)
		for _, m := range usual {
			span = span.with(m.Upright.Low, m.Upright.High)
		}
	}
	var scale func(float64) float64
	f.Y, scale = riverAxis(s.Quantity, span, height, p.Units)
	for _, m := range usual {
		m.Upright.Low, m.Upright.High = scale(m.Upright.Low), scale(m.Upright.High)
	}
	if len(usual) > 0 {
		f.Layers = append(f.Layers, Layer{Shape: Washes, Strong: true, Marks: usual})
	}
	f.Layers = append(f.Layers, p.band(top == riverTop, from.After(p.From)))
	if whole {
		p.Gaps, p.Log = gaps, f.Y.Log
	}
	f.Layers = append(f.Layers, Layer{Shape: Gaps, Marks: gapMarks(gaps, s)})
	for _, run := range runs {
		f.Layers = append(f.Layers, lines(run, s, scale)...)
	}
	return f
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// place is where a time is on an axis: in seconds.
func moment(t time.Time) float64 { return float64(t.Unix()) }

// lines draws a run: thin where it may still be revised. What is read once is a dot.
func lines(run []gauge.Reading, s gauge.Series, scale func(float64) float64) []Layer {
	var list []Layer
	for i, r := range run {
		loose := r.Flags&gauge.Provisional != 0
		m := Mark{X: moment(r.At), Y: scale(r.Value), Radius: 2.5}
		if n := len(list); n > 0 && list[n-1].Loose != loose {
			list[n-1].Marks = append(list[n-1].Marks, m) // the line goes on to where its kind changes
		}
		if n := len(list); n == 0 || list[n-1].Loose != loose {
			list = append(list, Layer{Shape: Line, Tone: 1, Loose: loose, Step: s.Statistic == gauge.DailyMean})
		}
		n := len(list) - 1
		list[n].Marks = append(list[n].Marks, m)
		if i == len(run)-1 && s.Statistic == gauge.DailyMean {
			list[n].Marks = append(list[n].Marks, Mark{X: moment(r.At.AddDate(0, 0, 1)), Y: m.Y})
		}
	}
	for i := range list {
		if len(list[i].Marks) == 1 {
			list[i].Shape = Points
		}
	}
	return list
}

func gapMarks(gaps []gauge.Gap, s gauge.Series) (marks []Mark) {
	for _, g := range gaps {
		from := g.From
		if s.Statistic == gauge.DailyMean && len(s.Between(from, from)) > 0 {
			from = from.AddDate(0, 0, 1) // the day before it was read
		}
		marks = append(marks, Mark{Label: g.Why(), Wide: &Span{moment(from), moment(g.To)}})
	}
	return marks
}

// usual are the middle half of earlier years, day by day.
func (p *riverPlan) usual(from, to time.Time) (marks []Mark) {
	for d := journal.DateOf(from.In(p.loc)); d.In(p.loc).Before(to); d = dayAfter(d, 1) {
		q, ok := p.Usual.Quantiles(d.In(time.UTC), 25, 75)
		if !ok {
			continue
		}
		_, years, _ := p.Usual.Percentile(d.In(time.UTC), q[0])
		if p.Years == 0 || years < p.Years {
			p.Years = years
		}
		marks = append(marks, Mark{Wide: &Span{moment(d.In(p.loc)), moment(dayAfter(d, 1).In(p.loc))}, Upright: &Span{q[0], q[1]}})
	}
	return marks
}

// times are when the session began and ended, or its day.
func (p *riverPlan) times() (start, end time.Time, timed bool) {
	s := p.Session
	fished := time.Duration(0)
	for _, st := range s.Stints {
		if st.Minutes != nil {
			fished += time.Duration(*st.Minutes * float64(time.Minute))
		}
	}
	switch {
	case p.daily() || s.Start == nil && s.End == nil:
		return p.first.In(p.loc), dayAfter(p.last, 1).In(p.loc), false
	case s.Start == nil:
		return s.End.Add(-fished), *s.End, true
	case s.End == nil:
		return *s.Start, s.Start.Add(fished), true
	}
	return *s.Start, *s.End, true
}

// band is the session behind the line, named on the first field, and paler where the field shows little else.
func (p *riverPlan) band(named, alone bool) Layer {
	start, end, timed := p.times()
	m := Mark{Wide: &Span{moment(start), moment(end)}}
	switch {
	case !named:
	case timed && end.After(start):
		m.Label = "Session " + start.In(p.loc).Format("15:04") + "–" + end.In(p.loc).Format("15:04")
	case timed:
		m.Label = "Session from " + start.In(p.loc).Format("15:04")
	default:
		m.Label = "Day of the session"
	}
	return Layer{Shape: Spells, Small: alone, Marks: []Mark{m}}
}

func (p *riverPlan) keys(c Chart) (keys []Key) {
	if p.Years > 0 {
		keys = append(keys, Key{LookUsual, fmt.Sprintf("Usual for the day: the middle half of %d years", p.Years)})
	}
	if p.Flags&gauge.Provisional != 0 && p.Final {
		keys = append(keys, Key{"line-1", "Approved"}, Key{LookThin, "Provisional: may still be revised"})
	}
	seen := map[string]bool{}
	for _, l := range c.Fields[len(c.Fields)-1].Layers {
		for _, m := range l.Marks {
			seen[m.Look] = true
		}
	}
	for _, k := range happenedKeys {
		if seen[k.Look] {
			keys = append(keys, k)
		}
	}
	return keys
}

// happenedKeys are the marks of what happens, as on a session's line.
var happenedKeys = []Key{{LookLanded, "Fish landed"}, {LookLost, "Fish not landed"}, {LookTangle, "Tangle"}, {LookBroke, "Break-off"}}

// during draws the session by itself, with what happened at a minute that is known above the line.
func (p *riverPlan) during(top float64) (Field, bool) {
	start, end, timed := p.times()
	if !timed || !end.After(start) {
		return Field{}, false
	}
	marks := p.happened(start)
	if len(marks) == 0 {
		return Field{}, false
	}
	from, to := start.Add(-besideSession), end.Add(besideSession)
	if runs, _ := p.Main.Runs(from, earlier(to, p.Now)); len(runs) == 0 {
		return Field{}, false
	}
	lanes := 0
	for _, m := range marks {
		lanes = max(lanes, 1+int(m.Up))
	}
	gaps, log, years := p.Gaps, p.Log, p.Years
	f := p.field(p.Main, from, to, top, duringHeight, false)
	p.Gaps, p.Log, p.Years = gaps, log, years
	room := float64(lanes)*lane + 6
	f.Y.To, f.Height = f.Y.of((duringHeight+room)/duringHeight), duringHeight+room
	f.Y.Title += ", while it was fished"
	f.X = Axis{From: moment(from), To: moment(to), Ticks: hours(from, to, p.loc)}
	for _, m := range marks {
		m.Y = f.Y.of(1 - (lane*m.Up+lane/2)/f.Height)
		m.Up = 0
		f.Layers = append(f.Layers, Layer{Shape: Points, Marks: []Mark{m}})
	}
	return f, true
}

// happened marks what happened at minutes that are known; Up is the lane: fish, tangles, breaks.
func (p *riverPlan) happened(start time.Time) (marks []Mark) {
	for _, st := range p.Session.Stints {
		for _, e := range st.Events {
			look, lane := happenedLook(e)
			if e.Minute == nil || look == "" {
				continue
			}
			at := start.Add(time.Duration(*e.Minute) * time.Minute)
			m := Mark{X: moment(at), Up: lane, Radius: 4.5, Look: look}
			m.Name = at.In(p.loc).Format("15:04") + ", " + strings.ToLower(happenedWords(look))
			if r, _, ok := p.Main.At(at); ok {
				m.Detail = [][]string{{prose.GaugeQuantity(p.Main.Quantity), prose.GaugeValue(p.Main.Quantity, r.Value, p.Units)}}
			}
			marks = append(marks, m)
		}
		if st.Minutes == nil {
			break // when the next one began is not known
		}
		start = start.Add(time.Duration(*st.Minutes * float64(time.Minute)))
	}
	return marks
}

func happenedWords(look string) string {
	for _, k := range happenedKeys {
		if k.Look == look {
			return k.Text
		}
	}
	return ""
}

func happenedLook(e journal.Event) (look string, lane float64) {
	switch {
	case e.Ending == journal.BrokeOff:
		return LookBroke, 2
	case e.Kind == journal.EventTangle:
		return LookTangle, 1
	case e.Kind == journal.EventHookup && e.Ending == journal.Landed:
		return LookLanded, 0
	case e.Kind == journal.EventHookup:
		return LookLost, 0
	}
	return "", 0
}
