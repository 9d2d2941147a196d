package season

import (
	"math"
	"math/rand/v2"
	"testing"

	"rigtally/analytics/caution"
	"rigtally/journal"
	"rigtally/journal/facts"
	"rigtally/journal/gauge"
)

// What gauges told of a season's sessions, which are invented, calls for cautions as what was noted does.
func TestSeasonIsCautiousByGauges(t *testing.T) {
	t.Parallel()
	r, none := drawn{rand.New(rand.NewPCG(1, 1))}, math.NaN()
	angler, water := journal.Angler{ID: r.id(), Name: "Ilse"}, journal.Water{ID: r.id(), Name: "Alder Brook", TimeZone: "UTC"}
	b := facts.NewBuilder(nil)
	b.People([]journal.Angler{angler}, []journal.Water{water})
	for i, s := range []facts.Session{
		{WaterTempC: 15, TempPeakC: 20.5, FlowPercentile: 95, Trend6H: gauge.Rising, Trend24H: gauge.Steady},
		{WaterTempC: 16, TempPeakC: 18, FlowPercentile: 40, Trend6H: gauge.Steady, Trend24H: gauge.Rising},
		{WaterTempC: none, TempPeakC: none, FlowPercentile: none},
		{WaterTempC: 12, TempPeakC: none, FlowPercentile: none, Trend6H: gauge.Falling},
	} {
		s.ID, s.Angler, s.Water, s.TimeZone, s.Day = r.id(), angler.ID, water.ID, "UTC", journal.Date{Year: 2026, Month: 7, Day: 1 + i}
		s.FlowM3S, s.DepthM, s.VelocityMS = none, none, none
		b.Session(s)
	}
	f, err := b.Facts(1)
	if err != nil {
		t.Fatal(err)
	}
	m := maker{Answer: &Answer{Year: 2026}, rows: f.Season(2026)}
	m.caution()
	want := []caution.Tally{{Kind: caution.RisingWater, Care: 1, Known: 3, Of: 4}, {Kind: caution.HighWater, Care: 1, Known: 2, Of: 4}, {Kind: caution.WarmWater, Care: 1, Stop: 1, Known: 3, Of: 4}}
	if len(m.Cautions) != len(want) {
		t.Fatalf("%+v", m.Cautions)
	}
	for i, w := range want {
		if m.Cautions[i].Tally != w {
			t.Errorf("%+v, want %+v", m.Cautions[i].Tally, w)
		}
	}
	if highest := m.Cautions[2].Highest; *highest != 20.5 || len(m.Cautions[2].Stopped) != 1 {
		t.Errorf("the warmest water is %g", *highest)
	}
}
