package demo

import (
	"fmt"
	"math"
	"slices"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
)

// BenchStrength is the truth behind the invented pulls of one knot: its mean is
// Efficiency times that of unknotted line, and pulls scatter as a Weibull
// distribution of the given shape. With the chance Slips a knot slips at 70 to
// 95% of the force at which it would have broken.
type BenchStrength struct {
	Junction   journal.Junction // "" is a line without a knot
	Facing     journal.Facing
	Efficiency float64
	Shape      float64
	Slips      float64
	Pulls      [3]int // on 5X, 6X and 7X
}

// BenchStrengths lists what the invented bench is drawn from. The numbers are
// made up; no table of knot strengths is behind them. Who ties makes no difference.
func BenchStrengths() []BenchStrength {
	return []BenchStrength{
		{"", "", 1, 16, 0, [3]int{6, 8, 6}},
		{"figure-eight", "down", 0.80, 9, 0.03, [3]int{5, 8, 5}},
		{"figure-eight", "up", 0.66, 8, 0.03, [3]int{5, 8, 5}},
		{"blood", "down", 0.62, 8, 0.08, [3]int{4, 6, 4}},
		{"double surgeon's", "down", 0.76, 8, 0.05, [3]int{4, 6, 4}},
		{"tippet ring", "down", 0.84, 10, 0.02, [3]int{4, 6, 4}},
	}
}

// PlainStrength is the invented mean force, in N, that unknotted line of 5X, 6X
// and 7X bears when wet.
func PlainStrength() [3]float64 { return [3]float64{15.2, 10.6, 6.9} }

// BenchSeed starts the bench's own stream, so that it changes nothing in the
// seasons. It was not chosen for what it shows.
const BenchSeed = 2026

// Bench invents an outfit's pulls: two evenings of March 2026, dealt in random
// order, tied in turn by the guide and the teammate, read off a scale to 0.05 lbf. The same
// seed gives the same pulls.
func Bench(seed uint64, anglers []journal.Angler) []journal.BenchPull {
	d := newDice(seed, 7)
	diameters := [3]float64{0.1524, 0.127, 0.1016}
	var list []journal.BenchPull
	for _, s := range BenchStrengths() {
		for x, n := range s.Pulls {
			for range n {
				list = append(list, d.pull(s, diameters[x], PlainStrength()[x]))
			}
		}
	}
	mixed := make([]journal.BenchPull, len(list))
	for i, j := range d.Perm(len(list)) {
		mixed[j] = list[i]
	}
	tiers := []string{guide, teammate}
	for i := range mixed {
		p := &mixed[i]
		at := time.Date(2026, time.March, 10+7*(2*i/len(mixed)), 19, 0, 0, 0, time.UTC).Add(time.Duration(i%(len(mixed)/2+1)) * 90 * time.Second)
		p.ID, p.LoggedAt, p.Day = d.id(at), at, journal.DateOf(at)
		p.Label = "spools of March"
		tier := slices.IndexFunc(anglers, func(a journal.Angler) bool { return a.Name == tiers[i%2] })
		if p.Knotted() && tier >= 0 {
			p.AnglerID = &anglers[tier].ID
		}
	}
	return mixed
}

// pull draws one pull of a knot on a tippet whose plain line bears so much.
func (d dice) pull(s BenchStrength, tippetMM, plain float64) journal.BenchPull {
	p := journal.BenchPull{Junction: s.Junction, Facing: s.Facing, TippetMM: tippetMM, Material: "nylon", Wetness: "wet", Ending: journal.PulledBroke}
	scale := plain * s.Efficiency / math.Gamma(1+1/s.Shape)
	force := scale * math.Pow(-math.Log(1-d.Float64()), 1/s.Shape)
	slips, place := d.chance(s.Slips), d.Float64()
	how := d.Float64()
	switch {
	case !p.Knotted():
		p.BrokeAt = journal.PullBrokeMain
		if place < 0.1 {
			p.BrokeAt = journal.PullBrokeGrip
		}
	case slips:
		p.Ending, force = journal.PulledSlipped, force*(0.70+0.25*how)
	case place < 0.8:
		p.BrokeAt = journal.PullBrokeJunction
	case place < 0.95:
		p.BrokeAt = journal.PullBrokeTag
	default:
		p.BrokeAt = journal.PullBrokeMain
	}
	if p.Knotted() {
		p.PulledOn, p.Prop = "tag", "none"
	}
	const step = 0.05 * 4.4482216152605 // of the scale, in N
	marks := math.Max(1, math.Round(force/step))
	p.ForceN, _ = units.Parse(units.Force, fmt.Sprintf("%.2f lbf", 0.05*marks), "") // as read off, which can't fail
	return p
}
