package analytics

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat/regress"
)

// BetFrom is the chance of being the better one from which an option is a best bet.
const BetFrom = 0.80

// Bet is a choice, not a finding: which option to take when something must be tied tomorrow. It
// may turn out wrong, and it says how likely that is, under the prior of PriorSD.
type Bet struct {
	Option  int     // the group that is likelier better than any other
	Against int     // the group fished most; where that is the option itself, the next best
	Chance  float64 // that Option does better than Against
	Prior   float64 // standard deviation of log ratios before anything was fished
}

// Best reports whether the option is a best bet; else the choice is open.
func (b Bet) Best() bool { return b.Chance >= BetFrom }

// priorOr is the standard deviation of log ratios that a person set, or the usual one.
func priorOr(sd float64) float64 {
	if sd > 0 {
		return sd
	}
	return PriorSD
}

// believed is what is known of the log ratios of some groups to the reference, after the prior
// under which each group's log rate is N(m, sd²/2), so that every log ratio is N(0, sd²).
type believed struct {
	groups []int // those with an interval
	mean   []float64
	cov    *mat.SymDense
	error  *mat.SymDense // of the estimates
}

// believe takes the comparisons with their standard errors as shown; how they hang together is the
// regression's.
func (f *Regression) believe(list []Correction, sd float64) (b believed, err error) {
	var estimates []float64
	var rows [][]float64
	for g, c := range list {
		if c.Bounded {
			b.groups, estimates, rows = append(b.groups, g), append(estimates, c.Estimate), append(rows, f.against(g))
		}
	}
	n := len(b.groups)
	if n == 0 {
		return b, nil
	}
	x := mat.NewDense(n, f.cells.P, nil)
	for i, row := range rows {
		x.SetRow(i, row)
	}
	var left, full mat.Dense
	left.Mul(x, f.tester.Covariance())
	full.Mul(&left, x.T())
	prior := mat.NewSymDense(n, nil)
	b.error = mat.NewSymDense(n, nil)
	for i, g := range b.groups {
		for j := i; j < n; j++ {
			share := 0.5 // two ratios share their reference
			correlation := 1.0
			if i != j {
				correlation = full.At(i, j) / math.Sqrt(full.At(i, i)*full.At(j, j))
			} else {
				share = 1
			}
			b.error.SetSym(i, j, correlation*list[g].SE*list[b.groups[j]].SE)
			prior.SetSym(i, j, share*sd*sd)
		}
	}
	b.mean, b.cov, err = regress.Posterior(estimates, b.error, prior)
	if err != nil {
		return b, fmt.Errorf("weigh the options: %w", err)
	}
	return b, nil
}

// bet is the choice between the groups, nil where nothing can be compared.
func (b believed) bet(reference int, more bool, sd float64) *Bet {
	if len(b.groups) == 0 {
		return nil
	}
	sign := 1.0 // of a log ratio that is better below 0
	if more {
		sign = -1
	}
	best := 0
	for i := range b.groups {
		if sign*b.mean[i] < sign*b.mean[best] {
			best = i
		}
	}
	chance := distuv.UnitNormal.CDF(-sign * b.mean[best] / math.Sqrt(b.cov.At(best, best)))
	if sign*b.mean[best] < 0 {
		return &Bet{Option: b.groups[best], Against: reference, Chance: chance, Prior: sd}
	}
	return &Bet{Option: reference, Against: b.groups[best], Chance: 1 - chance, Prior: sd}
}

// Cost says what an outcome costs and how much is fished.
type Cost struct {
	Minutes float64 // an event costs
	Hours   float64 // of a season
	More    float64 // hours of fishing that may be spent on finding out, as they are fished now
}

const (
	worthDraws = 4000
	worthSeed  = 4
)

// Worth is the expected value of sample information (Raiffa & Schlaifer 1961, Applied Statistical Decision
// Theory, ch. 4 [chapter from memory]): by how many minutes a season the choice between the groups is expected
// to become better when it is made after so many hours more, not now. It is what is
// believed of the log ratios that is played on, and what it will be after hours
// that tell as much as those behind it did. Ok is false where nothing can be compared.
func (a RateAnswer) Worth(c Cost) (minutes float64, ok bool, err error) {
	b := a.weighed
	if len(b.groups) == 0 || a.Total.Hours <= 0 || a.Total.Exposure <= 0 || a.Outcome.MoreIsBetter() {
		return 0, false, nil
	}
	n := len(b.groups)
	fresh := mat.NewSymDense(n, nil) // error of what is to be fished
	fresh.ScaleSym(a.Total.Hours/c.More, b.error)
	learned, left, err := preposterior(b.cov, fresh)
	if err != nil {
		return 0, false, fmt.Errorf("weigh what is to be learned: %w", err)
	}
	draws, err := regress.NormalDraws(b.mean, learned, worthDraws, worthSeed)
	if err != nil {
		return 0, false, err
	}
	// The choice made now is held against the best in each draw: it is right in most of them.
	chosen, least := -1, 1.0 // the reference has a relative rate of 1
	for i := range n {
		if rate := math.Exp(b.mean[i] + b.cov.At(i, i)/2); rate < least {
			chosen, least = i, rate
		}
	}
	saved := 0.0
	for k := range worthDraws {
		best, kept := 1.0, 1.0
		for i, m := range draws.RawRowView(k) {
			rate := math.Exp(m + left.At(i, i)/2)
			best = min(best, rate)
			if i == chosen {
				kept = rate
			}
		}
		saved += (kept - best) / worthDraws
	}
	ref := a.Groups[a.Reference]
	perHour := a.likelyRate(ref) * a.Total.Exposure / a.Total.Hours
	return saved * perHour * c.Minutes * c.Hours, true, nil
}

// likelyRate is a group's rate, with half an event where it had none.
func (a RateAnswer) likelyRate(g Group) float64 {
	if g.Events == 0 {
		return 0.5 / g.Exposure
	}
	return g.Rate
}

// preposterior splits what is not known of some quantities, cov, into what data with an error will
// teach of it, cov(cov + error)⁻¹cov, and what will be left.
func preposterior(cov, error *mat.SymDense) (learned, left *mat.SymDense, err error) {
	n := cov.SymmetricDim()
	_, left, err = regress.Posterior(make([]float64, n), error, cov)
	if err != nil {
		return nil, nil, err
	}
	learned = mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			learned.SetSym(i, j, cov.At(i, j)-left.At(i, j))
		}
	}
	return learned, left, nil
}
