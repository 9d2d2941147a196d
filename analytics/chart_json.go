package analytics

import (
	"encoding/json"

	"rigtally/analytics/answer"
	"rigtally/journal"
)

type chartPointJSON struct {
	Session  journal.ID   `json:"session"`
	Day      journal.Date `json:"day"`
	Angler   string       `json:"angler"`
	Events   float64      `json:"events"`
	Exposure float64      `json:"exposure"`
	Rate     float64      `json:"rate"`
	Low      float64      `json:"low"`
	High     float64      `json:"high"`
	Out      Beyond       `json:"out"`
}

type trendJSON struct {
	Ratio  *float64 `json:"ratio"`
	Low    *float64 `json:"ratio_low"`
	High   *float64 `json:"ratio_high"`
	P      *float64 `json:"p"`
	SELog  *float64 `json:"se_log"`
	DF     *float64 `json:"df"`
	Per    string   `json:"per"`
	Method string   `json:"method"`
	Given  []string `json:"given"`
}

// MarshalJSON writes the chart in full precision. The angler is null for
// everyone, the season for all of them, and the trend where it can't be told;
// out is "above", "below" or "".
func (a ChartAnswer) MarshalJSON() ([]byte, error) {
	out := struct {
		Outcome string           `json:"outcome"`
		Unit    string           `json:"unit"`
		Angler  *string          `json:"angler"`
		Season  *int             `json:"season"`
		Centre  float64          `json:"centre"`
		Sigma   float64          `json:"sigma"`
		Points  []chartPointJSON `json:"points"`
		Trend   *trendJSON       `json:"trend"`
		LeftOut map[string]int   `json:"left_out"`
	}{Outcome: a.Outcome.Key, Unit: a.Outcome.Unit(), Centre: a.Centre, Sigma: a.Sigma, Points: []chartPointJSON{}, LeftOut: a.LeftOut}
	if a.Angler != "" {
		out.Angler = &a.Angler
	}
	if a.Season != 0 {
		out.Season = &a.Season
	}
	for _, p := range a.Points {
		out.Points = append(out.Points, chartPointJSON{p.ID, p.Day, p.Angler, p.Events, p.Exposure, p.Rate, p.Low, p.High, p.Out})
	}
	if t := a.Trend; t != nil {
		out.Trend = &trendJSON{answer.Known(t.Ratio), answer.Known(t.Low), answer.Known(t.High), answer.Known(t.P), answer.Known(t.SELog), answer.Known(t.DF), "month", t.Method, append([]string{}, t.Given...)}
	}
	return json.Marshal(out)
}
