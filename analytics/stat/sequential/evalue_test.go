package sequential

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

const handTol = 1e-6 // of figures worked out by hand

func agrees(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Max(1, math.Abs(want))) {
		t.Errorf("%s is %.9g, want %.9g", what, got, want)
	}
}

// The closed form B(a+k1, b+k2)/(B(a, b) p^k1 (1−p)^k2), worked out by hand with
// B(x, y) = (x−1)!(y−1)!/(x+y−1)!:
//
//	3 and 0 events, p ½, a = b = 1: B(4,1)/B(1,1) = 1/4; (1/4)/(1/8) = 2
//	5 and 1, p ½, a = b = 1: B(6,2) = 5!·1!/7! = 1/42; 64/42 = 32/21
//	2 and 1, p ⅓, a = b = 1: B(3,2) = 2!·1!/4! = 1/12; null (1/9)(2/3) = 2/27;
//	27/24 = 9/8
//	2 and 1, p ½, a = b = 4: B(6,5)/B(4,4) = (1/1260)/(1/140) = 1/9; 8/9
func TestBetaBinomialByHand(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ k1, k2, p, a, b, want float64 }{
		{3, 0, 0.5, 1, 1, 2}, {5, 1, 0.5, 1, 1, 32.0 / 21}, {2, 1, 1.0 / 3, 1, 1, 9.0 / 8}, {2, 1, 0.5, 4, 4, 8.0 / 9},
	} {
		agrees(t, "e", math.Exp(LogBetaBinomial(c.k1, c.k2, c.p, c.a, c.b)), c.want, 1e-12)
	}
}

// Two blocks whose exposures differ, for a smallest ratio of 2, so that
// m = 0.25/(2/3 − 1/2)² − 1 = 8. The first, 2 and 1 events in an hour of each, is
// the last case above: 8/9. Before the second, of one hour and three, the ratio ρ
// is where 8ρ/(ρ+3) + 3ρ/(ρ+1) = 8·¼ + 2: 7ρ² + ρ − 12 = 0, ρ = 1.239826. One
// event of the first arm then multiplies by (ρ/(ρ+3))/¼ = 1.169695: e = 1.039729.
func TestChangingExposuresByHand(t *testing.T) {
	t.Parallel()
	r := newRateBets(2)
	agrees(t, "m", r.prior, 8, 1e-12)
	r.add(pair{2, 1, 1, 1})
	agrees(t, "e of the first block", math.Exp(r.logE(1)), 8.0/9, 1e-12)
	agrees(t, "the ratio before the second", r.likeliest(pair{1, 1, 0, 3}), 1.239826, handTol)
	r.add(pair{1, 1, 0, 3})
	agrees(t, "e of both", math.Exp(r.logE(1)), 8.0/9*1.169695, handTol)
}

// When exposures do not change, block by block is the closed form of all at once.
func TestEqualExposuresAreTheClosedForm(t *testing.T) {
	t.Parallel()
	r := newRateBets(1.5) // d = 0.1, m = 24
	var k1, k2 float64
	for _, k := range [][2]float64{{1, 0}, {0, 0}, {4, 3}, {0, 2}, {7, 1}} {
		r.add(pair{k[0], 2, k[1], 3})
		k1, k2 = k1+k[0], k2+k[1]
	}
	agrees(t, "log e", r.logE(1), LogBetaBinomial(k1, k2, 0.4, 24*0.4, 24*0.6), 1e-9)
}

// The bet on the arrangement, by hand for a ratio of 2 and Poisson counts, where
// an arrangement with k events of the first arm has the weight 2^k at equal hours:
//
//	a pair with 3 and 1 events: 2·2³/(2³ + 2¹) = 8/5
//	four with 2 and 1 against 0 and 1: the six arrangements have 3, 2, 3, 1, 2 and
//	1 events of the first arm: 6·8/(8 + 4 + 8 + 2 + 4 + 2) = 12/7
//	a pair with 1 event in 2 hours and 0 in 1: 2θ(θ+2)/(θ(θ+2) + 2θ + 1), 16/13
//	a pair with 2 and 0 against a ratio of 2: each of the 2 is kept with chance ½;
//	none: 1; one: 2·2/3; both: 2·4/5: ¼ + ½·4/3 + ¼·8/5 = 79/60
func TestLabelBetByHand(t *testing.T) {
	t.Parallel()
	two := []bet{{math.Ln2, math.Inf(1)}}
	for _, c := range []struct {
		name  string
		block Block
		ratio float64
		want  float64
	}{
		{"pair", Block{{true, 3, 1}, {false, 1, 1}}, 1, 8.0 / 5},
		{"four", Block{{true, 2, 1}, {true, 1, 1}, {false, 0, 1}, {false, 1, 1}}, 1, 12.0 / 7},
		{"unequal hours", Block{{true, 1, 2}, {false, 0, 1}}, 1, 16.0 / 13},
		{"thinned", Block{{false, 0, 1}, {true, 2, 1}}, 2, 79.0 / 60},
	} {
		b := &labelBets{grid: []float64{math.Log(c.ratio)}, bets: two, weights: []float64{1}, logs: [][]float64{{0}}, sums: []float64{0}}
		b.add(c.block)
		agrees(t, c.name, math.Exp(b.sums[0]), c.want, 1e-12)
	}
}

