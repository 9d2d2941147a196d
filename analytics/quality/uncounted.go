package quality

import (
	"math"

	"rigtally/journal"
)

// UncountedRun is a run of an angler's days through which a kind of event was never noted, though
// nobody said that no count was kept of it.
type UncountedRun struct {
	Angler      string
	Kind        journal.Kind
	First, Last journal.Date
	Stints      int
	Hours       float64 // of stints with minutes noted
	Expected    float64 // events, by the angler's rate as far as it is known, else by the others'
	ByDay       bool    // Expected are days with any
	P           float64 // chance of none, for the angler and kind as a whole
}

// A run is listed when the chance that it is empty is below one in a thousand, and when it is
// long enough to be a habit. Both are common practice, no source. At that chance twelve kinds and
// ten anglers make one false alarm in eight journals.
const (
	rareRun     = 0.001
	fewestInRun = 5 // stints
)

// likeAnglers is the weight of what others do for an angler of whom nothing is known, in events:
// anglers differ by 1/√3, a coefficient of variation of 0.58 (common practice, no source).
const likeAnglers = 3

// uncounted finds the runs of which no count seems to have been kept. Days are by angler and time.
//
// A run is of whole days, which is what a person remembers, and of days of which nothing was said.
// Where an angler noted k events in t hours elsewhere, and others m an hour, the rate is a gamma of
// shape 3 + k and exposure 3/m + t (conjugate to Poisson counts; Gelman and others 2013, Bayesian
// Data Analysis, section 2.6, named from memory), so that the chance of none in T hours is
//
//	((3/m + t) / (3/m + t + T))^(3 + k)
//
// What became of fish goes by the number of these in place of hours, details of tangles and breaks
// by the days that had any. Counts and
// exposures are divided by how much days scatter (Pearson's χ² over its degrees of freedom). The
// longest of n runs is the one that is looked at, so the chance is multiplied by n (Bonferroni).
func uncounted(days []journal.CountedDay) []UncountedRun {
	var list []UncountedRun
	people := anglerDays(days)
	all := make([]kindSum, len(journal.Kinds()))
	for _, own := range people {
		for _, k := range journal.Kinds() {
			all[k].join(sumOfKind(k, own), 1)
		}
	}
	for _, own := range people {
		for _, k := range journal.Kinds() {
			sum, others := sumOfKind(k, own), all[k]
			others.join(sum, -1)
			list = append(list, ownRuns(k, own, sum, others)...)
		}
	}
	return list
}

// anglerDay is an angler's day, whatever was said of its stints.
type anglerDay struct {
	parts   []journal.CountedDay
	assumed bool // nothing was said of any stint
}

// anglerDays divides parts of days by angler and day.
func anglerDays(days []journal.CountedDay) [][]anglerDay {
	var people [][]anglerDay
	for i, d := range days {
		if i == 0 || days[i-1].Angler != d.Angler {
			people = append(people, nil)
		}
		own := &people[len(people)-1]
		if i == 0 || days[i-1].Angler != d.Angler || days[i-1].Day != d.Day {
			*own = append(*own, anglerDay{assumed: true})
		}
		day := &(*own)[len(*own)-1]
		day.parts = append(day.parts, d)
		day.assumed = day.assumed && d.Recorded.Assumed()
	}
	return people
}

// kindSum adds up a kind over days of which count was kept.
type kindSum struct {
	n, of  float64 // events, and what they are counted against
	days   float64 // with any of that
	square float64 // Σn²/of over these days
}

// join adds another sum, or takes it off with the sign -1.
func (s *kindSum) join(o kindSum, sign float64) {
	s.n, s.of, s.days = s.n+sign*o.n, s.of+sign*o.of, s.days+sign*o.days
	s.square += sign * o.square
}

func (d anglerDay) sum(k journal.Kind) kindSum {
	var s kindSum
	for _, p := range d.parts {
		if p.Recorded.Has(k) {
			n, of := k.Noted(p.Counts, p.Hours)
			s.n, s.of = s.n+n, s.of+of
		}
	}
	if byDay(k) && s.of > 0 {
		s.n, s.of = math.Min(s.n, 1), 1
	}
	if s.of > 0 {
		s.days, s.square = 1, s.n*s.n/s.of
	}
	return s
}

// byDay reports whether a detail is told of all there is in a day or of nothing, as habits of
// writing are, so that days and not fish or tangles are what is independent.
func byDay(k journal.Kind) bool {
	return k == journal.KindBreakPlace || k == journal.KindTangleKind || k == journal.KindMinutesLost
}

func sumOfKind(k journal.Kind, days []anglerDay) kindSum {
	var s kindSum
	for _, d := range days {
		s.join(d.sum(k), 1)
	}
	return s
}

// scatter is Pearson's χ² of the days' counts at their common rate, over its degrees of freedom;
// 1 where that is less, or can't be told: Σ(n − r·t)²/(r·t) = Σ(n²/t)/r − Σn at r = Σn/Σt.
func (s kindSum) scatter() float64 {
	if s.days < 2 || s.n == 0 || s.of == 0 {
		return 1
	}
	return math.Max(1, (s.square*s.of/s.n-s.n)/(s.days-1))
}

// ownRuns finds the runs of one kind in an angler's days.
func ownRuns(k journal.Kind, own []anglerDay, sum, others kindSum) []UncountedRun {
	var list []UncountedRun
	var run []anglerDay
	runs := 0
	end := func() {
		if len(run) > 0 {
			runs++
			if r, ok := judgeRun(k, run, sum, others); ok {
				list = append(list, r)
			}
		}
		run = nil
	}
	for _, d := range own {
		if !d.assumed || d.sum(k).n > 0 {
			end()
			continue
		}
		run = append(run, d)
	}
	end()
	var rare []UncountedRun
	for _, r := range list {
		if r.P = math.Min(1, r.P*float64(runs)); r.P < rareRun && r.Stints >= fewestInRun {
			rare = append(rare, r)
		}
	}
	return rare
}

// judgeRun says how unlikely a run without any is; ok is false where the kind never occurs elsewhere.
func judgeRun(k journal.Kind, run []anglerDay, own, others kindSum) (UncountedRun, bool) {
	here := sumOfKind(k, run)
	elsewhere := own
	elsewhere.join(here, -1)
	mean, scatter := others.rate(), others.scatter()
	switch {
	case elsewhere.n > 0:
		scatter = elsewhere.scatter()
		if mean == 0 {
			mean = elsewhere.rate()
		}
	case others.n == 0:
		return UncountedRun{}, false
	}
	shape, exposure := likeAnglers+elsewhere.n/scatter, likeAnglers/mean+elsewhere.of/scatter
	first, last := run[0].parts[0], run[len(run)-1].parts[0]
	r := UncountedRun{Angler: first.Angler, Kind: k, First: first.Day, Last: last.Day, ByDay: byDay(k), Expected: here.of * shape / exposure,
		P: math.Pow(exposure/(exposure+here.of/scatter), shape)}
	for _, d := range run {
		for _, p := range d.parts {
			r.Stints, r.Hours = r.Stints+p.Stints, r.Hours+p.Hours
		}
	}
	return r, true
}

func (s kindSum) rate() float64 {
	if s.of == 0 {
		return 0
	}
	return s.n / s.of
}
