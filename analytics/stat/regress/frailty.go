package regress

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// FrailtyFit is a Poisson regression whose clusters share a gamma-distributed
// multiplier of mean 1. Its Cov is the block of the coefficients in the inverse
// of the observed information of all parameters.
type FrailtyFit struct {
	Fit
	Variance      float64 // of the multiplier, c²; 0 where clusters scatter no more than Poisson
	SELogVariance float64 // standard error of log c²; NaN where c² is 0
	LogLik        float64 // but for Σ k·log t − log k! over the rows
	PoissonLogLik float64 // the same without a multiplier

	panel *panel
	rows  Rows
}

const (
	maxFrailtyIterations = 200
	// frailtyTolerance bounds what the last step would still gain, relative to the log-likelihood.
	frailtyTolerance = 1e-13
	// noVariance is a variance that is taken for 0.
	noVariance = 1e-7
)

// Frailty fits y of a row to Poisson(u·exposure·exp(Xb)), u of its cluster being drawn
// from a gamma distribution of mean 1 and variance c², by maximum likelihood
// over b and log c² together (Hausman, Hall & Griliches 1984, Econometrica
// 52:909, the random-effects Poisson model of panel data), from the Poisson fit,
// by Newton steps that are halved while they lower the likelihood. Where the
// likelihood falls as c² leaves 0, the fit is the Poisson one and its variance is 0.
//
// What is fished next may depend on what happened before in the same cluster:
// the likelihood needs no model for that (statistics of the project, §11).
//
// Its errors are those of Poisson.
func Frailty(rows Rows) (*FrailtyFit, error) {
	fit, err := Poisson(rows.Cells)
	if err != nil {
		return nil, err
	}
	p, err := newPanel(fit, rows)
	if err != nil {
		return nil, fmt.Errorf("fit a shared frailty: %w", err)
	}
	out, err := p.fit(fit)
	if err != nil {
		return nil, fmt.Errorf("fit a shared frailty: %w", err)
	}
	out.rows = rows
	return out, nil
}

// Multiplied is the exposure of each cell with that of every row times what is expected of its
// cluster's multiplier, given what happened in it. With it for exposure Poisson finds the same coefficients.
func (f *FrailtyFit) Multiplied() []float64 { return slices.Clone(f.panel.parts[0].weighted) }

// fit climbs from a fit without a multiplier.
func (p *panel) fit(start *Fit) (*FrailtyFit, error) {
	p.evaluate(0)
	out := &FrailtyFit{Fit: *start, PoissonLogLik: p.logLik}
	c2 := p.startVariance()
	if c2 > 0 {
		iterations, end, err := p.climb(c2)
		if err != nil {
			return nil, err
		}
		c2, out.Iterations = end, out.Iterations+iterations
	}
	return out, p.result(out, c2)
}

// startVariance is the moment estimate of c², 0 where the likelihood falls as c² leaves 0:
// its slope there is half of Σ(K−M)² − K over the clusters.
func (p *panel) startVariance() float64 {
	over, square := 0.0, 0.0
	for s, k := range p.events {
		d := k - p.mean[s]
		over += d*d - k
		square += p.mean[s] * p.mean[s]
	}
	if over <= 0 {
		return 0
	}
	return min(10, max(0.01, over/square))
}

// climb takes Newton steps over the coefficients and log c² from a variance, to the maximum.
// A variance of 0 stays.
func (p *panel) climb(c2 float64) (iterations int, end float64, err error) {
	p.evaluate(c2)
	for iteration := 1; iteration <= maxFrailtyIterations; iteration++ {
		step, gain, err := p.newton(c2 > 0)
		if err != nil {
			return iteration, 0, err
		}
		limit := frailtyTolerance * (math.Abs(p.logLik) + 0.1)
		if gain <= limit {
			return iteration, c2, nil
		}
		moved, ok := p.advance(c2, step)
		if !ok {
			if gain <= 1e4*limit { // rounding, not the likelihood, is what fails
				return iteration, c2, nil
			}
			return iteration, 0, ErrNotConverged
		}
		if c2 = moved; c2 > 0 && c2 < noVariance {
			c2 = 0
			p.evaluate(0)
		}
	}
	return maxFrailtyIterations, 0, ErrNotConverged
}

