// Package gauge holds what river gauges measure, and what it means for an outing. It reaches no network and no database.
package gauge

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// The providers: services that publish readings. Others are written as people name them, and have readings from files alone.
const (
	USGS   = "usgs"   // U.S. Geological Survey
	EA     = "ea"     // Environment Agency, England
	Hubeau = "hubeau" // Hub'Eau, France
)

// Site is a place where a river is measured, as its provider numbers it. Leading zeros are part of the number.
type Site struct {
	Provider string `json:"provider"`
	Number   string `json:"number"`
}

// String names the site wherever it is written, as people type it too: usgs:01234567.
func (s Site) String() string { return s.Provider + ":" + s.Number }

// NewSite is a site in the one way in which it is written, so that equal ones are found to be equal: providers in small letters.
func NewSite(provider, number string) Site {
	return Site{strings.ToLower(strings.TrimSpace(provider)), strings.TrimSpace(number)}
}

// ParseSite reads provider:number.
func ParseSite(text string) (Site, error) {
	provider, number, ok := strings.Cut(strings.TrimSpace(text), ":")
	s := NewSite(provider, number)
	if !ok || s.Provider == "" || s.Number == "" {
		return Site{}, fmt.Errorf("%q is not a gauge; write who runs it and its number, as in usgs:01234567", text)
	}
	return s, nil
}

// Quantity is what is measured.
type Quantity string

// The quantities, with the units in which they are stored.
const (
	Flow        Quantity = "flow"        // m³/s
	Stage       Quantity = "stage"       // m above the gauge's own zero
	Temperature Quantity = "temperature" // of the water, °C
)

// Quantities lists them.
func Quantities() []Quantity { return []Quantity{Flow, Stage, Temperature} }

// Gauge is a site as its provider describes it.
type Gauge struct {
	Site
	Name      string     `json:"name"`
	Zone      string     `json:"zone,omitempty"` // IANA name, "" when not told
	Latitude  *float64   `json:"latitude,omitempty"`
	Longitude *float64   `json:"longitude,omitempty"`
	Measures  []Quantity `json:"measures,omitempty"` // none when not told
}

// Link says from which gauge a water takes what.
type Link struct {
	Site
	Takes  []Quantity `json:"takes,omitempty"`  // none: all that it measures
	Sensor string     `json:"sensor,omitempty"` // "": the first of several
}

// Gives reports whether the water takes a quantity from this gauge.
func (l Link) Gives(q Quantity) bool { return len(l.Takes) == 0 || slices.Contains(l.Takes, q) }

// Statistic is what the values of a series are of their time.
type Statistic string

// The statistics.
const (
	Instant   Statistic = ""           // at the moment
	DailyMean Statistic = "daily mean" // over a day of the gauge's calendar
)

// Flags tell how a reading came about.
type Flags uint16

// The flags. A reading without a value has one of the last five.
const (
	Provisional  Flags = 1 << iota // may still be revised
	Estimated                      // or edited
	Interpolated                   // filled in by the provider
	Censored                       // above or below what can be measured
	Suspect                        // by the provider's own check
	Ice                            // the river was under ice, or its gauge was
	Equipment                      // the gauge failed, or was off for a time
	Dry                            // no water at the gauge
	Missing                        // no value, for a reason not told
)

// Words are those of the flags.
func (f Flags) Words() []string {
	var list []string
	for i, word := range []string{"provisional", "estimated", "filled in by the gauge's agency", "beyond what the gauge can measure", "suspect", "ice", "gauge out of order", "dry", "no value"} {
		if f&(1<<i) != 0 {
			list = append(list, word)
		}
	}
	return list
}

// Reading is a value at a time; of a daily mean the time is midnight UTC of the gauge's calendar day.
type Reading struct {
	At    time.Time
	Value float64 // in the quantity's storage unit, NaN where there is none
	Flags Flags
}

// Usable reports whether a session may take the reading.
func (r Reading) Usable() bool { return !math.IsNaN(r.Value) && r.Flags&(Suspect|Censored) == 0 }

// Series are the readings of one sensor, in order of their time, none twice.
type Series struct {
	Site
	Quantity  Quantity
	Sensor    string // as its provider tells several of a site apart, "" where there is one
	Statistic Statistic
	Readings  []Reading
}

