package regress

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

const (
	maxFirthRounds = 500
	// firthRoundTolerance bounds what the last round moves any parameter, on the log scale.
	firthRoundTolerance = 1e-8
	// mostVariance bounds the multiplier's variance where events are so few that coefficients need
	// a prior: there the likelihood may rise for ever. Sessions that differ more, by
	// a coefficient of variation of 2, were never seen (a guess).
	mostVariance = 4
)

// FrailtyFirth fits the model of Frailty with coefficients held finite by the Jeffreys prior of
// its expected information A (Firth 1993, Biometrika 80:27): log-likelihood + ½·log|A|, for
// levels without events. In turns the coefficients take a step, halved while it lowers
// that, and the variance becomes the likeliest for them.
//
// It returns ErrNotConverged or an error naming the row that cannot be.
func FrailtyFirth(rows Rows) (*FrailtyFit, error) {
	fit, err := Firth(rows.Cells)
	if err != nil {
		return nil, err
	}
	p, err := newPanel(fit, rows)
	if err != nil {
		return nil, fmt.Errorf("fit a penalised shared frailty: %w", err)
	}
	p.evaluate(0)
	out := &FrailtyFit{Fit: *fit, PoissonLogLik: p.logLik, rows: rows}
	c2 := min(p.startVariance(), mostVariance)
	for out.Iterations = range maxFirthRounds {
		before := c2
		if c2 > 0 {
			c2 = p.likeliest(c2)
		}
		moved, err := p.firthStep(c2)
		if err != nil {
			return nil, fmt.Errorf("fit a penalised shared frailty: %w", err)
		}
		if max(moved, math.Abs(c2-before)) <= firthRoundTolerance {
			return out, p.result(out, c2)
		}
	}
	return nil, fmt.Errorf("fit a penalised shared frailty: %w", ErrNotConverged)
}

// likeliest is the variance of the greatest likelihood at the present coefficients, near another one.
func (p *panel) likeliest(c2 float64) float64 {
	for range maxFrailtyIterations {
		p.evaluate(c2)
		step := p.scoreLog / max(math.Abs(p.infoLog), math.Abs(p.scoreLog))
		if p.infoLog > 0 {
			step = max(-1, min(1, p.scoreLog/p.infoLog))
		}
		c2 = min(mostVariance, c2*math.Exp(step))
		if math.Abs(step) < 1e-9 || c2 == mostVariance && p.scoreLog > 0 {
			break
		}
		if c2 < noVariance {
			return 0
		}
	}
	return c2
}

// firthStep moves the coefficients towards the root of the adjusted score, and returns the
// largest move.
func (p *panel) firthStep(c2 float64) (moved float64, err error) {
	p.evaluate(c2)
	score, before, err := p.penalised(c2)
	if err != nil {
		return 0, err
	}
	n := p.cells.p
	var chol mat.Cholesky
	if !chol.Factorize(mat.NewSymDense(n, slices.Clone(p.info))) &&
		!chol.Factorize(mat.NewSymDense(n, slices.Clone(p.complete))) {
		return 0, ErrNotConverged
	}
	step, beta := mat.NewVecDense(n, nil), slices.Clone(p.beta)
	if err := chol.SolveVecTo(step, mat.NewVecDense(n, score)); solved(err) != nil {
		return 0, err
	}
	slack := 1e-12 * (math.Abs(before) + 0.1)
	for share := min(1, farthestStep/max(farthestStep, mat.Norm(step, math.Inf(1)))); share > 1e-8; share /= 2 {
		moved = 0
		for j, b := range beta {
			p.beta[j] = b + share*step.AtVec(j)
			moved = max(moved, math.Abs(share*step.AtVec(j)))
		}
		p.evaluate(c2)
		if _, now, err := p.penalised(c2); err == nil && now >= before-slack {
			return moved, nil
		}
	}
	copy(p.beta, beta)
	p.evaluate(c2)
	return 0, nil
}

// penalised is the score with the gradient of ½·log|A| added, and the penalised log-likelihood. Of
// A = Σ X'diag(μ)X − κmm', κ = c²/(1 + c²M) in each cluster, that gradient is
// ½·Σ x·μ·(x − κm)'A⁻¹(x − κm) over the rows.
func (p *panel) penalised(c2 float64) (score []float64, logLik float64, err error) {
	n := p.cells.p
	blocks, total := make([]cr2Block, len(p.events)), make([]float64, n*n)
	for s := range blocks {
		blocks[s] = p.block(s, c2, nil)
		blocks[s].addInfo(total, n)
	}
	var chol mat.Cholesky
	if !chol.Factorize(mat.NewSymDense(n, total)) {
		return nil, 0, ErrNotConverged
	}
	cov := mat.NewSymDense(n, nil)
	if err := chol.InverseTo(cov); solved(err) != nil {
		return nil, 0, err
	}
	score = slices.Clone(p.score)
	apart, m := make([]float64, n), make([]float64, n)
	for s := range p.events {
		first, end := p.start[s], p.start[s+1]
		p.sumRows(s, m)
		kappa := c2 / (1 + c2*p.mean[s])
		for row := first; row < end; row++ {
			col, val := p.cells.row(int(p.cell[row]))
			for j, v := range m {
				apart[j] = -kappa * v
			}
			for i, j := range col {
				apart[j] += val[i]
			}
			h := p.t[row] * p.rate[p.cell[row]] * quadratic(cov, apart)
			for i, j := range col {
				score[j] += h / 2 * val[i]
			}
		}
	}
	return score, p.logLik + chol.LogDet()/2, nil
}
