package stat

import (
	"fmt"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// cluster draws the events of one cluster: negative binomial with squared
// coefficient of variation common, or beta-binomial with correlation common.
func cluster(rng *rand.Rand, kind Kind, rate, size, common float64) float64 {
	if kind == Rate {
		mean := rate * size
		if common > 0 {
			mean *= distuv.Gamma{Alpha: 1 / common, Beta: 1 / common, Src: rng}.Rand()
		}
		if mean <= 0 {
			return 0
		}
		return distuv.Poisson{Lambda: mean, Src: rng}.Rand()
	}
	if common > 0 {
		trials := 1/common - 1
		rate = distuv.Beta{Alpha: rate * trials, Beta: (1 - rate) * trials, Src: rng}.Rand()
	}
	return distuv.Binomial{N: size, P: rate, Src: rng}.Rand()
}

// season is one cell of the coverage grid.
type season struct {
	kind       Kind
	groups     int     // groups with clusters each
	clusters   int     // in the first group; later ones have times as many
	times      int     // unequal effort
	rate, fold float64 // of the first and of the second group, then in turn
	cv         float64 // of the clusters' expectations
	shared     bool    // every cluster has exposure in every group
}

func (c season) String() string {
	kind := "rates"
	if c.kind == Share {
		kind = "shares"
	}
	return fmt.Sprintf("%s, %d groups of %d clusters and %d-fold, rate %g and %g-fold, cv %g, shared %t",
		kind, c.groups, c.clusters, c.times, c.rate, c.fold, c.cv, c.shared)
}

// rateOf is the true rate of group g.
func (c season) rateOf(g int) float64 {
	if g%2 == 1 {
		return c.rate * c.fold
	}
	return c.rate
}

// draw makes one season's groups. Outings last 2 to 6 hours, with 1.5 trials an
// hour for shares.
func (c season) draw(rng *rand.Rand) (groups []Sums, clusters int, err error) {
	groups = make([]Sums, c.groups)
	square := c.cv * c.cv
	if c.shared {
		for range c.clusters {
			level := 1.0
			if square > 0 {
				level = distuv.Gamma{Alpha: 1 / square, Beta: 1 / square, Src: rng}.Rand()
			}
			for g := range groups {
				hours := 0.2 + 2*rng.ExpFloat64()
				if err := groups[g].Add(cluster(rng, Rate, c.rateOf(g)*level, hours, 0), hours); err != nil {
					return nil, 0, err
				}
			}
		}
		return groups, c.clusters, nil
	}
	for g := range groups {
		n := c.clusters
		if g > 0 {
			n *= c.times
		}
		for range n {
			size := 2 + 4*rng.Float64()
			common := square
			if c.kind == Share {
				size = distuv.Poisson{Lambda: 1.5 * size, Src: rng}.Rand()
				common = square * c.rate / (1 - c.rate)
			}
			if size == 0 {
				continue
			}
			if err := groups[g].Add(cluster(rng, c.kind, c.rateOf(g), size, common), size); err != nil {
				return nil, 0, err
			}
		}
	}
	return groups, 0, nil
}

// tally counts how often intervals hold the truth and comparisons find one.
type tally struct{ single, singleHit, pair, pairHit, found float64 }

func (c season) run(rng *rand.Rand, repetitions int) (tally, error) {
	var n tally
	for range repetitions {
		groups, clusters, err := c.draw(rng)
		if err != nil {
			return n, err
		}
		d, err := Disperse(c.kind, groups, clusters)
		if err != nil {
			return n, err
		}
		if err := c.score(&n, groups, d); err != nil {
			return n, err
		}
	}
	return n, nil
}

// score adds one season to the tally; groups without exposure or pairs without
// events have no interval to count.
func (c season) score(n *tally, groups []Sums, d Dispersion) error {
	interval, compare := RateInterval, RatioOfRates
	if c.kind == Share {
		interval, compare = ShareInterval, RatioOfShares
	}
	k0, t0 := d.Effective(0, groups[0])
	for g, s := range groups {
		k, exposure := d.Effective(g, s)
		i, err := interval(k, exposure, 0.95)
		if err != nil {
			return err
		}
		n.single++
		n.singleHit += inside(c.rateOf(g), i)
		if g == 0 || s.K+groups[0].K == 0 {
			continue
		}
		ratio, err := compare(k, exposure, k0, t0, 0.95)
		if err != nil {
			return err
		}
		n.pair++
		n.pairHit += inside(c.rateOf(g)/c.rate, ratio.Interval)
		if ratio.P < 0.05 {
			n.found++
		}
	}
	return nil
}

func inside(x float64, i Interval) float64 {
	if x >= i.Low && x <= i.High {
		return 1
	}
	return 0
}
