package analytics_test

import (
	"encoding/json"
	"math/rand/v2"
	"testing"
	"time"

	"rigtally/analytics"
	"rigtally/analytics/fixture"
	"rigtally/journal"
)

// An angler who takes the other rig after each tangle, and goes on with it, says so himself.
func TestAnswersSayWhatWasChangedAfterATangle(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	ctx := t.Context()
	angler, err := s.AnglerNamed(ctx, "Ilse")
	if err != nil {
		t.Fatal(err)
	}
	water, _, err := s.WaterNamed(ctx, "Alder Brook", "")
	if err != nil {
		t.Fatal(err)
	}
	var add journal.Addition
	for _, j := range []journal.Junction{"blood", "uni"} {
		add.Rigs = append(add.Rigs, journal.Rig{ID: fixture.ID(t), Name: string(j), Revision: 1, CreatedAt: time.Now(), Method: "tight-line nymph", Positions: []journal.RigPosition{
			{Position: 1, Hang: journal.HangTag, Junction: j, TagLengthMM: new(150.0)}}})
	}
	rng := rand.New(rand.NewPCG(2, 6))
	changes := 0
	for range 40 {
		session := journal.Session{ID: fixture.ID(t), AnglerID: angler.ID, WaterID: water.ID, Day: journal.Date{Year: 2026, Month: 5, Day: 1}, TimeZone: "UTC", Version: 1, LoggedAt: time.Now()}
		for rig, left := rng.IntN(2), 240; left > 0; rig = 1 - rig {
			tangle := 1 + int(rng.ExpFloat64()*120)
			st := journal.Stint{ID: fixture.ID(t), RigID: add.Rigs[rig].ID, Minutes: new(float64(min(tangle, left)))}
			if tangle < left {
				st.Events = []journal.Event{{Kind: journal.EventTangle, Count: 1, Minute: new(tangle - 1)}}
				if tangle > 10 || len(session.Stints) > 0 { // nothing is known of the minutes before a session
					changes++
				}
			}
			session.Stints = append(session.Stints, st)
			left -= tangle
		}
		add.Sessions = append(add.Sessions, session)
	}
	if err := s.Add(ctx, add, nil); err != nil {
		t.Fatal(err)
	}
	a, err := analytics.Rates(ctx, s, analytics.Request{Outcome: "tangles", By: []string{"method", "junction"}})
	if err != nil {
		t.Fatal(err)
	}
	if err := a.FindChanged(ctx, s); err != nil {
		t.Fatal(err)
	}
	if f := a.Changed; f == nil || f.Factor != "junction" || !f.ByMinutes || f.AfterEvent != f.Changes || *f.Low < 3 || f.Changes > changes || f.Changes < changes-5 {
		t.Errorf("%+v, of %d changes", f, changes)
	}
	text, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	var written struct {
		Changed map[string]any `json:"changed"`
	}
	if err := json.Unmarshal(text, &written); err != nil || written.Changed["factor"] != "junction" || written.Changed["within_minutes"] != 10.0 {
		t.Errorf("%v (%v)", written.Changed, err)
	}
	c, err := analytics.Curve(ctx, s, analytics.CurveRequest{Outcome: "tangles", Over: "tag-length"})
	if err != nil {
		t.Fatal(err)
	}
	if err := c.FindChanged(ctx, s); err != nil || c.Changed != nil {
		t.Errorf("the length never changed, but %+v (%v)", c.Changed, err)
	}
}
