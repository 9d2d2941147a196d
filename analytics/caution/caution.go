// Package caution finds what an angler should be reminded of in the conditions of a session.
//
// A caution is a prompt with its source. It never says that anything is safe,
// and every one defers to the agencies, rules and people who decide.
package caution

import (
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// Kind is what a caution is about.
type Kind string

// The kinds of caution.
const (
	WarmWater   Kind = "warm-water"
	Wading      Kind = "wading"
	Lightning   Kind = "lightning"
	RisingWater Kind = "rising-water" // by a gauge
	HighWater   Kind = "high-water"   // by a gauge, for the time of year
)

// Kinds lists them, the gravest to people first.
func Kinds() []Kind { return []Kind{Lightning, RisingWater, Wading, HighWater, WarmWater} }

// Level is how far a condition has gone.
type Level string

// The two levels: extra care, and the line at which a source says stop.
const (
	Care Level = "care"
	Stop Level = "stop"
)

// Where cautions begin.
//
// Temperatures: Northern Ireland DAERA, "Angling in warm weather": extra care
// from 18 °C, stop for salmon and trout at 20 °C; Natural Resources Wales and the
// Wild Trout Trust name 20 °C too.
//
// Wading: a rule of thumb of the U.S. Geological Survey's field manual, do not
// wade when depth in ft times velocity in ft/s is 10 or more (quoted from memory,
// its text was not at hand). 0.6 m²/s: about where low hazard ends for adults in
// Cox, Shand & Blacka 2010, Australian Rainfall & Runoff Project 10 (from memory).
const (
	WarmCareC     = 18.0
	WarmStopC     = 20.0
	WadingCareM2S = 0.6
	WadingStopM2S = 0.9290304 // 10 ft²/s; 1 ft = 0.3048 m exactly
)

// From how much on water that rose in six hours calls for care, and for leaving it: common practice, no source. Care begins
// where a gauge's trend is rising.
const (
	RisingCareShare = gauge.TrendFlow // of the flow six hours before
	RisingStopShare = 0.50
	RisingCareM     = gauge.TrendStage // of the stage, about 0.1 ft
	RisingStopM     = 0.15             // about half a foot
)

// HighPercent is from which percentile of the day of the year on flow is high water to those who wade: the U.S. Geological Survey's
// class "much above normal" begins above the 90th (from memory).
const HighPercent = 90.0

// Conditions are what cautions follow from. What was not noted is nil, and gives none.
type Conditions struct {
	WaterTempC *float64
	DepthM     *float64 // where it was waded
	VelocityMS *float64
	Storm      bool
	Fills      []gauge.Fill // what gauges told
	Trend6H    gauge.Trend  // of a gauge, where its fills do not say by how much
}

// Caution is one thing to be reminded of.
type Caution struct {
	Kind  Kind
	Level Level
	// What was measured: °C for warm water, depth times velocity in m²/s for wading, 0 for lightning, the percentile for high
	// water, and for rising water by how much: a share of the flow, or m of the stage; 0 where that is not known.
	Value float64
	From  *gauge.Fill // the gauge's part that it follows from, nil for what an angler noted
	Peak  bool        // it is the warmest water of the day, not that of the session
	Given Conditions
}

// Of returns the cautions of a session, by what was noted and what it took of gauges, the gravest kind to people first.
func Of(s journal.Session, fills []gauge.Fill) []Caution {
	return Conditions{WaterTempC: s.WaterTempC, DepthM: s.DepthM, VelocityMS: s.VelocityMS, Storm: s.Storm, Fills: fills}.Cautions()
}

// OfGauge returns the cautions of what gauges told, as of now.
func OfGauge(fills []gauge.Fill) []Caution { return Conditions{Fills: fills}.Cautions() }

// Cautions returns what these conditions call for. None does not mean safe.
func (c Conditions) Cautions() []Caution {
	var list []Caution
	if c.Storm {
		list = append(list, Caution{Kind: Lightning, Level: Stop})
	}
	if rising, ok := c.rising(); ok {
		list = append(list, rising)
	}
	if c.DepthM != nil && c.VelocityMS != nil {
		product := *c.DepthM * *c.VelocityMS
		if level, ok := reached(product, WadingCareM2S, WadingStopM2S); ok {
			list = append(list, Caution{Kind: Wading, Level: level, Value: product})
		}
	}
	if flow := c.fill(gauge.Flow); flow != nil && flow.Percentile != nil && *flow.Percentile >= HighPercent-slack {
		list = append(list, Caution{Kind: HighWater, Level: Care, Value: *flow.Percentile, From: flow})
	}
	if warm, ok := c.warmest(); ok {
		if level, ok := reached(warm.Value, WarmCareC, WarmStopC); ok {
			warm.Level = level
			list = append(list, warm)
		}
	}
	for i := range list {
		list[i].Given = c
	}
	return list
}

// fill is what gauges told of a quantity, nil where they told nothing.
func (c Conditions) fill(q gauge.Quantity) *gauge.Fill {
	for i := range c.Fills {
		if c.Fills[i].Quantity == q {
			return &c.Fills[i]
		}
	}
	return nil
}

// rising is the graver of what flow and stage tell.
func (c Conditions) rising() (worst Caution, ok bool) {
	for _, f := range []struct {
		*gauge.Fill
		care, stop float64
	}{{c.fill(gauge.Flow), RisingCareShare, RisingStopShare}, {c.fill(gauge.Stage), RisingCareM, RisingStopM}} {
		if f.Fill == nil || f.Change6H == nil {
			continue
		}
		if level, rises := reached(*f.Change6H, f.care, f.stop); rises && (!ok || level == Stop && worst.Level == Care) {
			worst, ok = Caution{Kind: RisingWater, Level: level, Value: *f.Change6H, From: f.Fill}, true
		}
	}
	if !ok && c.Trend6H == gauge.Rising {
		return Caution{Kind: RisingWater, Level: Care}, true
	}
	return worst, ok
}

// warmest is the highest temperature that is known: as the angler read it, else the gauge's, and the day's peak there.
func (c Conditions) warmest() (warm Caution, ok bool) {
	warm = Caution{Kind: WarmWater}
	f := c.fill(gauge.Temperature)
	switch {
	case c.WaterTempC != nil:
		warm.Value, ok = *c.WaterTempC, true
	case f != nil:
		warm.Value, warm.From, ok = f.Value, f, true
	}
	if f != nil && f.Peak != nil && (!ok || *f.Peak > warm.Value) {
		warm.Value, warm.From, warm.Peak, ok = *f.Peak, f, true, true
	}
	return warm, ok
}

// slack forgives what a conversion of units leaves, so that 68 °F is 20 °C.
const slack = 1e-9

func reached(v, care, stop float64) (Level, bool) {
	switch {
	case v >= stop-slack:
		return Stop, true
	case v >= care-slack:
		return Care, true
	}
	return "", false
}

// Tally counts the sessions that called for a caution, of those in which what it
// needs was known. A storm not noted can't be told from no storm, so there Known
// counts all sessions.
type Tally struct {
	Kind  Kind `json:"kind"`
	Care  int  `json:"care"` // sessions
	Stop  int  `json:"stop"`
	Known int  `json:"noted_in"` // sessions in which the condition was noted, or told by a gauge
	Of    int  `json:"sessions"` // in all
}

// OfSeason counts the cautions of many sessions, one tally for each kind.
func OfSeason(sessions []Conditions) []Tally {
	var tallies []Tally
	for _, kind := range Kinds() {
		tallies = append(tallies, Tally{Kind: kind})
	}
	for _, c := range sessions {
		found := map[Kind]Level{}
		for _, one := range c.Cautions() {
			found[one.Kind] = one.Level
		}
		for i := range tallies {
			t := &tallies[i]
			t.Of++
			if c.known(t.Kind) {
				t.Known++
			}
			switch found[t.Kind] {
			case Care:
				t.Care++
			case Stop:
				t.Stop++
			}
		}
	}
	return tallies
}

// known reports whether it is known what a kind of caution needs.
func (c Conditions) known(kind Kind) bool {
	flow, stage := c.fill(gauge.Flow), c.fill(gauge.Stage)
	switch kind {
	case Wading:
		return c.DepthM != nil && c.VelocityMS != nil
	case WarmWater:
		_, ok := c.warmest()
		return ok
	case RisingWater:
		return c.Trend6H != "" || flow != nil && flow.Change6H != nil || stage != nil && stage.Change6H != nil
	case HighWater:
		return flow != nil && flow.Percentile != nil
	}
	return true
}
