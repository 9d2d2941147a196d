package analytics

import (
	"errors"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/journal"
)

// compare holds every group against the reference.
func (a *RateAnswer) compare(groups []journal.Sums) error {
	if a.Reference < 0 {
		return nil
	}
	ref := &a.Groups[a.Reference]
	p := make([]*float64, len(a.Groups))
	equal := make([]stat.Interval, len(a.Groups))
	for i := range a.Groups {
		if i == a.Reference {
			continue
		}
		g := &a.Groups[i]
		g.Versus = &Comparison{Verdict: stat.CannotTell}
		wide, err := a.ratio(*g, *ref, groups[i], groups[a.Reference], Confidence)
		if errors.Is(err, stat.ErrNoEvents) {
			continue
		}
		if err != nil {
			return err
		}
		narrow, err := a.ratio(*g, *ref, groups[i], groups[a.Reference], Equivalence)
		if err != nil {
			return err
		}
		equal[i] = narrow.Interval
		g.Versus.Ratio, g.Versus.Low, g.Versus.High, g.Versus.P = answer.Known(wide.Ratio), answer.Known(wide.Low), answer.Known(wide.High), answer.Known(wide.P)
		g.Versus.HoursNeeded = a.hoursNeeded(*g, *ref, groups[i], groups[a.Reference])
		p[i] = g.Versus.P
	}
	return a.judge(p, equal)
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

// hoursNeeded returns the hours in each of two groups that would show a ratio
// as large as the one seen so far, or 1.5 when it is nearer 1 than that, at the
// pace at which exposure comes now.
func (a *RateAnswer) hoursNeeded(g, ref Group, sums, refSums journal.Sums) *float64 {
	phi := (g.Dispersion + ref.Dispersion) / 2
	var exposure float64
	var err error
	switch a.Outcome.Measure {
	case journal.ShareOf:
		exposure, err = stat.ExposureNeededShares(stat.PlanShare(g.Rate, ref.Rate), ref.Rate, phi, PlanAlpha, PlanPower)
	case journal.AmountPer:
		plan := stat.PlanRate(g.Rate, ref.Rate) / ref.Rate
		exposure, err = stat.ExposureNeededAmounts(SumsOf(sums), SumsOf(refSums), plan, PlanAlpha, PlanPower)
	default:
		exposure, err = stat.ExposureNeededRates(stat.PlanRate(g.Rate, ref.Rate), ref.Rate, phi, PlanAlpha, PlanPower)
	}
	hours, total := g.Hours+ref.Hours, g.Exposure+ref.Exposure
	if err != nil || hours == 0 || total == 0 {
		return nil // what was seen gives nothing to plan with
	}
	return answer.Known(exposure * hours / total)
}
