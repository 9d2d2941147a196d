package demo_test

import (
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/gauge"
)

// Ensure that the gauges say what anglers noted, at the middle of what they fished: the sessions, not the gauges, are the
// measure.
func TestGaugesSayWhatSessionsNoted(t *testing.T) {
	t.Parallel()
	s := demo.Generate(demo.Seed, demo.Sessions)
	links, found := s.Gauges()
	if len(links) != 4 || len(found.Gauges) != 4 {
		t.Fatalf("%d links, %d gauges", len(links), len(found.Gauges))
	}
	for _, q := range []gauge.Quantity{gauge.Flow, gauge.Temperature} {
		looked, far := 0, 0
		for _, session := range s.Sessions {
			noted := session.FlowM3S
			if q == gauge.Temperature {
				noted = session.WaterTempC
			}
			link, linked := links[session.WaterID]
			if !linked || noted == nil || session.Start == nil || session.Day.Year != 2026 {
				continue
			}
			i := slices.IndexFunc(found.Series, func(x gauge.Series) bool {
				return x.Site == link.Site && x.Quantity == q && x.Statistic == gauge.Instant
			}) // a lake has no flow, and its sessions note none
			r, _, ok := found.Series[i].At(session.Start.Add(session.End.Sub(*session.Start) / 2))
			if !ok {
				continue // the gauge was out of order
			}
			looked++
			if off := math.Abs(r.Value - *noted); q == gauge.Flow && off > 0.1**noted || q == gauge.Temperature && off > 0.6 {
				far++
			}
		}
		// Two sessions of one afternoon may have noted different things.
		if looked < 80 || far > looked/20 {
			t.Errorf("of %d readings of %s %d are far from what was noted", looked, q, far)
		}
	}
}

// Ensure that the gauges have enough years for percentiles, are told to be invented, are the same each time, and have what real
// ones have: ice, a time out of order, provisional readings, and a place for every usual day between wet and dry.
func TestGaugesAreWhole(t *testing.T) {
	t.Parallel()
	s := demo.Generate(demo.Seed, demo.Sessions)
	_, found := s.Gauges()
	_, again := s.Gauges()
	if !reflect.DeepEqual(found.Gauges, again.Gauges) || len(found.Series) != len(again.Series) {
		t.Error("the same season has other gauges")
	}
	flags := gauge.Flags(0)
	for i, x := range found.Series {
		for j, r := range x.Readings {
			flags |= r.Flags
			if other := again.Series[i].Readings[j]; r.At != other.At || r.Value != other.Value && !math.IsNaN(r.Value) {
				t.Fatalf("%s %s differs at %s", x.Site, x.Quantity, r.At)
			}
			if j > 0 && !x.Readings[j-1].At.Before(r.At) || r.Usable() && (r.Value < 0 || x.Quantity == gauge.Temperature && r.Value > 26) {
				t.Errorf("%s %s %s: %v", x.Site, x.Quantity, r.At, r.Value)
			}
		}
		if x.Provider != demo.GaugeProvider {
			t.Errorf("%s may be asked of a service", x.Site)
		}
		if x.Quantity != gauge.Flow || x.Statistic != gauge.DailyMean {
			continue
		}
		usual := gauge.NewUsual(x, time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC))
		var percents []float64
		for _, r := range x.Readings {
			if percent, years, ok := usual.Percentile(r.At, r.Value); ok && r.At.Year() == 2026 && r.At.Month() > time.February {
				percents = append(percents, percent)
				if years != 12 {
					t.Fatalf("%d years of %s", years, r.At)
				}
			}
		}
		slices.Sort(percents)
		if low, high := percents[len(percents)/10], percents[len(percents)*9/10]; low > 45 || high < 55 || len(percents) < 200 {
			t.Errorf("%s is never low or high: %d days, the tenth at %.0f, the ninetieth at %.0f", x.Site, len(percents), low, high)
		}
	}
	if want := gauge.Provisional | gauge.Ice | gauge.Equipment; flags != want {
		t.Errorf("flags %v, want %v", flags.Words(), want.Words())
	}
	if links, found := (demo.Season{Waters: []journal.Water{{Name: "Another"}}}).Gauges(); len(links) > 0 || len(found.Series) > 0 {
		t.Error("a water that was not invented here has a gauge")
	}
}
