package bench

import (
	"encoding/json"
)

type besideJSON struct {
	Level     string   `json:"level"`
	Pulls     int      `json:"pulls"`
	Strength  float64  `json:"strength"`
	Low       *float64 `json:"strength_low"`
	High      *float64 `json:"strength_high"`
	Loads     float64  `json:"loads"`
	Breaks    float64  `json:"breaks"`
	Share     float64  `json:"share"`
	ShareLow  *float64 `json:"share_low"`
	ShareHigh *float64 `json:"share_high"`
}

// MarshalJSON writes bench and water in full precision.
func (b BesideWater) MarshalJSON() ([]byte, error) {
	out := struct {
		By      string       `json:"by"`
		Unit    StrengthOf   `json:"unit"`
		Points  []besideJSON `json:"points"`
		Missing []string     `json:"missing"`
		Agree   int          `json:"pairs_agree"`
		Against int          `json:"pairs_against"`
		P       *float64     `json:"p"`
	}{b.Factor.Key, b.Of, []besideJSON{}, append([]string{}, b.Missing...), b.Ranks.Agree, b.Ranks.Against, nil}
	if b.HasRank {
		out.P = &b.Ranks.P
	}
	for _, p := range b.Points {
		out.Points = append(out.Points, besideJSON{p.Level, p.Pulls, p.Strength, p.Low, p.High, p.Loads, p.Breaks, p.Share, p.ShareLow, p.ShareTop})
	}
	return json.Marshal(out)
}
