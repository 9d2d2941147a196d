package trial

import (
	"encoding/json"
	"time"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat/sequential"
	"rigtally/journal"
)

// object is one as JSON has it.
type object = map[string]any

// stamp is a moment to the second.
func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339) }

// MarshalJSON writes the trial in full precision, levels in storage units. The
// seed and what was sealed are null until the trial has ended, or where they were
// left out of the backup that it came from, and only units that were started appear.
func (a Answer) MarshalJSON() ([]byte, error) {
	t := a.Trial
	out := object{"id": t.ID, "name": t.Name, "outcome": t.Outcome, "unit": a.Outcome.Unit(), "factor": t.Factor, "by": t.Unit, "block": t.Block, "worth": t.Worth,
		"most_hours": t.MostHours, "planned_at": stamp(t.PlannedAt), "ended_at": nil, "commitment": t.Commitment, "seed": nil, "sealed_text": nil,
		"starts_taken_back": a.Undone, "state": a.State, "settled_after_sessions": nil, "ratio": a.Ratio, "robust": nil, "model": nil, "arms": a.armsJSON(), "next": nil, "order_cut": t.OrderCut,
		"units": answer.Each(a.Units, Unit.json), "looks": answer.List(a.Looks), "outlook": nil, "bet": nil, "as_drawn": nil,
		"treatment": a.Treatment, "missing_against": nil, "earlier_trials": answer.List(a.Earlier)}
	if t.Ended() {
		out["ended_at"] = stamp(*t.EndedAt)
	}
	if t.Ended() && t.Seed != "" {
		out["seed"], out["sealed_text"] = t.Seed, t.SealedText()
	}
	if n := t.Next(); n > 0 {
		out["next"] = n
	}
	if t.Ending != "" {
		out["ending"] = t.Ending
	}
	if a.Settled > 0 {
		out["settled_after_sessions"] = a.Settled
	}
	if l, ok := a.Last(); ok {
		out["robust"], out["model"] = l.Robust, l.Model
	}
	if o := a.Outlook; o != nil {
		out["outlook"] = o
	}
	if b := a.Bet; b != nil {
		out["bet"] = object{"arm": []journal.Arm{journal.ArmA, journal.ArmB}[b.Option], "chance": b.Chance, "prior_sd": b.Prior, "best": b.Best()}
	}
	if d := a.Drawn; d != nil {
		out["as_drawn"] = object{"broke_plan_counted": d.Units, "e": sequential.EValue(d.LogE)}
	}
	if m := a.Turned; m != nil {
		out["missing_against"] = object{"missing": m.Missing, "e": sequential.EValue(m.LogE)}
	}
	return json.Marshal(out)
}

// MarshalJSON writes null for hours that are out of sight.
func (o Outlook) MarshalJSON() ([]byte, error) {
	return json.Marshal(object{"ratio": o.Ratio, "ratio_seen": o.Seen, "chance_within_most_hours": o.Chance,
		"hours_to_decision": answer.Known(o.Hours), "hours_left": o.Left, "hours_of_a_fixed_size_test": answer.Known(o.Fixed)})
}

// MarshalJSON writes the moment of the end as null while the trial runs.
func (e Earlier) MarshalJSON() ([]byte, error) {
	out := object{"id": e.ID, "name": e.Name, "planned_at": stamp(e.PlannedAt), "ended_at": nil}
	if e.EndedAt != nil {
		out["ended_at"] = stamp(*e.EndedAt)
	}
	return json.Marshal(out)
}

func (a Answer) armsJSON() []any {
	var list []any
	for i, arm := range a.Arms {
		of := a.Trial.Arms[i]
		list = append(list, struct {
			Letter string      `json:"arm"`
			RigID  *journal.ID `json:"rig_id,omitempty"`
			Rig    string      `json:"rig,omitempty"`
			Level  string      `json:"level,omitempty"`
			Note   string      `json:"note,omitempty"`
			Arm
			Rate *float64 `json:"rate"`
		}{string(rune('A' + i)), of.RigID, a.Rigs[i], of.Level, of.Note, arm, answer.If(arm.Exposure > 0, arm.Rate())})
	}
	return list
}

func (u Unit) json() object {
	out := object{"ordinal": u.Unit.Ordinal, "arm": u.Unit.Arm, "block": u.Block, "started_at": stamp(u.Unit.StartedAt), "session": u.Unit.SessionID, "stint": u.Unit.StintID,
		"day": nil, "hours": u.Hours, "exposure": u.T, "events": u.K, "standing": u.Standing, "block_complete": u.Complete}
	if u.Found {
		out["day"] = u.Day
	}
	if len(u.Rigs) > 0 {
		out["rigs"] = u.Rigs
	}
	if u.Reason != "" {
		out["reason"] = u.Reason
	}
	return out
}
