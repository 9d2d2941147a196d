package mixture

import (
	"fmt"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat"
)

// Shrunk is a set of rates or shares drawn towards their common centre.
type Shrunk struct {
	// A and B are the prior: shape and rate of a gamma distribution, or the two
	// parameters of a beta. Both are 0 when Common.
	A, B float64
	// Common says that the likelihood is highest when all units have one rate;
	// each unit is then given the pooled rate with its own exact interval.
	Common bool
	Centre float64 // prior mean; the pooled rate when Common
	LogLik float64 // marginal log-likelihood
	Units  []Unit
}

// Unit is the posterior mean of one unit with its 95% interval.
type Unit struct{ Mean, Low, High float64 }

// ShrinkRates draws event rates towards their common mean: counts are Poisson,
// rates gamma, the gamma's shape A and rate B by maximum marginal (negative
// binomial) likelihood; the posterior of a unit is gamma(A+events, B+exposure)
// (Marshall 1991, Applied Statistics 40:283; Clayton & Kaldor 1987, Biometrics
// 43:671). Events are real and at least 0, exposures above 0.
func ShrinkRates(events, exposure []float64) (*Shrunk, error) {
	centre, err := stat.PooledRate(events, exposure)
	if err != nil {
		return nil, fmt.Errorf("shrink rates: %w", err)
	}
	m := &gammaPoisson{k: events, t: exposure, pooled: centre}
	dispersion := 0.0
	if centre > 0 {
		dispersion = largestProfile(m)
	}
	if dispersion == 0 {
		return commonRate(m), nil
	}
	mean := m.centre(dispersion)
	s := &Shrunk{A: 1 / dispersion, B: 1 / (dispersion * mean), Centre: mean, LogLik: m.logLik(dispersion, mean)}
	for i, k := range events {
		a, b := s.A+k, s.B+exposure[i]
		s.Units = append(s.Units, Unit{Mean: a / b, Low: unitGammaQuantile(a, 0.025) / b, High: unitGammaQuantile(a, 0.975) / b})
	}
	return s, nil
}

// commonRate gives every unit the pooled rate with the exact Poisson interval of
// the total (Garwood 1936, Biometrika 28:437).
func commonRate(m *gammaPoisson) *Shrunk {
	events, exposure := 0.0, 0.0
	for i, k := range m.k {
		events += k
		exposure += m.t[i]
	}
	u := Unit{Mean: m.pooled, High: unitGammaQuantile(events+1, 0.975) / exposure}
	if events > 0 {
		u.Low = unitGammaQuantile(events, 0.025) / exposure
	}
	return newCommon(u, len(m.k), m.logLik(0, m.pooled))
}

func newCommon(u Unit, n int, logLik float64) *Shrunk {
	s := &Shrunk{Common: true, Centre: u.Mean, LogLik: logLik, Units: make([]Unit, n)}
	for i := range s.Units {
		s.Units[i] = u
	}
	return s
}

// ShrinkShares draws shares of trials towards their common mean: events are
// binomial, shares beta, its parameters A and B by maximum marginal
// (beta-binomial) likelihood; the posterior of a unit is
// beta(A+events, B+trials−events) (Griffiths 1973, Biometrics 29:637). Counts
// are real, 0 ≤ events ≤ trials, trials above 0.
func ShrinkShares(events, trials []float64) (*Shrunk, error) {
	centre, err := stat.PooledRate(events, trials)
	if err != nil {
		return nil, fmt.Errorf("shrink shares: %w", err)
	}
	for i, k := range events {
		if k > trials[i] {
			return nil, fmt.Errorf("shrink shares: entry %d has %g events in %g trials", i, k, trials[i])
		}
	}
	m := &betaBinomial{k: events, n: trials, pooled: centre}
	dispersion := 0.0
	if centre > 0 && centre < 1 {
		dispersion = largestProfile(m)
	}
	if dispersion == 0 {
		return commonShare(m), nil
	}
	mean := m.centre(dispersion)
	s := &Shrunk{A: mean / dispersion, B: (1 - mean) / dispersion, Centre: mean, LogLik: m.logLik(dispersion, mean)}
	for i, k := range events {
		post := distuv.Beta{Alpha: s.A + k, Beta: s.B + trials[i] - k}
		s.Units = append(s.Units, Unit{Mean: post.Mean(), Low: post.Quantile(0.025), High: post.Quantile(0.975)})
	}
	return s, nil
}

// commonShare gives every unit the pooled share with the exact binomial interval
// of the total (Clopper & Pearson 1934, Biometrika 26:404).
func commonShare(m *betaBinomial) *Shrunk {
	events, trials := 0.0, 0.0
	for i, k := range m.k {
		events += k
		trials += m.n[i]
	}
	u := Unit{Mean: m.pooled, High: 1}
	if events > 0 {
		u.Low = distuv.Beta{Alpha: events, Beta: trials - events + 1}.Quantile(0.025)
	}
	if events < trials {
		u.High = distuv.Beta{Alpha: events + 1, Beta: trials - events}.Quantile(0.975)
	}
	return newCommon(u, len(m.k), m.logLik(0, m.pooled))
}

// unitGammaQuantile is the quantile of the gamma distribution with unit rate.
func unitGammaQuantile(shape, p float64) float64 { return mathext.GammaIncRegInv(shape, p) }
