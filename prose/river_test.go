package prose

import (
	"math"
	"testing"
	"time"

	"rigtally/internal/units"
	"rigtally/journal/gauge"
)

// The rivers are invented; how much is called rising or falling is gauge.TrendOf's.
func TestRiverDuring(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, time.May, 9, 8, 0, 0, 0, time.UTC)
	hourly := func(q gauge.Quantity, values ...float64) gauge.Series {
		s := gauge.Series{Quantity: q}
		for i, v := range values {
			s.Readings = append(s.Readings, gauge.Reading{At: start.Add(time.Duration(i) * time.Hour), Value: v})
		}
		return s
	}
	none := math.NaN()
	for want, s := range map[string]gauge.Series{
		"During the session flow rose from 10 m³/s to 14 m³/s.":                                                 hourly(gauge.Flow, 10, 11, 12, 13, 14),
		"During the session flow fell from 10 m³/s to 7 m³/s.":                                                  hourly(gauge.Flow, 10, 9, 9, 8, 7),
		"During the session flow stayed at 10 m³/s.":                                                            hourly(gauge.Flow, 10, 10, 10, 10, 10),
		"During the session flow was 10 m³/s at its start and at its end, and was 30 m³/s at 10:00 in between.": hourly(gauge.Flow, 10, 10, 30, 10, 10),
		"During the session flow was steady, from 10 m³/s to 10.4 m³/s.":                                        hourly(gauge.Flow, 10, 10, 10, 10, 10.4),
		"During the session flow went from 10 m³/s to 10.4 m³/s, and was 30 m³/s at 10:00 in between.":          hourly(gauge.Flow, 10, 10, 30, 10, 10.4),
		"During the session stage rose from 1 m to 1.04 m.":                                                     hourly(gauge.Stage, 1, 1, 1, 1, 1.04),
		"During the session water temperature changed little, from 10 °C to 10.9 °C.":                           hourly(gauge.Temperature, 10, 10, 10, 10, 10.9),
		"During the session water temperature rose from 10 °C to 11 °C.":                                        hourly(gauge.Temperature, 10, 10, 10, 10, 11),
		"During the session flow was 10 m³/s at its start, without a reading within 90 minutes of its end.":     hourly(gauge.Flow, 10, none, none, none, none),
		"During the session flow was 7 m³/s at its end, without a reading within 90 minutes of its start.":      hourly(gauge.Flow, none, none, none, none, 7),
		"During the session no reading of flow was within 90 minutes of its start or end.":                      hourly(gauge.Flow, none, none, 10, none, none),
	} {
		if got := RiverDuring([]gauge.Series{s}, start, start.Add(4*time.Hour), time.UTC, units.Metric); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	daily := hourly(gauge.Flow, 3)
	daily.Statistic = gauge.DailyMean
	for want, s := range map[string]gauge.Series{
		"On that day flow was between 7 m³/s and 10 m³/s.":       hourly(gauge.Flow, 10, none, 7),
		"On that day flow was 3 m³/s on average.":                daily,
		"On that day there was no reading of water temperature.": hourly(gauge.Temperature, none),
	} {
		if got := RiverOnDay([]gauge.Series{s}, start, start.Add(4*time.Hour), units.Metric); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestRiverGapsAndClocks(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	at := func(day, hour int) time.Time { return time.Date(2026, time.November, day, hour, 0, 0, 0, loc) }
	got := RiverGaps([]gauge.Gap{{From: at(1, 4), To: at(1, 9), Flags: gauge.Ice}, {From: at(1, 22), To: at(2, 1)}}, loc, false)
	if want := "No readings from 1 Nov 04:00 to 09:00 (ice) and 1 Nov 22:00 to 2 Nov 01:00."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := ClocksChanged(at(1, 0), at(3, 0), loc), "The clocks went back on 1 November: that day has 25 hours."; got != want { // tz database
		t.Errorf("%q, want %q", got, want)
	}
	if got := ClocksChanged(at(2, 0), at(4, 0), loc); got != "" {
		t.Errorf("of days of 24 hours: %q", got)
	}
}
