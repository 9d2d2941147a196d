package prose

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Beyond these a number for people says no more than that it is beyond: what little data
// leave open has no limit, and nobody reads its digits.
const (
	leastFigure, mostFigure = 0.001, 1e6
	leastRatio, mostRatio   = 0.01, 100
	mostHours               = 100_000 // nobody fishes that long
)

// Figure prints a number with three significant digits, without an exponent. What is beyond
// all measure is said to be: "under 0.001", "over a million".
func Figure(v float64) string {
	size := math.Abs(v)
	switch {
	case math.IsNaN(v):
		return "?"
	case v < 0:
		return "−" + Figure(size)
	case size == 0:
		return "0"
	case size < leastFigure:
		return "under 0.001"
	case size >= mostFigure:
		return "over a million"
	}
	return significant(size, 3)
}

// significant prints a positive number with so many significant digits, zeros among them.
func significant(v float64, digits int) string {
	text := strconv.FormatFloat(v, 'e', digits-1, 64)
	_, power, _ := strings.Cut(text, "e")
	exponent, _ := strconv.Atoi(power) // of this form neither can fail
	rounded, _ := strconv.ParseFloat(text, 64)
	return strconv.FormatFloat(rounded, 'f', max(0, digits-1-exponent), 64)
}

// bound prints the end of an interval that stands alone, with two significant digits, rounded
// up: for what is said to be under it.
func bound(v float64) string {
	power := int(math.Floor(math.Log10(v))) - 1
	up := math.Ceil(v/math.Pow10(power)-1e-9) * math.Pow10(power)
	text := strconv.FormatFloat(up, 'f', max(0, -power), 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// Hours prints a number of hours still to fish, rounded up: three digits, which is more than is known.
func Hours(h float64) string {
	switch {
	case !(h <= mostHours):
		return "over " + strconv.Itoa(mostHours) + " h"
	case h < 1000:
		return strconv.FormatFloat(math.Ceil(h), 'f', 0, 64) + " h"
	}
	return Figure(h) + " h"
}

// AboutHours is Hours of what is an estimate: "about 121 h", "over 100000 h".
func AboutHours(h float64) string {
	if !(h <= mostHours) {
		return Hours(h)
	}
	return "about " + Hours(h)
}

// FishedHours prints hours fished: whole from ten on.
func FishedHours(h float64) string {
	if h >= 10 {
		return Count(math.Round(h)) + " h"
	}
	return Tenths(h) + " h"
}

// Count prints a number of events: whole, or to a tenth where some were shared.
func Count(k float64) string {
	switch {
	case math.IsNaN(k):
		return "?"
	case k >= 1e9:
		return "over a billion"
	case k == math.Trunc(k):
		return strconv.FormatFloat(k, 'f', 0, 64)
	case k >= 1000:
		return significant(k, 4)
	}
	return strconv.FormatFloat(k, 'f', 1, 64)
}

// exposure prints hours and trials: whole from ten on, else to a tenth.
func exposure(t float64) string {
	if t >= 10 {
		t = math.Round(t)
	}
	return Count(t)
}

// fished prints how much was fished or tried, as a total: three digits, four from a thousand on.
func fished(t float64) string {
	if t >= 1000 {
		return Count(t)
	}
	return Figure(t)
}

func tenth(v float64) float64 { return math.Round(v*10) / 10 }

// Tenths prints a number rounded to a tenth, whole where it comes to that.
func Tenths(v float64) string { return Count(tenth(v)) }

// Ratio prints a ratio of two rates: two decimals, three digits from 10 on, and beyond a
// hundredfold either way only that it is.
func Ratio(v float64) string {
	switch {
	case math.IsNaN(v):
		return "?"
	case v < leastRatio:
		return "under 0.01"
	case v > mostRatio:
		return "over 100"
	case v < 9.995:
		return strconv.FormatFloat(v, 'f', 2, 64)
	}
	return significant(v, 3)
}

// RatioSpan prints the interval of a ratio: "0.40–2.50", and where an end lies beyond a
// hundredfold, where little data leave it, only the other: "at least 0.40".
func RatioSpan(low, high float64) string {
	from, to := low >= leastRatio, high <= mostRatio
	switch {
	case from && to:
		return Ratio(low) + "–" + Ratio(high)
	case low > mostRatio:
		return "over 100"
	case high < leastRatio:
		return "under 0.01"
	case from:
		return "at least " + Ratio(low)
	case to:
		return "at most " + Ratio(high)
	}
	return "no bounds yet"
}

// ratioSpan is RatioSpan of ends that may be missing.
func ratioSpan(low, high *float64) string {
	switch {
	case low == nil:
		return "?"
	case high == nil:
		return RatioSpan(*low, math.Inf(1))
	}
	return RatioSpan(*low, *high)
}

// Rate prints a rate of an outcome with its unit.
func Rate(o journal.Outcome, v float64) string {
	switch o.Measure {
	case journal.ShareOf:
		return Percent(v)
	case journal.AmountPer:
		return Figure(v) + " min per hour"
	}
	return Figure(v) + " " + o.Unit()
}

// RateFigure is Rate under a title that has the unit.
func RateFigure(o journal.Outcome, v float64) string {
	if o.Measure == journal.ShareOf {
		return Percent(v)
	}
	return Figure(v)
}

// Interval prints an interval of a rate, without repeating the unit: "0.21–0.84". One whose
// lower end is as good as none is told by the other: "under 1.9".
func Interval(o journal.Outcome, low, high float64) string {
	if o.Measure == journal.ShareOf {
		return shareSpan(low, high)
	}
	return FigureSpan(low, high)
}

// FigureSpan prints an interval of numbers that are none below 0: "0.21–0.84", "under 1.9" where
// the lower end is as good as none, "at least 1.5" where the upper one is beyond all measure.
func FigureSpan(low, high float64) string {
	none, open := !(low >= leastFigure), !(high < mostFigure)
	switch {
	case none && open:
		return "no bounds yet"
	case high < leastFigure:
		return "under 0.001"
	case none:
		return "under " + bound(high)
	case open:
		return "at least " + Figure(low)
	}
	return Figure(low) + "–" + Figure(high)
}

// shareSpan prints an interval of shares: "12–34%", "under 53%", "over 47%".
func shareSpan(low, high float64) string {
	none, all := !(low >= 0.0005), high > 0.9995
	switch {
	case none && all:
		return "no bounds yet"
	case none && high < 0.0005:
		return Percent(high)
	case none:
		return "under " + strings.TrimPrefix(Percent(high), "under ")
	case low > 0.9995:
		return Percent(low)
	case all:
		return "over " + strings.TrimPrefix(Percent(low), "over ")
	}
	return span(Percent(low), Percent(high))
}

// noneIn says that nothing happened in so much fishing, and under which rate that leaves it: "none
// in 2 h: under 1.9 an hour".
func noneIn(o journal.Outcome, exposure, high float64) string {
	text := "none in "
	switch {
	case o.Exposure != "hours":
		text += Amount(o, exposure)
	case exposure < 1:
		text += units.FormatDuration(math.Max(1, math.Round(60*exposure)))
	default:
		text += FishedHours(exposure)
	}
	switch {
	case o.Measure == journal.ShareOf:
		return text + ": " + shareSpan(0, high)
	case !(high > 0 && high < mostFigure):
		return text
	}
	unit := strings.Replace(o.Unit(), "per hour", "an hour", 1)
	if o.Measure == journal.AmountPer {
		unit = "min an hour"
	}
	return text + ": " + FigureSpan(0, high) + " " + unit
}

// Percent keeps two digits where a share is small, and says 100% or 0% of nothing that is not
// quite that.
func Percent(v float64) string {
	p := 100 * v
	switch {
	case math.IsNaN(p):
		return "?"
	case p < 0:
		return "−" + Percent(-v)
	case p > 0 && p < 0.05:
		return "under 0.1%"
	case p >= 99.949 && p < 100:
		return "over 99.9%"
	case p >= 999.5:
		return "over 1000%"
	case p > 0 && p < 9.95 || p > 99 && p < 100:
		return strconv.FormatFloat(p, 'f', 1, 64) + "%"
	}
	return strconv.FormatFloat(p, 'f', 0, 64) + "%"
}

// Chance prints a probability that rests on data or on draws, never as none or certain: "87%",
// "under 1%", "over 99%".
func Chance(p float64) string {
	switch {
	case math.IsNaN(p):
		return "?"
	case p < 0.01:
		return "under 1%"
	case p > 0.99:
		return "over 99%"
	}
	return strconv.FormatFloat(100*p, 'f', 0, 64) + "%"
}

// PValue prints a p or a q, never as nothing or as certain: "0.034", "under 0.001", "over 0.99".
func PValue(p float64) string {
	switch {
	case math.IsNaN(p):
		return "?"
	case p < 0.001:
		return "under 0.001"
	case p > 0.99:
		return "over 0.99"
	}
	return strconv.FormatFloat(p, 'f', 3, 64)
}

// equals is a p-value after the letter p: "= 0.034", "under 0.001".
func equals(p float64) string {
	text := PValue(p)
	if text[0] >= '0' && text[0] <= '9' {
		return "= " + text
	}
	return text
}

// Counted names what an outcome counts, as people say it on the water: "tangles", "fish lost", "breaks at the knot".
func Counted(o journal.Outcome) string {
	if words, ok := map[string]string{"foul-hook": "fish hooked foul", "loss": "fish lost", "break-off": "fish broken off",
		"junction-break": "breaks at the knot", "hookups": "fish hooked", "downtime": "minutes lost"}[o.Key]; ok {
		return words
	}
	return o.Events
}

// Often says a rate as people count it: "a tangle every 2 h 20 min", "9 fish hooked an hour", "4.2 breaks at the
// knot in 100 pulls by fish and snags", "12 min lost an hour". Two digits of it are told.
func Often(o journal.Outcome, rate float64) string {
	times, of := countedIn(o)
	switch {
	case o.Measure == journal.AmountPer:
		return TwoDigits(rate) + of
	case !(rate > 0):
		return "no " + one(o)
	case seldom(o, rate):
		return "a " + one(o) + " every " + stretch(60/rate)
	}
	return TwoDigits(times*rate) + " " + Counted(o) + of
}

// sameOften is Often of what was just named: "one every 40 min", "6.3 in 100".
func sameOften(o journal.Outcome, rate float64) string {
	times, _ := countedIn(o)
	switch {
	case o.Measure == journal.AmountPer:
		return TwoDigits(rate) + " min"
	case !(rate > 0):
		return "none"
	case seldom(o, rate):
		return "one every " + stretch(60/rate)
	}
	return TwoDigits(times * rate)
}

// Instead says two rates of an outcome beside each other, naming once what they count: "a tangle every 2 h 20 min
// instead of every 1 h 25 min", "1.7 instead of 2.6 in 100 pulls by fish and snags".
func Instead(o journal.Outcome, could, now float64) string {
	if seldom(o, could) && seldom(o, now) {
		return fmt.Sprintf("a %s every %s instead of every %s", one(o), stretch(60/could), stretch(60/now))
	}
	times, of := countedIn(o)
	return TwoDigits(times*could) + " instead of " + TwoDigits(times*now) + of
}

// countedIn is by how much a rate is told, and in what: " in 100 hooked".
func countedIn(o journal.Outcome) (times float64, of string) {
	switch {
	case o.Measure == journal.AmountPer:
		return 1, " min lost an hour"
	case o.Exposure == "hours":
		return 1, " an hour"
	case o.Measure == journal.PerExposure:
		return 10, " in 10 " + o.Exposure
	case o.Exposure == "loads":
		return 100, " in 100 pulls by fish and snags"
	}
	return 100, " in 100 " + map[string]string{"hookups": "hooked", "fair hookups": "hooked fair"}[o.Exposure]
}

// seldom reports whether a rate is told by the time from one to the next. Beyond some an hour nobody counts minutes.
func seldom(o journal.Outcome, rate float64) bool {
	const mostAnHour = 4
	return o.Exposure == "hours" && o.Measure == journal.PerExposure && rate > 0 && rate <= mostAnHour
}

// one is the singular of what is counted.
func one(o journal.Outcome) string {
	first, rest, more := strings.Cut(Counted(o), " ")
	first = strings.TrimSuffix(first, "s")
	if more {
		first += " " + rest
	}
	return first
}

// Plainly says a ratio of rates as people do: "about 40% fewer tangles", "about twice as many fish landed". Percents
// go by fives, which is finer than any journal knows them.
func Plainly(o journal.Outcome, ratio float64) string {
	what, percent := Counted(o), 5*math.Round(20*math.Abs(1-ratio))
	switch {
	case !(ratio > 0):
		return "no " + what
	case percent < 5:
		return "hardly any difference in " + what
	case ratio < 1 && percent > 95:
		return "over 95% fewer " + what
	case ratio < 1:
		return fmt.Sprintf("about %.0f%% fewer %s", percent, what)
	case percent < 95:
		return fmt.Sprintf("about %.0f%% more %s", percent, what)
	case percent <= 105:
		return "about twice as many " + what
	case ratio > mostRatio:
		return "over 100 times as many " + what
	}
	return fmt.Sprintf("about %s times as many %s", TwoDigits(ratio), what)
}

// stretch rounds a time between events as people say it: to minutes, five of them from an hour on,
// ten from four hours, whole hours from ten.
func stretch(minutes float64) string {
	step := 1.0
	switch {
	case minutes >= 600:
		return TwoDigits(minutes/60) + " h"
	case minutes >= 240:
		step = 10
	case minutes >= 60:
		step = 5
	}
	return units.FormatDuration(step * math.Round(minutes/step))
}

// TwoDigits rounds to two digits, and tells no zeros behind the point. What nobody will ever count is over or
// under what they might.
func TwoDigits(v float64) string {
	switch {
	case !(v > 0):
		return "0"
	case v < 0.001:
		return "under 0.001"
	case v > 100_000:
		return "over 100000"
	}
	unit := math.Pow(10, math.Floor(math.Log10(v))-1)
	v = math.Round(v/unit) * unit
	return strings.TrimSuffix(fmt.Sprintf("%.*f", places(v), v), ".0")
}

// places are the decimals that two digits of a number take.
func places(v float64) int { return max(0, 1-int(math.Floor(math.Log10(v)))) }
