package trial

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics"
	"rigtally/journal"
)

// bet weighs the two rates under a normal prior for the log of their ratio. Its likelihood is normal: the log ratio of
// totals with the variance of sessions about it, no less than that of two Poisson counts (ratio estimator, Cochran
// 1977, Sampling Techniques, §6). Arms that were not treated alike, or miss too much, are no
// ground for a bet.
func (a *Answer) bet(sd float64) {
	if a.State == Unlike || a.State == Missing || a.Arms[0].Exposure == 0 || a.Arms[1].Exposure == 0 || a.Arms[0].Events+a.Arms[1].Events == 0 {
		return
	}
	var k, t [2]float64
	for i, arm := range a.Arms {
		k[i], t[i] = arm.Events, arm.Exposure
		if a.Arms[0].Events == 0 || a.Arms[1].Events == 0 {
			k[i] += 0.5 // else the log ratio has no end
		}
	}
	bySession := map[journal.ID]float64{}
	for _, u := range a.Units {
		if u.Standing != UnitCounts {
			continue
		}
		sign, i := 1.0, 0
		if u.Unit.Arm == journal.ArmB {
			sign, i = -1, 1
		}
		bySession[u.Session] += sign * (u.K/k[i] - u.T/t[i])
	}
	between := 0.0
	for _, d := range bySession {
		between += d * d
	}
	if n := float64(len(bySession)); n > 1 {
		between *= n / (n - 1)
	}
	variance := max(between, 1/k[0]+1/k[1])
	log := math.Log(k[0] / t[0] * t[1] / k[1])
	share := sd * sd / (sd*sd + variance) // of the estimate that is believed
	better := distuv.UnitNormal.CDF(-math.Sqrt(share/variance) * log)
	if a.Outcome.MoreIsBetter() {
		better = 1 - better
	}
	a.Bet = &analytics.Bet{Option: 0, Against: 1, Chance: better, Prior: sd}
	if better < 0.5 {
		a.Bet = &analytics.Bet{Option: 1, Against: 0, Chance: 1 - better, Prior: sd}
	}
}
