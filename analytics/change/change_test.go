package change

import (
	"math/rand/v2"
	"testing"
)

func TestExplore(t *testing.T) {
	for _, c := range []struct {
		name string
		season
	}{
		{"null", season{rate: 0.4, ratio: 1, usual: .5}},
		{"null usual .75", season{rate: 0.4, ratio: 1, usual: .75}},
		{"null rate1.5", season{rate: 1.5, ratio: 1, usual: .75}},
		{"null rate3", season{rate: 3, ratio: 1, usual: .75}},
		{"null calm 1.5", season{rate: 1.5, ratio: 1, usual: .75, calm: true}},
		{"null burst", season{rate: .6, ratio: 1, usual: .75, burst: 1}},
		{"null rising", season{rate: 1, ratio: 1, usual: .75, rising: true}},
		{"rr3", season{rate: .6, ratio: 3, usual: .75}},
		{"rr1.5", season{rate: .6, ratio: 1.5, usual: .75}},
		{"switch .9", season{rate: .4, ratio: 1, usual: .75, follow: .9}},
		{"switch .5", season{rate: .4, ratio: 1, usual: .75, follow: .5}},
		{"switch .5 clock", season{rate: .4, ratio: 1, usual: .75, follow: .5, clock: true}},
		{"cut", season{rate: .4, ratio: 1, usual: .75, follow: .9, cut: true}},
	} {
		for _, no := range []bool{false, true} {
			for _, n := range []int{10, 20, 40, 80, 160} {
				c.sessions, c.noMinute = n, no
				rng := rand.New(rand.NewPCG(1, 2))
				const reps = 1000
				low, follows, by, after, changes, ratio := 0, 0, 0, 0, 0, 0.0
				for range reps {
					f := found(c.invent(rng))
					if f.Low != nil && *f.Low > 1 {
						low++
					}
					if f.Follows() {
						follows++
					}
					if f.ByMinutes {
						by++
					}
					after += f.AfterEvent
					changes += f.Changes
					if f.Ratio != nil {
						ratio += *f.Ratio
					}
				}
				t.Logf("%-16s nomin %v %3d: low>1 %.3f follows %.3f byminutes %d after %.1f of %.1f ratio %.2f", c.name, no, n, float64(low)/reps, float64(follows)/reps, by, float64(after)/reps, float64(changes)/reps, ratio/reps)
			}
		}
	}
}
