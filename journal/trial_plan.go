package journal

import (
	"fmt"
)

// PlansLike reports whether two trials have the same plan, seeds aside.
func (t Trial) PlansLike(other Trial) bool {
	arm := func(a, b TrialArm) bool {
		return a.Level == b.Level && (a.RigID == nil) == (b.RigID == nil) && (a.RigID == nil || *a.RigID == *b.RigID)
	}
	return t.Name == other.Name && t.Outcome == other.Outcome && t.Factor == other.Factor && arm(t.Arms[0], other.Arms[0]) && arm(t.Arms[1], other.Arms[1]) &&
		t.Unit == other.Unit && t.Block == other.Block && t.Worth == other.Worth && t.MostHours == other.MostHours
}

// ErrNoUnit says that a unit was never started.
func ErrNoUnit(ordinal int) error {
	return &Invalid{Problems: []string{fmt.Sprintf("number %d of the trial has not been started", ordinal)}}
}

// Fished is the arm that a unit was fished with in a session.
func (t Trial) Fished(u TrialUnit, session Session, rigs map[ID]Rig) (arm Arm, found bool) {
	if u.StintID == nil {
		return t.sessionArm(session, rigs), true
	}
	for _, st := range session.Stints {
		if st.ID == *u.StintID {
			return t.armOf(rigs, st), true
		}
	}
	return "", false
}
