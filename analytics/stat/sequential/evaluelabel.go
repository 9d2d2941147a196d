package sequential

import (
	"math"
	"math/rand/v2"
)

// labelBets is the e-value of a trial that rests on the drawing of its order.
//
// If it makes no difference which arm was tied, a block's events and exposures
// are what they are, and given how many units there are of each arm every one of
// the M arrangements of the arms over them was equally likely: rigtally drew it.
// So for any q that gives the arrangements probabilities adding up to one, and
// that is made of the block's numbers without its arrangement and of earlier
// blocks,
//
//	E = M · q(arrangement drawn)
//
// has the mean 1 given all that came before: a bet at fair odds. The product
// over blocks is a nonnegative martingale, whatever the sessions' dispersion and
// whatever units share, since nothing was assumed of the counts (a randomisation
// test by betting: Fisher 1935, The Design of Experiments; Shafer 2021, JRSS A
// 184:407; Ramdas et al. 2023, Statistical Science 38:576; from memory). Blocks
// lie within sessions or next to each other, so q is the conditional probability
// of the arrangement under a ratio θ and a level that the block's own events
// give, once for Poisson counts and twice for negative binomial ones, which bet
// less on few units with many events; a wrong q costs power, never validity. The
// bets on all θ and dispersions are laid at once: their weighted mean is the
// e-value.
//
// For a ratio ρ other than 1 there is no such symmetry, but there is after each
// event of the arm with more was kept with chance 1/ρ: if the units' events are
// Poisson with levels that may differ in any way, though not by arm but for the
// ratio, the kept ones no longer tell the arms apart. E is then the mean over
// what might be kept, again at fair odds.
//
// What it needs: that the arm changes neither how long a unit is fished nor
// whether it is counted.
type labelBets struct {
	grid    []float64 // log ratios under test
	bets    []bet
	weights []float64
	logs    [][]float64 // of each ratio and bet: the log product over blocks
	sums    []float64   // of each ratio: the log e-value
	blocks  uint64
}

// bet is on one ratio and dispersion.
type bet struct {
	effect float64 // the log ratio
	shape  float64 // of the units' gamma levels; +Inf for Poisson counts
}

func newLabelBets(grid []float64, worth float64) *labelBets {
	b := &labelBets{grid: grid, logs: make([][]float64, len(grid)), sums: make([]float64, len(grid))}
	sizes, weights := effects(worth)
	for _, square := range []float64{0, 0.25, 1} { // squared coefficients of variation
		for i, size := range sizes {
			b.bets = append(b.bets, bet{size, 1 / square})
			b.weights = append(b.weights, weights[i]/3)
		}
	}
	for i := range b.logs {
		b.logs[i] = make([]float64, len(b.bets))
	}
	return b
}

// add bets on a block.
func (b *labelBets) add(block Block) {
	b.blocks++
	p := block.sums()
	if p.t1 == 0 || p.t2 == 0 || p.k1+p.k2 == 0 {
		return
	}
	r := &ring{block: block, arrangements: arrangements(block), bets: b.bets}
	stakes := make([]float64, len(b.bets))
	for i, ratio := range b.grid {
		clear(stakes)
		r.thin(ratio, b.blocks, func(counts []float64, chance float64) {
			for j, v := range r.values(counts) {
				stakes[j] += chance * v
			}
		})
		for j, v := range stakes {
			b.logs[i][j] += math.Log(v)
		}
		b.sums[i] = logMean(b.logs[i], b.weights)
	}
}

// ring works out the bets on one block, for the counts that thinning may leave.
type ring struct {
	block        Block
	arrangements [][]bool // the drawn one first
	bets         []bet
	known        map[[mostUnits]float64][]float64
}

// arrangements lists every way to deal the arms of a block over its units, the
// drawn one first.
func arrangements(block Block) [][]bool {
	drawn, n := 0, 0
	for i, u := range block {
		if u.First {
			drawn |= 1 << i
			n++
		}
	}
	var list [][]bool
	for set := range 1 << len(block) {
		arms := make([]bool, len(block))
		count := 0
		for i := range arms {
			if arms[i] = set>>i&1 == 1; arms[i] {
				count++
			}
		}
		switch {
		case set == drawn:
			list = append([][]bool{arms}, list...)
		case count == n:
			list = append(list, arms)
		}
	}
	return list
}