// newton is the step of the coefficients and, last, of log c² if that is free, with twice what
// it would gain were the likelihood a parabola. Where the Hessian is not negative
// definite, the coefficients step as if the multipliers were known, and log c² uphill by itself.
func (p *panel) newton(free bool) (step []float64, gain float64, err error) {
	n := p.cells.p
	gradient, hessian := slices.Clone(p.score), mat.NewSymDense(n, p.info)
	if free {
		gradient, hessian = append(gradient, p.scoreLog), p.full()
	}
	step = make([]float64, len(gradient))
	var chol mat.Cholesky
	switch {
	case chol.Factorize(hessian):
		err = chol.SolveVecTo(mat.NewVecDense(len(step), step), mat.NewVecDense(len(step), gradient))
	case chol.Factorize(mat.NewSymDense(n, p.complete)):
		err = chol.SolveVecTo(mat.NewVecDense(n, step[:n]), mat.NewVecDense(n, gradient[:n]))
		if free {
			step[n] = p.scoreLog / max(math.Abs(p.infoLog), math.Abs(p.scoreLog))
		}
	default:
		return nil, 0, ErrNotConverged
	}
	if solved(err) != nil {
		return nil, 0, err
	}
	far := 0.0
	for _, v := range step {
		far = max(far, math.Abs(v))
	}
	shorten := min(1, farthestStep/max(far, farthestStep))
	for j := range step {
		if far > farthestStep {
			step[j] *= shorten
		}
		gain += step[j] * gradient[j]
	}
	return step, gain, nil
}

// farthestStep bounds a step of any parameter: farther away the likelihood is no parabola.
const farthestStep = 3

// advance takes a step from the variance c2, halving it while the likelihood falls.
func (p *panel) advance(c2 float64, step []float64) (moved float64, ok bool) {
	beta, before := slices.Clone(p.beta), p.logLik
	slack := 1e-14 * (math.Abs(before) + 0.1)
	for share := 1.0; share > 1e-10; share /= 2 {
		for j, b := range beta {
			p.beta[j] = b + share*step[j]
		}
		moved = c2
		if c2 > 0 {
			moved *= math.Exp(share * step[len(beta)])
		}
		p.evaluate(moved)
		if p.logLik >= before-slack { // false for NaN
			return moved, true
		}
	}
	copy(p.beta, beta)
	p.evaluate(c2)
	return c2, false
}

// result packs the fit at the state's coefficients and the given variance.
func (p *panel) result(out *FrailtyFit, c2 float64) error {
	for k, j := range p.kept {
		out.Coef[j] = p.beta[k]
	}
	out.panel, out.Variance, out.LogLik = p, c2, p.logLik
	cov, se, err := p.covariance(c2)
	if err != nil {
		return err
	}
	out.SELogVariance = se
	out.Cov = spread(cov, p.kept, len(out.Coef))
	return nil
}

// covariance is the coefficients' block of the inverse of the observed information, with the
// standard error of log c², NaN where that is not free. Where a prior or a bound holds the fit
// off the top of the likelihood, that information may be none; then c² counts as known, and at
// last the information is the expected one.
func (p *panel) covariance(c2 float64) (cov mat.Symmetric, seLog float64, err error) {
	n := p.cells.p
	if c2 > 0 {
		if all, err := inverse(p.full()); err == nil {
			return all.SliceSym(0, n), math.Sqrt(all.At(n, n)), nil
		}
	}
	if cov, err := inverse(mat.NewSymDense(n, slices.Clone(p.info))); err == nil {
		return cov, math.NaN(), nil
	}
	total := make([]float64, n*n)
	for s := range p.events {
		b := p.block(s, c2, nil)
		b.addInfo(total, n)
	}
	cov, err = inverse(mat.NewSymDense(n, total))
	return cov, math.NaN(), err
}

func inverse(a *mat.SymDense) (*mat.SymDense, error) {
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return nil, ErrNotConverged
	}
	out := mat.NewSymDense(a.SymmetricDim(), nil)
	return out, solved(chol.InverseTo(out))
}

// solved passes on errors but that a matrix is ill-conditioned: then the step is judged by what it gains.
func solved(err error) error {
	if cond := mat.Condition(0); errors.As(err, &cond) {
		return nil
	}
	return err
}
