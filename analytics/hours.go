package analytics

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/journal"
)

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
