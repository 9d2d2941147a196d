package charts

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// The rivers of these tests are invented.

var somewhere = gauge.Site{Provider: "invented", Number: "00012345"}

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// readings are what a curve gives every so many minutes from one time to another.
func readings(from, to time.Time, every time.Duration, of func(hours float64) (float64, gauge.Flags)) (list []gauge.Reading) {
	for at := from; !at.After(to); at = at.Add(every) {
		v, flags := of(at.Sub(from).Hours())
		list = append(list, gauge.Reading{At: at, Value: v, Flags: flags})
	}
	return list
}

// fished is a session of an invented river with some of everything that happens.
func fished(day journal.Date, loc *time.Location, from, hours float64) journal.Session {
	start := day.In(loc).Add(time.Duration(from * float64(time.Hour)))
	end := start.Add(time.Duration(hours * float64(time.Hour)))
	event := func(kind journal.EventKind, minute int, ending journal.Ending) journal.Event {
		return journal.Event{Kind: kind, Count: 1, Minute: &minute, Ending: ending}
	}
	half := hours * 30
	return journal.Session{Day: day, TimeZone: loc.String(), Start: &start, End: &end, Stints: []journal.Stint{
		{Minutes: &half, Events: []journal.Event{event(journal.EventHookup, 20, journal.Landed), event(journal.EventTangle, 31, ""), event(journal.EventHookup, 34, journal.Landed), event(journal.EventHookup, 80, journal.Lost)}},
		{Minutes: &half, Events: []journal.Event{event(journal.EventTangle, 3, ""), event(journal.EventHookup, 41, journal.BrokeOff), event(journal.EventSnag, 50, journal.BrokeOff), event(journal.EventHookup, 88, journal.Landed), {Kind: journal.EventTangle, Count: 1}}},
	}}
}

func rising(from float64, by float64) func(float64) (float64, gauge.Flags) {
	return func(h float64) (float64, gauge.Flags) { return from + by/(1+math.Exp(-(h-30)/4)), 0 }
}

func series(q gauge.Quantity, list []gauge.Reading) gauge.Series {
	return gauge.Series{Site: somewhere, Quantity: q, Readings: list}
}

// drawnLines are the lines of a field.
func drawnLines(f Field) (list []Layer) {
	for _, l := range f.Layers {
		if l.Shape == Line {
			list = append(list, l)
		}
	}
	return list
}

// A line never goes over more than 90 minutes in which nothing was read, and why it does not is written there.
func TestNoLineOverAGap(t *testing.T) {
	t.Parallel()
	loc := zone(t, "America/Denver")
	day := journal.Date{Year: 2026, Month: time.May, Day: 9}
	from := dayAfter(day, -1).In(loc)
	ice := func(h float64) (float64, gauge.Flags) {
		switch {
		case h > 20 && h < 26:
			return math.NaN(), gauge.Ice
		case h > 30 && h < 31:
			return math.NaN(), gauge.Missing
		}
		return 12, gauge.Flags(0)
	}
	h := River{Session: fished(day, loc, 8, 6), Now: from.AddDate(0, 0, 9), Units: units.US,
		Series: []gauge.Series{series(gauge.Flow, readings(from, from.Add(48*time.Hour), 15*time.Minute, ice))}}.Around()
	for i, f := range h.Chart.Fields {
		for _, l := range drawnLines(f) {
			for j := 1; j < len(l.Marks); j++ {
				if apart := l.Marks[j].X - l.Marks[j-1].X; apart > 90*60 {
					t.Errorf("field %d: a line over %g minutes", i, apart/60)
				}
			}
		}
	}
	if n := len(drawnLines(h.Chart.Fields[0])); n != 2 {
		t.Errorf("%d lines, want one before the ice and one after: an hour without a reading is no gap", n)
	}
	gap := marks(t, *h.Chart, Gaps)
	if len(gap) != 1 || gap[0].Label != "ice" || gap[0].Wide.Low != moment(from.Add(20*time.Hour)) || gap[0].Wide.High != moment(from.Add(26*time.Hour)) {
		t.Errorf("gaps %+v, want one of ice from 20 h to 26 h", gap)
	}
	valid(t, "a gap", *h.Chart)
}

