package analytics

import (
	"encoding/json"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/journal"
)

// groupJSON is a group as other programs may rely on it. Nothing is rounded; a
// value that does not exist is null.
type groupJSON struct {
	Level       map[string]any `json:"level"`
	Stints      int            `json:"stints"`
	Sessions    int            `json:"sessions"`
	Exposure    float64        `json:"exposure"`
	Events      float64        `json:"events"`
	Dispersion  float64        `json:"dispersion"`
	Rate        float64        `json:"rate"`
	Low         *float64       `json:"low"`
	High        *float64       `json:"high"`
	Versus      map[string]any `json:"versus"`
	Ratio       *float64       `json:"ratio"`
	RatioLow    *float64       `json:"ratio_low"`
	RatioHigh   *float64       `json:"ratio_high"`
	P           *float64       `json:"p"`
	Q           *float64       `json:"q"`
	Verdict     *stat.Verdict  `json:"verdict"`
	HoursNeeded *float64       `json:"hours_needed"`
	Corrected   *correctedJSON `json:"corrected"`
}

// correctedJSON is the comparison after correction.
type correctedJSON struct {
	Ratio     *float64 `json:"ratio"`
	RatioLow  *float64 `json:"ratio_low"`
	RatioHigh *float64 `json:"ratio_high"`
	P         *float64 `json:"p"`
	SELog     *float64 `json:"se_log"`
	DF        *float64 `json:"df"`
	Method    string   `json:"method"`
}

// MarshalJSON writes the answer in full precision, levels in storage units.
func (a RateAnswer) MarshalJSON() ([]byte, error) {
	out := struct {
		Outcome string         `json:"outcome"`
		Unit    string         `json:"unit"`
		By      []string       `json:"by"`
		Given   []string       `json:"given"`
		Groups  []groupJSON    `json:"groups"`
		LeftOut map[string]int `json:"left_out"`
		Told    journal.Told   `json:"told"`
	}{a.Outcome.Key, a.Outcome.Unit(), []string{}, []string{}, []groupJSON{}, a.LeftOut, a.Told}
	for _, by := range a.By {
		out.By = append(out.By, by.Factor.Key)
	}
	for _, g := range a.Given {
		out.Given = append(out.Given, g.String())
	}
	for _, g := range a.Groups {
		out.Groups = append(out.Groups, a.groupJSON(g))
	}
	return json.Marshal(out)
}

func (a RateAnswer) groupJSON(g Group) groupJSON {
	out := groupJSON{Level: a.levelJSON(g), Stints: g.Stints, Sessions: g.Sessions, Exposure: g.Exposure, Events: g.Events, Dispersion: g.Dispersion, Rate: g.Rate}
	if g.HasInterval {
		out.Low, out.High = answer.Known(g.Low), answer.Known(g.High)
	}
	if v := g.Versus; v != nil {
		out.Versus = a.levelJSON(a.Groups[a.Reference])
		out.Ratio, out.RatioLow, out.RatioHigh = v.Ratio, v.Low, v.High
		out.P, out.Q, out.Verdict, out.HoursNeeded = v.P, v.Q, &v.Verdict, v.HoursNeeded
	}
	if c := g.Corrected; c != nil {
		out.Corrected = &correctedJSON{c.Ratio, c.Low, c.High, c.P, c.SELog, c.DF, c.Method}
	}
	return out
}

func (a RateAnswer) levelJSON(g Group) map[string]any {
	level := map[string]any{}
	for i, by := range a.By {
		level[by.Factor.Key] = answer.LevelValue(g.Level[i])
	}
	return level
}
