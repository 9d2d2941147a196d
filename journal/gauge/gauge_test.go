package gauge

import (
	"math"
	"testing"
	"time"
)

// Gauges, sites and readings here are invented, but for those named to be R's.

const minute = time.Minute

// noon is that of an invented day.
var noon = time.Date(2026, 5, 3, 12, 0, 0, 0, time.UTC)

// series has a reading at each of the times after noon.
func series(q Quantity, after map[time.Duration]float64) Series {
	s := Series{Site: Site{"usgs", "01234567"}, Quantity: q}
	for d, v := range after {
		s.Readings = append(s.Readings, Reading{At: noon.Add(d), Value: v})
	}
	s.Sort()
	return s
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(1, math.Abs(b)) }

func TestAt(t *testing.T) {
	t.Parallel()
	hour := series(Flow, map[time.Duration]float64{-30 * minute: 10, 30 * minute: 14})
	with := func(s Series, r ...Reading) Series {
		s.Readings = append(append([]Reading{}, s.Readings...), r...)
		s.Sort()
		return s
	}
	for _, c := range []struct {
		name    string
		s       Series
		at      time.Duration
		value   float64 // NaN for none
		stands  time.Duration
		between bool
	}{
		{"between two", hour, 0, 12, 0, true},
		{"nearer to the second", hour, 15 * minute, 13, 15 * minute, true},
		{"on a reading", hour, 30 * minute, 14, 30 * minute, false},
		{"90 minutes after the last", hour, 120 * minute, 14, 30 * minute, false},
		{"more than that", hour, 121 * minute, math.NaN(), 0, false},
		{"90 minutes before the first", hour, -120 * minute, 10, -30 * minute, false},
		{"more than that", hour, -121 * minute, math.NaN(), 0, false},
		{"two too far apart for the moment to reach both", series(Flow, map[time.Duration]float64{-80 * minute: 1, 100 * minute: 3}), 0, 1, -80 * minute, false},
		{"within reach of both, three hours apart", series(Flow, map[time.Duration]float64{-90 * minute: 1, 90 * minute: 3}), 0, 2, 0, true},
		{"nothing", series(Flow, nil), 0, math.NaN(), 0, false},
		{"one on the moment that nobody may take", with(hour, Reading{noon, 99, Suspect}), 0, 12, 0, true},
		{"one before it that nobody may take", with(hour, Reading{noon.Add(-15 * minute), 99, Suspect}), 0, 12, 0, true},
		{"one without a value", with(hour, Reading{noon, math.NaN(), Ice}), 0, 12, 0, true},
		{"one beyond what can be measured after it", with(series(Flow, map[time.Duration]float64{-30 * minute: 10}), Reading{noon.Add(15 * minute), 99, Censored}), 0, 10, -30 * minute, false},
	} {
		r, between, ok := c.s.At(noon.Add(c.at))
		switch {
		case ok == math.IsNaN(c.value):
			t.Errorf("%s: %v, %t", c.name, r, ok)
		case ok && (!near(r.Value, c.value) || !r.At.Equal(noon.Add(c.stands)) || between != c.between):
			t.Errorf("%s: %g at %s, between %t", c.name, r.Value, r.At, between)
		}
	}
	flagged := series(Flow, map[time.Duration]float64{-30 * minute: 10, 30 * minute: 14})
	flagged.Readings[0].Flags, flagged.Readings[1].Flags = Provisional, Estimated
	if r, _, _ := flagged.At(noon); r.Flags != Provisional|Estimated {
		t.Errorf("between two: flags %v", r.Flags.Words())
	}
	hour.Statistic = DailyMean
	if _, _, ok := hour.At(noon); ok {
		t.Error("a daily mean stands for a moment")
	}
}