// Found is what a file or an answer of a service holds.
type Found struct {
	Gauges []Gauge
	Series []Series
	Notes  []string // what was left out and why, for people
}

// Sort puts readings in order, and keeps of several at one time the last that came.
func (s *Series) Sort() {
	slices.SortStableFunc(s.Readings, func(a, b Reading) int { return a.At.Compare(b.At) })
	kept := s.Readings[:0]
	for _, r := range s.Readings {
		if n := len(kept); n > 0 && kept[n-1].At.Equal(r.At) {
			kept[n-1] = r
			continue
		}
		kept = append(kept, r)
	}
	s.Readings = kept
}

// from is the place of the first reading at a time or after it.
func (s Series) from(t time.Time) int {
	i, _ := slices.BinarySearchFunc(s.Readings, t, func(r Reading, t time.Time) int { return r.At.Compare(t) })
	return i
}

// Between are the readings from one time up to another, that one too.
func (s Series) Between(from, to time.Time) []Reading {
	i, j := s.from(from), s.from(to.Add(time.Nanosecond))
	return s.Readings[min(i, j):j]
}

// Reach is how far from a moment a reading may be to stand for it.
const Reach = 90 * time.Minute

// At is the value at a moment: between the two usable readings around it, on the straight line, where both are within
// Reach; else the nearer one within Reach, as it stands and with its own time. Daily means stand for no moment.
func (s Series) At(t time.Time) (r Reading, between bool, ok bool) {
	if s.Statistic != Instant {
		return Reading{}, false, false
	}
	i := s.from(t)
	before, after := i-1, i
	for before >= 0 && !s.Readings[before].Usable() {
		before--
	}
	for after < len(s.Readings) && !s.Readings[after].Usable() {
		after++
	}
	var a, b *Reading
	if before >= 0 && t.Sub(s.Readings[before].At) <= Reach {
		a = &s.Readings[before]
	}
	if after < len(s.Readings) && s.Readings[after].At.Sub(t) <= Reach {
		b = &s.Readings[after]
	}
	switch {
	case a == nil && b == nil:
		return Reading{}, false, false
	case b == nil:
		return *a, false, true
	case a == nil || b.At.Equal(t):
		return *b, false, true
	}
	share := float64(t.Sub(a.At)) / float64(b.At.Sub(a.At))
	return Reading{t, a.Value + share*(b.Value-a.Value), a.Flags | b.Flags}, true, true
}

// Mean is the mean over a time, of readings that cover at least two thirds of its hours. Each hour that has any counts once, so
// that those read more often weigh no more.
func (s Series) Mean(from, to time.Time) (r Reading, ok bool) {
	of, covered := s.hours(from, to)
	if !covered {
		return Reading{}, false
	}
	sum, hours := 0.0, 0
	for _, list := range of {
		if len(list) == 0 {
			continue
		}
		hour := 0.0
		for _, x := range list {
			hour += x.Value
			r.Flags |= x.Flags
		}
		sum, hours = sum+hour/float64(len(list)), hours+1
	}
	return Reading{from, sum / float64(hours), r.Flags}, true
}

// Peak is the highest usable reading of a time, of readings that cover at least two thirds of its hours: that of a morning is
// not the day's.
func (s Series) Peak(from, to time.Time) (r Reading, ok bool) {
	of, covered := s.hours(from, to)
	if !covered {
		return Reading{}, false
	}
	for _, list := range of {
		for _, x := range list {
			if !ok || x.Value > r.Value {
				r, ok = x, true
			}
		}
	}
	return r, ok
}

// hours are the usable readings of a time by its hours, and whether two thirds of them have any.
func (s Series) hours(from, to time.Time) (of [][]Reading, covered bool) {
	of = make([][]Reading, max(0, int(math.Ceil(to.Sub(from).Hours()))))
	n := 0
	for _, x := range s.Between(from, to.Add(-time.Nanosecond)) {
		if !x.Usable() {
			continue
		}
		i := int(x.At.Sub(from) / time.Hour)
		if len(of[i]) == 0 {
			n++
		}
		of[i] = append(of[i], x)
	}
	return of, n > 0 && 3*n >= 2*len(of)
}

