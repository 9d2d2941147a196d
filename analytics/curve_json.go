package analytics

import (
	"encoding/json"

	"rigtally/analytics/answer"
	"rigtally/analytics/change"
	"rigtally/journal"
)

// curvePointJSON has null for what does not exist.
type curvePointJSON struct {
	At    float64  `json:"at"`
	Rate  float64  `json:"rate"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	SELog *float64 `json:"se_log"`
}

type pJSON struct {
	P *float64 `json:"p"`
}

// MarshalJSON writes the answer in full precision, values in storage units.
func (a CurveAnswer) MarshalJSON() ([]byte, error) {
	points, best := []curvePointJSON{}, "lowest"
	for _, p := range a.Points {
		points = append(points, curvePointJSON{p.At, p.Rate, answer.If(p.HasInterval, p.Low), answer.If(p.HasInterval, p.High), answer.If(p.HasInterval, p.SELog)})
	}
	lowest, highest := a.Choice(), (*Choice)(nil)
	if a.Highest {
		best, lowest, highest = "highest", nil, lowest
	}
	return json.Marshal(struct {
		Version  int              `json:"version"`
		Outcome  string           `json:"outcome"`
		Unit     string           `json:"unit"`
		Over     string           `json:"over"`
		Given    []Given          `json:"given"`
		Model    Model            `json:"model"`
		Points   []curvePointJSON `json:"points"`
		Matters  pJSON            `json:"matters"`
		Bends    pJSON            `json:"bends"`
		Best     []Chance         `json:"best"`
		BestIs   string           `json:"best_is"`
		Lowest   *Choice          `json:"lowest_at"`
		Highest  *Choice          `json:"highest_at"`
		Bet      *CurveBet        `json:"bet"`
		Exposure []Rug            `json:"exposure"`
		Knots    []float64        `json:"knots"`
		Boundary []float64        `json:"boundary"`
		Method   string           `json:"method"`
		LeftOut  map[string]int   `json:"left_out"`
		Told     journal.Told     `json:"told"`
		Changed  *change.Finding  `json:"changed"`
		Rise     *Rise            `json:"rise"`
	}{answerVersion, a.Outcome.Key, a.Outcome.Unit(), a.Over.Key, answer.List(a.Given), a.Model, points, pJSON{a.Matters}, pJSON{a.Bends}, answer.List(a.Best), best, lowest, highest, a.Bet,
		answer.List(a.Rug), answer.List(a.Knots), answer.List(a.Boundary), a.Method, a.LeftOut, a.Told, a.Changed, a.Rise})
}
