package prose

import (
	"cmp"
	"fmt"
	"rigtally/analytics/answer"
	"strconv"
	"strings"

	"rigtally/analytics"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
)

// SayRates puts an answer into words and a table.
func SayRates(a analytics.RateAnswer, sys units.System) Said {
	s := Said{Title: Question(a.Outcome, a.By), Sentence: Sentence(a, sys), More: Beside(a, sys), LeftOut: LeftOut(a.LeftOut), Notes: Notes(a, sys)}
	s.More = append(s.More, changedRates(a, sys)...)
	if len(a.Groups) > 0 {
		s.Tables, s.InAll = []table.Table{RatesTable(a, sys)}, InAll(a.Outcome, a.Total)
	} else {
		s.Remedy = remedy(a.LeftOut)
	}
	if s.Bet = SayBet(a, sys); s.Bet != "" {
		s.BetHow = betHow(a.Bet.Prior, false)
	}
	return s
}

// RatesTable lays the numbers of an answer out: one row for each group. Programs get levels in
// storage units, a band as FROM..<TO.
func RatesTable(a analytics.RateAnswer, sys units.System) table.Table {
	type group = analytics.Group
	var c table.Columns[group]
	page := levelColumns(&c, a.By, func(g group) []journal.Level { return g.Level }, sys)
	compared := a.Reference >= 0 && len(a.Groups) > 1
	// What is told of a comparison the reference has nothing of.
	versus := func(text func(group) string) func(group) string {
		return func(g group) string {
			if g.Versus == nil {
				return ""
			}
			return text(g)
		}
	}
	tested := func(number func(float64) string, v func(*analytics.Comparison) *float64) func(group) table.Cell {
		return func(g group) table.Cell {
			if g.Versus == nil {
				return table.Cell{}
			}
			return orNone(number, v(g.Versus))
		}
	}
	corrected := func(g group) analytics.Corrected { return *cmp.Or(g.Corrected, &analytics.Corrected{}) }

	c.Count("stints", "Stints", func(g group) int { return g.Stints }).Spare = 6
	c.Count("sessions", "Sessions", func(g group) int { return g.Sessions }).Spare = 8
	c.Value("hours", func(g group) *float64 { return &g.Hours })
	c.Number("exposure", Capital(Against(a.Outcome)), exposure, func(g group) *float64 { return &g.Exposure }).Spare = 3
	c.Number("events", Capital(a.Outcome.Events), Count, func(g group) *float64 { return &g.Events }).Spare = 5
	c.Value("dispersion", func(g group) *float64 { return &g.Dispersion })
	c.Number("rate", rateTitle(a.Outcome), func(v float64) string { return RateFigure(a.Outcome, v) }, func(g group) *float64 { return &g.Rate })
	spread := c.Said("interval", "95% interval", func(g group) string {
		if !g.HasInterval {
			return table.Unknown
		}
		return Interval(a.Outcome, g.Low, g.High)
	})
	spread.Below, spread.Spare = "rate", 7
	c.Values(func(g group) []*float64 {
		if !g.HasInterval {
			return nil
		}
		return answer.Numbers(g.Low, g.High)
	}, "low", "high")

	reference := ""
	if a.Reference >= 0 && len(a.Groups) > 0 {
		reference = plainLevels(a.Groups[a.Reference].Level)
	}
	c.Plain("versus", versus(func(group) string { return reference }))
	if compared {
		c.Said("corrected", timesTitle(a), func(g group) string {
			if g.Versus == nil {
				return "reference"
			}
			return orNone(Ratio, corrected(g).Ratio).Text
		})
		c.Said("corrected_interval", "95% interval", versus(func(g group) string {
			if corrected(g).Low == nil {
				return None
			}
			return ratioSpan(corrected(g).Low, corrected(g).High)
		})).Below = "corrected"
	}
	c.Values(func(g group) []*float64 {
		v := cmp.Or(g.Versus, &analytics.Comparison{})
		return []*float64{v.Ratio, v.Low, v.High, v.P}
	}, "ratio", "ratio_low", "ratio_high", "p")
	decided := []*table.Column{
		c.Add("q", "q", tested(PValue, func(v *analytics.Comparison) *float64 { return v.Q })),
		c.Add("verdict", "Verdict", func(g group) table.Cell {
			switch {
			case g.Versus == nil:
				return table.Cell{}
			case g.Versus.Verdict == "":
				return table.Cell{Text: None}
			}
			return table.Text(string(g.Versus.Verdict))
		}),
		c.Add("more_hours", "More hours", tested(hoursLeft, func(v *analytics.Comparison) *float64 { return v.MoreHours })),
	}
	decided[0].Below, decided[0].Spare, decided[2].Spare = "verdict", 4, 2
	if compared {
		beside := c.Said("times", "As fished", versus(func(g group) string { return orNone(Ratio, g.Versus.Ratio).Text }))
		beside.Spare, beside.Below, beside.Mark = 1, "corrected", "as fished "
		c.Said("times_interval", "95% interval, as fished", versus(func(g group) string {
			if g.Versus.Ratio == nil {
				return None
			}
			return ratioSpan(g.Versus.Low, g.Versus.High)
		})).Spare = 9
	} else {
		for _, column := range decided {
			column.For = table.Programs
		}
	}
	if len(a.By) > 0 {
		c.Values(func(g group) []*float64 {
			v := corrected(g)
			return []*float64{v.Ratio, v.Low, v.High, v.P, v.SELog, v.DF}
		}, "corrected_ratio", "corrected_low", "corrected_high", "corrected_p", "corrected_se_log", "corrected_df")
		c.Plain("corrected_method", func(g group) string { return corrected(g).Method })
		c.Plain("corrected_model", func(g group) string { return string(corrected(g).Model) })
	}
	if compared {
		c.Add("sure", "", func(g group) table.Cell { return table.Said(RowSure(g.Versus)) }).For = table.Phone
	}
	t := c.Make(a.Groups)
	t.OnPhone = []string{"sure", "rate", "exposure"}
	if compared && len(a.Given) > 0 {
		t.OnPhone = []string{"sure", "corrected", "exposure"}
	}
	t.Title = Measure(a.Outcome)
	if compared {
		held := "like for like"
		if len(a.Given) == 0 {
			held = "with nothing held alike"
		}
		t.Title = fmt.Sprintf("%s as fished, and times %s %s", Measure(a.Outcome), sayer{a, sys}.name(a.Groups[a.Reference]), held)
	}
	t.OnPage = append(page, "rate", "corrected", "verdict", "more_hours", "exposure", "events", "stints", "sessions")
	return t
}

