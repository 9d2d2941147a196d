package stat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/combin"
)

// FisherExact is the two-sided p-value that two groups have the same share: k[0]
// of n[0] and k[1] of n[1]. Given how many there are in all, every one of them
// was equally likely to be in either group; p adds up the chances of all tables
// that are no likelier than the one seen (Fisher 1935, The Design of
// Experiments). It is 1 where a group is empty.
func FisherExact(k, n [2]int) (float64, error) {
	for i := range k {
		if k[i] < 0 || k[i] > n[i] {
			return 0, fmt.Errorf("%d of %d can't be a share", k[i], n[i])
		}
	}
	all, in := n[0]+n[1], k[0]+k[1]
	choose := func(n, k int) float64 { return combin.LogGeneralizedBinomial(float64(n), float64(k)) }
	chance := func(a int) float64 { return math.Exp(choose(n[0], a) + choose(n[1], in-a) - choose(all, in)) }
	seen := chance(k[0]) * (1 + 1e-7) // equal chances may differ in their last digits
	p := 0.0
	for a := max(0, in-n[1]); a <= min(in, n[0]); a++ {
		if c := chance(a); c <= seen {
			p += c
		}
	}
	return math.Min(p, 1), nil
}
