package next

import (
	"encoding/json"

	"rigtally/analytics/answer"
)

// MarshalJSON writes the questions in full precision: minutes, and hours.
func (a Answer) MarshalJSON() ([]byte, error) {
	return json.Marshal(map[string]any{"questions": answer.Each(a.Questions, Question.json), "apart": answer.Each(a.Apart, Question.json),
		"season_hours": a.Hours, "hours": a.More, "prior_sd": a.Prior})
}

func (q Question) json() any {
	out := map[string]any{"outcome": q.Outcome.Key, "by": q.By.Key, "bet": nil, "minutes_per_event": answer.If(q.Minutes > 0, q.Minutes), "minutes_from": nil,
		"minutes_gained": answer.If(q.Minutes > 0, q.Gain), "more_hours": q.MoreHours}
	if q.Minutes > 0 {
		out["minutes_from"] = q.From
	}
	switch {
	case q.Rates != nil:
		out["bet"] = q.Rates.BetJSON()
	case q.Curve != nil && q.Curve.Bet != nil:
		out["bet"] = q.Curve.Bet
	}
	return out
}
