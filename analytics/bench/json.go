package bench

import (
	"encoding/json"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat/strength"
)

// object is one as JSON has it.
type object = map[string]any

// MarshalJSON writes the answer in full precision: forces in N, levels in
// storage units, strengths in "unit". A value that does not exist is null.
func (a Answer) MarshalJSON() ([]byte, error) {
	slips := SlipsCensored
	if a.SlipsFail {
		slips = SlipsFail
	}
	return json.Marshal(object{"by": answer.Keys(a.By), "alike": answer.Keys(a.Alike), "unit": a.Unit(), "slips": slips,
		"groups": answer.Each(a.Groups, a.groupJSON), "left_out": a.LeftOut})
}

// Unit names the scale of strengths.
func (a Answer) Unit() string {
	if a.Relative {
		return "share of unknotted"
	}
	return "N"
}

// ratioJSON is a ratio with Fieller's set: from low to high when bounded, up to
// low and from high on when outside, everything when unbounded.
func ratioJSON(r strength.RatioSet) object {
	return object{"ratio": r.Ratio, "low": answer.Known(r.Low), "high": answer.Known(r.High), "bounds": r.Bounds, "df": r.DF}
}

func (a Answer) groupJSON(g Group) object {
	out := object{"level": answer.Levels(a.By, g.Level), "pulls": g.N, "slipped": g.Slipped, "at_least": g.AtLeast,
		"mean": answer.Known(g.Mean), "mean_low": g.MeanLow, "mean_high": g.MeanHigh, "sd": answer.Known(g.SD), "efficiency": nil, "weibull": nil, "versus": nil}
	out["points"] = answer.Each(g.Points, func(p Point) object {
		return object{"force_n": p.ForceN, "strength": p.Strength, "tippet_mm": p.TippetMM, "share": answer.Known(p.Share), "censored": p.Censored}
	})
	if g.Efficiency != nil {
		out["efficiency"] = ratioJSON(g.Efficiency.RatioSet)
	}
	if w := g.Weibull; w != nil {
		out["weibull"] = object{"shape": w.Shape, "shape_low": answer.Known(w.ShapeInterval.Low), "shape_high": answer.Known(w.ShapeInterval.High),
			"scale": w.Scale, "scale_low": answer.Known(w.ScaleInterval.Low), "scale_high": answer.Known(w.ScaleInterval.High),
			"strength_10": w.B10, "strength_10_low": answer.Known(w.B10Interval.Low), "strength_10_high": answer.Known(w.B10Interval.High),
			"failures": w.Failures, "censored": w.Censored}
	}
	if c := g.Versus; c != nil {
		out["versus"] = object{"level": answer.Levels(a.By, a.Groups[a.Reference].Level), "sets": c.Sets, "pulls": [2]int{c.Pulls, c.Versus},
			"difference_n": c.Difference, "difference_low": c.Low, "difference_high": c.High, "t": c.T, "df": c.DF, "p": c.P, "q": c.Q, "ratio": ratioJSON(c.Ratio),
			"shift_n": c.Shift.Shift, "shift_low": answer.Known(c.Shift.Low), "shift_high": answer.Known(c.Shift.High), "shift_level": c.Shift.Actual,
			"rank_p": c.Shift.P, "rank_exact": c.Shift.Exact, "verdict": c.Verdict, "pulls_needed": c.PullsNeeded, "more_pulls": c.MorePulls}
	}
	return out
}
