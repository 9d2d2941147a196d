package sequential

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat"
)

// trialRun is one cell of the grid of simulated trials.
type trialRun struct {
	kind      stat.Kind
	rate      float64 // of the second arm: per hour, or of trials
	ratio     float64 // of the first arm to it
	worth     float64
	cv        float64 // of the sessions' levels
	stints    int     // in a session; 0: a session is a unit of the trial itself
	size      int     // of a block
	lingering float64 // how many times as long the first arm is fished; 0: alike
	hours     float64 // at which the trial is given up
}

func (r trialRun) String() string {
	unit := fmt.Sprintf("%d stints a session", r.stints)
	if r.stints == 0 {
		unit = "by session"
	}
	kind := "per hour"
	if r.kind == stat.Share {
		kind = "share"
	}
	return fmt.Sprintf("%s %g, ratio %g, cv %g, %s, blocks of %d", kind, r.rate, r.ratio, r.cv, unit, r.size)
}

// tried is how a simulated trial went: the hours at which each e-value reached
// 20, +Inf when neither did before it was given up, whether the interval held
// the ratio throughout, and the share of looks.
type tried struct {
	robust, model         float64
	robustHeld, modelHeld bool
}

// level draws a session's level, of mean 1.
func (r trialRun) level(rng *rand.Rand) float64 {
	if r.cv == 0 {
		return 1
	}
	shape := 1 / (r.cv * r.cv)
	return distuv.Gamma{Alpha: shape, Beta: shape, Src: rng}.Rand()
}

// unit fishes one unit of the trial for so many hours.
func (r trialRun) unit(rng *rand.Rand, first bool, hours, level float64) Unit {
	rate := r.rate * level
	if first {
		rate *= r.ratio
		if r.lingering > 0 {
			hours *= r.lingering
		}
	}
	if r.kind == stat.Rate {
		return Unit{first, distuv.Poisson{Lambda: rate * hours, Src: rng}.Rand(), hours}
	}
	n := distuv.Poisson{Lambda: 3 * hours, Src: rng}.Rand()
	return Unit{first, distuv.Binomial{N: n, P: math.Min(rate, 1), Src: rng}.Rand(), n}
}

// try runs one trial, looking after every session.
func (r trialRun) try(rng *rand.Rand, intervals bool) (tried, error) {
	m, err := NewMonitor(Options{Kind: r.kind, Worth: r.worth, Conf: 0.95, NoIntervals: !intervals})
	if err != nil {
		return tried{}, err
	}
	out := tried{math.Inf(1), math.Inf(1), true, true}
	var order []bool
	var block Block
	spent := 0.0
	for spent < r.hours {
		level := r.level(rng)
		for range max(1, r.stints) {
			if len(order) == 0 {
				order = shuffled(rng, r.size)
			}
			hours := 0.75 + 1.25*rng.Float64()
			if r.stints == 0 {
				hours *= 2
			}
			block = append(block, r.unit(rng, order[0], hours, level))
			order = order[1:]
			spent += hours
			if len(order) == 0 {
				if err := m.Add(block); err != nil {
					return out, err
				}
				block = nil
			}
		}
		e := m.Evidence()
		if e.Robust.LogE >= math.Log(20) {
			out.robust = math.Min(out.robust, spent)
		}
		if e.Model.LogE >= math.Log(20) {
			out.model = math.Min(out.model, spent)
		}
		out.robustHeld = out.robustHeld && e.Robust.Low <= r.ratio && r.ratio <= e.Robust.High
		out.modelHeld = out.modelHeld && e.Model.Low <= r.ratio && r.ratio <= e.Model.High
		if !intervals && !math.IsInf(out.robust, 1) && !math.IsInf(out.model, 1) {
			break
		}
	}
	return out, nil
}

// shuffled is a block's order.
func shuffled(rng *rand.Rand, size int) []bool {
	order := make([]bool, size)
	for i := range size / 2 {
		order[i] = true
	}
	rng.Shuffle(size, func(i, j int) { order[i], order[j] = order[j], order[i] })
	return order
}

// waited sums up the hours of trials that were stopped at a decision, or at the
// hours by which 80% had one: their mean, and those hours. ok is false when
// fewer had one.
func waited(hours []float64) (mean, limit float64, ok bool) {
	slices.Sort(hours)
	limit = hours[int(math.Ceil(0.8*float64(len(hours))))-1]
	for _, h := range hours {
		mean += math.Min(h, limit) / float64(len(hours))
	}
	return mean, limit, !math.IsInf(limit, 1)
}

// fixed is the hours of both arms together that a test of fixed size needs for
// 80% power at 5% two-sided, in units of so many hours with sessions' levels
// shared by the arms or not.
func (r trialRun) fixed() (float64, error) {
	phi, unit := 1.0, 2.75
	if r.stints == 0 {
		phi = 1 + r.cv*r.cv*r.rate*math.Sqrt(r.ratio)*unit
	}
	n, err := stat.ExposureNeededRates(r.rate*r.ratio, r.rate, phi, 0.05, 0.8)
	return 2 * n, err
}
