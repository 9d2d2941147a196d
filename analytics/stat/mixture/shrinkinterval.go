package mixture

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat"
)

// RatePosteriors returns what the counts of all units let one believe of the rate
// of each, averaged over all priors that the counts allow.
//
// Intervals that take the prior of ShrinkRates for the truth are far
// too sure with few units, and most where the likelihood sees no variation. Here
// the posterior is a mixture over the prior's dispersion and mean, weighted by
// likelihood and a vague prior: flat in the log mean, and uniform in the
// shrinkage A/(A + expected events) of a unit with a quarter of the median
// exposure (uniform shrinkage: Christiansen & Morris 1997, JASA 92:618, from
// memory; the quarter was chosen in simulation).
//
// Measured on counts divided by an estimated dispersion: 3, 5, 10 and 20 units of
// 6 or 25 sessions, rates and shares that vary by 0 to 100%, sessions by 0 or
// 60%, 200 repeats of each. Their middle 95% held the true value 92 to 100% of the
// time, 95.6% on average; those that take the fitted prior for the truth 76 to 97%.
//
// Without any event nothing is known of the spread, and each unit has the exact
// interval of its own count. Events and exposures are as for ShrinkRates.
func RatePosteriors(events, exposure []float64) ([]Posterior, error) {
	centre, err := stat.PooledRate(events, exposure)
	if err != nil {
		return nil, fmt.Errorf("intervals of shrunk rates: %w", err)
	}
	if centre == 0 {
		return exactPosteriors(stat.RateInterval, events, exposure)
	}
	m := &gammaPoisson{k: events, t: exposure, pooled: centre}
	priors := likelyPriors(m, centre*medianOf(exposure), math.Log, math.Exp)
	out := make([]Posterior, len(events))
	for i, k := range events {
		out[i] = Posterior{near: centre, top: largestRate, cdf: func(x float64) float64 {
			below := 0.0
			for _, p := range priors {
				shape := 1 / p.dispersion
				below += p.weight * mathext.GammaIncReg(shape+k, x*(shape/p.mean+exposure[i]))
			}
			return below
		}}
	}
	return out, nil
}

