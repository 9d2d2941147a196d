package charts

import (
	"math"
	"slices"

	"rigtally/analytics/claim"
	"rigtally/prose"
)

// standings in the order of the key, with their looks.
var standings = []struct {
	look     string
	standing claim.Standing
}{{LookDiffers, claim.Holds}, {LookSettled, claim.Settled}, {LookLeans, claim.LeansFor}, {LookOpen, claim.OpenStill}, {LookSame, claim.Same}, {LookLeansAgainst, claim.LeansOther}, {LookAgainst, claim.OppositeHolds}}

// StandingKey explains the mark of a standing.
func StandingKey(standing claim.Standing) Key {
	for _, s := range standings {
		if s.standing == standing {
			return Key{s.look, string(standing)}
		}
	}
	return Key{LookOpen, string(standing)}
}

// claimMark is the ratio of a claim in its interval; false when there is none.
func claimMark(a claim.Answer, row int) (Mark, bool) {
	if a.Ratio == nil || *a.Ratio <= 0 {
		return Mark{}, false
	}
	return Mark{Name: a.Claim.Words, X: *a.Ratio, Y: float64(row), Across: span(a.Low, a.High), Radius: leastRadius + 2, Look: StandingKey(a.Standing).Look}, true
}

// Board draws every claim on the board that has a ratio with its 95% interval, on
// an axis on which twice and half lie equally far from 1.
func Board(b claim.Board) Chart {
	longest := most(b.Claims, func(a claim.Answer) float64 { return a.Total.Hours })
	var rows []Row
	var marks []Mark
	far := 1.0
	for i, a := range b.Claims {
		row := Row{Name: a.Claim.Words, Note: prose.ClaimStanding(a)}
		if m, ok := claimMark(a, i); ok {
			m.Note = prose.Hours(a.Total.Hours)
			if longest > 0 {
				m.Share = a.Total.Hours / longest
			}
			row.Value = prose.Ratio(*a.Ratio)
			far = math.Max(far, math.Ceil(math.Abs(math.Log2(*a.Ratio))))
			marks = append(marks, m)
		}
		rows = append(rows, row)
	}
	c := lying(rows, ratios("", math.Min(far+1, widest)), "Hours", level(1, nowhere, "no difference"), Layer{Shape: Points, Marks: marks})
	c.Drawn, c.Ratios = len(marks), true
	for _, s := range standings {
		if slices.ContainsFunc(marks, func(m Mark) bool { return m.Look == s.look }) {
			c.Key = append(c.Key, Key{s.look, string(s.standing)})
		}
	}
	return c
}

// Claims draws each claim of a board that has a ratio by itself, on one scale for all,
// over the side on which the claim says that it lies. Others are nil.
func Claims(b claim.Board) []*Chart {
	const height = 2 * rowFoot
	x := ratios("", claimReach(b.Claims))
	list := make([]*Chart, len(b.Claims))
	for i, a := range b.Claims {
		m, ok := claimMark(a, 0)
		if !ok {
			continue
		}
		side := Mark{Wide: &Span{x.From, 1}, Upright: &Span{-0.5, 0.5}}
		if a.SaysMore() {
			side.Wide = &Span{1, x.To}
		}
		list[i] = &Chart{Left: 8, Right: 16, Height: height + 24, Fields: []Field{{Height: height, X: x, Y: Axis{Rows: make([]Row, 1)},
			Layers: []Layer{{Shape: Washes, Marks: []Mark{side}}, level(1, nowhere, ""), {Shape: Points, Marks: []Mark{m}}}}}}
	}
	return list
}

// claimReach is how far, in doublings, a scale reaches that shows four in five intervals whole.
func claimReach(list []claim.Answer) float64 {
	var ends []float64
	for _, a := range list {
		if a.Low != nil && a.High != nil {
			ends = append(ends, math.Max(math.Abs(math.Log2(*a.Low)), math.Abs(math.Log2(*a.High))))
		}
	}
	slices.Sort(ends)
	if len(ends) == 0 {
		return 1
	}
	return math.Min(math.Max(1, math.Ceil(ends[(4*len(ends)+4)/5-1])), 3)
}
