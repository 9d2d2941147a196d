// Package prose says answers in words: labels, sentences, notes and text tables
// for people, shared by the terminal and the pages.
package prose

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"rigtally/analytics"
	"rigtally/analytics/stat"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Level names a level of a factor in the person's units, with the unit.
func Level(f journal.Factor, l journal.Level, sys units.System) string {
	if word := forTheSeason(f, l); word != "" {
		return word
	}
	switch l.Kind {
	case journal.NumberLevel:
		return value(f, l.Number, sys)
	case journal.BelowLevel:
		return "below " + value(f, l.Upper, sys)
	case journal.AboveLevel:
		return value(f, l.Number, sys) + " or more"
	case journal.BandLevel:
		return span(value(f, l.Number, sys), value(f, l.Upper, sys))
	}
	return l.Word
}

// forTheSeason names the usual bands of flow for the time of year by what they are, as the U.S. Geological Survey's maps do
// (from memory); "" for any other level.
func forTheSeason(f journal.Factor, l journal.Level) string {
	if f.Quantity != journal.Percent || l.Kind == journal.NumberLevel {
		return ""
	}
	switch [2]float64{l.Number, l.Upper} {
	case [2]float64{0, 10}:
		return "much below usual (under 10%)"
	case [2]float64{10, 25}:
		return "below usual (10–25%)"
	case [2]float64{25, 75}:
		return "usual (25–75%)"
	case [2]float64{75, 90}:
		return "above usual (75–90%)"
	case [2]float64{90, 0}:
		return "much above usual (90% or more)"
	}
	return ""
}

// Levels names a group's levels together.
func Levels(by []journal.By, levels []journal.Level, sys units.System) string {
	parts := make([]string, len(levels))
	for i, l := range levels {
		parts[i] = Level(by[i].Factor, l, sys)
	}
	return strings.Join(parts, ", ")
}

