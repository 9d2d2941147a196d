package journal

import (
	"time"
)

// TrialCandidate is something that may have been fished in a unit of a trial: a
// stint or, where sessions alternate, a session.
type TrialCandidate struct {
	Attachment
	Day     Date
	Angler  string
	Water   string
	Number  int      // of the stint in its session, from 1; 0 for a session
	Rig     string   // titles, joined
	Minutes *float64 // nil when not noted
	Arm     Arm      // that of the rig; "" for neither
}

// Candidates are the stints of a session, or the session itself.
func (t Trial) Candidates(session Session, rigs map[ID]Rig) []TrialCandidate {
	whole := TrialCandidate{Attachment: Attachment{SessionID: session.ID}, Day: session.Day, Arm: t.sessionArm(session, rigs), Minutes: new(float64)}
	var list []TrialCandidate
	for i, st := range session.Stints {
		title := rigs[st.RigID].Title()
		list = append(list, TrialCandidate{Attachment: Attachment{SessionID: session.ID, StintID: new(st.ID)}, Day: session.Day, Number: i + 1, Rig: title, Minutes: st.Minutes, Arm: t.armOf(rigs, st)})
		if i > 0 {
			whole.Rig += ", "
		}
		whole.Rig += title
		if st.Minutes == nil {
			whole.Minutes = nil
		} else if whole.Minutes != nil {
			*whole.Minutes += *st.Minutes
		}
	}
	if t.Unit == BySession {
		return []TrialCandidate{whole}
	}
	return list
}

// Attached reports whether something is attached to a unit already, but the one
// it may be for.
func (t Trial) Attached(a Attachment) bool {
	for _, u := range t.Units {
		if u.Ordinal == a.Ordinal || u.SessionID == nil || *u.SessionID != a.SessionID {
			continue
		}
		if (u.StintID == nil) == (a.StintID == nil) && (u.StintID == nil || *u.StintID == *a.StintID) {
			return true
		}
	}
	return false
}

// StartedDay is the day of a unit's start in a time zone.
func (u TrialUnit) StartedDay(loc *time.Location) Date { return DateOf(u.StartedAt.In(loc)) }
