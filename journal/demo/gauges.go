package demo

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"math"
	"slices"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// GaugeProvider is who runs the invented gauges: no service, so that nobody is ever asked about them.
const GaugeProvider = "invented"

// What the invented gauges hold: daily means of these years, and readings of every hour of the last season.
const (
	gaugeSince = 2014
	gaugeUntil = 2026
)

var (
	hourlyFrom  = time.Date(gaugeUntil, time.March, 10, 7, 0, 0, 0, time.UTC)
	hourlyTo    = time.Date(gaugeUntil, time.November, 24, 7, 0, 0, 0, time.UTC)
	provisional = time.Date(gaugeUntil, time.August, 1, 0, 0, 0, 0, time.UTC) // from here on, as an agency would say of the latest months
)

// Gauges are those of the season's waters, in their order, with what they measured: the flows and temperatures that the
// sessions noted, at the middle of each, and between them what such a water does. They have dice of their own.
func (s Season) Gauges() (links map[journal.ID]gauge.Link, found gauge.Found) {
	links = map[journal.ID]gauge.Link{}
	courses := map[string]water{}
	for _, w := range waters(newDice(0, 0)) {
		courses[w.Name] = w
	}
	for i, w := range s.Waters {
		course, ok := courses[w.Name]
		if !ok {
			continue
		}
		g := gauge.Gauge{Site: gauge.NewSite(GaugeProvider, fmt.Sprintf("INV-%04d", i+1)), Name: w.Name + " at an invented bridge", Zone: w.TimeZone, Measures: []gauge.Quantity{gauge.Flow, gauge.Temperature}}
		switch {
		case course.baseM3S == 0:
			g.Name, g.Measures = w.Name+" at an invented pier", []gauge.Quantity{gauge.Temperature}
		case course.colouring:
			g.Measures = gauge.Quantities()
		}
		links[w.ID] = gauge.Link{Site: g.Site}
		found.Gauges = append(found.Gauges, g)
		found.Series = append(found.Series, course.measured(g, s.of(w.ID))...)
	}
	found.Notes = []string{"Everything that these gauges measured is invented."}
	return links, found
}

func (s Season) of(w journal.ID) []journal.Session {
	return slices.DeleteFunc(slices.Clone(s.Sessions), func(x journal.Session) bool { return x.WaterID != w })
}

// measured are the series of a gauge on a water that was fished in some sessions.
func (w water) measured(g gauge.Gauge, fished []journal.Session) (list []gauge.Series) {
	h := fnv.New64a()
	_, _ = h.Write([]byte(g.Number)) // never fails
	d := newDice(h.Sum64(), 7<<32)
	flows := w.line(d, fished, 0.7*w.unsteady, func(s journal.Session) *float64 { return s.FlowM3S }, func(t time.Time, v float64) float64 { return math.Log(v / w.usualFlow(t)) })
	warmth := w.line(d, fished, 1, func(s journal.Session) *float64 { return s.WaterTempC }, func(t time.Time, v float64) float64 { return v - w.usualC(t) })
	flow := func(t time.Time) float64 { return w.usualFlow(t) * math.Exp(flows.at(t)) }
	for _, q := range g.Measures {
		value := flow
		switch q {
		case gauge.Stage:
			value = func(t time.Time) float64 { return 0.9 * math.Pow(flow(t)/w.baseM3S, 0.4) }
		case gauge.Temperature:
			value = func(t time.Time) float64 { return max(w.usualC(t)+warmth.at(t), 0) }
		}
		list = append(list, w.hourly(g, q, value))
		if q != gauge.Stage {
			list = append(list, w.daily(g, q, value))
		}
	}
	return list
}

// usualFlow is a water's flow at a time of an average year, in m³/s.
func (w water) usualFlow(t time.Time) float64 {
	melt := (float64(t.YearDay()) - 158) / 22
	return w.baseM3S + w.meltM3S*math.Exp(-melt*melt/2)
}

// usualC is its temperature, warmest at five in the afternoon.
func (w water) usualC(t time.Time) float64 {
	local := t.In(w.loc)
	hour := float64(local.Hour()) + float64(local.Minute())/60
	return w.meanC + w.swingC*math.Cos(2*math.Pi*float64(local.YearDay()-211)/365) + 0.25*math.Sqrt(w.swingC)*w.sun(local)*math.Cos(2*math.Pi*(hour-17)/24)
}

// sun is how much a day warms the water: most at midsummer.
func (w water) sun(t time.Time) float64 {
	return 1.6 + 1.2*math.Cos(2*math.Pi*float64(t.YearDay()-172)/365)
}

// line is what a water does beside its usual course: known at some times, and on a smooth line between them.
type line []point

type point struct {
	at time.Time
	v  float64
}

