package mixture

import (
	"fmt"
	"slices"

	"rigtally/analytics/stat"
)

// Shrunk is a set of rates or shares drawn towards their common centre.
type Shrunk struct {
	// A and B are the prior: shape and rate of a gamma distribution, or the two
	// parameters of a beta. Both are 0 when Common.
	A, B float64
	// Common says that the likelihood is highest when all units have one rate;
	// each unit is then given the pooled rate.
	Common bool
	Centre float64   // prior mean; the pooled rate when Common
	Means  []float64 // posterior mean of each unit
}

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
		return alike(centre, len(events)), nil
	}
	mean := m.centre(dispersion)
	s := &Shrunk{A: 1 / dispersion, B: 1 / (dispersion * mean), Centre: mean}
	for i, k := range events {
		s.Means = append(s.Means, (s.A+k)/(s.B+exposure[i]))
	}
	return s, nil
}

func alike(centre float64, units int) *Shrunk {
	return &Shrunk{Common: true, Centre: centre, Means: slices.Repeat([]float64{centre}, units)}
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
		return alike(centre, len(events)), nil
	}
	mean := m.centre(dispersion)
	s := &Shrunk{A: mean / dispersion, B: (1 - mean) / dispersion, Centre: mean}
	for i, k := range events {
		a, b := s.A+k, s.B+trials[i]-k
		s.Means = append(s.Means, a/(a+b))
	}
	return s, nil
}
