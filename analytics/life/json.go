package life

import (
	"encoding/json"
	"math"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat/survive"
)

// object is one as JSON has it.
type object = map[string]any

// MarshalJSON writes the answer in full precision: times in hours fished, or in loads.
func (a Answer) MarshalJSON() ([]byte, error) {
	out := object{"by": a.By.Factor.Key, "in": a.In, "reference": nil, "groups": answer.Each(a.Groups, a.groupJSON), "log_rank": nil, "left_out": a.LeftOut}
	if a.Reference >= 0 {
		out["reference"] = answer.LevelValue(a.Groups[a.Reference].Level)
	}
	if t := a.Test; t != nil {
		out["log_rank"] = object{"df": t.DF, "chi_squared": t.ChiSquared, "p": t.P,
			"chi_squared_by_session": t.ClusterChiSquared, "p_by_session": t.ClusterP, "sessions": t.Clusters}
	}
	return json.Marshal(out)
}

func (a Answer) groupJSON(g Group) object {
	return object{"level": answer.LevelValue(g.Level), "ties": g.Ties, "breaks": g.Breaks, "last_seen_at_retie": g.Retied, "last_seen_at_end": g.Off,
		"sessions": g.Sessions, "total": g.Total, "breaks_expected": answer.If(a.Test != nil, g.Expected),
		"median": g.Median, "median_low": g.Low, "median_high": g.High, "p": g.P, "q": g.Q, "verdict": g.Verdict, "steps": answer.Each(g.Survival.Steps, stepJSON)}
}

func stepJSON(p survive.Step) object {
	known := !math.IsNaN(p.SE)
	return object{"at": p.Time, "at_risk": p.AtRisk, "breaks": p.Ended, "share": p.Share,
		"se_greenwood": answer.If(known, p.SE), "se_by_session": answer.If(known, p.ClusterSE),
		"low": answer.If(p.HasIntervals, p.Low), "high": answer.If(p.HasIntervals, p.High)}
}
