package prose

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// What is said wherever a gauge is spoken of.
const (
	NotWhereYouStand = "A gauge is not where you stand."
	Provisional      = "Provisional readings may still be changed by whoever runs the gauge."
	NoReading        = "The gauge had no reading within 90 minutes of the session’s middle." // gauge.Reach
	NoReadingToday   = "The gauge had too few readings that day for a mean."
)

// GaugeQuantity names what a gauge measures: "Flow", "Stage", "Water temperature".
func GaugeQuantity(q gauge.Quantity) string {
	switch q {
	case gauge.Flow:
		return "Flow"
	case gauge.Stage:
		return "Stage"
	}
	return "Water temperature"
}

// GaugeValue prints what a gauge measured, given in the storage unit: "850 cfs", "2.31 ft", "12.4 °C".
func GaugeValue(q gauge.Quantity, v float64, sys units.System) string {
	switch q {
	case gauge.Flow:
		return units.Format(units.Flow, v, sys)
	case gauge.Stage:
		return units.Format(units.Depth, v, sys)
	}
	return units.Format(units.Temperature, v, sys)
}

// LeftToFill says how many sessions of a water would take something of its gauges that they don't have yet.
func LeftToFill(sessions int, water string) string {
	if sessions == 0 {
		return "No session on " + water + " is left to fill in."
	}
	return Plural(sessions, "session", "sessions") + " on " + water + " can take what the gauge read."
}

// Fill says what a session takes of a gauge, and from where; in is where the water is: "850 cfs at 10:15, usgs:01234567,
// provisional", "850 cfs, the day’s mean, usgs:01234567".
func Fill(f gauge.Fill, in *time.Location, sys units.System) string {
	text := GaugeValue(f.Quantity, f.Value, sys)
	switch {
	case f.WholeDay:
		text += ", the day’s mean"
	case f.Between:
		text += " at " + f.At.In(in).Format("15:04") + ", between two readings"
	default:
		text += " at " + f.At.In(in).Format("15:04")
	}
	return text + ", " + fromGauge(f)
}

// fromGauge says which gauge something is of, and what is to be known of its readings.
func fromGauge(f gauge.Fill) string {
	parts := []string{f.Site.String()}
	if f.Sensor != "" {
		parts[0] += ", sensor " + f.Sensor
	}
	words := (f.Flags &^ gauge.Provisional).Words()
	if f.Provisional() {
		words = append(words, "provisional")
	}
	return strings.Join(append(parts, words...), ", ")
}

// Took says in one line what a session takes of its gauges, "" where that is nothing: "From the gauge: flow 850 cfs, water
// temperature 54 °F."
func Took(fills []gauge.Fill, sys units.System) string {
	var list []string
	for _, f := range fills {
		list = append(list, Lower(GaugeQuantity(f.Quantity))+" "+GaugeValue(f.Quantity, f.Value, sys))
	}
	if len(list) == 0 {
		return ""
	}
	return "From the gauge: " + strings.Join(list, ", ") + "."
}

// FillMore says what the reading means, a phrase each: "higher than on this day in 72% of 34 years", "up 12% in 6
// hours", "peaked at 66 °F that day". Of what is not known it says nothing.
func FillMore(f gauge.Fill, sys units.System) []string {
	var list []string
	if f.Percentile != nil {
		list = append(list, ForTheSeason(*f.Percentile, f.Years))
	}
	for _, c := range []struct {
		change *float64
		hours  int
	}{{f.Change6H, 6}, {f.Change24H, 24}} {
		if text := changed(f.Quantity, c.change, c.hours, sys); text != "" {
			list = append(list, text)
		}
	}
	if f.Peak != nil {
		list = append(list, "peaked at "+GaugeValue(gauge.Temperature, *f.Peak, sys)+" that day")
	}
	return list
}

// FillSentence is Fill with FillMore in one sentence under its title: "Flow 850 cfs at 10:15, usgs:01234567, provisional; up 12%
// in 6 hours."
func FillSentence(f gauge.Fill, in *time.Location, sys units.System) string {
	return GaugeQuantity(f.Quantity) + " " + strings.Join(append([]string{Fill(f, in, sys)}, FillMore(f, sys)...), "; ") + "."
}

// ForTheSeason says what a percentile of the flow is: its share of earlier years, on the same day of the year, of which some is the
// lowest and some the highest, beyond which nothing is known.
func ForTheSeason(percent float64, years int) string {
	const slack = 0.006 // of a percent: it is kept to a hundredth
	end := 100 / float64(years+1)
	switch {
	case percent <= end+slack:
		return fmt.Sprintf("as low as on this day in any of %d years, or lower", years)
	case percent >= 100-end-slack:
		return fmt.Sprintf("as high as on this day in any of %d years, or higher", years)
	}
	return fmt.Sprintf("higher than on this day in %.0f%% of %d years", math.Round(percent), years)
}

// changed says how far water rose or fell; what is too little to be called so is steady.
func changed(q gauge.Quantity, change *float64, hours int, sys units.System) string {
	if change == nil {
		return ""
	}
	size, over := "", fmt.Sprintf(" in %d hours", hours)
	switch q {
	case gauge.Flow:
		size = strconv.FormatFloat(100*math.Abs(*change), 'f', 0, 64) + "%"
		if *change >= 1 { // double
			size = TwoDigits(1+*change) + " times"
			if size == "2 times" {
				size = "twice"
			}
			return size + " what it was " + strconv.Itoa(hours) + " hours before"
		}
	case gauge.Stage:
		size = GaugeValue(gauge.Stage, math.Abs(*change), sys)
	}
	up := "up "
	if *change < 0 {
		up = "down "
	}
	switch {
	case gauge.TrendOf(q, change) != gauge.Steady:
		return up + size + over
	case size == "0%" || size == GaugeValue(gauge.Stage, 0, sys):
		return fmt.Sprintf("steady over %d hours", hours)
	}
	return fmt.Sprintf("steady over %d hours (%s%s)", hours, up, size)
}

// GaugeReading says what a gauge showed last, with the day where that is not today: "850 cfs at 10:15, provisional",
// "850 cfs on 3 May at 10:15".
func GaugeReading(q gauge.Quantity, r gauge.Reading, now time.Time, in *time.Location, sys units.System) string {
	at, text := r.At.In(in), "no value"
	if !math.IsNaN(r.Value) {
		text = GaugeValue(q, r.Value, sys)
	}
	switch today := now.In(in); {
	case journal.DateOf(at) == journal.DateOf(today):
	case at.Year() == today.Year():
		text += at.Format(" on 2 January")
	default:
		text += at.Format(" on 2 January 2006")
	}
	text += at.Format(" at 15:04")
	if words := r.Flags.Words(); len(words) > 0 {
		text += ", " + strings.Join(words, ", ")
	}
	return text
}
