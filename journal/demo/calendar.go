package demo

import (
	"sort"
	"time"

	"rigtally/journal"
)

// founded is when the invented outfit began its journal.
var founded = time.Date(2024, time.February, 20, 18, 0, 0, 0, time.UTC)

// fishingDay is a day of a season with the share of all sessions up to its end.
type fishingDay struct {
	day journal.Date
	sum float64
}

// calendar lists the days that are fished: 15 March to 8 November of three
// years, most in summer, nothing in winter.
func calendar() []fishingDay {
	busy := map[time.Month]float64{
		time.March: 0.35, time.April: 0.8, time.May: 1, time.June: 1.1, time.July: 1.2, time.August: 1.1, time.September: 1.2, time.October: 0.9, time.November: 0.5,
	}
	var days []fishingDay
	sum := 0.0
	for _, year := range []struct {
		year int
		busy float64
	}{{2024, 0.8}, {2025, 1}, {2026, 1.15}} {
		last := time.Date(year.year, time.November, 8, 0, 0, 0, 0, time.UTC)
		for t := time.Date(year.year, time.March, 15, 0, 0, 0, 0, time.UTC); !t.After(last); t = t.AddDate(0, 0, 1) {
			weekend := 1.0
			if t.Weekday() == time.Saturday || t.Weekday() == time.Sunday {
				weekend = 1.8
			}
			sum += busy[t.Month()] * year.busy * weekend
			days = append(days, fishingDay{journal.DateOf(t), sum})
		}
	}
	return days
}

// dayAt is the day up to which a share u of all sessions is fished.
func dayAt(days []fishingDay, u float64) journal.Date {
	sum := u * days[len(days)-1].sum
	return days[sort.Search(len(days)-1, func(k int) bool { return days[k].sum > sum })].day
}
