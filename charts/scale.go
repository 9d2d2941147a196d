package charts

import (
	"fmt"
	"math"
	"strconv"

	"rigtally/analytics"
	"rigtally/journal"
)

const (
	leastRadius, mostRadius = 4, 9 // of a point, in px
	// wellKnown is the share of the largest exposure from which a group's
	// interval is worth stretching the axis for. Longer ones are cut and end in
	// an arrow, or one hour of fishing would squeeze a season's groups flat.
	wellKnown = 0.1
)

// axis is where an axis ends and how far apart its ticks are.
type axis struct{ end, step float64 }

// Ends of axes between 1 and 10, with steps that divide them.
var (
	rateAxes     = []axis{{1, 0.25}, {1.2, 0.3}, {1.6, 0.4}, {2, 0.5}, {2.4, 0.6}, {3, 1}, {4, 1}, {5, 1}, {6, 2}, {8, 2}, {10, 2.5}}
	exposureAxes = []axis{{1, 0.5}, {2, 1}, {3, 1.5}, {4, 2}, {5, 2.5}, {6, 3}, {8, 4}, {10, 5}}
)

// reaching returns the shortest axis that reaches a value.
func reaching(v float64, axes []axis) axis {
	if v <= 0 || math.IsInf(v, 0) {
		return axes[0]
	}
	power := int(math.Floor(math.Log10(v)))
	for _, a := range axes {
		if end := decimal(a.end, power); v <= end {
			return axis{end, decimal(a.step, power)}
		}
	}
	return axis{decimal(10, power), decimal(5, power)}
}

// decimal returns the number nearest to v times a power of ten, so that it
// prints as it is written: 0.6, and not a binary digit more.
func decimal(v float64, power int) float64 {
	v, _ = strconv.ParseFloat(fmt.Sprintf("%ge%d", v, power), 64) // of this form it can't fail
	return v
}

// rateAxis reaches every rate, and the intervals of all groups that are well known.
func (p picture) rateAxis() axis {
	most := p.mostExposure()
	end := 0.0
	for _, g := range p.Groups {
		end = math.Max(end, 1.1*g.Rate)
		if g.HasInterval && g.Exposure >= wellKnown*most && !math.IsInf(g.High, 0) {
			end = math.Max(end, g.High)
		}
	}
	if p.Outcome.Measure == journal.ShareOf && end > 0.8 {
		return axis{100, 25}
	}
	return reaching(p.scale(end), rateAxes)
}

func (p picture) mostExposure() float64 {
	most := 0.0
	for _, g := range p.Groups {
		most = math.Max(most, g.Exposure)
	}
	return most
}

// radius makes a point's area follow the group's exposure.
func (p picture) radius(g analytics.Group) *float64 {
	r := float64(leastRadius)
	if most := p.mostExposure(); most > 0 {
		r = math.Max(r, mostRadius*math.Sqrt(g.Exposure/most))
	}
	return &r
}
