package analytics

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"rigtally/analytics/stat/regress"
)

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
	if len(b.groups) == 0 || a.Total.Hours <= 0 || a.Total.Exposure <= 0 || MoreIsBetter(a.Outcome) {
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
