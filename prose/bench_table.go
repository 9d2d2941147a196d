package prose

import (
	"cmp"
	"fmt"
	"math"
	"rigtally/analytics/answer"
	"rigtally/analytics/bench"
	"rigtally/analytics/stat"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"strconv"
	"strings"
)

// SayBench puts an answer of the bench into words and tables. It has more columns than a terminal
// is wide, so they stand in three tables.
func SayBench(a bench.Answer, sys units.System) Said {
	s := Said{Title: BenchQuestion(a.By), Sentence: BenchSentence(a, sys), LeftOut: LeftOut(a.LeftOut), Notes: append(BenchNotes(a, sys), NoKnotTable)}
	if len(a.Groups) == 0 {
		return s
	}
	whole := BenchTable(a, sys)
	whole.Title = ""
	var names []string
	for _, c := range whole.Columns[:max(1, len(a.By))] {
		names = append(names, c.Key)
	}
	for _, keys := range [][]string{
		{"pulls", "slipped", "mean", "mean_interval", "sd", "cv", "efficiency", "efficiency_interval"},
		{"strength_10", "strength_10_interval", "shape", "times", "times_interval", "difference", "q", "verdict"},
		{"shift", "shift_interval", "rank_p", "pulls_needed"},
	} {
		if t := whole.Pick(append(names[:len(names):len(names)], keys...)...); len(t.Columns) > len(names) {
			s.Tables = append(s.Tables, t)
		}
	}
	s.InAll = fmt.Sprintf("%s in all. Only pulls with the same %s are compared.", Several(a.Pulls, "pull"), BenchAlike(a))
	return s
}

// BenchTable lays the numbers of an answer out: one row for each group. Programs get forces in N,
// or shares of unknotted line.
func BenchTable(a bench.Answer, sys units.System) table.Table {
	type group = bench.Group
	var c table.Columns[group]
	strength := func(v float64) string { return Strength(v, a.Relative, sys) }
	for i, f := range a.By {
		c.Add(f.Key, f.Title, func(g group) table.Cell { return levelCell(f, g.Level[i], sys) }).Words = true
	}
	if len(a.By) == 0 {
		c.Said("knots", "Knots", func(g group) string { return BenchLevel(a, g, sys) }).Words = true
	}
	c.Plain("unit", func(group) string { return a.Unit() })
	c.Count("pulls", "Pulls", func(g group) int { return g.N })
	slipped := c.Count("slipped", "Slipped", func(g group) int { return g.Slipped })
	slipped.Below, slipped.Mark = "pulls", "slipped "
	c.Add("at_least", "", func(g group) table.Cell { return table.Cell{Value: g.AtLeast} }).For = table.Programs
	c.Number("mean", BenchMean(a), strength, func(g group) *float64 {
		if g.N == 0 {
			return nil
		}
		return answer.Known(g.Mean)
	})
	c.Said("mean_interval", "95% interval", func(g group) string {
		return cmp.Or(MeanInterval(a, g, sys), table.Unknown)
	}).Below = "mean"
	c.Values(func(g group) []*float64 { return []*float64{g.MeanLow, g.MeanHigh} }, "mean_low", "mean_high")
	c.Add("sd", "SD", func(g group) table.Cell {
		text := table.Unknown
		if g.N > 1 {
			text = strength(g.SD)
		}
		return table.Number(text, answer.Known(g.SD))
	})
	cv := c.Said("cv", "CV", func(g group) string {
		if g.N < 2 {
			return table.Unknown
		}
		return Percent(g.CV())
	})
	cv.Below, cv.Mark = "sd", "CV "
	benchEfficiency(&c, a)
	benchWeibull(&c, a, sys)
	benchVersus(&c, a, sys)
	t := c.Make(a.Groups)
	t.Title = "Strength of pulls"
	for _, column := range t.Columns[:max(1, len(a.By))] {
		t.OnPage = append(t.OnPage, column.Key)
	}
	t.OnPhone = []string{"verdict", "mean", "pulls"}
	t.OnPage = append(t.OnPage, "mean", "pulls", "times", "verdict", "efficiency", "pulls_needed", "strength_10", "sd", "difference", "shift", "rank_p", "shape")
	return t
}