// What comes after now is no gap, and what may still be revised is thinner.
func TestProvisionalIsThinner(t *testing.T) {
	t.Parallel()
	loc := zone(t, "Europe/Paris")
	day := journal.Date{Year: 2026, Month: time.June, Day: 14}
	from := dayAfter(day, -1).In(loc)
	h := River{Session: fished(day, loc, 8, 3), Now: from.Add(36 * time.Hour), Units: units.Metric,
		Series: []gauge.Series{series(gauge.Flow, readings(from, from.Add(36*time.Hour), time.Hour, func(h float64) (float64, gauge.Flags) {
			if h < 20 {
				return 3, gauge.Flags(0)
			}
			return 3, gauge.Provisional
		}))}}.Around()
	if len(h.Gaps) != 0 {
		t.Errorf("gaps %v, of which none is over yet", h.Gaps)
	}
	list := drawnLines(h.Chart.Fields[0])
	if len(list) != 2 || list[0].Loose || !list[1].Loose || list[0].Marks[len(list[0].Marks)-1].X != list[1].Marks[0].X {
		t.Fatalf("lines %+v, want a whole one and a thinner one that goes on where it ends", list)
	}
	_, thick, _ := list[0].stroke()
	_, thin, _ := list[1].stroke()
	if thin >= thick || h.Flags&gauge.Provisional == 0 || !h.Final {
		t.Errorf("%g px for what is provisional and %g for the rest", thin, thick)
	}
	valid(t, "provisional", *h.Chart)
}

// The axis follows the water's own clock. The days are those of the tz database: in 2026 clocks went back on 1 November in
// Denver and forward on 29 March in Paris; in Santiago 6 September began at one o'clock.
func TestAxisOnDaysThatAreNot24Hours(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		zone  string
		day   journal.Date
		whole float64 // hours of both days
		ticks map[string]float64
	}{
		{"America/Denver", journal.Date{Year: 2026, Month: time.November, Day: 1}, 49, map[string]float64{"00:00": 24, "06:00": 31, "12:00": 37, "18:00": 43}},
		{"Europe/Paris", journal.Date{Year: 2026, Month: time.March, Day: 29}, 47, map[string]float64{"00:00": 24, "06:00": 29, "12:00": 35, "18:00": 41}},
		{"America/Santiago", journal.Date{Year: 2026, Month: time.September, Day: 6}, 47, map[string]float64{"06:00": 29, "12:00": 35, "18:00": 41}},
	} {
		loc := zone(t, c.zone)
		from := dayAfter(c.day, -1).In(loc)
		h := River{Session: fished(c.day, loc, 8, 3), Now: from.AddDate(0, 0, 9), Units: units.Metric,
			Series: []gauge.Series{series(gauge.Flow, readings(from, from.Add(72*time.Hour), time.Hour, rising(4, 1)))}}.Around()
		x := h.Chart.Fields[0].X
		if got := (x.To - x.From) / 3600; got != c.whole {
			t.Errorf("%s: the axis has %g hours, want %g", c.zone, got, c.whole)
		}
		for text, hours := range c.ticks {
			found := false
			for _, tick := range x.Ticks {
				found = found || tick.Text == text && tick.At == moment(from)+3600*hours
			}
			if !found {
				t.Errorf("%s: no %s at %g hours among %v", c.zone, text, hours, x.Ticks)
			}
		}
		for i, tick := range x.Ticks {
			if at := time.Unix(int64(tick.At), 0).In(loc); at.Format("15:04") != tick.Text || i > 0 && tick.At <= x.Ticks[i-1].At {
				t.Errorf("%s: %s stands at %v", c.zone, tick.Text, at)
			}
		}
		valid(t, c.zone, *h.Chart)
	}
}

// The units are those people chose, by the exact factors of NIST SP 811 (1 ft³ = 0.028316846592 m³; °F = 1.8 °C + 32).
func TestHydrographIsInThePersonsUnits(t *testing.T) {
	t.Parallel()
	loc := zone(t, "America/Denver")
	day := journal.Date{Year: 2026, Month: time.May, Day: 9}
	from := dayAfter(day, -1).In(loc)
	still := func(v float64) []gauge.Reading {
		return readings(from, from.Add(48*time.Hour), time.Hour, func(float64) (float64, gauge.Flags) { return v, 0 })
	}
	r := River{Session: fished(day, loc, 8, 6), Now: from.AddDate(0, 0, 9), Units: units.US, Series: []gauge.Series{series(gauge.Temperature, still(10)), series(gauge.Flow, still(0.28316846592))}}
	h := r.Around()
	f := h.Chart.Fields
	if len(f) != 3 || f[0].Y.Title != "Flow, cfs" || f[1].Y.Title != "Water, °F" || math.Abs(drawnLines(f[0])[0].Marks[0].Y-10) > 1e-9 || math.Abs(drawnLines(f[1])[0].Marks[0].Y-50) > 1e-9 {
		t.Errorf("10 cfs and 50 °F are drawn at %v and %v under %q and %q", drawnLines(f[0])[0].Marks[0].Y, drawnLines(f[1])[0].Marks[0].Y, f[0].Y.Title, f[1].Y.Title)
	}
	if f[0].Y.From != 0 || f[0].Y.Log {
		t.Errorf("the axis of flow goes from %g: a change is not to look larger than it was", f[0].Y.From)
	}
	r.Units = units.Metric
	if y := r.Around().Chart.Fields[0].Y; y.Title != "Flow, m³/s" || y.To > 1 {
		t.Errorf("0.283 m³/s on an axis up to %g, %q", y.To, y.Title)
	}
	r.Series = []gauge.Series{series(gauge.Stage, still(1.2)), series(gauge.Temperature, still(10))}
	if y := r.Around().Chart.Fields[0].Y; y.Title != "Stage, m" || y.To-y.From < leastStage {
		t.Errorf("a stage that does not move on an axis from %g to %g, %q", y.From, y.To, y.Title)
	}
}

