package regress

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

const (
	maxFirthIterations = 500
	// scoringIterations is the number after which steps use the curvature itself:
	// where the prior nearly outweighs the counts, scoring creeps along a ridge.
	scoringIterations = 30
	// firthTolerance bounds the last change of any fitted log rate.
	firthTolerance = 1e-10
)

// Firth fits the model of Poisson by maximising the likelihood penalised
// with the Jeffreys prior, log-likelihood + ½·log|X'WX| (Firth 1993, Biometrika
// 80:27), which is finite for levels without events. It is reached by least
// squares with counts y + h/2, h the diagonal of the hat matrix at the present
// fit (Kosmidis & Firth 2009, Biometrika 96:793). The h of a cell is the sum of
// the h of its rows, so summing rows changes nothing. A table without any event
// is fitted too.
//
// It returns ErrNotConverged or an error naming the row that cannot be.
func Firth(d *Design) (*Fit, error) {
	w, aliased, err := startPoisson(d, float64(d.P)/2)
	if err != nil {
		return nil, fmt.Errorf("fit a penalised Poisson regression: %w", err)
	}
	iterations, err := w.maximisePenalised()
	if err != nil {
		return nil, fmt.Errorf("fit a penalised Poisson regression: %w", err)
	}
	fit, err := w.result(d.P, aliased, iterations)
	if err != nil {
		return nil, fmt.Errorf("fit a penalised Poisson regression: %w", err)
	}
	fit.Penalised = true
	return fit, nil
}

// maximisePenalised takes scoring steps towards the root of the adjusted score,
// halving those that lower the penalised likelihood.
func (w *irls) maximisePenalised() (int, error) {
	for iteration := 1; iteration <= maxFirthIterations; iteration++ {
		before, err := w.penalise()
		if err != nil {
			return iteration, err
		}
		if iteration <= scoringIterations || !w.solveCurvature() {
			if err := w.solveFactored(); err != nil {
				return iteration, err
			}
		}
		copy(w.workspace, w.beta)
		copy(w.etaBefore, w.eta)
		if err := w.advancePenalised(before); err != nil {
			return iteration, err
		}
		if w.largestMove() <= firthTolerance {
			return iteration, nil
		}
	}
	return maxFirthIterations, ErrNotConverged
}

// solveCurvature sets step by the derivative of the adjusted score, taken in central
// differences, and reports whether that is negative definite. It leaves the
// state as it finds it.
func (w *irls) solveCurvature() bool {
	p := w.x.p
	beta, score := slices.Clone(w.beta), slices.Clone(w.score)
	slope := mat.NewSymDense(p, nil)
	known := true
	at := func(j int, h float64) []float64 {
		copy(w.beta, beta)
		w.beta[j] += h
		w.evaluate()
		if _, err := w.penalise(); err != nil {
			known = false
		}
		return slices.Clone(w.score)
	}
	for j, size := range w.x.largest() {
		h := 1e-4 / size
		above, below := at(j, h), at(j, -h)
		for i := range p {
			fall := (below[i] - above[i]) / (2 * h)
			if i == j {
				slope.SetSym(i, j, slope.At(i, j)+fall)
			} else {
				slope.SetSym(i, j, slope.At(i, j)+fall/2) // mean of both halves
			}
		}
	}
	copy(w.beta, beta)
	w.evaluate()
	if _, err := w.penalise(); err != nil || !known {
		return false
	}
	var chol mat.Cholesky
	if !chol.Factorize(slope) {
		return false
	}
	err := chol.SolveVecTo(mat.NewVecDense(p, w.step), mat.NewVecDense(p, score))
	cond := mat.Condition(0)
	return err == nil || errors.As(err, &cond)
}

// penalise factorises the information, adds X'h/2 to the score and returns
// deviance − log|X'WX|, minus twice the penalised log-likelihood.
func (w *irls) penalise() (float64, error) {
	cov, err := w.covariance()
	if err != nil {
		return 0, err
	}
	for i, mu := range w.mu {
		col, val := w.x.row(i)
		h := mu * sparseQuadratic(cov, col, val)
		for k, j := range col {
			w.score[j] += h / 2 * val[k]
		}
	}
	return w.deviance - w.chol.LogDet(), nil
}

// sparseQuadratic is x'·a·x.
func sparseQuadratic(a *mat.SymDense, col []int32, val []float64) float64 {
	raw := a.RawSymmetric()
	sum := 0.0
	for k, j := range col {
		line := raw.Data[int(j)*raw.Stride:]
		sum += val[k] * val[k] * line[j]
		for m := k + 1; m < len(col); m++ {
			sum += 2 * val[k] * val[m] * line[col[m]]
		}
	}
	return sum
}

func (w *irls) advancePenalised(before float64) error {
	slack := 1e-9 * (math.Abs(before) + 0.1)
	share := 1.0
	for range 40 {
		for j, b := range w.workspace {
			w.beta[j] = b + share*w.step[j]
		}
		w.evaluate()
		if w.chol.Factorize(mat.NewSymDense(w.x.p, w.info)) && w.deviance-w.chol.LogDet() <= before+slack {
			return nil
		}
		share /= 2
	}
	return ErrNotConverged
}

func (w *irls) largestMove() float64 {
	largest := 0.0
	for i, eta := range w.eta {
		largest = max(largest, math.Abs(eta-w.etaBefore[i]))
	}
	return largest
}