// BenchMean names what a group holds, in chart, table and sentence alike.
func BenchMean(a bench.Answer) string {
	if a.Relative {
		return "Mean, of unknotted"
	}
	return "Mean"
}

// benchEfficiency adds what share of unknotted line a knot leaves. Where strengths are such shares
// people have read it as the mean.
func benchEfficiency(c *table.Columns[bench.Group], a bench.Answer) {
	type group = bench.Group
	share := c.Add("efficiency", "Of unknotted", func(g group) table.Cell {
		switch {
		case g.Unknotted:
			return table.Cell{Text: "100%"}
		case g.Efficiency == nil:
			return table.Cell{Text: table.Unknown}
		}
		return table.Number(Percent(g.Efficiency.Ratio), &g.Efficiency.Ratio)
	})
	interval := c.Said("efficiency_interval", "95% interval", func(g group) string {
		switch {
		case g.Unknotted:
			return ""
		case g.Efficiency == nil:
			return table.Unknown
		}
		return ratioSet(g.Efficiency.RatioSet, Percent)
	})
	interval.Below = "efficiency"
	if a.Relative {
		share.For, interval.For = table.Programs, table.Nobody
	}
	c.Values(func(g group) []*float64 {
		if g.Efficiency == nil {
			return nil
		}
		return answer.Numbers(g.Efficiency.Low, g.Efficiency.High)
	}, "efficiency_low", "efficiency_high")
	c.Plain("efficiency_bounds", func(g group) string { return string(cmp.Or(g.Efficiency, &bench.Efficiency{}).Bounds) })
}

// benchWeibull adds the Weibull line and the strength that one pull in ten does not reach.
func benchWeibull(c *table.Columns[bench.Group], a bench.Answer, sys units.System) {
	type group = bench.Group
	values := func(of func(*bench.Weibull) []*float64, keys ...string) {
		c.Values(func(g group) []*float64 {
			if g.Weibull == nil {
				return nil
			}
			return of(g.Weibull)
		}, keys...)
	}
	said := func(text func(*bench.Weibull) string) func(group) string {
		return func(g group) string {
			if g.Weibull == nil {
				return table.Unknown
			}
			return text(g.Weibull)
		}
	}
	c.Said("shape", "Weibull shape", said(func(w *bench.Weibull) string {
		return Figure(w.Shape) + " (" + FigureSpan(w.ShapeInterval.Low, w.ShapeInterval.High) + ")"
	}))
	values(func(w *bench.Weibull) []*float64 {
		return answer.Numbers(w.Shape, w.ShapeInterval.Low, w.ShapeInterval.High, w.Scale, w.ScaleInterval.Low, w.ScaleInterval.High)
	}, "shape", "shape_low", "shape_high", "scale", "scale_low", "scale_high")
	c.Number("strength_10", "10% strength", func(v float64) string { return Strength(v, a.Relative, sys) }, func(g group) *float64 {
		if g.Weibull == nil {
			return nil
		}
		return answer.Known(g.Weibull.B10)
	})
	c.Said("strength_10_interval", "95% interval", said(func(w *bench.Weibull) string { return strengthInterval(w.B10Interval, a.Relative, sys) })).Below = "strength_10"
	values(func(w *bench.Weibull) []*float64 { return answer.Numbers(w.B10Interval.Low, w.B10Interval.High) }, "strength_10_low", "strength_10_high")
}