// SharePosteriors is RatePosteriors for shares of trials.
func SharePosteriors(events, trials []float64) ([]Posterior, error) {
	centre, err := stat.PooledRate(events, trials)
	if err != nil {
		return nil, fmt.Errorf("intervals of shrunk shares: %w", err)
	}
	for i, k := range events {
		if err := stat.CheckTrials(k, trials[i]); err != nil {
			return nil, fmt.Errorf("intervals of shrunk shares: entry %d: %w", i, err)
		}
	}
	if centre <= 0 || centre >= 1 {
		return exactPosteriors(stat.ShareInterval, events, trials)
	}
	m := &betaBinomial{k: events, n: trials, pooled: centre}
	logit := func(p float64) float64 { return math.Log(p / (1 - p)) }
	back := func(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
	priors := likelyPriors(m, medianOf(trials), logit, back)
	out := make([]Posterior, len(events))
	for i, k := range events {
		out[i] = Posterior{near: centre, top: 1, cdf: func(x float64) float64 {
			below := 0.0
			for _, p := range priors {
				below += p.weight * mathext.RegIncBeta(p.mean/p.dispersion+k, (1-p.mean)/p.dispersion+max(0, trials[i]-k), min(x, 1))
			}
			return below
		}}
	}
	return out, nil
}

// smallestRate and largestRate bound the search for the ends of an interval.
const smallestRate, largestRate = 1e-300, 1e300

// Posterior is what the counts let one believe of the rate or share of a unit.
type Posterior struct {
	near, top float64
	cdf       func(float64) float64 // nil when nothing is known but the exact interval
	exact     stat.Interval
}

// Interval is the middle 95%.
func (p Posterior) Interval() stat.Interval {
	if p.cdf == nil {
		return p.exact
	}
	return mixtureInterval(p.near, p.top, p.cdf)
}

// Below is the probability that the rate lies below x, from 0 to 1; a half when
// nothing is known of how units differ.
func (p Posterior) Below(x float64) float64 {
	if p.cdf == nil {
		return 0.5
	}
	return min(1, max(0, p.cdf(x)))
}

func exactPosteriors(interval func(k, t, conf float64) (stat.Interval, error), events, exposure []float64) ([]Posterior, error) {
	out := make([]Posterior, len(events))
	for i, k := range events {
		var err error
		if out[i].exact, err = interval(k, exposure[i], 0.95); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func medianOf(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	return sorted[len(sorted)/2]
}

// likelyPrior is one of the priors that the counts allow.
type likelyPrior struct{ weight, dispersion, mean float64 }

// The nodes and weights of five-point Gauss–Hermite quadrature (Abramowitz &
// Stegun, table 25.10), the weights times e^(x²).
var (
	hermiteNodes   = [5]float64{-2.020182870456086, -0.958572464613819, 0, 0.958572464613819, 2.020182870456086}
	hermiteWeights = [5]float64{1.181488625535987, 0.986580996751428, 0.945308720482942, 0.986580996751428, 1.181488625535987}
)

// likelyPriors weighs dispersions on a grid and, at each, means around the best
// one; link turns a mean into the scale on which the vague prior is flat. Size is
// the typical expected count, or number of trials, of a unit.
func likelyPriors(m family, size float64, link, back func(float64) float64) []likelyPrior {
	const step, least, most = 0.25, 1e-3, 1e3
	var priors []likelyPrior
	highest := math.Inf(-1)
	for logD := math.Log(least / size); logD < math.Log(most); logD += step {
		d := math.Exp(logD)
		eta := link(m.centre(d))
		se := likelihoodWidth(func(x float64) float64 { return m.logLik(d, back(x)) }, eta)
		if se == 0 {
			continue
		}
		shrinkage := 1 / (1 + d*size/4)
		vague := math.Log(shrinkage * (1 - shrinkage)) // uniform in shrinkage, by log d
		for j, node := range hermiteNodes {
			mean := back(eta + math.Sqrt2*se*node)
			logWeight := m.logLik(d, mean) + math.Log(hermiteWeights[j]*se) + vague
			highest = max(highest, logWeight)
			priors = append(priors, likelyPrior{logWeight, d, mean})
		}
	}
	return normalisePriors(priors, highest)
}

// normalisePriors turns log weights into weights of sum 1 and drops those
// that come to nothing.
func normalisePriors(priors []likelyPrior, highest float64) []likelyPrior {
	const negligible = 1e-6
	sum := 0.0
	kept := priors[:0]
	for _, p := range priors {
		if p.weight = math.Exp(p.weight - highest); p.weight > negligible {
			sum += p.weight
			kept = append(kept, p)
		}
	}
	for i := range kept {
		kept[i].weight /= sum
	}
	return kept
}

// likelihoodWidth is the standard error that the curvature of a log-likelihood
// gives at its maximum, or 0 when it has none.
func likelihoodWidth(logLik func(float64) float64, at float64) float64 {
	const h = 0.01
	curvature := (2*logLik(at) - logLik(at+h) - logLik(at-h)) / (h * h)
	if !(curvature > 0) {
		return 0
	}
	return 1 / math.Sqrt(curvature)
}

// mixtureInterval is the central 95% interval of a distribution on (0, top) that
// has its mass around near, within a few powers of ten.
func mixtureInterval(near, top float64, cdf func(float64) float64) stat.Interval {
	end := func(p float64) float64 {
		low, high := near, near
		for cdf(low) > p && low > smallestRate {
			low /= 8
		}
		for cdf(high) < p && high < top {
			high = min(top, 8*high)
		}
		if high == top {
			high = math.Nextafter(top, 0)
		}
		// As a normal deviate, a distribution's function is nearly straight over log x,
		// and its root is found in a few steps.
		target := distuv.UnitNormal.Quantile(p)
		excess := func(logX float64) float64 {
			below := min(1-1e-15, max(1e-300, cdf(math.Exp(logX))))
			return distuv.UnitNormal.Quantile(below) - target
		}
		return math.Exp(riddersRootTo(1e-9, excess, math.Log(low), math.Log(high)))
	}
	return stat.Interval{Low: end(0.025), High: min(top, end(0.975))}
}
