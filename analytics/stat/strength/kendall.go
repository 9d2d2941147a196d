package strength

import (
	"fmt"
	"math"

	"rigtally/analytics/stat"
)

// Concordance says how far two rankings of the same things go together.
type Concordance struct {
	Agree, Against int     // pairs ranked alike, and the other way round; ties are neither
	P              float64 // two-sided
}

// mostPermuted is up to how many things every order is tried.
const mostPermuted = 8

// Kendall compares the rankings of things by x and by y through their pairs
// (Kendall 1938, Biometrika 30:81). Up to eight things P is exact: the share of
// all orders of y with as large a gap between pairs for and against. Above that
// it is the normal approximation without ties, var S = n(n − 1)(2n + 5)/18. Fewer
// than two things are ErrTooFew.
func Kendall(x, y []float64) (Concordance, error) {
	n := len(x)
	if n != len(y) {
		return Concordance{}, fmt.Errorf("%d values are ranked against %d", n, len(y))
	}
	if n < 2 {
		return Concordance{}, ErrTooFew
	}
	c := Concordance{P: 1}
	c.Agree, c.Against = pairs(x, y)
	gap := c.Agree - c.Against
	if n > mostPermuted {
		variance := float64(n*(n-1)*(2*n+5)) / 18
		c.P = stat.NormalTwoSided(float64(gap) / math.Sqrt(variance))
		return c, nil
	}
	orders, far := 0, 0
	permute(append([]float64{}, y...), 0, func(order []float64) {
		agree, against := pairs(x, order)
		orders++
		if abs(agree-against) >= abs(gap) {
			far++
		}
	})
	c.P = float64(far) / float64(orders)
	return c, nil
}

func pairs(x, y []float64) (agree, against int) {
	for i := range x {
		for j := range i {
			switch product := (x[i] - x[j]) * (y[i] - y[j]); {
			case product > 0:
				agree++
			case product < 0:
				against++
			}
		}
	}
	return agree, against
}

// permute calls f with every order of list.
func permute(list []float64, from int, f func([]float64)) {
	if from == len(list) {
		f(list)
		return
	}
	for i := from; i < len(list); i++ {
		list[from], list[i] = list[i], list[from]
		permute(list, from+1, f)
		list[from], list[i] = list[i], list[from]
	}
}

func abs(n int) int { return max(n, -n) }