// benchVersus adds the comparisons with the reference.
func benchVersus(c *table.Columns[bench.Group], a bench.Answer, sys units.System) {
	type group = bench.Group
	type versus = *bench.Comparison
	reference, unknotted := "", false
	if a.Reference >= 0 && len(a.Groups) > 0 {
		reference, unknotted = plainLevels(a.Groups[a.Reference].Level), a.Groups[a.Reference].Unknotted
	}
	is := func(g group) bool {
		return a.Reference >= 0 && g.Unknotted == unknotted && plainLevels(g.Level) == reference
	}
	// People read nothing of it where nothing is compared, and of the reference its name alone.
	said := func(key, title string, text func(versus) string) *table.Column {
		column := c.Said(key, title, func(g group) string {
			switch {
			case is(g) && key == "times":
				return "reference"
			case is(g):
				return ""
			case g.Versus == nil:
				return table.Unknown
			}
			return text(g.Versus)
		})
		if a.Reference < 0 || len(a.Groups) < 2 {
			column.For = table.Nobody
		}
		return column
	}
	plain := func(key string, text func(versus) string) {
		c.Plain(key, func(g group) string {
			if g.Versus == nil {
				return ""
			}
			return text(g.Versus)
		})
	}
	title := "Times"
	if a.Reference >= 0 && len(a.Groups) > 0 {
		title = "Times " + BenchLevel(a, a.Groups[a.Reference], sys)
	}
	said("times", title, func(v versus) string { return Ratio(v.Ratio.Ratio) })
	said("times_interval", "95% interval", func(v versus) string { return ratioSet(v.Ratio, Ratio) }).Below = "times"
	said("difference", "Difference", func(v versus) string { return signedForce(v.Difference, sys) })
	q := said("q", "q", func(v versus) string { return PValue(v.Q) })
	q.Below, q.Mark = "verdict", "q "
	said("verdict", "Verdict", func(v versus) string { return string(v.Verdict) })
	said("shift", "Shift", func(v versus) string { return signedForce(v.Shift.Shift, sys) })
	said("shift_interval", "95% interval", func(v versus) string {
		if math.IsInf(v.Shift.Low, 0) {
			return "no bounds"
		}
		return signedForce(v.Shift.Low, sys) + " to " + signedForce(v.Shift.High, sys)
	}).Below = "shift"
	said("rank_p", "Rank test p", func(v versus) string { return PValue(v.Shift.P) })
	said("pulls_needed", "Pulls needed of each", func(v versus) string {
		switch {
		case v.PullsNeeded == nil:
			return table.Unknown
		case *v.PullsNeeded > mostPulls:
			return aboutPulls(*v.PullsNeeded)
		case *v.MorePulls > 0:
			return fmt.Sprintf("%d (%d more)", *v.PullsNeeded, *v.MorePulls)
		}
		return strconv.Itoa(*v.PullsNeeded) + " (enough)"
	})

	plain("versus", func(versus) string { return reference })
	c.Values(func(g group) []*float64 {
		v := g.Versus
		if v == nil {
			return nil
		}
		return answer.Numbers(v.Difference, v.Low, v.High, v.P, v.Q, v.Ratio.Ratio, v.Ratio.Low, v.Ratio.High, v.Shift.Shift, v.Shift.Low, v.Shift.High, v.Shift.P)
	}, "difference_n", "difference_low", "difference_high", "p", "q", "ratio", "ratio_low", "ratio_high", "shift_n", "shift_low", "shift_high", "rank_p")
	plain("verdict", func(v versus) string { return string(v.Verdict) })
	plain("pulls_needed", func(v versus) string {
		if v.PullsNeeded == nil {
			return ""
		}
		return strconv.Itoa(*v.PullsNeeded)
	})
}

// signedForce prints a difference of forces with its sign.
func signedForce(n float64, sys units.System) string {
	text := units.Format(units.Force, math.Abs(n), sys)
	switch {
	case strings.HasPrefix(text, "0 "):
	case n > 0:
		return "+" + text
	case n < 0:
		return "−" + text
	}
	return text
}

