package analytics

import (
	"cmp"
	"math"
	"slices"

	"rigtally/journal/facts"
)

// FishedShare is the share of the exposure within whose range a best value may be named: what a
// curve does at its ends is hardly held by anything.
const FishedShare = 0.90

// FishedRange are the ends of the range of values that holds a share of the exposure, as much of the rest
// beyond the one as beyond the other: for 0.90 its 5th and 95th percentiles, each a value that was
// fished. The rug ascends, and is not empty.
func FishedRange(rug []Rug, share float64) (low, high float64) {
	total := 0.0
	for _, r := range rug {
		total += r.Exposure
	}
	const slack = 1e-9 // for what adding up rounds
	first := (1 - share) / 2 * total * (1 - slack)
	last := (1 + share) / 2 * total * (1 - slack)
	low, high = rug[0].At, rug[len(rug)-1].At
	sum, begun := 0.0, false
	for _, r := range rug {
		sum += r.Exposure
		if !begun && sum >= first {
			low, begun = r.At, true
		}
		if sum >= last {
			return low, r.At
		}
	}
	return low, high
}

// Fished is where most of a curve's exposure lies, FishedShare of it, and how much lies beyond. Values
// are in the storage unit.
type Fished struct {
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Below float64 `json:"exposure_below"` // exposure at values below From
	Above float64 `json:"exposure_above"` // and above To
}

// Choice is the value that a curve names as its best: of those within the range that was fished, the
// one likeliest to be the best.
type Choice struct {
	At          float64 `json:"at"`
	Rate        float64 `json:"rate"`
	Probability float64 `json:"probability"`
	LikelyFrom  float64 `json:"likely_from"` // with 95% probability the best lies from here
	LikelyTo    float64 `json:"likely_to"`
	Fished
	BetterBelow bool `json:"-"` // the curve promises better where hardly anything was fished
	BetterAbove bool `json:"-"`
}

// Fished says where most of the curve's exposure lies; it needs a rug.
func (a CurveAnswer) Fished() Fished {
	var f Fished
	f.From, f.To = FishedRange(a.Rug, FishedShare)
	for _, r := range a.Rug {
		if r.At < f.From {
			f.Below += r.Exposure
		}
		if r.At > f.To {
			f.Above += r.Exposure
		}
	}
	return f
}

// Choice names the best value, nil where there is none to name: the curve can't be told, or fewer than
// two of its points lie within the range that was fished.
func (a CurveAnswer) Choice() *Choice {
	best := -1
	for i, c := range a.Best {
		if c.Probability == nil {
			continue
		}
		if best < 0 || *c.Probability > *a.Best[best].Probability ||
			*c.Probability == *a.Best[best].Probability && a.better(a.Points[i].Rate, a.Points[best].Rate) {
			best = i
		}
	}
	if best < 0 {
		return nil
	}
	c := &Choice{At: a.Points[best].At, Rate: a.Points[best].Rate, Probability: *a.Best[best].Probability, Fished: a.Fished()}
	c.LikelyFrom, c.LikelyTo = LikelyRange(a.Best, Confidence)
	for _, p := range a.Points {
		if a.better(p.Rate, c.Rate) {
			c.BetterBelow = c.BetterBelow || p.At < c.From
			c.BetterAbove = c.BetterAbove || p.At > c.To
		}
	}
	return c
}

// better reports whether a rate is better than another.
func (a CurveAnswer) better(rate, other float64) bool {
	if a.Highest {
		return rate > other
	}
	return rate < other
}

// LikelyRange is the range that holds the best with a probability, and leaves at most half of the rest on
// either side. The chances ascend by value, and some are known.
func LikelyRange(best []Chance, probability float64) (low, high float64) {
	tail := (1 - probability) / 2
	below, found := 0.0, false
	for _, c := range best {
		if c.Probability == nil {
			continue
		}
		if !found && below+*c.Probability > tail {
			low, found = c.At, true
		}
		below += *c.Probability
		high = c.At
		if below >= 1-tail {
			break
		}
	}
	return low, high
}

// mostRugs is the number of values up to which each has a line of its own.
const mostRugs = 200

// lay fills the rug: the exposure at each value or, where those are many, around each
// step of a grid four times as fine as the curve's.
func (a *CurveAnswer) lay(rows *facts.Rows, r CurveRequest) {
	for _, g := range rows.Groups {
		a.Rug = append(a.Rug, Rug{g.Level[0].Number, g.T})
	}
	slices.SortFunc(a.Rug, func(x, y Rug) int { return cmp.Compare(x.At, y.At) })
	if len(a.Rug) <= mostRugs {
		return
	}
	size, zero := stepOfCurve(a.Over, r.Units, a.Rug[len(a.Rug)-1].At-a.Rug[0].At)
	size /= 4
	var binned []Rug
	for i, line := range a.Rug {
		at := line.At
		if i > 0 && i < len(a.Rug)-1 { // the ends stay where they are: they bound the curve
			at = min(max(Tidy(zero+math.Round((at-zero)/size)*size), a.Rug[0].At), a.Rug[len(a.Rug)-1].At)
		}
		if n := len(binned); n > 0 && binned[n-1].At == at {
			binned[n-1].Exposure += line.Exposure
		} else {
			binned = append(binned, Rug{at, line.Exposure})
		}
	}
	a.Rug = binned
}
