package read

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// book gathers what a file holds.
type book struct {
	name     string
	opt      Options
	source   *limited
	recoded  bool // to UTF-8, whatever the file says of itself
	maxBytes int64
	most     int
	least    time.Time
	latest   time.Time

	taken  int // readings so far
	series []*series
	places map[seriesKey]*series
	gauges []*gauge.Gauge
	known  map[gauge.Site]*gauge.Gauge
	usgs   *codes
	ea     map[string]eaMeasure // by their addresses
	left   []string             // what was left out, as people call it
	codes  []string             // of flags, that nobody explained
	notes  []string
}

type seriesKey struct {
	site      gauge.Site
	quantity  gauge.Quantity
	sensor    string
	statistic gauge.Statistic
}

func keyOf(s gauge.Series) seriesKey { return seriesKey{s.Site, s.Quantity, s.Sensor, s.Statistic} }

// series is one that is being read.
type series struct {
	gauge.Series
	limits     limits
	out        int    // values beyond what there is
	outAt      string // the first of them
	outValue   float64
	values     int
	negative   bool
	sensorName string // as the file describes it
}

func newBook(name string, opt Options) *book {
	b := &book{name: name, opt: opt, maxBytes: opt.MaxBytes, most: opt.MaxReadings, places: map[seriesKey]*series{}, known: map[gauge.Site]*gauge.Gauge{}, usgs: newCodes(), ea: map[string]eaMeasure{}}
	b.opt.Site = gauge.NewSite(opt.Site.Provider, opt.Site.Number)
	if b.name == "" {
		b.name = "The file"
	}
	if b.maxBytes == 0 {
		b.maxBytes = MaxBytes
	}
	if b.most == 0 {
		b.most = MaxReadings
	}
	now := opt.Now
	if now.IsZero() {
		now = time.Now()
	}
	b.least, b.latest = time.Date(firstYear, 1, 1, 0, 0, 0, 0, time.UTC), now.AddDate(0, 0, 2)
	return b
}

// firstYear is that before which no gauge recorded anything.
const firstYear = 1850

// wrongf says what is wrong with the file, at a place as "line 12" or as a whole.
func (b *book) wrongf(place, format string, args ...any) error {
	text := fmt.Sprintf(format, args...)
	if place != "" {
		return journal.Invalidf("%s, %s: %s", b.name, place, text)
	}
	if strings.HasPrefix(text, "is ") || strings.HasPrefix(text, "has ") || strings.HasPrefix(text, "holds ") || strings.HasPrefix(text, "says ") || strings.HasPrefix(text, "does ") {
		return journal.Invalidf("%s %s", b.name, text)
	}
	return journal.Invalidf("%s: %s", b.name, text)
}

// unsaid is an error of a file that leaves something out which Options can say.
type unsaid struct{ error }

func (u unsaid) Unwrap() error { return u.error }

// Unsaid reports whether a file was refused because it leaves out something that Options can say.
func Unsaid(err error) bool { return errors.As(err, new(unsaid)) }

func (b *book) unsaidf(place, format string, args ...any) error {
	return unsaid{b.wrongf(place, format, args...)}
}

func line(n int) string { return "line " + thousands(n) }

// of is the series of a sensor, begun where there is none yet.
func (b *book) of(site gauge.Site, q gauge.Quantity, sensor string, statistic gauge.Statistic) *series {
	key := seriesKey{site, q, sensor, statistic}
	s := b.places[key]
	if s == nil {
		s = &series{Series: gauge.Series{Site: site, Quantity: q, Sensor: sensor, Statistic: statistic}, limits: limitsOf(q)}
		b.places[key] = s
		b.series = append(b.series, s)
		if g := b.known[site]; g != nil {
			g.Measures = with(g.Measures, q)
		}
	}
	return s
}

// limits are the values that a river can have, in storage units. The highest flow ever measured is near 300,000 m³/s.
type limits struct{ least, most float64 }

func limitsOf(q gauge.Quantity) limits {
	switch q {
	case gauge.Flow:
		return limits{-400_000, 400_000}
	case gauge.Stage:
		return limits{-50, 100}
	}
	return limits{-5, 45}
}

// add takes a reading, its value in the storage unit and NaN where there is none.
//
// A flow below zero is real where the tide turns a river, but isn't what comes down it: it is kept as suspect, so that no
// session takes it. So is a value that no river has, without the value.
func (b *book) add(s *series, at time.Time, v float64, f gauge.Flags, place func() string) error {
	if at.Before(b.least) || at.After(b.latest) {
		return b.wrongf(place(), "%s can't be when a gauge was read; is the time right?", at.Format("2006-01-02 15:04"))
	}
	if b.taken++; b.taken > b.most {
		return b.wrongf("", "holds more than %s readings; cut it into parts, by years", thousands(b.most))
	}
	switch {
	case math.IsNaN(v):
		if f&noValue == 0 {
			f |= gauge.Missing
		}
	case v < s.limits.least || v > s.limits.most:
		if s.out++; s.out == 1 {
			s.outAt, s.outValue = place(), v
		}
		v, f = math.NaN(), f|gauge.Suspect
	case v < 0 && s.Quantity == gauge.Flow:
		f |= gauge.Suspect
		s.negative = true
	}
	s.values++
	s.Readings = append(s.Readings, gauge.Reading{At: at, Value: v, Flags: f})
	return nil
}

