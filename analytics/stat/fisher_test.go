package stat

import (
	"math"
	"testing"
)

// Expected values are those of R 4.2, fisher.test(matrix(c(…), 2, byrow = TRUE))$p.value.
func TestFisherExact(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		k, n [2]int
		want float64
	}{
		{[2]int{6, 0}, [2]int{6, 6}, 0.0021645021645},
		{[2]int{3, 1}, [2]int{4, 4}, 0.485714285714},
		{[2]int{12, 1}, [2]int{14, 11}, 0.00021268003769},
		{[2]int{0, 40}, [2]int{7, 73}, 0.0117376294591},
		{[2]int{30, 18}, [2]int{100, 100}, 0.0679100010138},
		{[2]int{2, 5}, [2]int{2, 14}, 0.175},
		{[2]int{0, 0}, [2]int{0, 5}, 1},
	} {
		if p, err := FisherExact(tt.k, tt.n); err != nil || math.Abs(p-tt.want) > 1e-11 {
			t.Errorf("%d of %d: %.12g, want %.12g (%v)", tt.k, tt.n, p, tt.want, err)
		}
	}
	for _, k := range [][2]int{{-1, 0}, {3, 0}} {
		if _, err := FisherExact(k, [2]int{2, 2}); err == nil {
			t.Errorf("%d of 2 was taken", k)
		}
	}
}