// Shares, by hand: bet on 0.8 against 0.4 in one trial each, the nearest equal
// pair is 0.6, and a yes and a no make (0.8·0.6)/(0.6·0.4) = 2. Bet on 0.5 in two
// trials against 0.2 in one: 0.4, and one yes of the two makes
// (0.5·0.5·0.8)/(0.4·0.6·0.6) = 25/18. Against a ratio of 2, bet on 0.9 and 0.3 in
// one trial each: 4x² − 4.5x + 1.2 = 0, x = (4.5 − √1.05)/8 = 0.434413.
func TestShareBetByHand(t *testing.T) {
	t.Parallel()
	p := pair{1, 1, 0, 1}
	agrees(t, "one each", math.Exp(p.logShares(0.8, 0.4)-p.logShares(p.nearest(0.8, 0.4, 1))), 2, 1e-12)
	p = pair{1, 2, 0, 1}
	agrees(t, "two and one", math.Exp(p.logShares(0.5, 0.2)-p.logShares(p.nearest(0.5, 0.2, 1))), 25.0/18, 1e-12)
	p = pair{1, 1, 0, 1}
	_, x := p.nearest(0.9, 0.3, 2)
	agrees(t, "the nearest at a ratio of 2", x, 0.434413, handTol)
}

// Every bet is at fair odds: its mean is 1 where it should be. Over the
// arrangements it is exactly so, whatever the counts; over Poisson counts of any
// two levels, also against another ratio; over binomial ones at most 1 everywhere
// on the line.
func TestBetsAreFair(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(5, 1))
	for range 50 {
		block := make(Block, 2+2*rng.IntN(2))
		for i := range block {
			block[i] = Unit{i%2 == 0, float64(rng.IntN(30)), 0.3 + 3*rng.Float64()}
		}
		b := bet{4 * (rng.Float64() - 0.5), 1 / []float64{0, 0.25, 1}[rng.IntN(3)]}
		counts := make([]float64, len(block))
		for i, u := range block {
			counts[i] = u.K
		}
		all := arrangements(block)
		mean := 0.0
		for i := range all {
			all[0], all[i] = all[i], all[0]
			mean += b.value(block, counts, all) / float64(len(all))
		}
		agrees(t, "the mean over the arrangements", mean, 1, 1e-12)
	}
	for _, c := range []struct{ ratio, one, two float64 }{{2, 1.5, 0.2}, {0.6, 3, 3}, {1, 0.1, 4}} {
		agrees(t, "the mean over Poisson counts", meanOverPoisson(c.ratio, c.one, c.two), 1, 1e-6)
	}
	for range 200 {
		p := pair{0, float64(1 + rng.IntN(6)), 0, float64(1 + rng.IntN(6))}
		a1, a2, ratio := rng.Float64(), rng.Float64(), math.Exp(3*(rng.Float64()-0.5))
		x1, x2 := p.nearest(a1, a2, ratio)
		for i := range 21 {
			y := float64(i) / 20 * math.Min(1, 1/ratio)
			if mean := meanOverBinomial(p, a1, a2, x1, x2, ratio*y, y); mean > 1+1e-9 {
				t.Fatalf("bet on %g, %g with %g and %g trials at %g, %g: the mean is %g", a1, a2, p.t1, p.t2, ratio*y, y, mean)
			}
		}
	}
}

// meanOverPoisson is the mean of a bet when the arms of a pair of units of levels
// one and two, fished for 1 and 2 hours, are drawn, and the first has the ratio.
func meanOverPoisson(ratio, one, two float64) (mean float64) {
	const most = 60
	for _, first := range []bool{true, false} {
		m1, m2 := one*weight(first, ratio), 2*two*weight(!first, ratio)
		for k1 := range most {
			for k2 := range most {
				r := &ring{block: Block{{first, float64(k1), 1}, {!first, float64(k2), 2}}, bets: []bet{{0.7, 4}}}
				chance := distuv.Poisson{Lambda: m1}.Prob(float64(k1)) * distuv.Poisson{Lambda: m2}.Prob(float64(k2)) / 2
				if chance < 1e-12 {
					continue
				}
				if r.arrangements = arrangements(r.block); k1+k2 == 0 {
					mean += chance
					continue
				}
				r.thin(math.Log(ratio), 1, func(counts []float64, kept float64) { mean += chance * kept * r.values(counts)[0] })
			}
		}
	}
	return mean
}

func meanOverBinomial(p pair, a1, a2, x1, x2, y1, y2 float64) (mean float64) {
	for p.k1 = 0; p.k1 <= p.t1; p.k1++ {
		for p.k2 = 0; p.k2 <= p.t2; p.k2++ {
			chance := distuv.Binomial{N: p.t1, P: y1}.Prob(p.k1) * distuv.Binomial{N: p.t2, P: y2}.Prob(p.k2)
			if chance > 0 {
				mean += chance * math.Exp(p.logShares(a1, a2)-p.logShares(x1, x2))
			}
		}
	}
	return mean
}
