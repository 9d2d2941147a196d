package regress

import (
	"fmt"

	"gonum.org/v1/gonum/mat"
)

// Posterior is what is believed of some quantities with normal estimates, of the given covariance, under a
// normal prior of mean 0: (P⁻¹ + C⁻¹)⁻¹C⁻¹e and (P⁻¹ + C⁻¹)⁻¹, reached as P(P + C)⁻¹e and
// P − P(P + C)⁻¹P so that neither need have an inverse (Lindley & Smith 1972, JRSS B 34:1).
func Posterior(estimates []float64, cov, prior mat.Symmetric) (mean []float64, posterior *mat.SymDense, err error) {
	n := len(estimates)
	if cov.SymmetricDim() != n || prior.SymmetricDim() != n {
		return nil, nil, fmt.Errorf("posterior of %d estimates with covariances of %d and %d", n, cov.SymmetricDim(), prior.SymmetricDim())
	}
	sum := mat.NewSymDense(n, nil)
	sum.AddSym(cov, prior)
	var chol mat.Cholesky
	if !chol.Factorize(sum) {
		return nil, nil, fmt.Errorf("posterior: the covariances are singular: %w", ErrNoSpread)
	}
	var weights mat.Dense // (P + C)⁻¹P
	if err := chol.SolveTo(&weights, prior); solved(err) != nil {
		return nil, nil, fmt.Errorf("posterior: %w", err)
	}
	var e mat.VecDense
	e.MulVec(weights.T(), mat.NewVecDense(n, estimates))
	var less mat.Dense
	less.Mul(prior, &weights)
	posterior = mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			posterior.SetSym(i, j, prior.At(i, j)-(less.At(i, j)+less.At(j, i))/2)
		}
	}
	return e.RawVector().Data, posterior, nil
}
