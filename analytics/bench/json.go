package bench

import (
	"encoding/json"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/strength"
)

// groupJSON is a group of pulls as other programs may rely on it. Nothing
// is rounded; a value that does not exist is null.
type groupJSON struct {
	Level      map[string]any `json:"level"`
	Pulls      int            `json:"pulls"`
	Slipped    int            `json:"slipped"`
	AtLeast    int            `json:"at_least"`
	Mean       *float64       `json:"mean"`
	MeanLow    *float64       `json:"mean_low"`
	MeanHigh   *float64       `json:"mean_high"`
	SD         *float64       `json:"sd"`
	Efficiency *ratioJSON     `json:"efficiency"`
	Weibull    *weibullJSON   `json:"weibull"`
	Versus     *versusJSON    `json:"versus"`
	Points     []pointJSON    `json:"points"`
}

type pointJSON struct {
	ForceN   float64  `json:"force_n"`
	Strength float64  `json:"strength"`
	TippetMM float64  `json:"tippet_mm"`
	Share    *float64 `json:"share"`
	Censored bool     `json:"censored"`
}

// ratioJSON is a ratio with Fieller's set: from low to high when bounded, up to
// low and from high on when outside, everything when unbounded.
type ratioJSON struct {
	Ratio  float64              `json:"ratio"`
	Low    *float64             `json:"low"`
	High   *float64             `json:"high"`
	Bounds strength.RatioBounds `json:"bounds"`
	DF     float64              `json:"df"`
}

type weibullJSON struct {
	Shape     float64  `json:"shape"`
	ShapeLow  *float64 `json:"shape_low"`
	ShapeHigh *float64 `json:"shape_high"`
	Scale     float64  `json:"scale"`
	ScaleLow  *float64 `json:"scale_low"`
	ScaleHigh *float64 `json:"scale_high"`
	B10       float64  `json:"strength_10"`
	B10Low    *float64 `json:"strength_10_low"`
	B10High   *float64 `json:"strength_10_high"`
	Failures  int      `json:"failures"`
	Censored  int      `json:"censored"`
}

type versusJSON struct {
	Level       map[string]any `json:"level"`
	Sets        int            `json:"sets"`
	Pulls       [2]int         `json:"pulls"`
	Difference  float64        `json:"difference_n"`
	Low         float64        `json:"difference_low"`
	High        float64        `json:"difference_high"`
	T           float64        `json:"t"`
	DF          float64        `json:"df"`
	P           float64        `json:"p"`
	Q           float64        `json:"q"`
	Ratio       ratioJSON      `json:"ratio"`
	Shift       float64        `json:"shift_n"`
	ShiftLow    *float64       `json:"shift_low"`
	ShiftHigh   *float64       `json:"shift_high"`
	ShiftLevel  float64        `json:"shift_level"`
	RankP       float64        `json:"rank_p"`
	RankExact   bool           `json:"rank_exact"`
	Verdict     stat.Verdict   `json:"verdict"`
	PullsNeeded *int           `json:"pulls_needed"`
	MorePulls   *int           `json:"more_pulls"`
}

// MarshalJSON writes the answer in full precision: forces in N, levels in
// storage units, strengths in "unit".
func (a Answer) MarshalJSON() ([]byte, error) {
	out := struct {
		By      []string       `json:"by"`
		Alike   []string       `json:"alike"`
		Unit    string         `json:"unit"`
		Slips   string         `json:"slips"`
		Groups  []groupJSON    `json:"groups"`
		LeftOut map[string]int `json:"left_out"`
	}{answer.Keys(a.By), answer.Keys(a.Alike), a.Unit(), SlipsCensored, []groupJSON{}, a.LeftOut}
	if a.SlipsFail {
		out.Slips = SlipsFail
	}
	for _, g := range a.Groups {
		out.Groups = append(out.Groups, a.groupJSON(g))
	}
	return json.Marshal(out)
}

// Unit names the scale of strengths.
func (a Answer) Unit() string {
	if a.Relative {
		return "share of unknotted"
	}
	return "N"
}

func asRatio(r strength.RatioSet) ratioJSON {
	return ratioJSON{r.Ratio, answer.Known(r.Low), answer.Known(r.High), r.Bounds, r.DF}
}

func (a Answer) groupJSON(g Group) groupJSON {
	out := groupJSON{Level: answer.Levels(a.By, g.Level), Pulls: g.N, Slipped: g.Slipped, AtLeast: g.AtLeast, Mean: answer.Known(g.Mean), MeanLow: g.MeanLow, MeanHigh: g.MeanHigh, SD: answer.Known(g.SD), Points: []pointJSON{}}
	for _, p := range g.Points {
		out.Points = append(out.Points, pointJSON{p.ForceN, p.Strength, p.TippetMM, answer.Known(p.Share), p.Censored})
	}
	if g.Efficiency != nil {
		r := asRatio(g.Efficiency.RatioSet)
		out.Efficiency = &r
	}
	if w := g.Weibull; w != nil {
		out.Weibull = &weibullJSON{w.Shape, answer.Known(w.ShapeInterval.Low), answer.Known(w.ShapeInterval.High), w.Scale, answer.Known(w.ScaleInterval.Low), answer.Known(w.ScaleInterval.High),
			w.B10, answer.Known(w.B10Interval.Low), answer.Known(w.B10Interval.High), w.Failures, w.Censored}
	}
	if c := g.Versus; c != nil {
		out.Versus = &versusJSON{Level: answer.Levels(a.By, a.Groups[a.Reference].Level), Sets: c.Sets, Pulls: [2]int{c.Pulls, c.Versus}, Difference: c.Difference, Low: c.Low, High: c.High,
			T: c.T, DF: c.DF, P: c.P, Q: c.Q, Ratio: asRatio(c.Ratio), Shift: c.Shift.Shift, ShiftLow: answer.Known(c.Shift.Low), ShiftHigh: answer.Known(c.Shift.High), ShiftLevel: c.Shift.Actual,
			RankP: c.Shift.P, RankExact: c.Shift.Exact, Verdict: c.Verdict, PullsNeeded: c.PullsNeeded, MorePulls: c.MorePulls}
	}
	return out
}