// value prints a number of a continuous factor.
func value(f journal.Factor, v float64, sys units.System) string {
	switch f.Quantity {
	case journal.Length:
		return units.FormatLength(v, sys)
	case journal.Diameter:
		return units.FormatTippet(v)
	case journal.Flow:
		return units.Format(units.Flow, v, sys)
	case journal.Temperature:
		return units.Format(units.Temperature, v, sys)
	case journal.Percent:
		return units.Format(units.Percent, v, sys) + ofYears
	}
	switch {
	case f.Key == "month" && v >= 1 && v <= 12:
		return time.Month(int(v)).String()
	case f.Key == "hook-size":
		return "size " + strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// ofYears says what the percents of flows for the time of year are of.
const ofYears = " of years"

// span joins two printed quantities, naming a shared unit once.
func span(low, high string) string {
	if strings.HasSuffix(high, "%") {
		low = strings.TrimSuffix(low, "%")
	}
	if rest, ok := strings.CutSuffix(low, "%"+ofYears); ok && strings.HasSuffix(high, "%"+ofYears) {
		return rest + "–" + high
	}
	if i := strings.LastIndex(low, " "); i >= 0 && strings.HasSuffix(high, low[i:]) {
		low = low[:i]
	}
	return low + "–" + high
}

// Condition says a filter in words.
func Condition(c journal.Condition, sys units.System) string {
	title := strings.ToLower(c.Factor.Title)
	if c.Factor.Quantity == journal.Percent && !(math.IsInf(c.Low, -1) && math.IsInf(c.High, 1)) {
		return title + ", higher than in " + shareOfYears(c)
	}
	switch {
	case c.Factor.Quantity == journal.Words:
		return title + " " + c.Word
	case math.IsInf(c.Low, -1) && math.IsInf(c.High, 1):
		return title + " noted"
	case math.IsInf(c.Low, -1):
		return title + " up to " + value(c.Factor, c.High, sys)
	case math.IsInf(c.High, 1):
		return title + " from " + value(c.Factor, c.Low, sys)
	case c.Low == c.High:
		return title + " " + value(c.Factor, c.Low, sys)
	}
	return title + " " + span(value(c.Factor, c.Low, sys), value(c.Factor, c.High, sys))
}

// shareOfYears says between which percents a filter lets flows for the time of year lie.
func shareOfYears(c journal.Condition) string {
	low, high := value(c.Factor, c.Low, units.Metric), value(c.Factor, c.High, units.Metric)
	switch {
	case math.IsInf(c.Low, -1):
		return "at most " + high
	case math.IsInf(c.High, 1):
		return "at least " + low
	case c.Low == c.High:
		return low
	}
	return span(low, high)
}

// Measure names what the rates of an outcome are: "Tangles per hour", "Foul
// hookups as a share of hookups".
func Measure(o journal.Outcome) string {
	switch o.Measure {
	case journal.ShareOf:
		return Capital(o.Events) + " as a share of " + Against(o)
	case journal.AmountPer:
		return o.Title + " per hour"
	}
	return Capital(o.Events) + " " + o.Unit()
}

// Exposure names what an outcome is counted against: "Hours fished", "Hookups".
func Exposure(o journal.Outcome) string {
	if o.Exposure == "hours" {
		return "Hours fished"
	}
	return Capital(Against(o))
}

// Against names what an outcome is counted against within a sentence: "hours", "pulls", which are fish and snags.
func Against(o journal.Outcome) string { return strings.Replace(o.Exposure, "loads", "pulls", 1) }

// Question names what an answer is about: "Tangles by junction and bulk".
func Question(o journal.Outcome, by []journal.By) string {
	if len(by) == 0 {
		return o.Title
	}
	return o.Title + " by " + strings.Join(byTitles(by), " and ")
}

// InAll says what is behind an answer: "119 stints, 184 hours, 159 tangles in all."
func InAll(o journal.Outcome, total analytics.Group) string {
	return fmt.Sprintf("%s, %s %s, %s %s in all.", Several(total.Stints, "stint"), exposure(total.Exposure), Against(o), Count(total.Events), o.Events)
}

// Described says what a chart of an answer shows, for those who can't see it.
func Described(a analytics.RateAnswer, sys units.System) string {
	return fmt.Sprintf("Chart of %s, each with its 95%% interval; the table below has the same numbers. %s", Question(a.Outcome, a.By), Sentence(a, sys))
}

// Verdict says how a group stands to the reference, for the key of a chart.
func Verdict(v stat.Verdict, reference string) string {
	switch v {
	case stat.Differs:
		return "differs from " + reference
	case stat.Leans:
		return "leans away from " + reference + ", not settled"
	case stat.SameForPractice:
		return "same as " + reference + " for practice"
	case "":
		return "can’t be compared with " + reference + " like for like"
	}
	return "can’t tell from " + reference + " yet"
}

// Reference says that a group is the one that others are compared with.
func Reference(name string) string { return name + ", the reference" }

// CorrectedFor names what comparisons hold alike: "tag length, bulk and angler"; empty when nothing.
func CorrectedFor(givens []analytics.Given) string {
	return Listed(each(givens, func(g analytics.Given) string { return strings.ToLower(g.Factor.Title) }))
}

// RatiosTitle heads a chart of like-for-like ratios.
func RatiosTitle(a analytics.RateAnswer, sys units.System) string {
	return fmt.Sprintf("Times the %s of %s, like for like (%s), with 95%% intervals", Lower(Measure(a.Outcome)), Levels(a.By, a.Groups[a.Reference].Level, sys), CorrectedFor(a.Given))
}

// Amount prints how much was fished or tried: "12.5 hours", "40 loads".
func Amount(o journal.Outcome, v float64) string { return exposure(v) + " " + Against(o) }

// HeatTitle says what a heat map of an answer shows.
func HeatTitle(a analytics.RateAnswer) string {
	return Measure(a.Outcome) + ", larger where more was fished"
}

// AsFished names what totals over hours come to, with nothing held alike.
const AsFished = "as fished"

// TimesAlike heads a scale of like-for-like ratios.
const TimesAlike = "Times, like for like"

// ReadingHeat says how a heat map of an answer is read that shows so many of its pairs.
func ReadingHeat(a analytics.RateAnswer, drawn int) string {
	text := "The deeper the color, the more; the larger the square, the more " + Against(a.Outcome) + ". A pair never fished stays blank."
	if drawn < len(a.Groups) {
		text += fmt.Sprintf(" %d of %d pairs are shown; the table has all.", drawn, len(a.Groups))
	}
	return text
}

// ReadingChart says how a chart of an answer is read that shows so many of its groups.
func ReadingChart(a analytics.RateAnswer, drawn int) string {
	text := ""
	if drawn < len(a.Groups) {
		text = fmt.Sprintf("The chart shows the %d of %d with the most %s; the table has all. ", drawn, len(a.Groups), Against(a.Outcome))
	}
	if len(a.Groups) > 1 {
		text += "A larger mark means more " + Against(a.Outcome) + "; a fainter one is less known."
	}
	return text
}
