package claims

import (
	"fmt"
	"math"

	"rigtally/analytics/claim"
	"rigtally/internal/units"
	"rigtally/prose"
)

// claimChart is a ratio with its interval on a scale of ratios, in percent of
// the width, so that it stretches with the page.
type claimChart struct {
	At, Low, High string // where the mark and the ends are
	LowEnd        string // how the ends are drawn: "bar", "arrow" where the
	HighEnd       string // interval goes on beyond the edge, "" where it lies beyond it whole
	Off           string // the mark itself lies beyond this edge: "left", "right", or ""
	SideAt, Side  string // where the claim's side starts, and its width
	Spoken        string
	Look          string
	Ticks         []claimTick
}

// claimTick is a line of the scale with its label.
type claimTick struct {
	At, Text string
	One      bool // no difference
}

// claimScale is a scale of ratios from 1/most to most, alike for the whole board.
type claimScale struct{ most float64 }

// claimScaleFor chooses the scale that shows the intervals of most claims whole.
func claimScaleFor(list []claim.Answer) claimScale {
	var reach []float64
	for _, a := range list {
		if a.Low != nil && a.High != nil {
			reach = append(reach, max(math.Abs(math.Log(*a.Low)), math.Abs(math.Log(*a.High))))
		}
	}
	for _, most := range []float64{2, 4} {
		within := 0
		for _, r := range reach {
			if r <= math.Log(most) {
				within++
			}
		}
		if 5*within >= 4*len(reach) {
			return claimScale{most}
		}
	}
	return claimScale{8}
}

const claimEdge = 4 // percent of the width kept free at each end

// at is the place of a ratio, in percent of the width, kept on the chart.
func (s claimScale) at(ratio float64) (percent float64, off string) {
	x := math.Log(ratio) / math.Log(s.most)
	switch {
	case x < -1:
		return claimEdge / 2, "left"
	case x > 1:
		return 100 - claimEdge/2, "right"
	}
	return 50 + x*(50-claimEdge), ""
}

// endAt says how an end of an interval is drawn that lies beyond the edge off.
func endAt(off, own string) string {
	switch off {
	case "":
		return "bar"
	case own:
		return "arrow"
	}
	return ""
}

func percentage(v float64) string { return fmt.Sprintf("%.2f%%", v) }

func (s claimScale) ticks() []claimTick {
	var list []claimTick
	for v := 1 / s.most; v <= s.most; v *= 2 {
		at, _ := s.at(v)
		text := map[float64]string{0.125: "⅛", 0.25: "¼", 0.5: "½"}[v]
		if text == "" {
			text = fmt.Sprintf("%g", v)
		}
		list = append(list, claimTick{percentage(at), text, v == 1})
	}
	return list
}

func (s claimScale) draw(a claim.Answer, sys units.System) *claimChart {
	c := &claimChart{Look: claimLooks[a.Standing], Ticks: s.ticks()}
	at, off := s.at(*a.Ratio)
	c.At, c.Off = percentage(at), off
	c.SideAt, c.Side = "0%", "50%"
	if a.SaysMore() {
		c.SideAt = "50%"
	}
	if a.Low != nil && a.High != nil {
		low, offLow := s.at(*a.Low)
		high, offHigh := s.at(*a.High)
		c.Low, c.High = percentage(low), percentage(high)
		c.LowEnd, c.HighEnd = endAt(offLow, "left"), endAt(offHigh, "right")
	}
	c.Spoken = "Chart: " + prose.ClaimRatio(a, sys) + "; " + string(a.Standing) + "."
	return c
}
