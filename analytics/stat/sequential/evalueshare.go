package sequential

import "math"

// shareBets is the e-value of a trial of two shares: the test for 2×2 streams
// of Turner, Ly & Grünwald (2021, arXiv 2106.02693, from memory). A block with
// n₁ and n₂ trials multiplies it by
//
//	p(k₁, k₂; a₁, a₂) / p(k₁, k₂; ρx, x)
//
// the binomial likelihood of two shares that are bet on over that of the pair on
// the line of ratio ρ that is nearest to them: which has the least n₁KL(a₁ ‖ ρx)
// + n₂KL(a₂ ‖ x). For equal shares x is (n₁a₁ + n₂a₂)/(n₁ + n₂). The mean of the
// factor is at most 1 at every point of the line: it is a product of linear
// functions m₁^n₁ m₂^n₂ of the true shares, whose logarithm is concave, is 0 at
// the nearest pair, and has there a slope along the line of opposite sign to that
// of the distance, which is 0 or keeps to the line's end.
//
// The shares bet on are of each ratio of effects, times ρ, at the level of the
// events and trials of earlier blocks; the first block with trials only sets that
// level. The weighted mean over the bets is the e-value.
type shareBets struct {
	grid    []float64
	sizes   []float64
	weights []float64
	logs    [][]float64
	sums    []float64
	past    pair
}

func newShareBets(grid []float64, worth float64) *shareBets {
	b := &shareBets{grid: grid, logs: make([][]float64, len(grid)), sums: make([]float64, len(grid))}
	b.sizes, b.weights = effects(worth)
	for i := range b.logs {
		b.logs[i] = make([]float64, len(b.sizes))
	}
	return b
}

func (b *shareBets) add(block pair) {
	past := b.past
	b.past = pair{past.k1 + block.k1, past.t1 + block.t1, past.k2 + block.k2, past.t2 + block.t2}
	if past.t1+past.t2 == 0 || block.t1 == 0 || block.t2 == 0 {
		return
	}
	for i, rho := range b.grid {
		for j, size := range b.sizes {
			a1, a2 := past.shares(math.Exp(rho + size))
			b.logs[i][j] += block.logShares(a1, a2) - block.logShares(block.nearest(a1, a2, math.Exp(rho)))
		}
		b.sums[i] = logMean(b.logs[i], b.weights)
	}
}

// shares are those of a ratio that make the past events as many as they were,
// with half an event and a trial more so that none is 0, and at most 95%.
func (p pair) shares(ratio float64) (a1, a2 float64) {
	const most = 0.95
	a2 = math.Min((p.k1+p.k2+0.5)/(ratio*p.t1+p.t2+math.Sqrt(ratio)), most/math.Max(1, ratio))
	return ratio * a2, a2
}

// nearest is the pair of shares (ρx, x) nearest to a₁ and a₂, by the smaller root
// of ρNx² − (S(1 + ρ) + ρn₁(1 − a₁) + n₂(1 − a₂))x + S = 0, S = n₁a₁ + n₂a₂.
func (p pair) nearest(a1, a2, ratio float64) (x1, x2 float64) {
	s := p.t1*a1 + p.t2*a2
	b := s*(1+ratio) + ratio*p.t1*(1-a1) + p.t2*(1-a2)
	root := math.Sqrt(math.Max(0, b*b-4*ratio*(p.t1+p.t2)*s))
	x2 = 2 * s / (b + root)
	return ratio * x2, x2
}

// logShares is the log likelihood of a block's events at two shares.
func (p pair) logShares(a1, a2 float64) float64 {
	one := func(k, n, a float64) float64 {
		sum := 0.0
		if k > 0 {
			sum += k * math.Log(a)
		}
		if n > k {
			sum += (n - k) * math.Log1p(-a)
		}
		return sum
	}
	return one(p.k1, p.t1, a1) + one(p.k2, p.t2, a2)
}
