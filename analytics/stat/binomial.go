package stat

import (
	"fmt"

	"gonum.org/v1/gonum/mathext"
)

// BinomialAtLeast is the exact probability of k or more successes in n trials of
// probability p each, through the incomplete beta function I_p(k, n − k + 1)
// (Abramowitz & Stegun 26.5.24, number from memory).
func BinomialAtLeast(k, n int, p float64) (float64, error) {
	switch {
	case n < 0 || k < 0 || k > n:
		return 0, fmt.Errorf("%d successes in %d trials cannot be", k, n)
	case !(p >= 0 && p <= 1):
		return 0, fmt.Errorf("probability of success is %g: it must lie between 0 and 1", p)
	case k == 0:
		return 1, nil
	}
	return mathext.RegIncBeta(float64(k), float64(n-k+1), p), nil
}
