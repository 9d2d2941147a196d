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
	Level      any          `json:"level"`
	Ties       int          `json:"ties"`
	Breaks     int          `json:"breaks"`
	Retied     int          `json:"last_seen_at_retie"`
	Off        int          `json:"last_seen_at_end"`
	Sessions   int          `json:"sessions"`
	Total      float64      `json:"total"`
	Expected   *float64     `json:"breaks_expected"`
	Median     *float64     `json:"median"`
	MedianLow  *float64     `json:"median_low"`
	MedianHigh *float64     `json:"median_high"`
	P          *float64     `json:"p"`
	Q          *float64     `json:"q"`
	Verdict    stat.Verdict `json:"verdict"`
	Steps      []stepJSON   `json:"steps"`
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
		known := !math.IsNaN(p.SE)
		list = append(list, stepJSON{p.Time, p.AtRisk, p.Ended, p.Share, answer.If(known, p.SE), answer.If(known, p.ClusterSE), answer.If(p.HasIntervals, p.Low), answer.If(p.HasIntervals, p.High)})
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
		group := groupJSON{Level: answer.LevelValue(g.Level), Ties: g.Ties, Breaks: g.Breaks, Retied: g.Retied, Off: g.Off, Sessions: g.Sessions, Total: g.Total, Expected: answer.If(a.Test != nil, g.Expected),
			Median: g.Median, MedianLow: g.Low, MedianHigh: g.High, P: g.P, Q: g.Q, Verdict: g.Verdict, Steps: steps(g)}
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