// noValue are the flags of which one says why a reading has no value.
const noValue = gauge.Suspect | gauge.Ice | gauge.Equipment | gauge.Dry | gauge.Missing

// gauge keeps how a provider describes a site.
func (b *book) gauge(g gauge.Gauge) {
	g.Name = clip120(printable(g.Name))
	if b.known[g.Site] != nil || g.Name == "" || !numbered(g.Number) {
		return
	}
	b.known[g.Site] = &g
	b.gauges = append(b.gauges, &g)
}

// numbered reports whether a text can be the number of a gauge.
func numbered(number string) bool {
	return number != "" && len(number) <= 80 && printable(number) == number && strings.TrimSpace(number) == number
}

// printable leaves out what no name has.
func printable(text string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, latin([]byte(text)))
}

func with(list []gauge.Quantity, q gauge.Quantity) []gauge.Quantity {
	if slices.Contains(list, q) {
		return list
	}
	return append(list, q)
}

// leave notes what is not taken.
func (b *book) leave(what string) {
	if what = strings.TrimSpace(what); what != "" && !slices.Contains(b.left, what) && len(b.left) < 50 {
		b.left = append(b.left, what)
	}
}

// unexplained notes a code beside a value that neither the file nor this program explains.
func (b *book) unexplained(code string) {
	if !slices.Contains(b.codes, code) && len(b.codes) < 20 {
		b.codes = append(b.codes, code)
	}
}

// site is that of a file, or the one that a person told where a file names none.
func (b *book) site(provider, number string) (gauge.Site, error) {
	if number != "" && provider != "" {
		return gauge.NewSite(provider, number), nil
	}
	if b.opt.Site == (gauge.Site{}) {
		return gauge.Site{}, b.unsaidf("", "does not say which gauge it is from; name it, as in usgs:01234567")
	}
	return b.opt.Site, nil
}

const noReadings = " holds no readings: there were none of flow, stage or water temperature for what was asked."

// found is all that was read.
func (b *book) found() (gauge.Found, error) {
	var f gauge.Found
	for _, s := range b.series {
		if len(s.Readings) == 0 {
			continue
		}
		if s.Sensor = clip(printable(s.Sensor)); !numbered(s.Number) {
			return gauge.Found{}, b.wrongf("", "%q is no number of a gauge", clip(s.Number))
		}
		if s.out*10 > s.values {
			return gauge.Found{}, b.wrongf(s.outAt, "%s is beyond what a river can have, and so are %s of %s values; is the unit right?", shown(s.Quantity, s.outValue), thousands(s.out), thousands(s.values))
		}
		if s.out > 0 {
			f.Notes = append(f.Notes, fmt.Sprintf("Values of %s that no river has are taken as suspect, without the value: %s, the first %s (%s).", s.Quantity, thousands(s.out), shown(s.Quantity, s.outValue), s.outAt))
		}
		if s.negative {
			f.Notes = append(f.Notes, fmt.Sprintf("Flows below zero at %s are kept as suspect, since the tide makes them: no session takes them.", s.Site))
		}
		s.Sort()
		f.Series = append(f.Series, s.Series)
	}
	if told := b.opt.Site; told != (gauge.Site{}) && len(f.Series) > 0 && !slices.ContainsFunc(f.Series, func(s gauge.Series) bool { return s.Site == told }) {
		f.Notes = append(f.Notes, fmt.Sprintf("The file says itself that it is from %s, so its readings are kept as those of that gauge and not of %s.", f.Series[0].Site, told))
	}
	for _, g := range b.gauges {
		f.Gauges = append(f.Gauges, *g)
	}
	if len(f.Series) == 0 && len(f.Gauges) == 0 {
		f.Notes = append(f.Notes, b.name+noReadings)
	}
	if len(b.left) > 0 {
		f.Notes = append(f.Notes, "Left out, since only flow, stage and water temperature are taken: "+strings.Join(b.left, "; ")+".")
	}
	if len(b.codes) > 0 {
		f.Notes = append(f.Notes, "Not explained in the file, so the values beside them are taken as they are: "+strings.Join(b.codes, ", ")+".")
	}
	f.Notes = append(append(f.Notes, b.sensors()...), b.notes...)
	return f, nil
}

// sensors tells several of one gauge apart, so that a person can choose one.
func (b *book) sensors() []string {
	var notes []string
	several := map[seriesKey][]string{}
	var order []seriesKey
	for _, s := range b.series {
		if len(s.Readings) == 0 {
			continue
		}
		key := keyOf(s.Series)
		key.sensor = ""
		if several[key] == nil {
			order = append(order, key)
		}
		name := cmp.Or(s.Sensor, "one without a name")
		if s.sensorName != "" {
			name += " (" + s.sensorName + ")"
		}
		several[key] = append(several[key], name)
	}
	for _, key := range order {
		if list := several[key]; len(list) > 1 {
			notes = append(notes, fmt.Sprintf("%s measures %s with %d sensors: %s.", key.site, key.quantity, len(list), strings.Join(list, ", ")))
		}
	}
	return notes
}

func shown(q gauge.Quantity, v float64) string {
	return fmt.Sprintf("%.6g %s", v, map[gauge.Quantity]string{gauge.Flow: "m³/s", gauge.Stage: "m", gauge.Temperature: "°C"}[q])
}