// Usual is what a gauge's daily means were on each day of the year, one value a year.
type Usual struct {
	days map[int][]float64 // sorted; by month·32 + day
}

// LeastYears is how many years of daily means a percentile needs.
const LeastYears = 10

func dayOfYear(t time.Time) int {
	month, day := t.Month(), t.Day()
	if month == time.February && day == 29 {
		day = 28 // of which there are enough
	}
	return int(month)*32 + day
}

// NewUsual gathers a series of daily means. Of the current year nothing is usual yet: what is from before is.
func NewUsual(s Series, before time.Time) Usual {
	u := Usual{days: map[int][]float64{}}
	if s.Statistic != DailyMean {
		return u
	}
	for _, r := range s.Readings {
		if r.Usable() && r.At.Year() < before.Year() && !(r.At.Month() == time.February && r.At.Day() == 29) {
			key := dayOfYear(r.At)
			u.days[key] = append(u.days[key], r.Value)
		}
	}
	for _, values := range u.days {
		slices.Sort(values)
	}
	return u
}

// Percentile is the share, in percent, of a day of the year's values that a value is not below: its place among them by the
// Weibull position i/(n+1), on the straight line between two of them; the middle of equal ones. Below the least it is that
// one's place, above the greatest that one's, since more is not known. It is rounded to a
// hundredth, finer than years can tell. Not ok with fewer than LeastYears values.
//
// This is the inverse of the quantile of R's type 6 (Hyndman & Fan 1996, The American Statistician 50:361), the plotting
// position by which the U.S. Geological Survey makes flow percentiles.
func (u Usual) Percentile(day time.Time, v float64) (percent float64, years int, ok bool) {
	x := u.days[dayOfYear(day)]
	n := len(x)
	if n < LeastYears || math.IsNaN(v) {
		return 0, n, false
	}
	low, equal := slices.BinarySearch(x, v)
	high := low
	for high < n && x[high] == v {
		high++
	}
	place := 0.0
	switch {
	case equal:
		place = float64(low+1+high) / 2
	case low == 0:
		place = 1
	case low == n:
		place = float64(n)
	default:
		place = float64(low) + (v-x[low-1])/(x[low]-x[low-1])
	}
	return math.Round(1e4*place/float64(n+1)) / 100, n, true
}

// Quantiles are the values of a day of the year at given percents, by the same rule. Not ok with fewer than LeastYears.
func (u Usual) Quantiles(day time.Time, percents ...float64) (values []float64, ok bool) {
	x := u.days[dayOfYear(day)]
	if len(x) < LeastYears {
		return nil, false
	}
	for _, p := range percents {
		place := min(max(p/100*float64(len(x)+1), 1), float64(len(x)))
		i := min(int(place), len(x)-1)
		values = append(values, x[i-1]+(place-float64(i))*(x[i]-x[i-1]))
	}
	return values, true
}

// Trend is whether water rises or falls.
type Trend string

// The trends.
const (
	Falling Trend = "falling"
	Steady  Trend = "steady"
	Rising  Trend = "rising"
)

// Trends lists them.
func Trends() []Trend { return []Trend{Falling, Steady, Rising} }

// From how much on water counts as rising or falling (common practice, no source).
const (
	TrendFlow  = 0.10 // of the flow before
	TrendStage = 0.03 // m, a tenth of a foot
)

// TrendOf is what a change of flow (as a share of the flow before) or of stage (m) is called; "" for nil.
func TrendOf(q Quantity, change *float64) Trend {
	const slack = 1e-9                                   // 2.03 m less 2 m is a little under 3 cm to a computer
	up, down := TrendFlow-slack, 1-1/(1+TrendFlow)-slack // as far down as up
	if q == Stage {
		up, down = TrendStage-slack, TrendStage-slack
	}
	switch {
	case change == nil || q == Temperature:
		return ""
	case *change >= up:
		return Rising
	case *change <= -down:
		return Falling
	}
	return Steady
}

// Outing is when somebody fished, as far as it was noted.
type Outing struct {
	Middle   time.Time // zero where no times were noted: the whole day then counts
	Day      time.Time // midnight that began it, where the water is
	NextDay  time.Time // and the one that ended it
	Calendar time.Time // the day as midnight UTC
}

