package analytics

import (
	"encoding/json"

	"rigtally/analytics/answer"
	"rigtally/journal"
)

// betJSON is a bet as other programs may rely on it.
type betJSON struct {
	Option  map[string]any `json:"option"`
	Against map[string]any `json:"against"`
	Chance  float64        `json:"chance"`
	Prior   float64        `json:"prior_sd"`
	Best    bool           `json:"best"`
}

// BetJSON is the bet with the levels that it is about, in storage units; nil without one.
func (a RateAnswer) BetJSON() any {
	if a.Bet == nil {
		return nil
	}
	factors := answer.Each(a.By, func(b journal.By) journal.Factor { return b.Factor })
	level := func(g int) map[string]any { return answer.Levels(factors, a.Groups[g].Level) }
	return betJSON{level(a.Bet.Option), level(a.Bet.Against), a.Bet.Chance, a.Bet.Prior, a.Bet.Best()}
}

// MarshalJSON adds whether it is a best bet.
func (b CurveBet) MarshalJSON() ([]byte, error) {
	type plain CurveBet
	return json.Marshal(struct {
		plain
		Best bool `json:"best"`
	}{plain(b), b.Best()})
}