func TestSortKeepsTheLastOfATime(t *testing.T) {
	t.Parallel()
	s := Series{Readings: []Reading{{At: noon, Value: 1}, {At: noon.Add(-time.Hour), Value: 2}, {At: noon, Value: 3}}}
	s.Sort()
	if len(s.Readings) != 2 || s.Readings[0].Value != 2 || s.Readings[1].Value != 3 {
		t.Errorf("%v", s.Readings)
	}
	if got := s.Between(noon.Add(-time.Hour), noon); len(got) != 2 {
		t.Errorf("both ends belong to a time: %v", got)
	}
	if got := s.Between(noon, noon.Add(-time.Hour)); len(got) != 0 {
		t.Errorf("a time that ends before it begins has %v", got)
	}
}

// hourly has a reading each quarter of an hour from a time up to another: the hours since the first.
func hourly(from, to time.Time) Series {
	s := Series{Quantity: Temperature}
	for at := from; at.Before(to); at = at.Add(15 * minute) {
		s.Readings = append(s.Readings, Reading{At: at, Value: float64(at.Sub(from) / time.Hour)})
	}
	return s
}

// On the days when clocks change, Denver's day has 23 and 25 hours (IANA time zone database: 8 March and 1 November 2026).
func TestDaysOf23And25Hours(t *testing.T) {
	t.Parallel()
	denver, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		month time.Month
		day   int
		hours float64
	}{{time.March, 8, 23}, {time.November, 1, 25}, {time.May, 3, 24}} {
		from, to := time.Date(2026, c.month, c.day, 0, 0, 0, 0, denver), time.Date(2026, c.month, c.day+1, 0, 0, 0, 0, denver)
		if got := to.Sub(from).Hours(); got != c.hours {
			t.Fatalf("%s %d has %g hours", c.month, c.day, got)
		}
		s := hourly(from, to.Add(48*time.Hour)) // higher on the days after
		if r, ok := s.Mean(from, to); !ok || !near(r.Value, (c.hours-1)/2) || !r.At.Equal(from) {
			t.Errorf("%g hours: mean %v, %t", c.hours, r, ok)
		}
		if r, ok := s.Peak(from, to); !ok || r.Value != c.hours-1 {
			t.Errorf("%g hours: peak %v, %t", c.hours, r, ok)
		}
		// Two thirds of the hours, and one fewer.
		most := time.Duration(math.Ceil(c.hours*2/3)) * time.Hour
		for gap, want := range map[time.Duration]bool{most: true, most - time.Hour: false} {
			part := hourly(from, from.Add(gap))
			_, mean := part.Mean(from, to)
			_, peak := part.Peak(from, to)
			if mean != want || peak != want {
				t.Errorf("%g hours, readings through %s: mean %t, peak %t, want %t", c.hours, gap, mean, peak, want)
			}
		}
	}
}

func TestAMeanIsOfHoursNotOfReadings(t *testing.T) {
	t.Parallel()
	s := Series{Quantity: Flow}
	for h := range 24 {
		value := 10.0
		if h < 12 { // read once an hour
			value = 20
		}
		for m := range 12 {
			if h >= 12 || m == 0 {
				s.Readings = append(s.Readings, Reading{At: noon.Add(time.Duration(h)*time.Hour + time.Duration(m)*5*minute), Value: value})
			}
		}
	}
	s.Readings[3].Value, s.Readings[3].Flags = 1e6, Suspect
	if r, ok := s.Mean(noon, noon.Add(24*time.Hour)); !ok || !near(r.Value, (11*20.0+12*10)/23) {
		t.Errorf("mean %v, %t", r, ok)
	}
	if r, _ := s.Peak(noon, noon.Add(24*time.Hour)); r.Value != 20 {
		t.Errorf("a suspect reading is the peak: %v", r)
	}
	if _, ok := s.Mean(noon, noon); ok {
		t.Error("no time has a mean")
	}
}