// timesTitle heads the ratios that verdicts rest on.
func timesTitle(a analytics.RateAnswer) string {
	if len(a.Given) == 0 {
		return "Times"
	}
	return "Like for like"
}

// levelColumns begins a table with the levels of its rows, and returns their keys.
func levelColumns[T any](c *table.Columns[T], by []journal.By, levels func(T) []journal.Level, sys units.System) (keys []string) {
	for i, b := range by {
		c.Add(b.Factor.Key, b.Factor.Title, func(t T) table.Cell { return levelCell(b.Factor, levels(t)[i], sys) }).Words = true
		keys = append(keys, b.Factor.Key)
	}
	return keys
}

// levelCell is a level for people in their units, for programs in storage units.
func levelCell(f journal.Factor, l journal.Level, sys units.System) table.Cell {
	return table.Cell{Text: Level(f, l, sys), Value: plainLevel(l)}
}

// plainLevels are a group's levels as a program reads them.
func plainLevels(levels []journal.Level) string { return strings.Join(each(levels, plainLevel), ",") }

// plainLevel is a level as a filter has it: a word, a number in its storage unit, or a band as FROM..<TO.
func plainLevel(l journal.Level) string {
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	switch l.Kind {
	case journal.NumberLevel:
		return number(l.Number)
	case journal.BandLevel:
		return number(l.Number) + "..<" + number(l.Upper)
	case journal.BelowLevel:
		return "..<" + number(l.Upper)
	case journal.AboveLevel:
		return number(l.Number) + ".."
	}
	return l.Word
}

// None stands where there is nothing to tell: a comparison that can't be had.
const None = "—"

// hoursLeft are hours still to fish, where there are any.
func hoursLeft(h float64) string {
	if h == 0 {
		return None
	}
	return Hours(h)
}

// orNone is a number, worded by text, that there is only where something could be compared.
func orNone(text func(float64) string, v *float64) table.Cell {
	if v == nil {
		return table.Cell{Text: None}
	}
	return table.Cell{Text: text(*v), Value: *v}
}

// rateTitle heads a column of rates.
func rateTitle(o journal.Outcome) string {
	if o.Measure == journal.AmountPer {
		return "Minutes per hour"
	}
	return Capital(o.Unit())
}