// Fill is what a session takes of a gauge.
type Fill struct {
	Quantity Quantity  `json:"quantity"`
	Site     Site      `json:"site"`
	Sensor   string    `json:"sensor,omitempty"`
	Value    float64   `json:"value"`               // in the storage unit
	At       time.Time `json:"at"`                  // of the reading; the session's middle where it lies between two
	Between  bool      `json:"between,omitempty"`   // two readings
	WholeDay bool      `json:"whole_day,omitempty"` // the mean of the day, for a session without times
	Flags    Flags     `json:"flags,omitempty"`

	Percentile *float64 `json:"percentile,omitempty"` // of the flow for the day of the year
	Years      int      `json:"years,omitempty"`      // that the percentile goes by
	Change6H   *float64 `json:"change_6h,omitempty"`  // of flow as a share of what it was, of stage m
	Change24H  *float64 `json:"change_24h,omitempty"`
	Peak       *float64 `json:"peak,omitempty"` // of the day, of the temperature
}

// Provisional reports whether what it was taken from may still be revised.
func (f Fill) Provisional() bool { return f.Flags&Provisional != 0 }

// Take is what an outing takes of a quantity, from the first of some series that has it: instant ones at its middle, or over the day
// where no times are known, there also daily means. What lies between readings, or is a mean of them, has four digits. Usual may be empty.
func Take(o Outing, q Quantity, list []Series, usual Usual) (Fill, bool) {
	for _, s := range list {
		if s.Quantity != q {
			continue
		}
		f, ok := take(o, s)
		if !ok {
			continue
		}
		if q == Flow {
			if percent, years, ok := usual.Percentile(o.Calendar, f.Value); ok {
				f.Percentile, f.Years = &percent, years
			}
		}
		return f, true
	}
	return Fill{}, false
}

func take(o Outing, s Series) (Fill, bool) {
	f := Fill{Quantity: s.Quantity, Site: s.Site, Sensor: s.Sensor}
	var r Reading
	var ok bool
	switch {
	case !o.Middle.IsZero():
		r, f.Between, ok = s.At(o.Middle)
	case s.Statistic == DailyMean:
		if on := s.Between(o.Calendar, o.Calendar); len(on) == 1 && on[0].Usable() {
			r, ok = on[0], true
		}
		f.WholeDay = true
	default:
		r, ok = s.Mean(o.Day, o.NextDay)
		f.WholeDay = true
	}
	if !ok {
		return f, false
	}
	f.Value, f.At, f.Flags = r.Value, r.At, r.Flags
	if f.Between || f.WholeDay && s.Statistic == Instant {
		f.Value = fourDigits(r.Value)
	}
	if s.Statistic == DailyMean {
		f.At = o.Day
	}
	if !o.Middle.IsZero() && s.Quantity != Temperature {
		f.Change6H, f.Change24H = s.change(r, 6*time.Hour), s.change(r, 24*time.Hour)
	}
	if s.Quantity == Temperature && s.Statistic == Instant {
		if peak, ok := s.Peak(o.Day, o.NextDay); ok {
			f.Peak = &peak.Value
		}
	}
	return f, true
}

// fourDigits rounds what was worked out of several readings: no gauge is as exact, and facts keep each different number.
func fourDigits(v float64) float64 {
	const none = 1e-9 // of any unit
	if math.Abs(v) < none {
		return 0
	}
	power := math.Pow10(3 - int(math.Floor(math.Log10(math.Abs(v)))))
	return math.Round(v*power) / power
}

// change is how much a reading differs from what was some time before it, nil where that is not known.
func (s Series) change(r Reading, ago time.Duration) *float64 {
	then, _, ok := s.At(r.At.Add(-ago))
	switch {
	case !ok:
		return nil
	case s.Quantity == Flow:
		if then.Value <= 0 {
			return nil
		}
		return new(r.Value/then.Value - 1)
	}
	return new(r.Value - then.Value)
}

// Compare orders sites.
func (s Site) Compare(other Site) int {
	return cmp.Or(strings.Compare(s.Provider, other.Provider), strings.Compare(s.Number, other.Number))
}
