package stat

import (
	"testing"

	"rigtally/analytics/stat/published"
)

// The values are pbinom(k - 1, n, p, lower.tail = FALSE) of R 4.2.2. The last is
// the example of R's ?binom.test (Conover 1971): 682 of 925 plants, expected 3/4.
func TestBinomialAtLeast(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		k, n int
		p    float64
		want float64
	}{
		{0, 10, 0.2, 1},
		{3, 10, 0.2, 0.3222004736},
		{10, 10, 0.2, 1.024e-07},
		{90, 100, 0.5, 1.531645089e-17},
		{682, 925, 0.75, 0.824089122},
	} {
		got, err := BinomialAtLeast(tt.k, tt.n, tt.p)
		if err != nil {
			t.Fatal(err)
		}
		published.Agree(t, "P", []float64{got}, []float64{tt.want}, 1e-6)
	}
	for _, bad := range []struct {
		k, n int
		p    float64
	}{{3, 2, 0.5}, {-1, 2, 0.5}, {1, 2, 1.5}} {
		if p, err := BinomialAtLeast(bad.k, bad.n, bad.p); err == nil {
			t.Errorf("%+v gave %g", bad, p)
		}
	}
}
