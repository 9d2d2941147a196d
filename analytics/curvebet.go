package analytics

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat/regress"
)

// CurveBet is a Bet between two values of a number.
type CurveBet struct {
	At      float64 `json:"at"`      // the value to choose, in the storage unit
	Against float64 `json:"against"` // the one fished most
	Chance  float64 `json:"chance"`  // that At does better than Against
	Prior   float64 `json:"prior_sd"`
}

// Best reports whether the value is a best bet; else the choice is open.
func (b CurveBet) Best() bool { return b.Chance >= BetFrom }

// curveBelief is what is believed of a curve. Its prior is as wide in every direction as the
// likelihood is, times a factor, at which the log ratio of the 80th to the 20th percentile of what was
// fished is N(0, sd²) (Zellner 1986, On assessing prior distributions, the g prior): what is
// believed is the estimate times one share, with its covariance times the same.
type curveBelief struct {
	f     *Regression
	at    []float64 // values that compete, ascending
	usual int       // place of the one fished most
	share float64
	wide  float64 // factor of the standard errors shown over those of the coefficients' one covariance
}

// usualValue is the place of the competing value with most exposure nearest to it.
func usualValue(at []float64, rug []Rug) int {
	sums := make([]float64, len(at))
	for _, r := range rug {
		nearest := 0
		for i, v := range at {
			if math.Abs(v-r.At) < math.Abs(at[nearest]-r.At) {
				nearest = i
			}
		}
		sums[nearest] += r.Exposure
	}
	return slices.Index(sums, slices.Max(sums))
}

// believe fills what is believed of the curve, with the bet that follows.
func (a *CurveAnswer) believe(f *Regression, sd float64) error {
	low, high := FishedRange(a.Rug, FishedShare)
	b := &curveBelief{f: f}
	for _, p := range a.Points {
		if p.At >= low && p.At <= high {
			b.at = append(b.at, p.At)
		}
	}
	if len(b.at) < 2 {
		return nil
	}
	from, to := FishedRange(a.Rug, 0.6)
	if from == to {
		from, to = low, high
	}
	span, err := f.tester.Contrast(b.between(to, from))
	if errors.Is(err, regress.ErrOneCluster) || errors.Is(err, regress.ErrNoSpread) {
		return nil
	}
	if err != nil {
		return err
	}
	c := mat.NewVecDense(f.cells.P, b.between(to, from))
	b.wide = span.SE / math.Sqrt(mat.Inner(c, f.tester.Covariance(), c))
	b.share = sd * sd / (sd*sd + span.SE*span.SE)
	b.usual = usualValue(b.at, a.Rug)
	a.belief = b
	return a.bet(sd)
}

// between is the contrast of a value with another.
func (b *curveBelief) between(value, other float64) []float64 {
	c := b.f.contrast(b.f.asked.row(value))
	for j, x := range b.f.asked.row(other) {
		c[b.f.first+j] -= x
	}
	return c
}

// bet chooses the best value; it bets on nothing where that is the one fished most.
func (a *CurveAnswer) bet(sd float64) error {
	b := a.belief
	sign := 1.0 // of a log rate that is better when lower
	if a.Highest {
		sign = -1
	}
	usual, best, least := b.at[b.usual], b.usual, 0.0
	for i, v := range b.at {
		if gain := sign * b.f.estimate(b.between(v, usual)); gain < least {
			best, least = i, gain
		}
	}
	if best == b.usual {
		return nil
	}
	c, err := b.f.tester.Contrast(b.between(b.at[best], usual))
	if errors.Is(err, regress.ErrOneCluster) || errors.Is(err, regress.ErrNoSpread) {
		return nil
	}
	if err != nil {
		return err
	}
	a.Bet = &CurveBet{At: b.at[best], Against: usual, Chance: distuv.UnitNormal.CDF(math.Sqrt(b.share) * math.Abs(c.Estimate) / c.SE), Prior: sd}
	return nil
}

// Worth is that of RateAnswer, of the choice of a value.
func (a CurveAnswer) Worth(c Cost) (minutes float64, ok bool, err error) {
	b := a.belief
	if b == nil || a.Total.Hours <= 0 || a.Total.Exposure <= 0 || a.Highest {
		return 0, false, nil
	}
	// Of the share of the likelihood's covariance that is not known, hours as those fished teach this part.
	taught := b.share / (b.share + a.Total.Hours/c.More)
	cov := mat.NewSymDense(b.f.cells.P, nil)
	cov.ScaleSym(b.share*b.wide*b.wide, b.f.tester.Covariance())
	learned, mean := mat.NewSymDense(b.f.cells.P, nil), make([]float64, b.f.cells.P)
	learned.ScaleSym(taught, cov)
	for j, v := range b.f.fit.Coef {
		mean[j] = b.share * v
	}
	draws, err := regress.NormalDraws(mean, learned, worthDraws, worthSeed)
	if err != nil {
		return 0, false, fmt.Errorf("weigh what is to be learned: %w", err)
	}
	usual := b.at[b.usual]
	rows, half := make([][]float64, len(b.at)), make([]float64, len(b.at)) // half of the variance now
	chosen, least := 0, math.Inf(1)
	for i, v := range b.at {
		rows[i] = b.between(v, usual)
		x := mat.NewVecDense(len(rows[i]), rows[i])
		half[i] = mat.Inner(x, cov, x) / 2
		if rate := math.Exp(floats.Dot(rows[i], mean) + half[i]); rate < least {
			chosen, least = i, rate
		}
	}
	saved := 0.0
	for k := range worthDraws {
		best, kept := math.Inf(1), 0.0
		for i := range rows {
			rate := math.Exp(floats.Dot(rows[i], draws.RawRowView(k)) + (1-taught)*half[i])
			best = min(best, rate)
			if i == chosen {
				kept = rate
			}
		}
		saved += (kept - best) / worthDraws
	}
	perHour := a.Total.Events / a.Total.Hours
	return saved * perHour * c.Minutes * c.Hours, true, nil
}
