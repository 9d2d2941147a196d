package sequential

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rigtally/analytics/stat"
)

// Ensure that the outlook of a trial not yet begun is what trials come to that
// are played with dice of their own.
func TestOutlookIsWhatTrialsComeTo(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	r := trialRun{rate: 1, ratio: 2, worth: 1.5, cv: 0.4, stints: 2, size: 2, hours: 80}
	rng := rand.New(rand.NewPCG(8, 8))
	var hours []float64
	decided := 0.0
	for range 600 {
		one, err := r.try(rng, false)
		if err != nil {
			t.Fatal(err)
		}
		if hours = append(hours, one.robust); !math.IsInf(one.robust, 1) {
			decided += 1.0 / 600
		}
	}
	slices.Sort(hours)
	m, err := NewMonitor(Options{Kind: stat.Rate, Worth: 1.5, Conf: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	c := Course{Rates: [2]float64{2, 1}, Common: 0.16, Shared: true, Size: 2, Units: []Span{{1, 1}, {1.375, 1.375}, {1.75, 1.75}}, Limit: 80}
	got, err := m.Project(c)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("outlook %+v; played %.2f, half by %.0f h", got, decided, hours[299])
	if math.Abs(got.Chance-decided) > 0.1 || math.Abs(got.Hours-hours[299]) > 8 {
		t.Errorf("the outlook is %+v, but %.2f of trials decide, half of them by %.0f h", got, decided, hours[299])
	}
	for range 20 {
		if err := m.Add(Block{{true, 4, 2}, {false, 1, 2}}); err != nil {
			t.Fatal(err)
		}
	}
	if later, err := m.Project(c); err != nil || !(later.Chance > 0.99 && later.Chance < 1) || later.Hours > got.Hours/4 {
		t.Errorf("with a lead the outlook is %+v, %v", later, err)
	}
	c.Rates = [2]float64{0, 0}
	m, _ = NewMonitor(Options{Kind: stat.Rate, Worth: 1.5, Conf: 0.95})
	if never, err := m.Project(c); err != nil || !(never.Chance > 0 && never.Chance < 0.01) || !math.IsInf(never.Hours, 1) {
		t.Errorf("without events the outlook is %+v, %v", never, err)
	}
	for _, bad := range []Course{{}, {Units: []Span{{1, 0}}, Size: 2}, {Units: []Span{{1, 1}}, Size: 3}, {Units: []Span{{1, 1}}, Size: 2, Rates: [2]float64{math.NaN(), 1}}} {
		if _, err := m.Project(bad); err == nil {
			t.Errorf("%+v was taken", bad)
		}
	}
}
