package journal

import (
	"fmt"
	"math"
	"strings"
)

// TrialCount is what the journal holds of a unit of a trial that was attached.
type TrialCount struct {
	Unit     TrialUnit
	Found    bool     // the journal still holds what was attached
	Session  ID       // the session it was in
	Day      Date     //
	Rigs     []string // titles of the rigs it was fished with
	Fished   Arm      // the arm that the rigs are; "" for neither, or both
	K, T     float64  // events and exposure of the trial's outcome, as far as usable
	Hours    float64  // fished, as far as noted
	Unusable string   // why nothing can be counted; "" when it can
	NoCount  bool     // it is that no count was kept
	Bare     bool     // it is that it had nothing to be counted against
	// After is how many minutes passed between the outcome's last event and the end of
	// the unit's last stint; nil when that had none, or it can't be told.
	After  *float64
	Untold bool // that stint had such an event, but its minute or the stint's end was not noted
}

// counted is an outcome in a stint, or why it can't be told.
type counted struct {
	k, t float64
	why  string
}

// CountUnits says what was fished in each unit of the trial, in their order, with the outcome's events and
// exposure counted for the whole rig. sessions and rigs hold what the units were attached to.
func (t Trial) CountUnits(sessions map[ID]Session, rigs map[ID]Rig) ([]TrialCount, error) {
	outcome, err := OutcomeByKey(t.Outcome)
	if err != nil {
		return nil, err
	}
	counts, err := countStints(outcome, sessions, rigs)
	if err != nil {
		return nil, err
	}
	list := make([]TrialCount, len(t.Units))
	for i, u := range t.Units {
		list[i].Unit = u
		if u.SessionID != nil {
			list[i].fill(t, outcome, sessions[*u.SessionID], rigs, counts)
		}
	}
	return list, nil
}

// countStints counts an outcome in the stints of sessions, where it can be.
func countStints(o Outcome, sessions map[ID]Session, rigs map[ID]Rig) (map[ID]counted, error) {
	list := map[ID]counted{}
	for _, session := range sessions {
		for _, st := range session.Stints {
			tally, err := TallyStint(rigs[st.RigID], st)
			if err != nil {
				return nil, fmt.Errorf("count the session of %s: %w", session.Day, err)
			}
			hours := math.NaN()
			if st.Minutes != nil {
				hours = *st.Minutes / 60
			}
			if why := o.Usable(st.Recorded, hours, tally.Stint[CountUntimed]); why != "" {
				list[st.ID] = counted{why: why}
				continue
			}
			k, t := o.of(tally.Stint)
			if o.Hourly() {
				t = hours
			}
			list[st.ID] = counted{k: k, t: t}
		}
	}
	return list, nil
}

// fill counts a unit. Of a session only the stints of the arm it was fished with
// count, unless it was fished with both, when all do.
func (c *TrialCount) fill(t Trial, o Outcome, session Session, rigs map[ID]Rig, counts map[ID]counted) {
	arm, found := t.Fished(c.Unit, session, rigs)
	if c.Found = found && !session.ID.IsZero(); !c.Found {
		return
	}
	c.Session, c.Day, c.Fished = session.ID, session.Day, arm
	seen := map[string]bool{}
	why := ""
	var last Stint
	for _, st := range session.Stints {
		if c.Unit.StintID != nil && st.ID != *c.Unit.StintID || c.Unit.StintID == nil && arm != "" && t.ArmOf(rigs, st) != arm {
			continue
		}
		last = st
		if title := rigs[st.RigID].Title(); !seen[title] {
			seen[title] = true
			c.Rigs = append(c.Rigs, title)
		}
		if st.Minutes != nil {
			c.Hours += *st.Minutes / 60
		}
		n := counts[st.ID]
		if n.why != "" {
			why = n.why
		}
		c.K, c.T = c.K+n.k, c.T+n.t
	}
	c.After, c.Untold = o.endAfter(last)
	switch {
	case why != "":
		c.K, c.T, c.Unusable = 0, 0, strings.Replace(why, "stints with", "it has", 1)
		c.NoCount = strings.HasPrefix(why, noCount)
	case c.T == 0:
		c.Unusable, c.Bare = "it had no "+strings.ToLower(o.Exposure), true
	}
}

// endAfter is how many minutes after its last event of the outcome a stint ended:
// nil when it had none or, untold, when a minute that is needed was not noted.
func (o Outcome) endAfter(st Stint) (after *float64, untold bool) {
	for _, e := range st.Events {
		switch k, _ := o.of(e.Counts()); {
		case k == 0:
		case e.Minute == nil || st.Minutes == nil:
			return nil, true
		default:
			gap := math.Max(0, *st.Minutes-float64(*e.Minute))
			if after == nil || gap < *after {
				after = new(gap)
			}
		}
	}
	return after, false
}
