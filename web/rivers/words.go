package rivers

import (
	"fmt"
	"math"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/prose"
	"rigtally/web/page"
)

// titles names quantities in a sentence.
func titles(list []gauge.Quantity) string {
	names := make([]string, len(list))
	for i, q := range list {
		names[i] = prose.Lower(prose.GaugeQuantity(q))
	}
	return prose.Listed(names)
}

// shown writes a value with its unit, on one line.
func shown(q gauge.Quantity, v float64, sys units.System) string {
	return page.Unbroken(prose.GaugeValue(q, v, sys))
}

// usual says briefly where a flow stands among those of other years; their ends are as far as is known.
func usual(f gauge.Fill) string {
	if f.Percentile == nil {
		return ""
	}
	const slack = 0.006 // of a percent: it is kept to a hundredth
	switch end := 100 / float64(f.Years+1); {
	case *f.Percentile <= end+slack:
		return fmt.Sprintf("lowest of %d years", f.Years)
	case *f.Percentile >= 100-end-slack:
		return fmt.Sprintf("highest of %d years", f.Years)
	}
	return fmt.Sprintf("above %.0f%% of years", *f.Percentile)
}

// at writes a moment where a water is.
func at(t time.Time, zone string) string {
	return page.InZone(t, zone).Format("Mon 2 January 2006, 15:04")
}

// on writes the day of a moment where a water is.
func on(t time.Time, zone string) string { return prose.Day(journal.DateOf(page.InZone(t, zone))) }

// ago says how long something is past, or ahead.
func ago(d time.Duration) string {
	switch {
	case d < 0:
		return span(-d) + " ahead of now" // as where a file was read in the wrong time zone
	case d < time.Minute:
		return "just now"
	}
	return span(d) + " ago"
}

// span says how long something takes, roughly.
func span(d time.Duration) string {
	switch {
	case d < time.Hour:
		return prose.Plural(max(1, int(math.Round(d.Minutes()))), "minute", "minutes")
	case d < 36*time.Hour:
		return prose.Plural(int(math.Round(d.Hours())), "hour", "hours")
	}
	return prose.Plural(int(math.Round(d.Hours()/24)), "day", "days")
}

// apart says how far a gauge is from a place that is known to a tenth of a degree, no more exactly than that.
func apart(km float64, sys units.System) string {
	const least = 8 // km from the middle of such a square to its corners
	unit, each := "km", 1.0
	if sys == units.US {
		unit, each = "miles", 1.609344
	}
	if km < least {
		return fmt.Sprintf("within about %.0f %s", math.Ceil(least/each), unit)
	}
	return fmt.Sprintf("about %.0f %s away", km/each, unit)
}

// distance is how far two places are from each other on a round earth, in km.
func distance(latA, lonA, latB, lonB float64) float64 {
	const radius, degree = 6371, math.Pi / 180
	a, b := latA*degree, latB*degree
	h := math.Pow(math.Sin((b-a)/2), 2) + math.Cos(a)*math.Cos(b)*math.Pow(math.Sin((lonB-lonA)*degree/2), 2)
	return 2 * radius * math.Asin(math.Min(1, math.Sqrt(h)))
}

// counted writes a number of many digits so that it can be read.
func counted(n int) string {
	text := fmt.Sprint(n)
	for i := len(text) - 3; i > 0; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	return text
}

// readings says how many there are.
func readings(n int) string { return counted(n) + " " + prose.Verb(n, "reading", "readings") }
