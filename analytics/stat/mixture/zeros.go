package mixture

import (
	"fmt"
	"math"

	"rigtally/analytics/stat"
)

// ZeroTest holds the number of units without an event against the number that
// the counts of all units let expect.
type ZeroTest struct {
	Units      int
	Observed   int     // units without an event
	Expected   float64 // of them
	SD         float64 // of Observed − Expected, what the fit takes up counted
	Dispersion float64 // fitted: a count's variance is μ + Dispersion·μ²; 0 for Poisson
	P          float64 // of as many or more, one-sided; 1 where nothing can be told

	step float64 // what one more unit without an event adds to Observed − Expected
}

// ExcessZeros fits Poisson counts with gamma rates (negative binomial) by
// maximum likelihood, as ShrinkRates does, and tests whether more units have no
// event than that fit expects. With P₀ = (1 + αμ)^(−1/α), or e^(−μ) when α = 0,
// the difference D = Σ(1{k = 0} − P₀) has, at the estimates, the variance
//
//	ΣP₀(1 − P₀) − (Σ∂P₀/∂ln m)²/I_m − (Σ∂P₀/∂α)²/I_α
//
// (a conditional moment test: Newey 1985, Econometrica 53:1047; for Poisson
// counts compare van den Broek 1995, Biometrics 51:738). Mean and dispersion are
// orthogonal; their informations are I_m = Σμ/(1 + αμ) and (Lawless 1987,
// Canadian Journal of Statistics 15:209)
//
//	I_α = α⁻⁴ Σ[Σ_j (j + 1/α)⁻² P(K > j) − αμ/(μ + 1/α)]
//
// The sources are named from memory; the tests check the formulas against sums
// over the distribution made by R. P is normal, with a correction of half of what
// one more unit without an event adds to D on average.
//
// Counts are whole and at least 0, exposures above 0.
func ExcessZeros(events, exposure []float64) (*ZeroTest, error) {
	s, err := ShrinkRates(events, exposure)
	if err != nil {
		return nil, fmt.Errorf("count the zeros: %w", err)
	}
	z := &ZeroTest{Units: len(events)}
	for i, k := range events {
		if k != math.Trunc(k) {
			return nil, fmt.Errorf("count the zeros: entry %d has %g events, which is not a whole number", i, k)
		}
		if k == 0 {
			z.Observed++
		}
	}
	if !s.Common {
		z.Dispersion = 1 / s.A
	}
	z.expect(s.Centre, exposure)
	return z, nil
}

// expect fills in what a fitted mean and dispersion let expect.
func (z *ZeroTest) expect(centre float64, exposure []float64) {
	var spread, byMean, byAlpha, infoMean, infoAlpha float64
	for _, t := range exposure {
		n := newNegBinomial(centre*t, z.Dispersion)
		z.Expected += n.zero
		spread += n.zero * (1 - n.zero)
		byMean += n.zeroByLogMean()
		infoMean += n.mu / (1 + n.alpha*n.mu)
		if n.alpha > 0 {
			byAlpha += n.zeroByAlpha()
			infoAlpha += n.infoAlpha()
		}
	}
	left := spread
	if infoMean > 0 {
		left -= byMean * byMean / infoMean
	}
	if infoAlpha > 0 {
		left -= byAlpha * byAlpha / infoAlpha
	}
	if left > 1e-9*spread {
		z.SD = math.Sqrt(left)
		z.step = left / spread
	}
	z.P = z.chance()
}

// SumZeros adds up tests of units that were fitted apart. Dispersion is left at 0.
func SumZeros(tests []*ZeroTest) *ZeroTest {
	sum := &ZeroTest{}
	variance, weighted := 0.0, 0.0
	for _, z := range tests {
		sum.Units += z.Units
		sum.Observed += z.Observed
		sum.Expected += z.Expected
		variance += z.SD * z.SD
		weighted += z.SD * z.SD * z.step
	}
	if variance > 0 {
		sum.SD = math.Sqrt(variance)
		sum.step = weighted / variance
	}
	sum.P = sum.chance()
	return sum
}

func (z *ZeroTest) chance() float64 {
	if z.SD == 0 {
		return 1
	}
	return stat.StudentSurvival((float64(z.Observed)-z.Expected-z.step/2)/z.SD, math.Inf(1))
}

// negBinomial is a count of mean mu and variance mu + alpha·mu², which is 0 with
// probability zero.
type negBinomial struct{ mu, alpha, zero float64 }

func newNegBinomial(mu, alpha float64) negBinomial {
	if alpha == 0 {
		return negBinomial{mu, 0, math.Exp(-mu)}
	}
	return negBinomial{mu, alpha, math.Exp(-math.Log1p(alpha*mu) / alpha)}
}

func (n negBinomial) zeroByLogMean() float64 { return -n.zero * n.mu / (1 + n.alpha*n.mu) }

func (n negBinomial) zeroByAlpha() float64 {
	am := n.alpha * n.mu
	return n.zero * (math.Log1p(am) - am/(1+am)) / (n.alpha * n.alpha)
}

func (n negBinomial) infoAlpha() float64 {
	const negligible, most = 1e-13, 1e6
	shape := 1 / n.alpha
	chance, above, sum := n.zero, 1-n.zero, 0.0 // P(K = j), P(K > j)
	for j := 0.0; above > negligible && j < most; j++ {
		sum += above / ((j + shape) * (j + shape))
		chance *= (j + shape) / (j + 1) * n.mu / (n.mu + shape)
		above -= chance
	}
	return math.Pow(shape, 4) * (sum - n.alpha*n.mu/(n.mu+shape))
}
