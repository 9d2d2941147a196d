package facts

import (
	"math"
	"testing"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// What gauges tell is known of the sessions it was told of, whichever facts it came with, and of no others.
func TestFactsKeepWhatGaugesTell(t *testing.T) {
	t.Parallel()
	angler, water := journal.Angler{ID: journal.NewID()}, journal.Water{ID: journal.NewID()}
	var ids []journal.ID
	for range 7 {
		ids = append(ids, journal.NewID())
	}
	told := func(old *Facts, revision int64, percentiles map[int]float64, sessions ...int) *Facts {
		t.Helper()
		b := NewBuilder(old)
		b.People([]journal.Angler{angler}, []journal.Water{water})
		for _, i := range sessions {
			s := Session{ID: ids[i], Angler: angler.ID, Water: water.ID, Day: journal.Date{Year: 2026, Month: 5, Day: 1 + i}, TimeZone: "UTC",
				FlowM3S: math.NaN(), WaterTempC: math.NaN(), DepthM: math.NaN(), VelocityMS: math.NaN(), FlowPercentile: math.NaN(), TempPeakC: math.NaN()}
			if p, ok := percentiles[i]; ok {
				s.FlowPercentile, s.TempPeakC, s.Trend6H, s.Trend24H = p, p/10, gauge.Rising, gauge.Falling
			}
			b.Session(s)
		}
		f, err := b.Facts(revision)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	check := func(f *Facts, want map[int]float64, sessions int) {
		t.Helper()
		season := f.Season(2026)
		if len(season.Sessions) != sessions {
			t.Fatalf("%d sessions, want %d", len(season.Sessions), sessions)
		}
		for _, s := range season.Sessions {
			p, ok := want[s.Day.Day-1]
			switch {
			case !ok && (s.FlowPercentile != nil || s.TempPeakC != nil || s.Trend6H != ""):
				t.Errorf("%s: %g, of which no gauge tells", s.Day, *s.FlowPercentile)
			case ok && (s.FlowPercentile == nil || *s.FlowPercentile != p || *s.TempPeakC != p/10 || s.Trend6H != gauge.Rising):
				t.Errorf("%s: %v, want %g", s.Day, s.FlowPercentile, p)
			}
		}
	}
	none := told(nil, 1, nil, 0, 1)
	check(none, nil, 2)
	some := told(none, 2, map[int]float64{3: 40, 5: 60}, 2, 3, 4, 5)
	check(some, map[int]float64{3: 40, 5: 60}, 6)
	more := told(some, 3, nil, 6)
	check(more, map[int]float64{3: 40, 5: 60}, 7)
	again := told(more, 4, map[int]float64{0: 10, 3: 50}, 0, 3, 5) // written anew; the gauge of the last was taken away
	check(again, map[int]float64{0: 10, 3: 50}, 7)
	var s journal.Setting
	again.place(&s, len(again.sessions)-2)
	if *s.FlowPercentile != 50 || *s.TempPeakC != 5 || s.Trend6H != gauge.Rising || s.Trend24H != gauge.Falling {
		t.Errorf("%+v", s)
	}
}
