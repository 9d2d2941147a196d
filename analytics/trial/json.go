package trial

import (
	"encoding/json"
	"time"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat/sequential"
	"rigtally/journal"
)

type answerJSON struct {
	ID         journal.ID           `json:"id"`
	Name       string               `json:"name"`
	Outcome    string               `json:"outcome"`
	Unit       string               `json:"unit"`   // of the rates
	Factor     string               `json:"factor"` //
	By         string               `json:"by"`     // stint or session
	Block      int                  `json:"block"`
	Worth      float64              `json:"worth"`
	MostHours  float64              `json:"most_hours"`
	PlannedAt  string               `json:"planned_at"`
	EndedAt    *string              `json:"ended_at"`
	Ending     string               `json:"ending,omitempty"`
	Commitment string               `json:"commitment"`
	Seed       *string              `json:"seed"` // null as long as the order is sealed
	Sealed     *string              `json:"sealed_text"`
	Undone     int                  `json:"starts_taken_back"`
	State      State                `json:"state"`
	Settled    *int                 `json:"settled_after_sessions"`
	Ratio      *float64             `json:"ratio"` // of arm A to arm B
	Evidence   *sequential.Sequence `json:"robust"`
	Model      *sequential.Sequence `json:"model"`
	Arms       []armJSON            `json:"arms"`
	Next       int                  `json:"next"`
	Units      []unitJSON           `json:"units"`
	Looks      []Look               `json:"looks"`
	Outlook    *outlookJSON         `json:"outlook"`
	Drawn      *drawnJSON           `json:"as_drawn"`
}

type armJSON struct {
	Letter string      `json:"arm"`
	RigID  *journal.ID `json:"rig_id,omitempty"`
	Rig    string      `json:"rig,omitempty"`
	Level  string      `json:"level,omitempty"`
	Note   string      `json:"note,omitempty"`
	Arm
	Rate *float64 `json:"rate"`
}

type unitJSON struct {
	Ordinal  int           `json:"ordinal"`
	Arm      journal.Arm   `json:"arm"`
	Block    int           `json:"block"`
	Started  string        `json:"started_at"`
	Session  *journal.ID   `json:"session"`
	Stint    *journal.ID   `json:"stint"`
	Day      *journal.Date `json:"day"`
	Rigs     []string      `json:"rigs,omitempty"`
	Hours    float64       `json:"hours"`
	Exposure float64       `json:"exposure"`
	Events   float64       `json:"events"`
	Standing Standing      `json:"standing"`
	Reason   string        `json:"reason,omitempty"`
	Complete bool          `json:"block_complete"`
}

type outlookJSON struct {
	Ratio  float64  `json:"ratio"`
	Seen   bool     `json:"ratio_seen"`
	Chance float64  `json:"chance_within_most_hours"`
	Hours  *float64 `json:"hours_to_decision"`
	Left   float64  `json:"hours_left"`
	Fixed  *float64 `json:"hours_of_a_fixed_size_test"`
}

type drawnJSON struct {
	Units int     `json:"broke_plan_counted"`
	E     float64 `json:"e"`
}

// stamp is a moment to the second.
func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339) }

// MarshalJSON writes the trial in full precision, levels in storage units. The
// seed and what was sealed are null until the trial has ended, and only units
// that were started appear.
func (a Answer) MarshalJSON() ([]byte, error) {
	t := a.Trial
	out := answerJSON{ID: t.ID, Name: t.Name, Outcome: t.Outcome, Unit: a.Outcome.Unit(), Factor: t.Factor, By: string(t.Unit), Block: t.Block, Worth: t.Worth,
		MostHours: t.MostHours, PlannedAt: stamp(t.PlannedAt), Ending: t.Ending, Commitment: t.Commitment, Undone: a.Undone, State: a.State, Ratio: a.Ratio,
		Next: a.Next(), Units: []unitJSON{}, Looks: answer.List(a.Looks)}
	if t.Ended() {
		out.EndedAt, out.Seed, out.Sealed = new(stamp(*t.EndedAt)), &t.Seed, new(t.SealedText())
	}
	if a.Settled > 0 {
		out.Settled = &a.Settled
	}
	for i, arm := range a.Arms {
		out.Arms = append(out.Arms, armJSON{string(rune('A' + i)), t.Arms[i].RigID, a.Rigs[i], t.Arms[i].Level, t.Arms[i].Note, arm, answer.If(arm.Exposure > 0, arm.Rate())})
	}
	for _, u := range a.Units {
		j := unitJSON{Ordinal: u.Unit.Ordinal, Arm: u.Unit.Arm, Block: u.Block, Started: stamp(u.Unit.StartedAt), Session: u.Unit.SessionID,
			Stint: u.Unit.StintID, Rigs: u.Rigs, Hours: u.Hours, Exposure: u.T, Events: u.K, Standing: u.Standing, Reason: u.Reason, Complete: u.Complete}
		if u.Found {
			j.Day = &u.Day
		}
		out.Units = append(out.Units, j)
	}
	if l, ok := a.Last(); ok {
		out.Evidence, out.Model = &l.Robust, &l.Model
	}
	if o := a.Outlook; o != nil {
		out.Outlook = &outlookJSON{o.Ratio, o.Seen, o.Chance, answer.Known(o.Hours), o.Left, answer.Known(o.Fixed)}
	}
	if d := a.Drawn; d != nil {
		out.Drawn = &drawnJSON{d.Units, sequential.EValue(d.LogE)}
	}
	return json.Marshal(out)
}
