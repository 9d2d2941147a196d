package charts

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Link gives the address to which a click on a group leads; "" leads nowhere.
type Link func(analytics.Group) string

// picture is an answer on its way to a chart.
type picture struct {
	analytics.RateAnswer
	sys  units.System
	link Link
	rows table.Table // the answer's
	most float64     // exposure
}

func newPicture(a analytics.RateAnswer, sys units.System, link Link) picture {
	p := picture{RateAnswer: a, sys: sys, link: link}
	p.rows = prose.RatesTable(a, sys)
	p.most = most(p.Groups, func(g analytics.Group) float64 { return g.Exposure })
	return p
}

// Rates draws each group as a point with its 95% interval on a row of its own,
// the point's area following the exposure, and a line at the reference's rate.
// Of many groups it draws those with the most exposure, which the table has first too.
// With two factors the rows of one level of the first stand under its heading.
func Rates(a analytics.RateAnswer, sys units.System, link Link) Chart {
	p := newPicture(a, sys, link)
	return p.inRows(p.rateAxis().axis("", p.unit()), p.reference(), func(i int) (Mark, bool) {
		g := a.Groups[i]
		m := p.mark(i)
		m.X, m.Across = p.scale(g.Rate), p.interval(g)
		return m, true
	})
}

// Ratios draws each group's like-for-like ratio to the reference with its 95%
// interval, the one as fished as a light ring beside it, on an axis on which
// twice and half lie equally far from 1. A group that can't be compared like for like has a row and no mark.
func Ratios(a analytics.RateAnswer, sys units.System, link Link) Chart {
	p := newPicture(a, sys, link)
	one := level(1, nowhere, prose.Levels(p.By, p.Groups[p.Reference].Level, p.sys))
	c := p.inRows(ratios("", p.doublings()), []Layer{one}, func(i int) (Mark, bool) {
		m, g := p.mark(i), a.Groups[i]
		if i == p.Reference {
			m.X, m.Label = 1, "1"
			return m, true
		}
		if !positive(g.Corrected) {
			return m, false
		}
		m.X, m.Across, m.Label = *g.Corrected.Ratio, span(g.Corrected.Low, g.Corrected.High), prose.Ratio(*g.Corrected.Ratio)
		if v := g.Versus; v != nil && v.Ratio != nil && *v.Ratio > 0 {
			m.Ring = *v.Ratio
		}
		return m, true
	})
	c.Key, c.Ratios = append(c.Key, Key{LookPlain, prose.AsFished}), true
	return c
}

// Alike reports whether an answer holds something alike and so compares some of its groups like for like.
func Alike(a analytics.RateAnswer) bool {
	return len(a.Given) > 0 && slices.ContainsFunc(a.Groups, func(g analytics.Group) bool { return positive(g.Corrected) })
}

func positive(c *analytics.Corrected) bool { return c != nil && c.Ratio != nil && *c.Ratio > 0 }

// span is an interval whose ends may be missing: nil without a lower one.
func span(low, high *float64) *Span {
	if low == nil {
		return nil
	}
	s := &Span{*low, math.Inf(1)}
	if high != nil {
		s.High = *high
	}
	return s
}

// inRows draws the groups most fished, each with the mark that there is of it.
func (p picture) inRows(x Axis, below []Layer, of func(i int) (Mark, bool)) Chart {
	var rows []Row
	var marks []Mark
	var heading journal.Level
	drawn := table.First(len(p.Groups), p.Matters)
	for _, i := range drawn {
		g := p.Groups[i]
		if len(g.Level) == 2 && (len(rows) == 0 || g.Level[0] != heading) {
			heading = g.Level[0]
			rows = append(rows, Row{Name: prose.Level(p.By[0].Factor, heading, p.sys), Heading: true})
		}
		row := Row{Name: p.rowName(g)}
		if m, ok := of(i); ok {
			m.Y, row.Value = float64(len(rows)), m.Label
			marks = append(marks, m)
		}
		rows = append(rows, row)
	}
	c := lying(rows, x, prose.Capital(prose.Against(p.Outcome)), append(below, Layer{Shape: Points, Marks: marks})...)
	c.Key, c.Drawn = p.key(marks), len(drawn)
	return c
}

