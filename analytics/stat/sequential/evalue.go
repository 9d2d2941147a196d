package sequential

import (
	"math"

	"rigtally/analytics/stat"
)

// rateBets is the e-value of a trial of two rates whose counts are Poisson with
// one level within a block, which may change from block to block in any way.
//
// With exposures t₁ and t₂ and a ratio ρ each of a block's n events falls to the
// first arm with chance π(ρ) = ρt₁/(ρt₁ + t₂), whatever the level. The bet is a
// beta mixture of such chances, so that a block multiplies the e-value by
//
//	∫ p^k (1 − p)^(n−k) dBeta(a, b) / π^k (1 − π)^(n−k)
//
// (Robbins 1970, Annals of Mathematical Statistics 41:1397, mixes so for one
// chance). Exposures change from block to block and the chance with them, so
// before each block the mixture is centred anew: on the chance that the earlier
// events and m events as expected of equal arms make likeliest, with as much
// weight as they have together. It hangs on the past alone, so each factor has
// the mean 1 given the past and the product is a martingale. When exposures do
// not change this is, to the last digit, the one closed form of LogBetaBinomial
// over all events.
type rateBets struct {
	prior  float64 // m
	blocks []pair
	events float64
	logQ   float64 // log probability that the mixture gave to what happened
}

// newRateBets spreads the first mixture as wide as the smallest ratio worth
// knowing: m makes its standard deviation, at equal exposures, the distance of
// worth/(1 + worth) from one half.
func newRateBets(worth float64) *rateBets {
	d := worth/(1+worth) - 0.5
	return &rateBets{prior: 0.25/(d*d) - 1}
}

// LogBetaBinomial is the log e-value of k1 and k2 events against a chance p of
// each to be of the first kind, by a mixture Beta(a, b) of chances: in closed
// form B(a + k1, b + k2) / (B(a, b) · p^k1 · (1 − p)^k2).
func LogBetaBinomial(k1, k2, p, a, b float64) float64 {
	return logBeta(a+k1, b+k2) - logBeta(a, b) - k1*math.Log(p) - k2*math.Log1p(-p)
}

func logBeta(a, b float64) float64 {
	x, _ := math.Lgamma(a)
	y, _ := math.Lgamma(b)
	z, _ := math.Lgamma(a + b)
	return x + y - z
}

// chance is that of an event to fall to the first arm at a ratio.
func (p pair) chance(ratio float64) float64 { return ratio * p.t1 / (ratio*p.t1 + p.t2) }

func (r *rateBets) add(block pair) {
	if block.t1 == 0 || block.t2 == 0 || block.k1+block.k2 == 0 {
		return
	}
	weight := r.prior + r.events
	p := block.chance(r.likeliest(block))
	r.logQ += LogBetaBinomial(block.k1, block.k2, 0.5, weight*p, weight*(1-p)) - (block.k1+block.k2)*math.Ln2
	r.events += block.k1 + block.k2
	r.blocks = append(r.blocks, block)
}

// likeliest is the ratio at which the earlier events, and m as expected of equal
// arms with the exposures of the coming block, are likeliest.
func (r *rateBets) likeliest(next pair) float64 {
	first := r.prior * next.chance(1)
	for _, b := range r.blocks {
		first += b.k1
	}
	return stat.Bisect(func(ratio float64) bool {
		return r.prior*next.chance(ratio)+r.expected(ratio) < first
	}, 1/farRatio, farRatio)
}

// expected are the events of the first arm so far, had it a ratio.
func (r *rateBets) expected(ratio float64) float64 {
	sum := 0.0
	for _, b := range r.blocks {
		sum += (b.k1 + b.k2) * b.chance(ratio)
	}
	return sum
}

// farRatio is beyond every ratio that can be told.
const farRatio = 1e12

// logE is the log e-value against a ratio; its logarithm is convex in that of
// the ratio.
func (r *rateBets) logE(ratio float64) float64 {
	sum := r.logQ
	for _, b := range r.blocks {
		p := b.chance(ratio)
		sum -= b.k1*math.Log(p) + b.k2*math.Log(b.t2/(ratio*b.t1+b.t2))
	}
	return sum
}

// interval holds the ratios whose log e-value is below a threshold. The log
// likelihood of a ratio is highest where the expected events of the first arm
// are those seen.
func (r *rateBets) interval(threshold float64) stat.Interval {
	i := stat.Interval{Low: 0, High: math.Inf(1)}
	seen := 0.0
	for _, b := range r.blocks {
		seen += b.k1
	}
	centre := stat.Bisect(func(ratio float64) bool { return r.expected(ratio) < seen }, 1/farRatio, farRatio)
	if r.logE(1/farRatio) >= threshold {
		i.Low = stat.Bisect(func(ratio float64) bool { return r.logE(ratio) >= threshold }, 1/farRatio, centre)
	}
	if r.logE(farRatio) >= threshold {
		i.High = stat.Bisect(func(ratio float64) bool { return r.logE(ratio) < threshold }, centre, farRatio)
	}
	return i
}