// lengths are rivers[1:40] of R's package datasets: each stands for the flow of one year on one day.
var lengths = []float64{735, 320, 325, 392, 524, 450, 1459, 135, 465, 600, 330, 336, 280, 315, 870, 906, 202, 329, 290, 1000,
	600, 505, 1450, 840, 1243, 890, 350, 407, 286, 280, 525, 720, 390, 250, 327, 230, 265, 850, 210, 630}

// usualOf has a value a year on the day of noon, from 1950 on.
func usualOf(values []float64) Usual {
	s := Series{Quantity: Flow, Statistic: DailyMean}
	for i, v := range values {
		s.Readings = append(s.Readings, Reading{At: time.Date(1950+i, 5, 3, 0, 0, 0, 0, time.UTC), Value: v})
	}
	return NewUsual(s, noon)
}

// R 4.2.2:
//
//	x <- rivers[1:40]; n <- length(x)
//	quantile(x, p/100, type = 6)
//	if (any(x == q)) 100*mean(rank(x)[x == q])/(n+1) else 100*uniroot(function(p) quantile(x, p, type = 6) - q, c(1/(n+1), n/(n+1)), tol = 1e-15)$root
func TestPercentilesAreRsQuantilesOfType6(t *testing.T) {
	t.Parallel()
	u := usualOf(lengths)
	for p, want := range map[float64]float64{1: 135, 2.439: 135, 5: 202.4, 10: 232, 12.3: 250.645, 25: 296.25, 33.3: 326.306, 50: 399.5, 72: 676.8, 75: 731.25, 90: 990.6, 95: 1439.65, 99: 1459} {
		if got, ok := u.Quantiles(noon, p); !ok || !near(got[0], want) {
			t.Errorf("quantile %g%%: %v, want %g", p, got, want)
		}
	}
	for v, want := range map[float64]float64{135: 2.43902439, 136: 2.475427739, 202: 4.87804878, 280: 18.29268293, 285: 21.54471545, 320: 29.26829268, 333: 40.24390244, 400: 50.08130081,
		449.5: 53.63017584, 600: 67.07317073, 601: 68.37398374, 1000: 90.24390244, 1459: 97.56097561} {
		if got, years, ok := u.Percentile(noon, v); !ok || years != 40 || math.Abs(got-want) > 0.005+1e-9 {
			t.Errorf("%g is at %.10g%% of %d years, want %.10g", v, got, years, want)
		}
	}
	// Beyond the least and the greatest more is not known.
	for v, want := range map[float64]float64{0: 100.0 / 41, 1e6: 4000.0 / 41} {
		if got, _, ok := u.Percentile(noon, v); !ok || math.Abs(got-want) > 0.005+1e-9 {
			t.Errorf("%g is at %g%%", v, got)
		}
	}
	// Between values that differ the one undoes the other.
	for p := 3.0; p < 97; p += 0.7 {
		v, _ := u.Quantiles(noon, p)
		if got, _, _ := u.Percentile(noon, v[0]); math.Abs(got-p) > 0.005+1e-9 && v[0] != 280 && v[0] != 600 {
			t.Errorf("%g%% is %g, which is at %g%%", p, v[0], got)
		}
	}
	if _, _, ok := u.Percentile(noon, math.NaN()); ok {
		t.Error("what was not measured has a percentile")
	}
}

