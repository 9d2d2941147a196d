package strength

import (
	"testing"

	"rigtally/analytics/stat/published"
)

// Against R 4.2.2: cor.test(x, y, method = "kendall"), exact without ties. The
// first eight of the nine lots of canned tuna of Hollander & Wolfe (1973, p.
// 187f) that ?cor.test has, and six invented values.
func TestKendall(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		x, y           []float64
		agree, against int
		p              float64
	}{
		{[]float64{1, 2, 3, 4, 5, 6}, []float64{2, 1, 4, 3, 6, 5}, 12, 3, 0.136111111111111},
		{[]float64{44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2}, []float64{2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8}, 21, 7, 0.108680555555555},
	} {
		got, err := Kendall(c.x, c.y)
		if err != nil || got.Agree != c.agree || got.Against != c.against || !published.Near(got.P, c.p, published.Exact) {
			t.Errorf("%v and %v: %+v (%v), want %d to %d, p %g", c.x, c.y, got, err, c.agree, c.against, c.p)
		}
	}
}