// rowName is the level of the last factor; the heading names the first.
func (p picture) rowName(g analytics.Group) string {
	if len(g.Level) == 0 {
		return "All"
	}
	last := len(g.Level) - 1
	return prose.Level(p.By[last].Factor, g.Level[last], p.sys)
}

// verdicts in the order of the key, with their looks.
var verdicts = []struct {
	look    string
	verdict stat.Verdict
}{{LookDiffers, stat.Differs}, {LookLeans, stat.Leans}, {LookSame, stat.SameForPractice}, {LookOpen, stat.CannotTell}}

// lookOf is the look of one of several groups, one of which the others are compared with.
func lookOf(reference, several bool, verdict stat.Verdict) string {
	for _, v := range verdicts {
		if v.verdict == verdict {
			return v.look
		}
	}
	if reference && several {
		return LookReference
	}
	return LookAlone
}

// verdictKey explains the looks that marks have; what they are compared with is first.
func verdictKey(marks []Mark, before, reference string) []Key {
	has := func(of func(Mark) bool) bool { return slices.ContainsFunc(marks, of) }
	list := []Key{{LookReference, before + prose.Reference(reference)}}
	if i := slices.IndexFunc(marks, func(m Mark) bool { return m.Look == LookReference && m.Knot != "" }); i >= 0 {
		list[0].Look = knotLook + marks[i].Knot
	}
	if has(func(m Mark) bool { return m.Knot != "" }) { // its own mark, so only whether it is filled tells
		if has(func(m Mark) bool { return m.Look == LookDiffers }) {
			list = append(list, Key{LookFilled, "filled: " + prose.Verdict(stat.Differs, reference)})
		}
		if has(func(m Mark) bool { return looks[m.Look].fill == "paper" }) {
			list = append(list, Key{LookOpen, "hollow: nothing settled"})
		}
	} else {
		for _, v := range verdicts {
			if has(func(m Mark) bool { return m.Look == v.look && !m.Few }) {
				list = append(list, Key{v.look, strings.TrimSuffix(before, "of ") + prose.Verdict(v.verdict, reference)})
			}
		}
	}
	if has(func(m Mark) bool { return m.Few }) {
		list = append(list, Key{LookFew, "dotted: fewer than six sessions"})
	}
	return list
}

// key explains the looks that a chart's marks have.
func (p picture) key(marks []Mark) []Key {
	if p.Reference < 0 || len(p.Groups) < 2 {
		return nil
	}
	reference := prose.Levels(p.By, p.Groups[p.Reference].Level, p.sys)
	list := verdictKey(marks, "", reference)
	if slices.ContainsFunc(marks, func(m Mark) bool { return m.Look == LookAlone }) {
		list = append(list, Key{LookAlone, prose.Verdict("", reference)})
	}
	return list
}

// mark makes what all marks of a group have in common. Its area follows the exposure.
func (p picture) mark(i int) Mark {
	g := p.Groups[i]
	number := prose.RateFigure(p.Outcome, g.Rate) // its unit stands beside the chart
	m := Mark{Name: prose.Levels(p.By, g.Level, p.sys), Label: number, Detail: pairs(p.rows, i), Note: p.exposure(i), Radius: leastRadius}
	m.Look = lookOf(i == p.Reference, len(p.Groups) > 1, cmp.Or(g.Versus, &analytics.Comparison{}).Verdict)
	m.Knot, m.Few = knotOf(factors(p.By), g.Level), g.Sessions < fewSessions
	if p.most > 0 {
		m.Share = g.Exposure / p.most
		m.Radius = math.Max(leastRadius, mostRadius*math.Sqrt(m.Share))
	}
	if p.link != nil {
		m.Href = p.link(g)
	}
	return m
}

