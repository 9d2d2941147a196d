package life

import (
	"encoding/json"
	"math"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
)

type stepJSON struct {
	At        float64  `json:"at"`
	AtRisk    int      `json:"at_risk"`
	Breaks    int      `json:"breaks"`
	Share     float64  `json:"share"`
	Greenwood *float64 `json:"se_greenwood"`
	BySession *float64 `json:"se_by_session"`
	Low       *float64 `json:"low"`
	High      *float64 `json:"high"`
}

type groupJSON struct {
	Level      any           `json:"level"`
	Ties       int           `json:"ties"`
	Breaks     int           `json:"breaks"`
	Retied     int           `json:"last_seen_at_retie"`
	Off        int           `json:"last_seen_at_end"`
	Sessions   int           `json:"sessions"`
	Total      float64       `json:"total"`
	Expected   *float64      `json:"breaks_expected"`
	Median     *float64      `json:"median"`
	MedianLow  *float64      `json:"median_low"`
	MedianHigh *float64      `json:"median_high"`
	P          *float64      `json:"p"`
	Q          *float64      `json:"q"`
	Verdict    *stat.Verdict `json:"verdict"`
	Steps      []stepJSON    `json:"steps"`
}

type testJSON struct {
	DF               int      `json:"df"`
	ChiSquared       float64  `json:"chi_squared"`
	P                float64  `json:"p"`
	SessionsChi      *float64 `json:"chi_squared_by_session"`
	SessionsP        *float64 `json:"p_by_session"`
	SessionsCompared int      `json:"sessions"`
}

func steps(g Group) []stepJSON {
	list := []stepJSON{}
	for _, p := range g.Survival.Steps {
		step := stepJSON{At: p.Time, AtRisk: p.AtRisk, Breaks: p.Ended, Share: p.Share}
		if !math.IsNaN(p.SE) {
			step.Greenwood, step.BySession = answer.Known(p.SE), answer.Known(p.ClusterSE)
		}
		if p.HasIntervals {
			step.Low, step.High = answer.Known(p.Low), answer.Known(p.High)
		}
		list = append(list, step)
	}
	return list
}

// MarshalJSON writes the answer in full precision: times in hours fished, or in loads.
func (a Answer) MarshalJSON() ([]byte, error) {
	out := struct {
		By        string         `json:"by"`
		In        string         `json:"in"`
		Reference any            `json:"reference"`
		Groups    []groupJSON    `json:"groups"`
		Test      *testJSON      `json:"log_rank"`
		LeftOut   map[string]int `json:"left_out"`
	}{a.By.Factor.Key, a.In, nil, []groupJSON{}, nil, a.LeftOut}
	for i, g := range a.Groups {
		group := groupJSON{Level: answer.LevelValue(g.Level), Ties: g.Ties, Breaks: g.Breaks, Retied: g.Retied, Off: g.Off, Sessions: g.Sessions, Total: g.Total,
			Median: g.Median, MedianLow: g.Low, MedianHigh: g.High, P: g.P, Q: g.Q, Steps: steps(g)}
		if a.Test != nil {
			group.Expected = answer.Known(g.Expected)
		}
		if g.Verdict != "" {
			group.Verdict = &g.Verdict
		}
		if i == a.Reference {
			out.Reference = answer.LevelValue(g.Level)
		}
		out.Groups = append(out.Groups, group)
	}
	if t := a.Test; t != nil {
		out.Test = &testJSON{t.DF, t.ChiSquared, t.P, t.ClusterChiSquared, t.ClusterP, t.Clusters}
	}
	return json.Marshal(out)
}
