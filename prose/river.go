package prose

import (
	"fmt"
	"math"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal/gauge"
)

// warmer is from how many °C on water is said to warm or to cool.
const warmer = 1.0

// RiverDuring says how a river went while a session lasted, by the readings within reach of its ends, each quantity in turn: "During
// the session flow rose from 410 cfs to 560 cfs; water temperature stayed at 52 °F."
func RiverDuring(list []gauge.Series, start, end time.Time, loc *time.Location, sys units.System) string {
	return "During the session " + strings.Join(each(list, func(s gauge.Series) string { return riverWent(s, start, end, loc, sys) }), "; ") + "."
}

func riverWent(s gauge.Series, start, end time.Time, loc *time.Location, sys units.System) string {
	name := Lower(GaugeQuantity(s.Quantity))
	say := func(r gauge.Reading) string { return GaugeValue(s.Quantity, r.Value, sys) }
	a, _, began := s.At(start)
	b, _, ended := s.At(end)
	switch {
	case !began && !ended:
		return "no reading of " + name + " was within 90 minutes of its start or end"
	case !end.After(start):
		return fmt.Sprintf("%s was %s at its start", name, say(a))
	case !ended:
		return fmt.Sprintf("%s was %s at its start, without a reading within 90 minutes of its end", name, say(a))
	case !began:
		return fmt.Sprintf("%s was %s at its end, without a reading within 90 minutes of its start", name, say(b))
	}
	between := ""
	if peak, ok := s.Peak(start, end); ok && riverTrend(s.Quantity, max(a.Value, b.Value), peak.Value) == gauge.Rising {
		between = fmt.Sprintf(", and was %s at %s in between", say(peak), peak.At.In(loc).Format("15:04"))
	}
	switch trend := riverTrend(s.Quantity, a.Value, b.Value); {
	case trend == gauge.Rising:
		return fmt.Sprintf("%s rose from %s to %s", name, say(a), say(b)) + between
	case trend == gauge.Falling:
		return fmt.Sprintf("%s fell from %s to %s", name, say(a), say(b)) + between
	case say(a) == say(b) && between != "":
		return name + " was " + say(a) + " at its start and at its end" + between
	case say(a) == say(b):
		return name + " stayed at " + say(a)
	case between != "":
		return fmt.Sprintf("%s went from %s to %s", name, say(a), say(b)) + between
	case s.Quantity == gauge.Temperature: // what is less than a degree may be told by the figures all the same
		return fmt.Sprintf("%s changed little, from %s to %s", name, say(a), say(b))
	}
	return fmt.Sprintf("%s was steady, from %s to %s", name, say(a), say(b))
}

// riverTrend is what a change is called: of temperature from a degree on.
func riverTrend(q gauge.Quantity, before, after float64) gauge.Trend {
	change := after - before
	switch {
	case q == gauge.Flow && before <= 0:
		return gauge.Steady
	case q == gauge.Flow:
		change = after/before - 1
	case q == gauge.Temperature && change >= warmer:
		return gauge.Rising
	case q == gauge.Temperature && change <= -warmer:
		return gauge.Falling
	case q == gauge.Temperature:
		return gauge.Steady
	}
	return gauge.TrendOf(q, &change)
}

// RiverOnDay says how a river was on the day of a session whose times were not noted: its range, or the mean of the day.
func RiverOnDay(list []gauge.Series, from, to time.Time, sys units.System) string {
	return "On that day " + strings.Join(each(list, func(s gauge.Series) string { return riverWas(s, from, to, sys) }), "; ") + "."
}

func riverWas(s gauge.Series, from, to time.Time, sys units.System) string {
	name, low, high := Lower(GaugeQuantity(s.Quantity)), math.Inf(1), math.Inf(-1)
	for _, r := range s.Between(from, to.Add(-time.Nanosecond)) {
		if r.Usable() {
			low, high = min(low, r.Value), max(high, r.Value)
		}
	}
	a, b := GaugeValue(s.Quantity, low, sys), GaugeValue(s.Quantity, high, sys)
	switch {
	case low > high:
		return "there was no reading of " + name
	case s.Statistic == gauge.DailyMean:
		return fmt.Sprintf("%s was %s on average", name, a)
	case a == b:
		return fmt.Sprintf("%s was %s", name, a)
	}
	return fmt.Sprintf("%s was between %s and %s", name, a, b)
}

// RiverGaps names the times without readings; of many the longest.
func RiverGaps(gaps []gauge.Gap, loc *time.Location, daily bool) string {
	const most = 3
	var told []string
	for i, g := range gaps {
		if i == most {
			told = append(told, fmt.Sprintf("%d more times", len(gaps)-most))
			break
		}
		from, to := g.From.In(loc), g.To.In(loc)
		layout, end := "2 Jan 15:04", "15:04"
		if daily {
			layout, end = "2 Jan", "2 Jan"
		} else if from.YearDay() != to.YearDay() {
			end = layout
		}
		text := from.Format(layout) + " to " + to.Format(end)
		if g.Why() != "no readings" {
			text += " (" + g.Why() + ")"
		}
		told = append(told, text)
	}
	if len(told) == 0 {
		return ""
	}
	return "No readings from " + Listed(told) + "."
}

// ClocksChanged says which days of a time have not 24 hours.
func ClocksChanged(from, to time.Time, loc *time.Location) string {
	var told []string
	for at := from.In(loc); at.Before(to); {
		next := time.Date(at.Year(), at.Month(), at.Day()+1, 0, 0, 0, 0, loc)
		way := ""
		switch hours := next.Sub(at).Hours(); {
		case hours > 24:
			way = "back"
		case hours < 24:
			way = "forward"
		}
		if way != "" {
			told = append(told, fmt.Sprintf("The clocks went %s on %s: that day has %g hours.", way, at.Format("2 January"), next.Sub(at).Hours()))
		}
		at = next
	}
	return strings.Join(told, " ")
}
