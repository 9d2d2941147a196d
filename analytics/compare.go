package analytics

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/journal"
)

// compare holds every group against the reference, as fished.
func (a *RateAnswer) compare(groups []journal.Sums) error {
	if a.Reference < 0 {
		return nil
	}
	ref := a.Groups[a.Reference]
	for i := range a.Groups {
		if i == a.Reference {
			continue
		}
		g := &a.Groups[i]
		g.Versus = &Comparison{}
		wide, err := a.ratio(*g, ref, groups[i], groups[a.Reference], Confidence)
		if errors.Is(err, stat.ErrNoEvents) {
			continue
		}
		if err != nil {
			return err
		}
		g.Versus.Ratio, g.Versus.Low, g.Versus.High, g.Versus.P = answer.Known(wide.Ratio), answer.Known(wide.Low), answer.Known(wide.High), answer.Known(wide.P)
	}
	return nil
}

// judge adjusts p over the groups, and gives those tested a verdict by it and by their 90% interval.
func (a *RateAnswer) judge(p []*float64, equal []stat.Interval) error {
	q, err := stat.AdjustKnown(p)
	if err != nil {
		return err
	}
	for i := range q {
		if q[i] != nil {
			a.Groups[i].Versus.Q, a.Groups[i].Versus.Verdict = q[i], stat.Judge(*q[i], equal[i])
		}
	}
	return nil
}

// ratio compares two groups on their effective counts and exposures.
func (a *RateAnswer) ratio(g, ref Group, sums, refSums journal.Sums, conf float64) (stat.Comparison, error) {
	k1, t1 := g.Events/g.Dispersion, g.Exposure/g.Dispersion
	k2, t2 := ref.Events/ref.Dispersion, ref.Exposure/ref.Dispersion
	switch a.Outcome.Measure {
	case journal.ShareOf:
		return stat.RatioOfShares(k1, t1, k2, t2, conf)
	case journal.AmountPer:
		return stat.RatioOfAmounts(SumsOf(sums), SumsOf(refSums), conf)
	}
	return stat.RatioOfRates(k1, t1, k2, t2, conf)
}

const (
	// PlanRatio is the smallest ratio worth planning for.
	PlanRatio = 1.5
	// PriorSD is the standard deviation of log ratios before anything was fished.
	PriorSD = journal.PriorSD
)

// MoreHours are the hours to be fished still, as those behind a standard error of a log ratio were,
// until a ratio as large as is to be seen stands out two-sided with the planned power: the
// variance falls as hours grow. To be seen is PlanRatio, or what is believed of the ratio, the
// estimate drawn towards 1 by its prior, where that is farther from 1. Least is the smallest
// log ratio worth planning for.
func MoreHours(hours, estimate, se, least float64) float64 {
	believed := estimate * PriorSD * PriorSD / (PriorSD*PriorSD + se*se)
	z := distuv.UnitNormal.Quantile(1-PlanAlpha/2) + distuv.UnitNormal.Quantile(PlanPower)
	ratio := z * se / max(math.Abs(believed), least)
	return max(0, hours*(ratio*ratio-1))
}

// HoursToSettle is MoreHours of what is told by the chance of being better after the prior, as a curve is: the
// hours still to be fished until a difference as large as it looks stands out. It is nil where the chance tells nothing.
func HoursToSettle(hours, chance float64) *float64 {
	if !(chance > 0.5) {
		return nil
	}
	z := distuv.UnitNormal.Quantile(1-PlanAlpha/2) + distuv.UnitNormal.Quantile(PlanPower)
	ratio := z / distuv.UnitNormal.Quantile(chance)
	return new(max(0, hours*(ratio*ratio-1)))
}