// line goes through what sessions noted, and every few days through something else where none did.
func (w water) line(d dice, fished []journal.Session, spread float64, noted func(journal.Session) *float64, beside func(time.Time, float64) float64) line {
	var known line
	for _, s := range fished {
		if v := noted(s); v != nil {
			middle := s.Day.In(w.loc).Add(13 * time.Hour)
			if s.Start != nil && s.End != nil {
				middle = s.Start.Add(s.End.Sub(*s.Start) / 2)
			}
			known = append(known, point{middle, beside(middle, *v)})
		}
	}
	known.sort()
	var all line
	year, wet := 0, 0.0
	for at := time.Date(gaugeSince-1, time.December, 20, 12, 0, 0, 0, time.UTC); at.Before(hourlyTo.AddDate(0, 0, 10)); at = at.Add(time.Duration(d.between(60, 132)) * time.Hour) {
		if at.Year() != year { // some years are wet or warm
			year, wet = at.Year(), spread*d.NormFloat64()*0.8
		}
		if v := wet + spread*d.NormFloat64(); !known.near(at, 60*time.Hour) {
			all = append(all, point{at, v})
		}
	}
	all = append(all, known...)
	all.sort()
	return all
}

func (l line) sort() { slices.SortStableFunc(l, func(a, b point) int { return a.at.Compare(b.at) }) }

// after is the place of the first point at a time or after it.
func (l line) after(t time.Time) int {
	i, _ := slices.BinarySearchFunc(l, t, func(p point, t time.Time) int { return cmp.Compare(p.at.UnixNano(), t.UnixNano()) })
	return i
}

func (l line) near(t time.Time, by time.Duration) bool {
	i := l.after(t.Add(-by))
	return i < len(l) && l[i].at.Sub(t) <= by
}

// at is the line's height at a time between its ends.
func (l line) at(t time.Time) float64 {
	i := l.after(t)
	if i == 0 {
		return l[0].v
	}
	if i == len(l) {
		return l[i-1].v
	}
	a, b := l[i-1], l[i]
	share := (1 - math.Cos(math.Pi*float64(t.Sub(a.at))/float64(b.at.Sub(a.at)))) / 2
	return a.v + share*(b.v-a.v)
}

// hourly reads a gauge through the last season. In early August its thermometer failed for three days.
func (w water) hourly(g gauge.Gauge, q gauge.Quantity, value func(time.Time) float64) gauge.Series {
	s := gauge.Series{Site: g.Site, Quantity: q}
	failed := time.Date(gaugeUntil, time.August, 6, 12, 0, 0, 0, time.UTC)
	for at := hourlyFrom; at.Before(hourlyTo); at = at.Add(time.Hour) {
		r := gauge.Reading{At: at, Value: asMeasured(q, value(at))}
		if !at.Before(provisional) {
			r.Flags |= gauge.Provisional
		}
		if q == gauge.Temperature && !at.Before(failed) && at.Before(failed.AddDate(0, 0, 3)) {
			r.Value, r.Flags = math.NaN(), gauge.Equipment
		}
		s.Readings = append(s.Readings, r)
	}
	return s
}

// daily are the means of the days of all years. A freestone is under ice for some weeks of each second winter.
func (w water) daily(g gauge.Gauge, q gauge.Quantity, value func(time.Time) float64) gauge.Series {
	s := gauge.Series{Site: g.Site, Quantity: q, Statistic: gauge.DailyMean}
	for day := journal.DateOf(time.Date(gaugeSince, time.January, 1, 0, 0, 0, 0, time.UTC)); ; {
		const parts = 4
		begins, sum := day.In(w.loc), 0.0
		if begins.AddDate(0, 0, 1).After(hourlyTo) {
			return s
		}
		for i := range parts {
			sum += value(begins.Add(time.Duration(24*i+12) * time.Hour / parts))
		}
		calendar := day.In(time.UTC)
		r := gauge.Reading{At: calendar, Value: asMeasured(q, sum/parts)}
		if !begins.Before(provisional) {
			r.Flags |= gauge.Provisional
		}
		if w.colouring && q == gauge.Flow && day.Year%2 == 0 && calendar.YearDay() < 32 {
			r.Value, r.Flags = math.NaN(), gauge.Ice
		}
		s.Readings = append(s.Readings, r)
		day = journal.DateOf(calendar.AddDate(0, 0, 1))
	}
}

// asMeasured is a value as a gauge tells it: three digits of a flow in cubic feet a second, hundredths of a foot, tenths
// of °C.
func asMeasured(q gauge.Quantity, v float64) float64 {
	switch q {
	case gauge.Flow:
		cfs := v / cubicMetres(1)
		digit := math.Pow(10, max(math.Floor(math.Log10(cfs))-2, -2))
		return math.Round(cfs/digit) * digit * cubicMetres(1)
	case gauge.Stage:
		return math.Round(v/0.003048) * 0.003048
	}
	return math.Round(v*10) / 10
}
