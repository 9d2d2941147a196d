package analytics

import (
	"encoding/json"

	"rigtally/analytics/answer"
	"rigtally/journal"
)

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

type chanceJSON struct {
	At          float64 `json:"at"`
	Probability float64 `json:"probability"`
}

type rugJSON struct {
	At       float64 `json:"at"`
	Exposure float64 `json:"exposure"`
}

// interval is nil for what does not exist.
func (p CurvePoint) interval() (low, high, se *float64) {
	if !p.HasInterval {
		return nil, nil, nil
	}
	return answer.Known(p.Low), answer.Known(p.High), answer.Known(p.SELog)
}

// MarshalJSON writes the answer in full precision, values in storage units.
func (a CurveAnswer) MarshalJSON() ([]byte, error) {
	out := struct {
		Outcome  string           `json:"outcome"`
		Unit     string           `json:"unit"`
		Over     string           `json:"over"`
		Given    []string         `json:"given"`
		Points   []curvePointJSON `json:"points"`
		Matters  pJSON            `json:"matters"`
		Bends    pJSON            `json:"bends"`
		Best     []chanceJSON     `json:"best"`
		BestIs   string           `json:"best_is"`
		Exposure []rugJSON        `json:"exposure"`
		Knots    []float64        `json:"knots"`
		Boundary []float64        `json:"boundary"`
		Method   string           `json:"method"`
		LeftOut  map[string]int   `json:"left_out"`
		Told     journal.Told     `json:"told"`
	}{a.Outcome.Key, a.Outcome.Unit(), a.Over.Key, []string{}, []curvePointJSON{}, pJSON{a.Matters}, pJSON{a.Bends}, []chanceJSON{}, "lowest", []rugJSON{},
		append([]float64{}, a.Knots...), append([]float64{}, a.Boundary...), a.Method, a.LeftOut, a.Told}
	if a.Highest {
		out.BestIs = "highest"
	}
	for _, g := range a.Given {
		out.Given = append(out.Given, g.String())
	}
	for _, p := range a.Points {
		low, high, se := p.interval()
		out.Points = append(out.Points, curvePointJSON{p.At, p.Rate, low, high, se})
	}
	for _, c := range a.Best {
		out.Best = append(out.Best, chanceJSON(c))
	}
	for _, r := range a.Rug {
		out.Exposure = append(out.Exposure, rugJSON(r))
	}
	return json.Marshal(out)
}
