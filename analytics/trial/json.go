package trial

import (
	"encoding/json"
	"math"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat/sequential"
	"rigtally/journal"
)

type answerJSON struct {
	ID         string        `json:"id"`
	Name       string        `json:"name"`
	Outcome    string        `json:"outcome"`
	Unit       string        `json:"unit"`   // of the rates
	Factor     string        `json:"factor"` //
	By         string        `json:"by"`     // stint or session
	Block      int           `json:"block"`
	Worth      float64       `json:"worth"`
	MostHours  float64       `json:"most_hours"`
	PlannedAt  string        `json:"planned_at"`
	EndedAt    *string       `json:"ended_at"`
	Ending     string        `json:"ending,omitempty"`
	Commitment string        `json:"commitment"`
	Seed       *string       `json:"seed"` // null as long as the order is sealed
	Sealed     *string       `json:"sealed_text"`
	Undone     int           `json:"starts_taken_back"`
	State      State         `json:"state"`
	Settled    *int          `json:"settled_after_sessions"`
	Ratio      *float64      `json:"ratio"` // of arm A to arm B
	Evidence   *sequenceJSON `json:"robust"`
	Model      *sequenceJSON `json:"model"`
	Arms       []armJSON     `json:"arms"`
	Next       int           `json:"next"`
	Units      []unitJSON    `json:"units"`
	Looks      []lookJSON    `json:"looks"`
	Outlook    *outlookJSON  `json:"outlook"`
	Drawn      *drawnJSON    `json:"as_drawn"`
}

type armJSON struct {
	Arm      string   `json:"arm"`
	RigID    *string  `json:"rig_id,omitempty"`
	Rig      string   `json:"rig,omitempty"`
	Level    string   `json:"level,omitempty"`
	Note     string   `json:"note,omitempty"`
	Units    int      `json:"units"`
	Broke    int      `json:"broke_plan"`
	Hours    float64  `json:"hours"`
	Exposure float64  `json:"exposure"`
	Events   float64  `json:"events"`
	Rate     *float64 `json:"rate"`
}

type sequenceJSON struct {
	E    float64  `json:"e"`
	LogE float64  `json:"log_e"`
	Low  float64  `json:"ratio_low"`
	High *float64 `json:"ratio_high"` // null: not limited yet
}

type unitJSON struct {
	Ordinal  int         `json:"ordinal"`
	Arm      journal.Arm `json:"arm"`
	Block    int         `json:"block"`
	Started  string      `json:"started_at"`
	Session  *string     `json:"session"`
	Stint    *string     `json:"stint"`
	Day      *string     `json:"day"`
	Rigs     []string    `json:"rigs,omitempty"`
	Hours    float64     `json:"hours"`
	Exposure float64     `json:"exposure"`
	Events   float64     `json:"events"`
	Standing Standing    `json:"standing"`
	Reason   string      `json:"reason,omitempty"`
	Complete bool        `json:"block_complete"`
}

type lookJSON struct {
	Session  string       `json:"session"`
	Day      string       `json:"day"`
	Hours    float64      `json:"hours"`
	Exposure float64      `json:"exposure"`
	Events   float64      `json:"events"`
	Ratio    *float64     `json:"ratio"`
	Blocks   int          `json:"blocks"`
	Robust   sequenceJSON `json:"robust"`
	Model    sequenceJSON `json:"model"`
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

func newSequenceJSON(s sequential.Sequence) sequenceJSON {
	return sequenceJSON{E: EValue(s.LogE), LogE: s.LogE, Low: s.Low, High: answer.Known(s.High)}
}

// EValue is an e-value by its logarithm, at most the greatest number there is.
func EValue(logE float64) float64 { return math.Min(math.Exp(logE), math.MaxFloat64) }

func idText(id *journal.ID) *string {
	if id == nil {
		return nil
	}
	return new(id.String())
}

const timeFormat = "2006-01-02T15:04:05Z07:00"

// MarshalJSON writes the trial in full precision, levels in storage units. The
// seed and what was sealed are null until the trial has ended, and only units
// that were started appear.
func (a Answer) MarshalJSON() ([]byte, error) {
	t := a.Trial
	out := answerJSON{ID: t.ID.String(), Name: t.Name, Outcome: t.Outcome, Unit: a.Outcome.Unit(), Factor: t.Factor, By: string(t.Unit), Block: t.Block, Worth: t.Worth,
		MostHours: t.MostHours, PlannedAt: t.PlannedAt.UTC().Format(timeFormat), Ending: t.Ending, Commitment: t.Commitment, Undone: a.Undone, State: a.State, Ratio: a.Ratio,
		Next: a.Next(), Units: []unitJSON{}, Looks: []lookJSON{}}
	if t.Ended() {
		out.EndedAt, out.Seed, out.Sealed = new(t.EndedAt.UTC().Format(timeFormat)), &t.Seed, new(t.SealedText())
	}
	if a.Settled > 0 {
		out.Settled = &a.Settled
	}
	for i, arm := range a.Arms {
		j := armJSON{Arm: string(rune('A' + i)), RigID: idText(t.Arms[i].RigID), Rig: a.Rigs[i], Level: t.Arms[i].Level, Note: t.Arms[i].Note,
			Units: arm.Units, Broke: arm.Broke, Hours: arm.Hours, Exposure: arm.Exposure, Events: arm.Events}
		if arm.Exposure > 0 {
			j.Rate = new(arm.Rate())
		}
		out.Arms = append(out.Arms, j)
	}
	for _, u := range a.Units {
		j := unitJSON{Ordinal: u.Unit.Ordinal, Arm: u.Unit.Arm, Block: u.Block, Started: u.Unit.StartedAt.UTC().Format(timeFormat), Session: idText(u.Unit.SessionID),
			Stint: idText(u.Unit.StintID), Rigs: u.Rigs, Hours: u.Hours, Exposure: u.T, Events: u.K, Standing: u.Standing, Reason: u.Reason, Complete: u.Complete}
		if u.Found {
			j.Day = new(u.Day.String())
		}
		out.Units = append(out.Units, j)
	}
	for _, l := range a.Looks {
		out.Looks = append(out.Looks, lookJSON{l.Session.String(), l.Day.String(), l.Hours, l.Exposure, l.Events, l.Ratio, l.Blocks, newSequenceJSON(l.Robust), newSequenceJSON(l.Model)})
	}
	if l, ok := a.Last(); ok {
		out.Evidence, out.Model = new(newSequenceJSON(l.Robust)), new(newSequenceJSON(l.Model))
	}
	if o := a.Outlook; o != nil {
		out.Outlook = &outlookJSON{o.Ratio, o.Seen, o.Chance, answer.Known(o.Hours), o.Left, answer.Known(o.Fixed)}
	}
	if d := a.Drawn; d != nil {
		out.Drawn = &drawnJSON{d.Units, EValue(d.LogE)}
	}
	return json.Marshal(out)
}