// BesideHonest says what bench and water can and can't tell of each other.
const BesideHonest = "A slow, straight pull on a fresh knot is not a fish. On the water, shocks, nicks, worn knots, the hand on the rod and the choice of tippet count too, and nothing here corrects for them. The bench says what a knot can hold; the water says what it did hold."

// BesideSentence says whether the bench foretells the water.
func BesideSentence(b bench.BesideWater) string {
	if len(b.Points) < 2 {
		return fmt.Sprintf("Bench and water have %s in common, too few to compare: pull the knots you fish.", Several(len(b.Points), "level"))
	}
	agree, against := b.Ranks.Agree, b.Ranks.Against
	pairs := len(b.Points) * (len(b.Points) - 1) / 2
	text := fmt.Sprintf("Of %d pairs, %d agree with the bench (the stronger breaks less on the water) and %d go the other way.", pairs, agree, against)
	if pairs == 1 {
		text = "The one that is stronger on the bench breaks less on the water too."
		if agree == 0 {
			text = "The one that is stronger on the bench does not break less on the water."
		}
		return text + " One pair proves nothing: of two orders that have nothing to do with each other, half agree."
	}
	switch {
	case b.Ranks.P < 0.05 && agree > against:
		return text + fmt.Sprintf(" Had bench and water nothing to do with each other, so many would seldom agree (p %s).", equals(b.Ranks.P))
	case b.Ranks.P < 0.05:
		return text + fmt.Sprintf(" That is the opposite of what the bench says, and had the two nothing to do with each other, so many would seldom go against it (p %s).", equals(b.Ranks.P))
	}
	return text + fmt.Sprintf(" Had the two nothing to do with each other, that would be nothing unusual (p %s), so the bench does not predict the water here yet.", equals(b.Ranks.P))
}

// SayBeside puts bench and water into words and a table.
func SayBeside(b bench.BesideWater, sys units.System) Said {
	s := Said{Title: "Bench beside water", Sentence: BesideSentence(b), Notes: []string{BesideHonest}}
	if len(b.Points) > 0 {
		s.Tables = []table.Table{BesideTable(b, sys)}
	}
	if len(b.Missing) > 0 {
		s.After = []string{"On one side only: " + strings.Join(b.Missing, "; ") + "."}
	}
	return s
}

// BesideTable lays bench and water out: one row for each level known on both sides.
func BesideTable(b bench.BesideWater, sys units.System) table.Table {
	type point = bench.BesidePoint
	relative := b.Of == bench.OfUnknotted
	strength := func(v float64) string { return Strength(v, relative, sys) }
	scale := BenchMean(bench.Answer{Relative: relative})
	var c table.Columns[point]
	c.Words(b.Factor.Key, b.Factor.Title, func(p point) string { return p.Level })
	c.Plain("unit", func(point) string { return string(b.Of) })
	c.Count("pulls", "Pulls", func(p point) int { return p.Pulls })
	c.Number("strength", scale, strength, func(p point) *float64 { return &p.Strength })
	c.Said("strength_interval", "95% interval", func(p point) string {
		if p.Low == nil || p.High == nil {
			return table.Unknown
		}
		return strengthInterval(stat.Interval{Low: *p.Low, High: *p.High}, relative, sys)
	})
	c.Values(func(p point) []*float64 { return []*float64{p.Low, p.High} }, "strength_low", "strength_high")
	c.Number("loads", "Fish and snags", Count, func(p point) *float64 { return &p.Loads })
	c.Number("breaks", "Breaks at the knot", Count, func(p point) *float64 { return &p.Breaks })
	c.Number("share", "Of fish and snags", Percent, func(p point) *float64 { return &p.Share })
	c.Said("share_interval", "95% interval", func(p point) string {
		if p.ShareLow == nil || p.ShareTop == nil {
			return table.Unknown
		}
		return shareSpan(*p.ShareLow, *p.ShareTop)
	})
	c.Values(func(p point) []*float64 { return []*float64{p.ShareLow, p.ShareTop} }, "share_low", "share_high")
	return c.Make(b.Points)
}