func TestWhatIsUsual(t *testing.T) {
	t.Parallel()
	for years, want := range map[int]bool{LeastYears - 1: false, LeastYears: true} {
		u := usualOf(lengths[:years])
		_, n, ok := u.Percentile(noon, 300)
		if _, quantiles := u.Quantiles(noon, 50); ok != want || quantiles != want || n != years {
			t.Errorf("of %d years: %t, %t, %d", years, ok, quantiles, n)
		}
		if _, _, ok := u.Percentile(noon.AddDate(0, 0, 1), 300); ok {
			t.Error("the next day is another one")
		}
	}
	s := Series{Quantity: Flow, Statistic: DailyMean}
	for year := 2010; year <= 2026; year++ {
		for day := 27; day <= 29; day++ {
			at := time.Date(year, 2, day, 0, 0, 0, 0, time.UTC)
			if at.Month() == time.February {
				s.Readings = append(s.Readings, Reading{At: at, Value: float64(day*100 + year - 2010)})
			}
		}
	}
	s.Readings[0].Value, s.Readings[0].Flags = math.NaN(), Ice
	u := NewUsual(s, noon)
	for day, want := range map[int]int{27: 15, 28: 16, 29: 16} { // of 2010 the first is missing, and nothing is usual of 2026 yet
		if _, years, _ := u.Percentile(time.Date(2028, 2, day, 0, 0, 0, 0, time.UTC), 2800); years != want {
			t.Errorf("29 February is held against the 28th: on the %dth %d years", day, years)
		}
	}
	s.Statistic = Instant
	if _, years, _ := NewUsual(s, noon).Percentile(noon, 1); years != 0 {
		t.Error("readings of a moment are no daily means")
	}
}

func TestTrendOf(t *testing.T) {
	t.Parallel()
	two, three := 2.0, 2.03
	for _, c := range []struct {
		q      Quantity
		change float64
		want   Trend
	}{
		{Flow, 0.10, Rising}, {Flow, 0.0999, Steady}, {Flow, 0, Steady}, {Flow, -0.09, Steady}, {Flow, 1/1.1 - 1, Falling}, {Flow, 0.11/0.1 - 1, Rising},
		{Stage, 0.03, Rising}, {Stage, three - two, Rising}, {Stage, 0.029, Steady}, {Stage, -0.0295, Steady}, {Stage, two - three, Falling}, {Temperature, 5, ""},
	} {
		if got := TrendOf(c.q, &c.change); got != c.want {
			t.Errorf("%s by %g is %q, want %q", c.q, c.change, got, c.want)
		}
	}
	if got := TrendOf(Flow, nil); got != "" {
		t.Errorf("what is not known is %q", got)
	}
}

