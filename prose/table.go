package prose

import (
	"cmp"
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
	s := Said{Title: Question(a.Outcome, a.By), Sentence: Sentence(a, sys), LeftOut: LeftOut(a.LeftOut), Notes: Notes(a, sys)}
	if len(a.Groups) > 0 {
		s.Tables, s.InAll = []table.Table{RatesTable(a, sys)}, InAll(a.Outcome, a.Total)
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
			return orUnknown(number, v(g.Versus))
		}
	}
	corrected := func(g group) analytics.Corrected { return *cmp.Or(g.Corrected, &analytics.Corrected{}) }

	c.Count("stints", "Stints", func(g group) int { return g.Stints }).Spare = 5
	c.Count("sessions", "Sessions", func(g group) int { return g.Sessions }).Spare = 6
	c.Value("hours", func(g group) *float64 { return &g.Hours })
	c.Number("exposure", Capital(a.Outcome.Exposure), exposure, func(g group) *float64 { return &g.Exposure }).Spare = 3
	c.Number("events", Capital(a.Outcome.Events), Count, func(g group) *float64 { return &g.Events }).Spare = 2
	c.Value("dispersion", func(g group) *float64 { return &g.Dispersion })
	c.Number("rate", rateTitle(a.Outcome), func(v float64) string { return rateCell(a.Outcome, v) }, func(g group) *float64 { return &g.Rate })
	c.Said("interval", "95% interval", func(g group) string {
		if !g.HasInterval {
			return table.Unknown
		}
		return Interval(a.Outcome, g.Low, g.High)
	}).Below = "rate"
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
		c.Said("times", "Times "+Levels(a.By, a.Groups[a.Reference].Level, sys), func(g group) string {
			if g.Versus == nil {
				return "reference"
			}
			return orUnknown(Ratio, g.Versus.Ratio).Text
		})
		c.Said("times_interval", "95% interval", versus(func(g group) string { return ratioSpan(g.Versus.Low, g.Versus.High) })).Below = "times"
	}
	if compared && len(a.Given) > 0 {
		c.Said("corrected", "Corrected times", versus(func(g group) string { return orUnknown(Ratio, corrected(g).Ratio).Text }))
		c.Said("corrected_interval", "95% interval", versus(func(g group) string {
			if corrected(g).High == nil {
				return table.Unknown
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
		c.Words("verdict", "Verdict", versus(func(g group) string { return string(g.Versus.Verdict) })),
		c.Add("more_hours", "Hours still needed", tested(Hours, func(v *analytics.Comparison) *float64 { return v.MoreHours })),
	}
	decided[0].Below, decided[0].Spare, decided[1].Words, decided[2].Spare = "verdict", 4, false, 1
	if !compared {
		for _, column := range decided {
			column.For = table.Programs
		}
	}
	if len(a.Given) > 0 {
		c.Values(func(g group) []*float64 {
			v := corrected(g)
			return []*float64{v.Ratio, v.Low, v.High, v.P, v.SELog, v.DF}
		}, "corrected_ratio", "corrected_low", "corrected_high", "corrected_p", "corrected_se_log", "corrected_df")
		c.Plain("corrected_method", func(g group) string { return corrected(g).Method })
	}
	t := c.Make(a.Groups)
	t.Title = Measure(a.Outcome)
	t.OnPage = append(page, "rate", "times", "corrected", "verdict", "hours_needed", "stints", "sessions", "exposure", "events")
	return t
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

// orUnknown is a number that may not exist, worded by text.
func orUnknown(text func(float64) string, v *float64) table.Cell {
	if v == nil {
		return table.Cell{Text: table.Unknown}
	}
	return table.Cell{Text: text(*v), Value: *v}
}

// ratioSpan is the interval of a ratio; one without an upper end is open.
func ratioSpan(low, high *float64) string {
	switch {
	case low != nil && high != nil:
		return Ratio(*low) + "–" + Ratio(*high)
	case low != nil:
		return "at least " + Ratio(*low)
	}
	return table.Unknown
}

// rateTitle heads a column of rates.
func rateTitle(o journal.Outcome) string {
	if o.Measure == journal.AmountPer {
		return "Minutes per hour"
	}
	return Capital(o.Unit())
}

// rateCell is a rate under its title.
func rateCell(o journal.Outcome, v float64) string {
	if o.Measure == journal.ShareOf {
		return Percent(v)
	}
	return Figure(v)
}