// Between the greatest and least ten times and more apart, the axis is logarithmic. A peak of one minute is drawn.
func TestFloodsAreDrawnWhole(t *testing.T) {
	t.Parallel()
	loc := zone(t, "Europe/London")
	day := journal.Date{Year: 2026, Month: time.January, Day: 20}
	from := dayAfter(day, -1).In(loc)
	list := readings(from, from.Add(48*time.Hour), time.Minute, func(float64) (float64, gauge.Flags) { return 2, 0 })
	list[1234].Value = 300
	h := River{Session: fished(day, loc, 8, 6), Now: from.AddDate(0, 0, 9), Units: units.Metric, Series: []gauge.Series{series(gauge.Flow, list)}}.Around()
	most, points := 0.0, 0
	for _, l := range drawnLines(h.Chart.Fields[0]) {
		points += len(l.Marks)
		for _, m := range l.Marks {
			most = math.Max(most, m.Y)
		}
	}
	if !h.Log || math.Abs(most-300) > 1e-9 || points > 2*riverParts+2 {
		t.Errorf("up to %g in %d points, logarithmic: %t; want 300 in %d at most", most, points, h.Log, 2*riverParts+2)
	}
	valid(t, "a flood", *h.Chart)
}

// What happens stands at its minute, that of a later stint after the ones before it. What has no minute is not drawn.
func TestWhatHappensStandsAtItsTime(t *testing.T) {
	t.Parallel()
	loc := zone(t, "America/Denver")
	day := journal.Date{Year: 2026, Month: time.May, Day: 9}
	s := fished(day, loc, 8, 6)
	h := River{Session: s, Now: day.In(loc).AddDate(0, 0, 9), Units: units.US, Series: []gauge.Series{series(gauge.Flow, readings(day.In(loc), day.In(loc).Add(24*time.Hour), 15*time.Minute, rising(9, 4)))}}.Around()
	f := h.Chart.Fields[len(h.Chart.Fields)-1]
	got := map[string][]float64{}
	for _, l := range f.Layers {
		for _, m := range l.Marks {
			if l.Shape == Points && m.Look != "" {
				got[m.Look] = append(got[m.Look], (m.X-moment(*s.Start))/60)
				if y := f.Y.at(m.Y); y < 0.6 || y > 1 {
					t.Errorf("%s is drawn at %g of the height, among the line", m.Name, y)
				}
			}
		}
	}
	want := map[string][]float64{LookLanded: {20, 34, 268}, LookLost: {80}, LookTangle: {31, 183}, LookBroke: {221, 230}}
	for look, minutes := range want {
		if !slices.Equal(got[look], minutes) {
			t.Errorf("%s at minutes %v, want %v", look, got[look], minutes)
		}
	}
	if len(h.Chart.Key) != 4 {
		t.Errorf("keys %v, want one for each mark", h.Chart.Key)
	}
	s.Start, s.End = nil, nil
	bare := River{Session: s, Now: day.In(loc).AddDate(0, 0, 9), Series: []gauge.Series{h.Main}}.Around()
	if n := len(bare.Chart.Fields); n != 1 || marks(t, *bare.Chart, Spells)[0].Label != "Day of the session" {
		t.Errorf("%d fields of a session without times, want its day alone", n)
	}
	valid(t, "what happens", *h.Chart)
}

