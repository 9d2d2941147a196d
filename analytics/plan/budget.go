package plan

import (
	"math"

	"rigtally/internal/units"
	"rigtally/journal"
)

// TagBudget says how often the fly on a tag can be changed before the tag is too
// short. Lengths are in mm.
type TagBudget struct {
	LengthMM, WasteMM, LeastMM float64
	Changes                    int       // that leave LeastMM or more
	AfterMM                    []float64 // the tag's length after each of them
	NextMM                     float64   // after one more, below LeastMM and at times below 0
}

// The least that a change or a re-tie can cost in a budget, in mm: less is a
// slip of the unit.
const leastCostMM = 1

// NewTagBudget works out the changes left in a tag of a length, at a waste for
// each, down to the least useful length: the whole part of (length − least)/waste.
func NewTagBudget(length, waste, least float64) (TagBudget, error) {
	b := TagBudget{LengthMM: length, WasteMM: waste, LeastMM: least}
	var err error
	b.Changes, err = fits(length, waste, least,
		"a tag has a length above 0; note it",
		"a fly change costs some tag; write a length of 1 mm or more",
		"the least useful length is above 0; write one, such as 100 mm")
	if err != nil {
		return b, err
	}
	for i := range b.Changes {
		b.AfterMM = append(b.AfterMM, tidyMM(length-float64(i+1)*waste))
	}
	b.NextMM = tidyMM(length - float64(b.Changes+1)*waste)
	return b, nil
}

// TippetBudget says how often a junction can be tied again before the tippet is
// too short. Lengths are in mm.
type TippetBudget struct {
	LengthMM, CostMM, LeastMM float64
	Reties                    int
	LeftMM                    float64 // of the tippet after the last of them
}

// NewTippetBudget works out the re-ties left in a tippet, at a cost for each,
// down to the least that is still to be fished.
func NewTippetBudget(length, cost, least float64) (TippetBudget, error) {
	b := TippetBudget{LengthMM: length, CostMM: cost, LeastMM: least}
	var err error
	b.Reties, err = fits(length, cost, least,
		"a tippet has a length above 0; note it",
		"a re-tie costs some tippet; write a length of 1 mm or more",
		"the least tippet is above 0; write one, such as 1 m")
	if err != nil {
		return b, err
	}
	b.LeftMM = tidyMM(length - float64(b.Reties)*cost)
	return b, nil
}

// fits is how often a cost goes into what a length has over the least. A millionth of a
// millimetre too little is no more than how computers keep decimals.
func fits(length, cost, least float64, refusals ...string) (int, error) {
	for i, v := range []float64{length, cost, least} {
		if !(v > 0) || math.IsInf(v, 0) || i == 1 && v < leastCostMM {
			return 0, journal.Invalidf("%s", refusals[i])
		}
	}
	return max(0, int(math.Floor((length-least)/cost+1e-6))), nil
}

func tidyMM(mm float64) float64 { return math.Round(mm*1e6) / 1e6 }

// MinCuts is how many fly changes with a noted cut a journal needs before its own
// waste stands in for common practice.
const MinCuts = 10

// TagWaste is what a fly change that cuts the tag costs of it: the median of the cuts
// that the journal noted, or common practice when they are too few. Cuts are in mm,
// ascending, as pg.Store.TagCuts returns them.
func TagWaste(cuts []journal.Written, sys units.System) Assumed {
	n := 0
	for _, c := range cuts {
		n += c.Times
	}
	if n < MinCuts {
		return PracticeLength(PracticeWasteMM, sys)
	}
	return Assumed{Value: (nth(cuts, (n-1)/2) + nth(cuts, n/2)) / 2, From: FromJournal, N: n}
}

// nth is the value at a place of the list written out in full.
func nth(list []journal.Written, place int) float64 {
	for _, w := range list {
		if place < w.Times {
			return w.Value
		}
		place -= w.Times
	}
	return math.NaN() // not reached: place is below the sum of the times
}
