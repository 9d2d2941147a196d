package sequential

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat"
)

// Course says how a trial is supposed to go on.
type Course struct {
	Rates  [2]float64 // of the first arm and the second, per unit of exposure; shares for a Share
	Common float64    // squared coefficient of variation of the levels
	Shared bool       // the units of a block share a level; else each has its own
	Size   int        // units in a block
	Units  []Span     // what a unit may be like; each comes as often as the others
	Limit  float64    // hours left till it is to be settled
	// Horizon is how many hours are looked ahead at most: Limit, if it is less.
	Horizon float64
}

// Span is what a unit of a trial takes: exposure, and the hours of it.
type Span struct{ Exposure, Hours float64 }

// Outlook is what a trial that goes on like that may come to.
type Outlook struct {
	// Chance of e reaching 1/α within the limit, never 0 or 1: half a run is
	// added each way.
	Chance float64
	// Hours by which half of such trials have got there, +Inf when fewer than
	// half do within the horizon.
	Hours float64
}

// outlookRuns tell a chance to about 7%, and outlookBlocks are as good as never.
const (
	outlookRuns   = 200
	outlookBlocks = 250
)

// Project plays the rest of a trial, from its robust e-value so far, by
// simulation with a fixed seed.
func (m *Monitor) Project(c Course) (Outlook, error) {
	if len(c.Units) == 0 || c.Size < 2 || c.Size > mostUnits || c.Size%2 != 0 || !(c.Limit >= 0) {
		return Outlook{}, fmt.Errorf("a trial can't go on with %d kinds of units in blocks of %d for %g hours", len(c.Units), c.Size, c.Limit)
	}
	for _, r := range c.Rates {
		if !(r >= 0) || !stat.Finite(r) {
			return Outlook{}, fmt.Errorf("a trial can't go on with the rates %g and %g", c.Rates[0], c.Rates[1])
		}
	}
	per := 0.0
	for _, u := range c.Units {
		if !(u.Hours > 0) || !(u.Exposure >= 0) || !stat.Finite(u.Hours) || !stat.Finite(u.Exposure) {
			return Outlook{}, fmt.Errorf("a trial can't go on with units of %g hours", u.Hours)
		}
		per += u.Hours / float64(len(c.Units))
	}
	c.Horizon = math.Min(math.Max(c.Horizon, c.Limit), outlookBlocks*per*float64(c.Size))
	rng := rand.New(rand.NewPCG(1970, 20))
	hours := make([]float64, outlookRuns)
	decided := 0.0
	for i := range hours {
		hours[i] = m.play(c, rng)
		if hours[i] <= c.Limit {
			decided++
		}
	}
	slices.Sort(hours)
	return Outlook{Chance: (decided + 0.5) / (outlookRuns + 1), Hours: hours[outlookRuns/2-1]}, nil
}

// play returns the hours till a decision, +Inf for none within the horizon.
func (m *Monitor) play(c Course, rng *rand.Rand) float64 {
	b := newLabelBets([]float64{0}, m.opt.Worth)
	copy(b.logs[0], m.robust.logs[len(m.robust.grid)/2])
	order := make([]bool, c.Size)
	spent := 0.0
	for spent < c.Horizon {
		level := c.level(rng)
		for i := range order {
			order[i] = i < c.Size/2
		}
		rng.Shuffle(c.Size, func(i, j int) { order[i], order[j] = order[j], order[i] })
		block := make(Block, 0, c.Size)
		for _, first := range order {
			if !c.Shared {
				level = c.level(rng)
			}
			span := c.Units[rng.IntN(len(c.Units))]
			spent += span.Hours
			if span.Exposure > 0 {
				block = append(block, c.unit(rng, m.opt.Kind, first, span.Exposure, level))
			}
		}
		b.add(block)
		if b.sums[0] >= m.threshold() {
			return spent
		}
	}
	return math.Inf(1)
}

func (c Course) level(rng *rand.Rand) float64 {
	if c.Common <= 0 {
		return 1
	}
	return distuv.Gamma{Alpha: 1 / c.Common, Beta: 1 / c.Common, Src: rng}.Rand()
}

func (c Course) unit(rng *rand.Rand, kind stat.Kind, first bool, exposure, level float64) Unit {
	rate := c.Rates[1] * level
	if first {
		rate = c.Rates[0] * level
	}
	u := Unit{First: first, T: exposure}
	switch {
	case rate <= 0:
	case kind == stat.Share:
		u.K = distuv.Binomial{N: exposure, P: math.Min(rate, 1), Src: rng}.Rand()
	default:
		u.K = math.Min(distuv.Poisson{Lambda: rate * exposure, Src: rng}.Rand(), mostEvents)
	}
	return u
}
