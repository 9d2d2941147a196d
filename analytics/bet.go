package analytics

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat/regress"
	"rigtally/journal"
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

// MoreIsBetter reports whether one wants more of an outcome.
func MoreIsBetter(o journal.Outcome) bool { return o.Key == "hookups" || o.Key == "landed" }

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
