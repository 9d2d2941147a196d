// Package caution finds what an angler should be reminded of in the conditions of a session.
//
// A caution is a prompt with its source. It never says that anything is safe,
// and every one defers to the agencies, rules and people who decide.
package caution

import "rigtally/journal"

// Kind is what a caution is about.
type Kind string

// The kinds of caution.
const (
	WarmWater Kind = "warm-water"
	Wading    Kind = "wading"
	Lightning Kind = "lightning"
)

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

// Conditions are what cautions follow from. What was not noted is nil, and gives none.
type Conditions struct {
	WaterTempC *float64
	DepthM     *float64 // where it was waded
	VelocityMS *float64
	Storm      bool
}

// Caution is one thing to be reminded of.
type Caution struct {
	Kind  Kind
	Level Level
	// What was measured: °C for warm water, depth times velocity in m²/s for
	// wading, 0 for lightning.
	Value float64
	Given Conditions
}

// Of returns the cautions of a session, the gravest kind to people first.
func Of(s journal.Session) []Caution {
	return Conditions{s.WaterTempC, s.DepthM, s.VelocityMS, s.Storm}.Cautions()
}

// Cautions returns what these conditions call for. None does not mean safe.
func (c Conditions) Cautions() []Caution {
	var list []Caution
	if c.Storm {
		list = append(list, Caution{Lightning, Stop, 0, c})
	}
	if c.DepthM != nil && c.VelocityMS != nil {
		product := *c.DepthM * *c.VelocityMS
		if level, ok := reached(product, WadingCareM2S, WadingStopM2S); ok {
			list = append(list, Caution{Wading, level, product, c})
		}
	}
	if c.WaterTempC != nil {
		if level, ok := reached(*c.WaterTempC, WarmCareC, WarmStopC); ok {
			list = append(list, Caution{WarmWater, level, *c.WaterTempC, c})
		}
	}
	return list
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
// needs was noted. A storm not noted can't be told from no storm, so there Known
// counts all sessions.
type Tally struct {
	Kind  Kind `json:"kind"`
	Care  int  `json:"care"` // sessions
	Stop  int  `json:"stop"`
	Known int  `json:"noted_in"` // sessions in which the condition was noted
	Of    int  `json:"sessions"` // in all
}

// OfSeason counts the cautions of many sessions, one tally for each kind.
func OfSeason(sessions []journal.Session) []Tally {
	tallies := []Tally{{Kind: Lightning}, {Kind: Wading}, {Kind: WarmWater}}
	for _, s := range sessions {
		known := map[Kind]bool{Lightning: true, Wading: s.DepthM != nil && s.VelocityMS != nil, WarmWater: s.WaterTempC != nil}
		found := map[Kind]Level{}
		for _, c := range Of(s) {
			found[c.Kind] = c.Level
		}
		for i := range tallies {
			t := &tallies[i]
			t.Of++
			if known[t.Kind] {
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