// The pale band is what Usual has for each day, of daily means alone a week is drawn, and of nothing nothing.
func TestWhatIsUsualAndWhatIsNot(t *testing.T) {
	t.Parallel()
	loc := zone(t, "America/Denver")
	day := journal.Date{Year: 2026, Month: time.May, Day: 9}
	var past []gauge.Reading
	for year := 2010; year < 2026; year++ {
		past = append(past, readings(time.Date(year, 4, 20, 0, 0, 0, 0, time.UTC), time.Date(year, 5, 20, 0, 0, 0, 0, time.UTC), 24*time.Hour, func(h float64) (float64, gauge.Flags) { return float64(year - 2000), 0 })...)
	}
	daily := gauge.Series{Site: somewhere, Quantity: gauge.Flow, Statistic: gauge.DailyMean, Readings: past}
	usual := gauge.NewUsual(daily, day.In(loc))
	daily.Readings = append(daily.Readings, readings(time.Date(2026, 4, 20, 0, 0, 0, 0, time.UTC), time.Date(2026, 5, 20, 0, 0, 0, 0, time.UTC), 24*time.Hour, func(h float64) (float64, gauge.Flags) { return 20 + h/24, 0 })...)
	r := River{Session: fished(day, loc, 8, 6), Usual: usual, Now: day.In(loc).AddDate(0, 1, 0), Units: units.Metric, Series: []gauge.Series{daily}}
	h := r.Around()
	q, _ := usual.Quantiles(day.In(time.UTC), 25, 75)
	washes := marks(t, *h.Chart, Washes)
	if h.Years != 16 || len(washes) != daysBefore+daysAfter+1 || *washes[0].Upright != (Span{q[0], q[1]}) {
		t.Errorf("%d years, %d days, the first %v; want 16, %d and %v", h.Years, len(washes), washes[0].Upright, daysBefore+daysAfter+1, q)
	}
	line := drawnLines(h.Chart.Fields[0])
	if len(line) != 1 || !line[0].Step || line[0].Marks[0].X != moment(h.From) || line[0].Marks[len(line[0].Marks)-1].X != moment(h.To) {
		t.Errorf("daily means are %d lines, want steps through whole days", len(line))
	}
	valid(t, "daily means", *h.Chart)
	r.Session.Day = journal.Date{Year: 2027, Month: time.May, Day: 9}
	if r.Around().Chart != nil {
		t.Error("a drawing of nothing")
	}
}

// The smallest drawing is under 200 bytes, flat where the river is steady, and none where little is known.
func TestSpark(t *testing.T) {
	t.Parallel()
	from := time.Date(2026, time.May, 9, 10, 0, 0, 0, time.UTC)
	to := from.Add(24 * time.Hour)
	drawn := string(Spark(series(gauge.Flow, readings(from, to, 15*time.Minute, rising(9, 4))), from, to))
	if len(drawn) == 0 || len(drawn) > 200 || strings.Contains(drawn, "NaN") {
		t.Errorf("%d bytes: %s", len(drawn), drawn)
	}
	flat := string(Spark(series(gauge.Flow, readings(from, to, time.Hour, func(h float64) (float64, gauge.Flags) { return 9 + 0.001*h, 0 })), from, to))
	if strings.ContainsAny(flat[strings.Index(flat, "l "):strings.Index(flat, `"/>`)], "-13456789") {
		t.Errorf("steady water is drawn as %s", flat)
	}
	if drawn := Spark(series(gauge.Flow, readings(from, from.Add(2*time.Hour), time.Hour, rising(9, 4))), from, to); drawn != "" {
		t.Errorf("three hours are drawn as %s", drawn)
	}
}

// Each day fished stands at its flow, or hollow at the foot where that is not known; a water without flow is left out.
func TestSeasonRivers(t *testing.T) {
	t.Parallel()
	first := time.Date(2026, time.April, 1, 0, 0, 0, 0, time.UTC)
	daily := gauge.Series{Site: somewhere, Quantity: gauge.Flow, Statistic: gauge.DailyMean, Readings: readings(first, first.AddDate(0, 2, 0), 24*time.Hour, func(h float64) (float64, gauge.Flags) { return 3 + h/480, 0 })}
	days := []journal.Date{{Year: 2026, Month: time.April, Day: 11}, {Year: 2026, Month: time.September, Day: 2}}
	c := SeasonRivers([]SeasonRiver{{Water: "Oxbow", Daily: daily, Days: days}, {Water: "Lower Meadow", Days: days}}, 2026, time.April, time.September, units.Metric)
	if len(c.Fields) != 1 || c.Fields[0].Y.Title != "Oxbow: flow, m³/s" {
		t.Fatalf("%d fields, want that of Oxbow alone", len(c.Fields))
	}
	at := marks(t, *c, Points)
	if at[0].Y != 3.5 || at[0].Look != LookLanded || at[1].Y != 0 || at[1].Look != LookLost {
		t.Errorf("days fished are %+v", at)
	}
	if gap := marks(t, *c, Gaps); len(gap) != 1 || gap[0].Wide.Low != moment(first.AddDate(0, 2, 1)) {
		t.Errorf("gaps %+v, want one from 2 June", gap)
	}
	valid(t, "season", *c)
	if SeasonRivers([]SeasonRiver{{Water: "Lower Meadow", Days: days}}, 2026, time.April, time.September, units.Metric) != nil {
		t.Error("a drawing of nothing")
	}
}
