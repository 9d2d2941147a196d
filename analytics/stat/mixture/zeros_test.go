package mixture

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat/published"
)

type zerosCase struct {
	ID   string
	Data struct {
		Events, Exposure []float64
		Times            []int
	}
	Expected struct{ Dispersion, Observed, Expected, SD float64 }
}

func TestExcessZerosReference(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[zerosCase](t, "excess-zeros.json")
	for _, c := range cases {
		var k, exposure []float64
		for i, times := range c.Data.Times {
			for range times {
				k, exposure = append(k, c.Data.Events[i]), append(exposure, c.Data.Exposure[i])
			}
		}
		z, err := ExcessZeros(k, exposure)
		if err != nil {
			t.Fatal(err)
		}
		want := c.Expected
		published.Agree(t, c.ID, []float64{z.Dispersion, float64(z.Observed), z.Expected, z.SD}, []float64{want.Dispersion, want.Observed, want.Expected, want.SD}, tol)
	}
}

// Units whose counts follow the model must be suspected in at most 6 of 100
// tests at 5%, and units of which a quarter was never counted mostly found out.
func TestExcessZerosKeepsItsLevel(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	rng := rand.New(rand.NewPCG(5, 1))
	for _, c := range []struct{ rate, cv float64 }{{0.1, 0.6}, {0.4, 0}, {0.4, 0.6}, {1, 0.3}} {
		const seasons = 600
		alarms, found := 0, 0
		for range seasons {
			k, exposure := outingsOf(rng, 60, c.rate, c.cv)
			if zerosP(t, k, exposure) < 0.05 {
				alarms++
			}
			for i := range k {
				if rng.Float64() < 0.25 {
					k[i] = 0
				}
			}
			if zerosP(t, k, exposure) < 0.05 {
				found++
			}
		}
		if share := float64(alarms) / seasons; share > 0.06 {
			t.Errorf("rate %g, cv %g: %.3f false alarms", c.rate, c.cv, share)
		}
		if c.rate == 1 && float64(found)/seasons < 0.8 {
			t.Errorf("rate %g, cv %g: a quarter left out, found %d times of %d", c.rate, c.cv, found, seasons)
		}
	}
}

// outingsOf draws n units of 2 to 6 hours with gamma rates.
func outingsOf(rng *rand.Rand, n int, rate, cv float64) (k, exposure []float64) {
	for range n {
		hours, luck := 2+4*rng.Float64(), 1.0
		if cv > 0 {
			luck = distuv.Gamma{Alpha: 1 / (cv * cv), Beta: 1 / (cv * cv), Src: rng}.Rand()
		}
		k = append(k, distuv.Poisson{Lambda: rate * luck * hours, Src: rng}.Rand())
		exposure = append(exposure, hours)
	}
	return k, exposure
}

func zerosP(t *testing.T, k, exposure []float64) float64 {
	t.Helper()
	z, err := ExcessZeros(k, exposure)
	if err != nil {
		t.Fatal(err)
	}
	return z.P
}

func TestExcessZerosAtTheEdges(t *testing.T) {
	t.Parallel()
	for name, k := range map[string][]float64{"none at all": {0, 0, 0}, "one unit": {4}, "no zero": {3, 2, 5, 4}} {
		exposure := []float64{2, 1, 3, 2}[:len(k)]
		z, err := ExcessZeros(k, exposure)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !(z.P >= 0.3 && z.P <= 1) || math.IsNaN(z.SD+z.Expected) {
			t.Errorf("%s: %+v", name, z)
		}
	}
	for _, bad := range [][2][]float64{{{0.5}, {1}}, {{1}, {0}}, {{-1}, {1}}, {{}, {}}} {
		if z, err := ExcessZeros(bad[0], bad[1]); err == nil {
			t.Errorf("%v gave %+v", bad, z)
		}
	}
	sum := SumZeros([]*ZeroTest{{Units: 3, Observed: 2, Expected: 1, SD: 3}, {Units: 4, Observed: 1, Expected: 2.5, SD: 4}})
	if sum.Units != 7 || sum.Observed != 3 || sum.Expected != 3.5 || sum.SD != 5 {
		t.Errorf("sum %+v", sum)
	}
}
