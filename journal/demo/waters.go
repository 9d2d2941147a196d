package demo

import (
	"math"
	"time"

	"rigtally/journal"
)

// The zones are real, the waters invented.
const (
	homeZone = "America/Denver"
	westZone = "America/Los_Angeles"
)

// water is a water with how it runs through the year.
type water struct {
	journal.Water
	loc       *time.Location
	share     float64 // of the sessions
	meanC     float64 // temperature: mean over the year …
	swingC    float64 // … and how far the end of July lies above it
	baseM3S   float64 // flow without snow melt; 0 for still water
	meltM3S   float64 // what the melt adds at its height, about 7 June
	unsteady  float64 // standard deviation of the logarithm of the flow
	colouring bool    // a high flow colours it
}

func waters(d dice) []water {
	list := []water{
		{Water: journal.Water{Name: "Oxbane River", Kind: "freestone", TimeZone: homeZone}, share: 0.34, meanC: 8, swingC: 7, baseM3S: 4, meltM3S: 24, unsteady: 0.3, colouring: true},
		{Water: journal.Water{Name: "Lower Kestane", Kind: "tailwater", TimeZone: homeZone}, share: 0.32, meanC: 8.5, swingC: 3.5, baseM3S: 13, meltM3S: 9, unsteady: 0.15},
		{Water: journal.Water{Name: "Tamsel Creek", Kind: "spring creek", TimeZone: homeZone}, share: 0.20, meanC: 10.5, swingC: 2, baseM3S: 2.1, meltM3S: 0.3, unsteady: 0.08},
		{Water: journal.Water{Name: "Lake Ferrule", Kind: "lake", TimeZone: westZone}, share: 0.14, meanC: 11, swingC: 8},
	}
	beats := [][]string{{"Upper Bend", "Cattle Bridge", "Slate Run"}, {"Gauge Pool", "Long Flat"}, {"Orchard Water", "Reed Corner"}, {"Inlet Bay", "North Drop-off"}}
	for i := range list {
		w := &list[i]
		w.ID = d.id(founded.Add(time.Hour))
		for _, name := range beats[i] {
			w.Beats = append(w.Beats, journal.Beat{ID: d.id(founded.Add(time.Hour)), Name: name})
		}
		w.loc = zone(w.TimeZone)
	}
	return list
}

// zone loads a time zone; where the machine knows none, it is UTC, and the
// journal will say so when the season is loaded.
func zone(name string) *time.Location {
	loc, err := time.LoadLocation(name)
	if err != nil {
		return time.UTC
	}
	return loc
}

func (m *maker) pickWater(d dice) *water {
	shares := make([]share[int], len(m.waters))
	for i, w := range m.waters {
		shares[i] = share[int]{i, w.share}
	}
	return &m.waters[pick(d, shares)]
}

// temperatureC draws a day's temperature, as read from a thermometer in whole °F.
func (w *water) temperatureC(d dice, day int) float64 {
	c := w.meanC + w.swingC*math.Cos(2*math.Pi*float64(day-211)/365) + 1.2*d.NormFloat64()
	return celsius(int(math.Round(max(c, 1)*9/5 + 32)))
}

// flowM3S draws a day's flow, as read from a gauge in tens of cubic feet per
// second, and says how high it is for this water (1: usual).
func (w *water) flowM3S(d dice, day int) (flow, height float64) {
	melt := float64(day-158) / 22
	flow = (w.baseM3S + w.meltM3S*math.Exp(-melt*melt/2)) * math.Exp(w.unsteady*d.NormFloat64())
	return cubicMetres(10 * int(math.Round(max(flow*35.3147/10, 1)))), flow / w.baseM3S
}

// conditions fills in what was noted of the water and the weather.
func (w *water) conditions(d dice, s *journal.Session, day int) (temperature float64, wind journal.Wind) {
	temperature = w.temperatureC(d, day)
	if d.chance(0.96) {
		s.WaterTempC = new(temperature)
	}
	wind = pick(d, []share[journal.Wind]{{"calm", 0.3}, {"light", 0.35}, {"moderate", 0.25}, {"strong", 0.1}})
	if d.chance(0.93) {
		s.Wind = wind
	}
	s.Clarity = pick(d, []share[journal.Clarity]{{"clear", 0.7}, {"tinged", 0.3}})
	if w.baseM3S > 0 {
		flow, height := w.flowM3S(d, day)
		if d.chance(0.95) {
			s.FlowM3S = new(flow)
		}
		switch {
		case w.colouring && height > 5:
			s.Clarity = "muddy"
		case w.colouring && height > 2.5:
			s.Clarity = "coloured"
		}
	}
	s.Light = pick(d, []share[journal.Light]{{"bright", 0.4}, {"mixed", 0.3}, {"overcast", 0.2}, {"low", 0.1}})
	if d.chance(0.4) {
		s.DepthM = new(feet(d.between(2, 6)))
	}
	if d.chance(0.75) {
		s.BeatID = new(w.Beats[d.IntN(len(w.Beats))].ID)
	}
	return temperature, wind
}

// windTangles is what the wind does to tangles.
func windTangles(w journal.Wind) float64 {
	switch w {
	case "calm":
		return 0.85
	case "moderate":
		return 1.2
	case "strong":
		return 1.5
	}
	return 1
}