func TestTake(t *testing.T) {
	t.Parallel()
	day := time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC)
	outing := Outing{Middle: noon, Day: day, NextDay: day.AddDate(0, 0, 1), Calendar: day}
	untimed := Outing{Day: day, NextDay: day.AddDate(0, 0, 1), Calendar: day}
	flow := series(Flow, map[time.Duration]float64{-24 * time.Hour: 500, -6 * time.Hour: 320, 0: 400})
	f, ok := Take(outing, Flow, []Series{flow}, usualOf(lengths))
	if !ok || f.Value != 400 || f.Between || f.WholeDay || f.Years != 40 || *f.Percentile != 50.08 || !near(*f.Change6H, 0.25) || !near(*f.Change24H, -0.2) || f.Peak != nil {
		t.Errorf("flow: %+v", f)
	}
	// A second sensor is asked where the first has nothing; what it has not known for so long has no trend.
	other := series(Flow, map[time.Duration]float64{15 * minute: 12})
	other.Sensor = "second"
	if f, ok := Take(outing, Flow, []Series{series(Flow, map[time.Duration]float64{-10 * time.Hour: 1}), other}, Usual{}); !ok || f.Sensor != "second" || !f.At.Equal(noon.Add(15*minute)) || f.Change6H != nil || f.Percentile != nil {
		t.Errorf("second sensor: %+v, %t", f, ok)
	}
	if f, ok := Take(outing, Flow, []Series{series(Flow, map[time.Duration]float64{-6 * time.Hour: 0, 0: 4})}, Usual{}); !ok || f.Change6H != nil {
		t.Errorf("a flow that was none has no share: %+v", f)
	}
	stage := series(Stage, map[time.Duration]float64{-6 * time.Hour: 1.2, 0: 1.25, -24 * time.Hour: 1.3})
	if f, ok := Take(outing, Stage, []Series{flow, stage}, usualOf(lengths)); !ok || !near(*f.Change6H, 0.05) || !near(*f.Change24H, -0.05) || f.Percentile != nil {
		t.Errorf("stage: %+v, %t", f, ok)
	}
	water := hourly(day, day.AddDate(0, 0, 2))
	if f, ok := Take(outing, Temperature, []Series{water}, Usual{}); !ok || f.Value != 12 || f.Peak == nil || *f.Peak != 23 || f.Change6H != nil {
		t.Errorf("temperature: %+v, %t", f, ok)
	}
	// Without times the whole day counts, of readings or of the agency's mean, and there is no trend.
	if f, ok := Take(untimed, Temperature, []Series{water}, Usual{}); !ok || !near(f.Value, 11.5) || !f.WholeDay || *f.Peak != 23 || !f.At.Equal(day) {
		t.Errorf("temperature of a day: %+v, %t", f, ok)
	}
	means := Series{Quantity: Flow, Statistic: DailyMean, Readings: []Reading{{At: day.AddDate(0, 0, -1), Value: 1}, {At: day, Value: 350, Flags: Provisional}}}
	if f, ok := Take(untimed, Flow, []Series{flow, means}, usualOf(lengths)); !ok || f.Value != 350 || !f.WholeDay || !f.Provisional() || f.Change6H != nil || *f.Percentile != 43.9 {
		t.Errorf("flow of a day: %+v, %t", f, ok) // 350 is the 18th of 40
	}
	if f, ok := Take(outing, Flow, []Series{means}, Usual{}); ok {
		t.Errorf("a daily mean for a moment: %+v", f)
	}
	if f, ok := Take(untimed, Flow, []Series{flow}, Usual{}); ok {
		t.Errorf("three readings for a day: %+v", f)
	}
	// The agency's mean of a day stands at the beginning of that day at the water.
	denver := time.FixedZone("", -6*3600)
	west := Outing{Day: time.Date(2026, 5, 3, 0, 0, 0, 0, denver), NextDay: time.Date(2026, 5, 4, 0, 0, 0, 0, denver), Calendar: day}
	if f, ok := Take(west, Flow, []Series{means}, Usual{}); !ok || f.Value != 350 || !f.At.Equal(west.Day) {
		t.Errorf("west of UTC: %+v, %t", f, ok)
	}
	// Calendar days of the water, not of UTC.
	tokyo := time.FixedZone("", 9*3600)
	local := time.Date(2026, 5, 3, 0, 0, 0, 0, tokyo)
	east := Outing{Day: local, NextDay: local.AddDate(0, 0, 1), Calendar: day}
	if f, ok := Take(east, Temperature, []Series{hourly(local, local.AddDate(0, 0, 3))}, Usual{}); !ok || *f.Peak != 23 || !near(f.Value, 11.5) {
		t.Errorf("east of UTC: %+v, %t", f, ok)
	}
}

func FuzzPercentile(f *testing.F) {
	f.Add(300.0, uint8(40))
	f.Add(-1.0, uint8(10))
	f.Fuzz(func(t *testing.T, v float64, n uint8) {
		u := usualOf(lengths[:min(int(n), len(lengths))])
		percent, years, ok := u.Percentile(noon, v)
		if ok != (years >= LeastYears && !math.IsNaN(v)) {
			t.Fatalf("%g of %d years: %t", v, years, ok)
		}
		if ok && (percent < 100/float64(years+1)-0.006 || percent > 100*float64(years)/float64(years+1)+0.006) {
			t.Fatalf("%g of %d years is at %g%%", v, years, percent)
		}
		if more, _, _ := u.Percentile(noon, math.Nextafter(v, math.Inf(1))); ok && !math.IsNaN(more) && more < percent-1e-9 {
			t.Fatalf("more than %g is at %g%%, less than %g%%", v, more, percent)
		}
	})
}
