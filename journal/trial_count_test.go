package journal_test

import (
	"testing"
	"time"

	"rigtally/journal"
)

// Ensure that a unit says how long after the last event of its outcome its last
// stint ended, and that a minute that was not noted leaves it untold.
func TestTrialCountsTellWhenStintsEnd(t *testing.T) {
	t.Parallel()
	rig := journal.Rig{ID: journal.NewID(), Name: "Up", Positions: []journal.RigPosition{{Position: 0}}}
	tangle := func(minute *int) journal.Event {
		return journal.Event{Kind: journal.EventTangle, Count: 1, Minute: minute}
	}
	for name, tt := range map[string]struct {
		minutes *float64
		events  []journal.Event
		after   *float64
		untold  bool
	}{
		"two":           {new(60.0), []journal.Event{tangle(new(50)), tangle(new(10)), {Kind: journal.EventSnag, Count: 1, Minute: new(58)}}, new(10.0), false},
		"none":          {new(60.0), []journal.Event{{Kind: journal.EventSnag, Count: 1}}, nil, false},
		"no minute":     {new(60.0), []journal.Event{tangle(new(50)), tangle(nil)}, nil, true},
		"no end":        {nil, []journal.Event{tangle(new(50))}, nil, true},
		"after the end": {new(49.5), []journal.Event{tangle(new(50))}, new(0.0), false},
	} {
		st := journal.Stint{ID: journal.NewID(), RigID: rig.ID, Minutes: tt.minutes, Events: tt.events}
		s := journal.Session{ID: journal.NewID(), Day: journal.Date{Year: 2026, Month: time.May, Day: 1}, Stints: []journal.Stint{st}}
		other := journal.NewID()
		trial := journal.Trial{Outcome: "tangles", Factor: "rig", Arms: [2]journal.TrialArm{{RigID: &rig.ID}, {RigID: &other}}, Unit: journal.ByStint, Block: 4,
			Units: []journal.TrialUnit{{Ordinal: 1, Arm: journal.ArmA, SessionID: &s.ID, StintID: &st.ID, Status: journal.UnitKept}}}
		counts, err := trial.CountUnits(map[journal.ID]journal.Session{s.ID: s}, map[journal.ID]journal.Rig{rig.ID: rig, other: {ID: other, Name: "Down"}})
		if err != nil {
			t.Fatal(err)
		}
		c := counts[0]
		if (c.After == nil) != (tt.after == nil) || c.After != nil && *c.After != *tt.after || c.Untold != tt.untold {
			t.Errorf("%s: %v, untold %v", name, c.After, c.Untold)
		}
	}
}
