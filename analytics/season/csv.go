package season

import (
	"io"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/internal/table"
	"rigtally/journal"
)

// WriteFigureCSV writes the numbers of one figure of a review, in full precision and
// in storage units: months, outcomes, rigs, or sessions- and an outcome's key. A cell
// is empty where a value does not exist.
func (a Answer) WriteFigureCSV(w io.Writer, figure string) error {
	switch figure {
	case "months":
		return a.monthsTable().WriteCSV(w)
	case "outcomes":
		return a.outcomesTable().WriteCSV(w)
	case "rigs":
		return a.rigsTable().WriteCSV(w)
	}
	for _, c := range a.Charts {
		if c.Outcome.Key == strings.TrimPrefix(figure, "sessions-") {
			return a.sessionsTable(c).WriteCSV(w)
		}
	}
	return journal.Invalidf("a season has no figure %q; there are months, outcomes, rigs, sessions-tangles and sessions-landed", figure)
}

// groupColumns adds the events, exposure, rate and interval of the group at a row's level.
func groupColumns[T any](c *table.Columns[T], name string, a analytics.RateAnswer, level func(T) journal.Level) {
	c.Values(func(t T) []*float64 {
		for _, g := range a.Groups {
			if g.Level[0] == level(t) {
				return []*float64{&g.Events, &g.Exposure, &g.Rate, answer.If(g.HasInterval, g.Low), answer.If(g.HasInterval, g.High)}
			}
		}
		return nil
	}, name, name+"_hours", name+"_per_hour", name+"_low", name+"_high")
}

func (a Answer) monthsTable() table.Table {
	var c table.Columns[Month]
	c.Count("month", "", func(m Month) int { return int(m.Month) })
	c.Count("sessions", "", func(m Month) int { return m.Sessions })
	c.Count("days", "", func(m Month) int { return m.Days })
	c.Value("hours", func(m Month) *float64 { return &m.Hours })
	level := func(m Month) journal.Level {
		return journal.Level{Number: float64(m.Month), Kind: journal.NumberLevel}
	}
	groupColumns(&c, "hookups", a.Months.Hookups, level)
	groupColumns(&c, "landed", a.Months.Landed, level)
	return c.Make(a.Months.List)
}

func (a Answer) outcomesTable() table.Table {
	var c table.Columns[Outcome]
	c.Plain("outcome", func(o Outcome) string { return o.Outcome.Key })
	c.Plain("unit", func(o Outcome) string { return o.Outcome.Unit() })
	c.Values(func(o Outcome) []*float64 {
		known, counted := o.Kept > 0, o.Own.Exposure > 0
		return []*float64{answer.If(known, o.Own.Events), answer.If(known, o.Own.Exposure), answer.If(counted, o.Own.Rate), o.Shrunk, o.Low, o.High, answer.If(counted, o.Baseline.Rate), o.P, o.Q}
	}, "events", "exposure", "rate", "shrunk", "low", "high", "baseline", "p", "q")
	c.Plain("standing", func(o Outcome) string { return string(o.Standing) })
	return c.Make(a.Outcomes)
}

func (a Answer) rigsTable() table.Table {
	var c table.Columns[Rig]
	c.Plain("rig", func(r Rig) string { return r.Name })
	c.Count("stints", "", func(r Rig) int { return r.Stints })
	c.Count("sessions", "", func(r Rig) int { return r.Sessions })
	c.Value("hours", func(r Rig) *float64 { return &r.Hours })
	level := func(r Rig) journal.Level { return journal.Level{Word: r.Name} }
	groupColumns(&c, "tangles", a.Rigs.Tangles, level)
	groupColumns(&c, "hookups", a.Rigs.Hookups, level)
	groupColumns(&c, "landed", a.Rigs.Landed, level)
	return c.Make(a.Rigs.List)
}

func (a Answer) sessionsTable(of Chart) table.Table {
	type point = ChartPoint
	var c table.Columns[point]
	c.Plain("day", func(p point) string { return a.Day(p.Day) })
	c.Plain("angler", func(p point) string { return p.Angler })
	c.Values(func(p point) []*float64 { return []*float64{&p.Events, &p.Exposure, &p.Rate, &p.Low, &p.High} }, "events", "exposure", "rate", "low", "high")
	c.Plain("out", func(p point) string { return string(p.Out) })
	return c.Make(of.Points)
}
