package bench

import (
	"encoding/json"

	"rigtally/analytics/answer"
)

// MarshalJSON writes bench and water in full precision.
func (b BesideWater) MarshalJSON() ([]byte, error) {
	out := struct {
		By      string        `json:"by"`
		Unit    StrengthOf    `json:"unit"`
		Points  []BesidePoint `json:"points"`
		Missing []string      `json:"missing"`
		Agree   int           `json:"pairs_agree"`
		Against int           `json:"pairs_against"`
		P       *float64      `json:"p"`
	}{b.Factor.Key, b.Of, answer.List(b.Points), answer.List(b.Missing), b.Ranks.Agree, b.Ranks.Against, nil}
	if b.HasRank {
		out.P = &b.Ranks.P
	}
	return json.Marshal(out)
}
