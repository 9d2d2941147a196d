package analytics

import (
	"cmp"
	"math"
	"slices"

	"rigtally/journal/facts"
)

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
