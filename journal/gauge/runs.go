package gauge

import (
	"slices"
	"strings"
	"time"
)

// Gap is a time without usable readings.
type Gap struct {
	From, To time.Time
	Flags    Flags // of the readings that are not usable in it
}

// Why says in a word or two why there is nothing.
func (g Gap) Why() string {
	for _, w := range []struct {
		flag Flags
		word string
	}{{Ice, "ice"}, {Equipment, "gauge out of order"}, {Dry, "dry"}, {Censored, "beyond the gauge"}, {Suspect, "suspect"}} {
		if g.Flags&w.flag != 0 {
			return w.word
		}
	}
	return "no readings"
}

// Apart is how far from each other two readings may be that a line joins: as far as one stands for a moment, of daily means
// a day and what a change of clocks adds.
func (s Series) Apart() time.Duration {
	if s.Statistic == DailyMean {
		return 26 * time.Hour
	}
	return Reach
}

// Runs are the usable readings of a time, cut where two are further apart than a line may go, and those gaps. One at an end
// of the time counts too.
func (s Series) Runs(from, to time.Time) (runs [][]Reading, gaps []Gap) {
	last, run, bad := from, []Reading(nil), Flags(0)
	end := func(next time.Time) {
		if next.Sub(last) > s.Apart() {
			if len(run) > 0 {
				runs, run = append(runs, run), nil
			}
			gaps = append(gaps, Gap{last, next, bad})
		}
		last, bad = next, 0
	}
	for _, r := range s.Between(from, to) {
		if !r.Usable() {
			bad |= r.Flags
			continue
		}
		end(r.At)
		run = append(run, r)
	}
	end(to)
	if len(run) > 0 {
		runs = append(runs, run)
	}
	return runs, gaps
}

// Thinned keeps of readings the first and last, and of each of so many equal parts of their time the least and the greatest:
// a drawing that many px wide looks the same, and no peak is lost.
func Thinned(list []Reading, parts int) []Reading {
	if len(list) <= 2*parts || parts < 1 {
		return list
	}
	first, whole := list[0].At, list[len(list)-1].At.Sub(list[0].At)
	part := func(r Reading) int { return min(int(float64(r.At.Sub(first))/float64(whole)*float64(parts)), parts-1) }
	var kept []Reading
	for i := 0; i < len(list); {
		j, least, most := i, i, i
		for ; j < len(list) && part(list[j]) == part(list[i]); j++ {
			if list[j].Value < list[least].Value {
				least = j
			}
			if list[j].Value > list[most].Value {
				most = j
			}
		}
		keep := []int{min(least, most), max(least, most)}
		if i == 0 {
			keep = append([]int{0}, keep...)
		}
		if j == len(list) {
			keep = append(keep, j-1)
		}
		for _, at := range keep {
			if n := len(kept); n == 0 || !kept[n-1].At.Equal(list[at].At) {
				kept = append(kept, list[at])
			}
		}
		i = j
	}
	return kept
}

// Daily are the means of the days of a calendar, of a quantity: as the agency made them, else of a day's readings.
func Daily(list []Series, q Quantity, from, to time.Time, in *time.Location) Series {
	daily, ordered := Series{Quantity: q, Statistic: DailyMean}, byMeans(list)
	for day := from; !day.After(to); day = day.AddDate(0, 0, 1) {
		start, next := time.Date(day.Year(), day.Month(), day.Day(), 0, 0, 0, 0, in), time.Date(day.Year(), day.Month(), day.Day()+1, 0, 0, 0, 0, in)
		if f, ok := Take(Outing{Day: start, NextDay: next, Calendar: day}, q, ordered, Usual{}); ok {
			daily.Site = f.Site
			daily.Readings = append(daily.Readings, Reading{day, f.Value, f.Flags})
		}
	}
	return daily
}

// byMeans puts daily means before instants.
func byMeans(list []Series) []Series {
	sorted := slices.Clone(list)
	slices.SortStableFunc(sorted, func(a, b Series) int { return strings.Compare(string(b.Statistic), string(a.Statistic)) })
	return sorted
}