func factors(by []journal.By) []journal.Factor {
	list := make([]journal.Factor, len(by))
	for i, b := range by {
		list[i] = b.Factor
	}
	return list
}

// pairs are what pointing at a mark shows: headings of a table with the cells of a row.
func pairs(t table.Table, row int) [][]string {
	var list [][]string
	for _, p := range t.Detail(row) {
		if p.Text != table.Unknown {
			list = append(list, []string{p.Title, p.Text})
		}
	}
	return list
}

// exposure says what is behind a group, briefly.
func (p picture) exposure(i int) string {
	cell := p.rows.Cell(i, "exposure").Text
	if p.Outcome.Exposure == "hours" {
		return cell + " h"
	}
	return cell + " " + prose.Against(p.Outcome)
}

// scale turns a rate into the chart's number: shares are shown in percent.
func (p picture) scale(rate float64) float64 { return scaled(p.Outcome, rate) }

func scaled(o journal.Outcome, rate float64) float64 {
	if o.Measure == journal.ShareOf {
		return 100 * rate
	}
	return rate
}

// unit follows the numbers of a rate axis.
func (p picture) unit() string { return unitOf(p.Outcome) }

func unitOf(o journal.Outcome) string {
	if o.Measure == journal.ShareOf {
		return "%"
	}
	return ""
}

// interval is that of a group, nil where there is none.
func (p picture) interval(g analytics.Group) *Span {
	if !g.HasInterval || math.IsNaN(g.Low) {
		return nil
	}
	return &Span{p.scale(g.Low), p.scale(g.High)}
}

// reference is the line at the rate of the group that others are compared with.
func (p picture) reference() []Layer {
	if p.Reference < 0 || len(p.Groups) < 2 {
		return nil
	}
	g := p.Groups[p.Reference]
	return []Layer{level(p.scale(g.Rate), nowhere, prose.Levels(p.By, g.Level, p.sys))}
}

// rateAxis reaches the rates and the intervals of all groups that are well known: the intervals as
// far as three times the highest of these rates, where there is one, and the rates of others as far
// as twice that. What lies beyond ends in an arrow.
func (p picture) rateAxis() reach {
	rate, end, least := 0.0, 0.0, math.Inf(1)
	known := func(g analytics.Group) bool { return g.Exposure >= wellKnown*p.most }
	for _, g := range p.Groups {
		if !known(g) {
			continue
		}
		rate = math.Max(rate, g.Rate)
		if g.HasInterval && stat.Finite(g.High) {
			end, least = math.Max(end, g.High), math.Min(least, g.High)
		}
	}
	far := math.Max(3*rate, least) // without any event the shortest interval gives the scale
	end = math.Max(1.1*rate, math.Min(end, far))
	for _, g := range p.Groups {
		if !known(g) {
			end = math.Max(end, math.Min(1.1*g.Rate, 2*end))
		}
	}
	return rateReach(p.Outcome, end)
}

func rateReach(o journal.Outcome, end float64) reach {
	if o.Measure == journal.ShareOf && end > 0.8 {
		return reach{100, 25}
	}
	return reaching(scaled(o, end), rateAxes)
}

// doublings is how far an axis of ratios reaches: to every ratio, and to the intervals
// of the groups that are well known.
func (p picture) doublings() float64 {
	far := 1.0
	reach := func(v *float64) {
		if v != nil && *v > 0 {
			far = math.Max(far, math.Ceil(math.Abs(math.Log2(*v))))
		}
	}
	for _, g := range p.Groups {
		if g.Corrected == nil {
			continue
		}
		reach(g.Corrected.Ratio)
		reach(g.Versus.Ratio)
		if g.Exposure >= wellKnown*p.most {
			reach(g.Corrected.Low)
			reach(g.Corrected.High)
		}
	}
	return math.Min(far, widest)
}
