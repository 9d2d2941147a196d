package prose

import (
	"fmt"
	"math"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Often says a rate as people count it: "one tangle in 2 h 20 min", "9 hookups an hour", "one
// junction break in 24 loads", "12 min lost an hour". Two digits of it are told.
func Often(o journal.Outcome, rate float64) string {
	switch {
	case o.Measure == journal.AmountPer:
		return twoDigits(rate) + " min lost an hour"
	case !(rate > 0):
		return "no " + one(o.Events)
	case o.Measure == journal.ShareOf && rate >= 0.1:
		return fmt.Sprintf("%s %s in 100 %s", twoDigits(100*rate), o.Events, o.Exposure)
	case o.Exposure != "hours" && rate < 1:
		return fmt.Sprintf("one %s in %s %s", one(o.Events), twoDigits(1/rate), o.Exposure)
	case o.Exposure != "hours":
		return fmt.Sprintf("%s %s in 10 %s", twoDigits(10*rate), o.Events, o.Exposure)
	case rate > mostAnHour:
		return twoDigits(rate) + " " + o.Events + " an hour"
	}
	return fmt.Sprintf("one %s in %s", one(o.Events), stretch(60/rate))
}

// mostAnHour is the rate beyond which events are told by the hour, for nobody counts minutes then.
const mostAnHour = 4

// one is the singular of what is counted.
func one(events string) string {
	if strings.Contains(events, "fish") {
		return events
	}
	return strings.TrimSuffix(events, "s")
}

// stretch rounds a time between events as people say it: to minutes, five of them from an hour on,
// ten from four hours, whole hours from ten.
func stretch(minutes float64) string {
	step := 1.0
	switch {
	case minutes >= 600:
		return twoDigits(minutes/60) + " h"
	case minutes >= 240:
		step = 10
	case minutes >= 60:
		step = 5
	}
	return units.FormatDuration(step * math.Round(minutes/step))
}

// twoDigits rounds to two digits, and tells no zeros behind the point. What nobody will ever count is over or
// under what they might.
func twoDigits(v float64) string {
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