// Up to mostKept outcomes of thinning are all gone through; of more, someKept
// are drawn, whose mean is as fair.
const mostKept, someKept = 400, 40

// thin calls f with what may be left of the block's counts after thinning for a
// log ratio, and with its chance. Chances below 1e-9 are passed over, which can
// only make the e-value smaller.
func (r *ring) thin(ratio float64, block uint64, f func(counts []float64, chance float64)) {
	counts := make([]float64, len(r.block))
	var thinned []int
	outcomes := 1.0
	for i, u := range r.block {
		counts[i] = u.K
		if ratio != 0 && u.First == (ratio > 0) && u.K > 0 {
			thinned = append(thinned, i)
			outcomes *= u.K + 1
		}
	}
	keep := math.Exp(-math.Abs(ratio))
	if outcomes > mostKept {
		r.draw(counts, thinned, keep, block, f)
		return
	}
	r.each(counts, thinned, keep, 1, f)
}

func (r *ring) each(counts []float64, thinned []int, keep, chance float64, f func([]float64, float64)) {
	if len(thinned) == 0 {
		f(counts, chance)
		return
	}
	i := thinned[0]
	n := r.block[i].K
	for k := 0.0; k <= n; k++ {
		if c := chance * math.Exp(logBinomial(k, n, keep)); c > 1e-9 {
			counts[i] = k
			r.each(counts, thinned[1:], keep, c, f)
		}
	}
	counts[i] = n
}

// draw thins at random, always alike for the same block of a trial.
func (r *ring) draw(counts []float64, thinned []int, keep float64, block uint64, f func([]float64, float64)) {
	rng := rand.New(rand.NewPCG(block, math.Float64bits(keep)))
	for range someKept {
		for _, i := range thinned {
			counts[i] = 0
			for range int(r.block[i].K) {
				if rng.Float64() < keep {
					counts[i]++
				}
			}
		}
		f(counts, 1.0/someKept)
	}
}

// values are the e-values of all bets on a block with these counts.
func (r *ring) values(counts []float64) []float64 {
	var key [mostUnits]float64
	copy(key[:], counts)
	if v, ok := r.known[key]; ok {
		return v
	}
	v := make([]float64, len(r.bets))
	for i, b := range r.bets {
		v[i] = b.value(r.block, counts, r.arrangements)
	}
	if r.known == nil {
		r.known = map[[mostUnits]float64][]float64{}
	}
	r.known[key] = v
	return v
}

// value is M·q(drawn), the drawn arrangement being the first.
func (b bet) value(block Block, counts []float64, arrangements [][]bool) float64 {
	drawn := b.logLikelihood(block, counts, arrangements[0])
	sum := 0.0
	for _, arms := range arrangements {
		sum += math.Exp(b.logLikelihood(block, counts, arms) - drawn)
	}
	return float64(len(arrangements)) / sum
}

// logLikelihood of counts, up to a constant, if the arms lay so, with the level
// that makes the block's events as many as they were.
func (b bet) logLikelihood(block Block, counts []float64, first []bool) float64 {
	ratio := math.Exp(b.effect)
	events, exposure := 0.0, 0.0
	for i, u := range block {
		events += counts[i]
		exposure += weight(first[i], ratio) * u.T
	}
	if events == 0 {
		return 0
	}
	level, sum := events/exposure, 0.0
	for i, u := range block {
		mean := level * weight(first[i], ratio) * u.T
		sum += counts[i] * math.Log(mean)
		if !math.IsInf(b.shape, 1) {
			sum -= (counts[i] + b.shape) * math.Log1p(mean/b.shape)
		}
	}
	return sum
}

func weight(first bool, ratio float64) float64 {
	if first {
		return ratio
	}
	return 1
}

// logBinomial is the log probability of k of n at chance p, 0 < p ≤ 1.
func logBinomial(k, n, p float64) float64 {
	miss := 0.0
	if n > k {
		miss = (n - k) * math.Log1p(-p)
	}
	return logChoose(n, k) + k*math.Log(p) + miss
}

func logChoose(n, k float64) float64 {
	a, _ := math.Lgamma(n + 1)
	b, _ := math.Lgamma(k + 1)
	c, _ := math.Lgamma(n - k + 1)
	return a - b - c
}
