package trial_test

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"rigtally/analytics/fixture"
	"rigtally/analytics/trial"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
	"rigtally/prose"
)

func play(t testing.TB) (*pg.Store, journal.Trial) {
	t.Helper()
	s := fixture.Open(t)
	season := demo.Generate(demo.Seed, 0)
	if err := demo.Load(t.Context(), s, season); err != nil {
		t.Fatal(err)
	}
	played, err := demo.PlayTrial(t.Context(), s, season, demo.TrialSeed, demo.TrialSessions)
	if err != nil {
		t.Fatal(err)
	}
	return s, played
}

func answer(t testing.TB, s *pg.Store, id journal.ID) trial.Answer {
	t.Helper()
	a, err := trial.Follow(t.Context(), s, id)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func trialText(t testing.TB, a trial.Answer) string {
	t.Helper()
	text, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// Ensure that the invented trial comes to its decision within twelve sessions,
// for the arm that tangles more in truth, with the true ratio in its interval at
// every look; and that it comes to the same each time.
func TestInventedTrialIsSettled(t *testing.T) {
	t.Parallel()
	s, played := play(t)
	a := answer(t, s, played.ID)
	if a.State != trial.MoreA || a.Settled != 11 || len(a.Looks) != demo.TrialSessions {
		t.Fatalf("it is %q after look %d of %d", a.State, a.Settled, len(a.Looks))
	}
	var tags [2]float64
	for i, arm := range a.Trial.Arms {
		var err error
		if tags[i], err = strconv.ParseFloat(arm.Level, 64); err != nil {
			t.Fatal(err)
		}
	}
	truth := demo.TagLengthRatio(tags[0], tags[1])
	for i, l := range a.Looks {
		if !(l.Robust.Low < truth && truth < l.Robust.High) {
			t.Errorf("look %d has %+v, the truth is %g", i+1, l.Robust, truth)
		}
		if settled := l.Robust.LogE >= math.Log(20); settled != (i+1 >= a.Settled) {
			t.Errorf("look %d has e = %g", i+1, math.Exp(l.Robust.LogE))
		}
		if l.Blocks != 2*(i+1) {
			t.Errorf("look %d has %d blocks", i+1, l.Blocks)
		}
	}
	if a.Arms[0].Units != 24 || a.Arms[1].Units != 24 || a.Outlook != nil || a.Drawn != nil {
		t.Errorf("the arms are %+v", a.Arms)
	}
	other, again := play(t)
	if trialText(t, answer(t, other, again.ID)) != trialText(t, a) {
		t.Error("played again, it is another")
	}
}

// Ensure that neither seed nor coming arms are told before the end, and both
// after it.
func TestTrialKeepsItsSecret(t *testing.T) {
	t.Parallel()
	s, played := play(t)
	a := answer(t, s, played.ID)
	text := trialText(t, a)
	seed := demo.TrialSecret(demo.TrialSeed)
	if strings.Contains(text, seed) || a.Trial.Seed != "" || strings.Count(text, `"arm":"`) != 3+len(played.Units) || !strings.Contains(text, played.Commitment) {
		t.Errorf("sealed, it tells\n%s", text)
	}
	if err := s.EndTrial(t.Context(), played.ID, 0, time.Now(), "settled"); err != nil {
		t.Fatal(err)
	}
	if text := trialText(t, answer(t, s, played.ID)); !strings.Contains(text, `"seed":"`+seed) || !strings.Contains(text, `"sealed_text":"rigtally trial order\nseed `+seed) {
		t.Errorf("ended, it tells\n%s", text)
	}
}

// Ensure that what broke the plan stands apart with its block, by its standing or
// by what its session says now, and that a deleted session makes its blocks wait.
func TestTrialSetsApartWhatBrokeThePlan(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	s, played := play(t)
	before := answer(t, s, played.ID)
	if err := s.BreakTrialUnit(ctx, played.ID, 3, 0, "the wind got up"); err != nil {
		t.Fatal(err)
	}
	session, err := s.SessionByID(ctx, *played.Units[4].SessionID)
	if err != nil {
		t.Fatal(err)
	}
	session.Stints[0].RigID = session.Stints[1].RigID // both were fished with one arm, it turns out
	if _, err := s.SaveSession(ctx, session); err != nil {
		t.Fatal(err)
	}
	a := answer(t, s, played.ID)
	if u := a.Units[2]; u.Standing != trial.UnitApart || u.Reason != "the wind got up" || u.K != before.Units[2].K {
		t.Errorf("number 3 is %+v", u)
	}
	if u := a.Units[4]; u.Standing != trial.UnitApart || u.Reason == "" {
		t.Errorf("number 5 is %+v", u)
	}
	if a.Arms[0].Broke+a.Arms[1].Broke != 2 || a.Arms[0].Units+a.Arms[1].Units != 46 {
		t.Errorf("the arms are %+v", a.Arms)
	}
	if a.Drawn == nil || a.Drawn.Units != 2 {
		t.Fatalf("as drawn: %+v", a.Drawn)
	}
	last, _ := before.Last()
	if math.Abs(a.Drawn.LogE-last.Robust.LogE) > 1e-9 {
		t.Errorf("counted as drawn log e is %g, and was %g when nothing had broken the plan", a.Drawn.LogE, last.Robust.LogE)
	}
	if err := s.DeleteSession(ctx, *played.Units[47].SessionID, 0); err != nil {
		t.Fatal(err)
	}
	a = answer(t, s, played.ID)
	if u := a.Units[47]; u.Standing != trial.UnitGone || u.Complete || len(a.Looks) != 11 {
		t.Errorf("without its session number 48 is %+v", u)
	}
}

// Ensure that equal arms are found to differ by nothing worth knowing, that a
// trial of something rare can't be settled at its pace, and one given up says so.
func TestTrialStates(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	s := fixture.Open(t)
	angler, err := s.AnglerNamed(ctx, "Ilse")
	if err != nil {
		t.Fatal(err)
	}
	water, _, err := s.WaterNamed(ctx, "Alder Brook", "")
	if err != nil {
		t.Fatal(err)
	}
	plan := journal.Trial{ID: fixture.ID(t), Name: "Two alike", Outcome: "hookups", Factor: "rig", Unit: journal.ByStint, Block: 2, Worth: 2, MostHours: 40}
	rare := journal.Trial{ID: fixture.ID(t), Name: "Rare", Outcome: "tangles", Factor: "rig", Unit: journal.ByStint, Block: 2, Worth: 1.5, MostHours: 40}
	foul := journal.Trial{ID: fixture.ID(t), Name: "Shares", Outcome: "foul-hook", Factor: "rig", Unit: journal.BySession, Block: 4, Worth: 1.5, MostHours: 300}
	for i, name := range []string{"One", "Two"} {
		rig, err := s.SaveRig(ctx, journal.Rig{Name: name, Positions: []journal.RigPosition{{Position: 0}}})
		if err != nil {
			t.Fatal(err)
		}
		plan.Arms[i].RigID = &rig.ID
	}
	rare.Arms, foul.Arms = plan.Arms, plan.Arms
	for _, p := range []journal.Trial{plan, rare, foul} {
		if _, err := s.PlanTrial(ctx, p); err != nil {
			t.Fatal(err)
		}
		if a := answer(t, s, p.ID); a.State != trial.Planned || a.Outlook == nil {
			t.Errorf("planned, %s is %q, %+v", p.Name, a.State, a.Outlook)
		}
	}
	for day := 1; day <= 12; day++ {
		session := journal.Session{ID: fixture.ID(t), AnglerID: angler.ID, WaterID: water.ID, Day: journal.Date{Year: 2026, Month: 6, Day: day}, TimeZone: "UTC"}
		for n := 2*day - 1; n <= 2*day; n++ {
			at := time.Date(2026, 6, day, 8+n%2, 0, 0, 0, time.UTC)
			u, err := s.StartTrialUnit(ctx, plan.ID, n, at)
			if err != nil {
				t.Fatal(err)
			}
			events := []journal.Event{{Kind: journal.EventHookup, Hooking: journal.Fair, Ending: journal.Landed, Count: 8 + n%3}}
			if day == 1 {
				events = append(events, journal.Event{Kind: journal.EventTangle, Count: 1})
			}
			session.Stints = append(session.Stints, journal.Stint{ID: fixture.ID(t), RigID: *plan.Arms[u.Arm.Index()].RigID, Minutes: new(75.0), Events: events})
		}
		stored, err := s.SaveSession(ctx, session)
		if err != nil {
			t.Fatal(err)
		}
		for n := 2*day - 1; n <= 2*day; n++ {
			if _, err := s.StartTrialUnit(ctx, rare.ID, n, time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)); err != nil {
				t.Fatal(err)
			}
			r, err := s.TrialByID(ctx, rare.ID)
			if err != nil {
				t.Fatal(err)
			}
			for _, st := range stored.Stints {
				if st.RigID == *plan.Arms[r.Units[n-1].Arm.Index()].RigID {
					if err := s.AttachTrialUnit(ctx, rare.ID, 0, journal.Attachment{Ordinal: n, SessionID: stored.ID, StintID: &st.ID}, ""); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
	}
	a := answer(t, s, plan.ID)
	if a.State != trial.NoOdds || a.Settled == 0 {
		l, _ := a.Last()
		t.Errorf("two alike are %q: %+v", a.State, l.Robust)
	}
	if a = answer(t, s, rare.ID); a.State != trial.Hopeless || a.Outlook == nil || a.Outlook.Chance >= 0.2 || !(a.Outlook.Fixed > 40) {
		t.Errorf("what is rare is %q, %+v", a.State, a.Outlook)
	}
	if err := s.EndTrial(ctx, rare.ID, 0, time.Now(), ""); err != nil {
		t.Fatal(err)
	}
	if a = answer(t, s, rare.ID); a.State != trial.GivenUp || a.Outlook != nil {
		t.Errorf("given up it is %q", a.State)
	}
	if all, err := trial.FollowAll(ctx, s); err != nil || len(all) != 3 || all[2].Trial.Name != "Rare" {
		t.Errorf("in all %d, %v", len(all), err)
	}
	ahead, err := trial.Preview(ctx, s, foul)
	if err != nil || ahead.Outlook == nil || ahead.Outlook.Left != 300 {
		t.Errorf("the plan's outlook is %+v, %v", ahead.Outlook, err)
	}
	var b strings.Builder
	if err := prose.TrialLooks(a).WriteCSV(&b); err != nil || strings.Count(b.String(), "\n") != 1+len(a.Looks) {
		t.Errorf("as CSV:\n%s%v", b.String(), err)
	}
}
