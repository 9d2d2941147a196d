package quality

import (
	"maps"
	"slices"

	"rigtally/analytics/stat"
	"rigtally/analytics/stat/mixture"
	"rigtally/journal"
)

// Quiet holds the sessions in which nothing went wrong against those that the
// counts of all sessions let expect. More of them may mean that what went wrong
// was not written down, or not told: omission and prestige bias are known faults
// of angler diaries (Pollock, Jones & Brown 1994, Angler Survey Methods).
type Quiet struct {
	QuietCount
	LeftOut int          `json:"left_out"` // sessions with a stint of unknown minutes, or without count of something bad
	Enough  bool         `json:"enough"`   // there are sessions enough to tell
	Suspect bool         `json:"suspect"`  // more than chance explains
	Anglers []QuietCount `json:"anglers"`
}

// QuietCount is the part of an angler, of the others together, or of all.
type QuietCount struct {
	Angler   string   `json:"angler,omitempty"` // "" for all, or for the others together
	Sessions int      `json:"sessions"`
	Without  int      `json:"without"`  // sessions without a bad event
	Expected *float64 `json:"expected"` // of them
	P        *float64 `json:"p"`        // chance of as many or more
	Q        *float64 `json:"q"`        // P adjusted for all anglers; nil for all
}

const (
	fewestOutings = 20   // to fit a rate and how it varies
	suspectBelow  = 0.05 // p
)

// quiet fits a gamma-Poisson to each angler with sessions enough, and to the
// others together, so that a calm hand is no suspicion, and adds the parts up.
// In simulated seasons without any omission at most 6% were suspected.
func quiet(q journal.Quality) (Quiet, error) {
	r := Quiet{LeftOut: q.Sessions - len(q.Outings), Anglers: []QuietCount{}}
	r.Sessions = len(q.Outings)
	var tests []*mixture.ZeroTest
	var p []*float64
	for _, o := range q.Outings {
		if o.Bad == 0 {
			r.Without++
		}
	}
	for _, part := range outingsByAngler(q.Outings) {
		var bad, hours []float64
		for _, o := range part.outings {
			bad, hours = append(bad, o.Bad), append(hours, o.Hours)
		}
		z, err := mixture.ExcessZeros(bad, hours)
		if err != nil {
			return Quiet{}, err
		}
		tests, p = append(tests, z), append(p, &z.P)
		r.Anglers = append(r.Anglers, QuietCount{Angler: part.angler, Sessions: z.Units, Without: z.Observed, Expected: &z.Expected, P: &z.P})
	}
	if len(tests) == 0 {
		return r, nil
	}
	adjusted, err := stat.AdjustKnown(p)
	if err != nil {
		return Quiet{}, err
	}
	for i := range r.Anglers {
		r.Anglers[i].Q = adjusted[i]
	}
	all := mixture.SumZeros(tests)
	r.Enough, r.Suspect = true, all.P < suspectBelow
	r.QuietCount = QuietCount{Sessions: all.Units, Without: all.Observed, Expected: &all.Expected, P: &all.P}
	return r, nil
}

type outingPart struct {
	angler  string // "" for several
	outings []journal.Outing
}

// outingsByAngler lists the anglers with sessions enough by name, and the others
// as one if they have enough together.
func outingsByAngler(all []journal.Outing) []outingPart {
	of := map[string][]journal.Outing{}
	for _, o := range all {
		of[o.Angler] = append(of[o.Angler], o)
	}
	var parts []outingPart
	var others []journal.Outing
	for _, angler := range slices.Sorted(maps.Keys(of)) {
		if len(of[angler]) >= fewestOutings {
			parts = append(parts, outingPart{angler, of[angler]})
		} else {
			others = append(others, of[angler]...)
		}
	}
	if len(others) >= fewestOutings {
		parts = append(parts, outingPart{"", others})
	}
	return parts
}
