package plan

import (
	"encoding/json"

	"rigtally/analytics/answer"
)

type bestJSON struct {
	Point
	From float64 `json:"from_mm"`
	To   float64 `json:"to_mm"`
	Tippet
}

// MarshalJSON writes lists, though they be empty.
func (r Rate) MarshalJSON() ([]byte, error) {
	type plain Rate
	r.Table, r.Shown = answer.List(r.Table), answer.List(r.Shown)
	return json.Marshal(plain(r))
}

// MarshalJSON writes the plan in full precision, in storage units: lengths in mm, losses
// in minutes per hour fished, rates per hour.
func (a Answer) MarshalJSON() ([]byte, error) {
	var best *bestJSON
	if a.Best >= 0 && a.Best < len(a.Points) {
		best = &bestJSON{a.Points[a.Best], a.From, a.To, a.Tippet}
	}
	return json.Marshal(map[string]any{"version": 2, "given": answer.List(a.Given), "inputs": answer.List(a.Inputs), "tangles": a.Tangles, "breaks": a.Breaks,
		"break_gives_fresh_tag": a.Anew, "points": answer.List(a.Points), "best": best, "bet": a.Bet, "moves": answer.Each(a.Moves, Move.json), "notes": answer.List(a.Notes)})
}

func (v Move) json() any {
	values := []float64{}
	if v.Key != BreakAnew {
		values = append(values, v.Low, v.High)
	}
	return map[string]any{"key": v.Key, "values": values, "own_interval": v.Own, "costs": v.Costs,
		"length_mm": [2]float64{v.At[0].LengthMM, v.At[1].LengthMM}, "loss": [2]float64{v.At[0].Loss, v.At[1].Loss}}
}
