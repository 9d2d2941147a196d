package journal

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// ArmOf says which arm a stint was fished with; "" when with neither, or when the
// rig's droppers differ. A later revision of an arm's rig counts as that rig,
// unless both arms are revisions of one.
func (t Trial) ArmOf(rigs map[ID]Rig, st Stint) Arm {
	for i, arm := range []Arm{ArmA, ArmB} {
		if t.fits(i, rigs, st) {
			return arm
		}
	}
	return ""
}

func (t Trial) fits(i int, rigs map[ID]Rig, st Stint) bool {
	rig, ok := rigs[st.RigID]
	if !ok {
		return false
	}
	arm, other := t.Arms[i], t.Arms[1-i]
	if t.Factor == "rig" {
		if rig.ID == *arm.RigID {
			return true
		}
		name, rival := rigs[*arm.RigID].Name, rigs[*other.RigID].Name
		return !strings.EqualFold(name, rival) && strings.EqualFold(rig.Name, name)
	}
	f, err := FactorByKey(t.Factor)
	if err != nil {
		return false
	}
	is := func(s Setting) bool {
		if f.Quantity != Words {
			return closeTo(f.NumberIn(&s), arm, other)
		}
		word := f.Word(&s)
		return word != "" && strings.EqualFold(word, arm.Level)
	}
	if !f.ByPosition() {
		return is(Setting{Rig: &rig, Stroke: st.Stroke})
	}
	any := false
	for _, p := range rig.Droppers() {
		if f.on == onTag && p.Hang != HangTag {
			continue
		}
		if any = true; !is(Setting{Rig: &rig, Stroke: st.Stroke, Fly: &p, TagMM: st.tagStart(p.Position)}) {
			return false
		}
	}
	return any
}

// tagStart is the length of a tag noted for the start of the stint, nil when none was.
func (st Stint) tagStart(position int) *float64 {
	for _, noted := range st.Positions {
		if noted.Position == position {
			return noted.TagStartMM
		}
	}
	return nil
}

// closeTo reports whether a number is an arm's, to a quarter of what the arms
// differ by.
func closeTo(v *float64, arm, other TrialArm) bool {
	if v == nil {
		return false
	}
	own, err1 := strconv.ParseFloat(arm.Level, 64)
	rival, err2 := strconv.ParseFloat(other.Level, 64)
	return err1 == nil && err2 == nil && math.Abs(*v-own) <= math.Abs(own-rival)/4
}

// Attachment says what was fished in a unit of a trial.
type Attachment struct {
	Ordinal   int
	SessionID ID
	StintID   *ID // nil where sessions alternate
}

// Match finds what was fished in the open units, where there is no doubt: on the
// day of a start as many stints (or sessions) were fished with its arm, and are
// attached to no unit yet, as there are units of that arm; they belong together in
// their order.
func (t Trial) Match(sessions []Session, rigs map[ID]Rig) []Attachment {
	taken := map[ID]bool{}
	for _, u := range t.Units {
		switch {
		case u.StintID != nil:
			taken[*u.StintID] = true
		case u.SessionID != nil:
			taken[*u.SessionID] = true
		}
	}
	sessions = slices.Clone(sessions)
	slices.SortStableFunc(sessions, func(a, b Session) int { return startOf(a).Compare(startOf(b)) })
	var list []Attachment
	for _, day := range t.openDays(sessions) {
		for _, arm := range []Arm{ArmA, ArmB} {
			var units []TrialUnit
			for _, u := range t.Units {
				if u.Status == UnitOpen && u.Arm == arm && dayIn(u.StartedAt, day.zone) == day.day {
					units = append(units, u)
				}
			}
			found := t.fishedOn(day.day, arm, sessions, rigs, taken)
			if len(units) != len(found) {
				continue
			}
			for i, u := range units {
				found[i].Ordinal = u.Ordinal
				list = append(list, found[i])
			}
		}
	}
	return list
}

type zonedDay struct {
	day  Date
	zone string
}

// openDays are the days of the sessions on which a unit was started that is open.
func (t Trial) openDays(sessions []Session) []zonedDay {
	var days []zonedDay
	for _, s := range sessions {
		d := zonedDay{s.Day, s.TimeZone}
		open := slices.ContainsFunc(t.Units, func(u TrialUnit) bool { return u.Status == UnitOpen && dayIn(u.StartedAt, d.zone) == d.day })
		known := slices.ContainsFunc(days, func(other zonedDay) bool { return other.day == d.day })
		if open && !known {
			days = append(days, d)
		}
	}
	return days
}

// fishedOn lists what was fished with an arm on a day and is not attached yet.
func (t Trial) fishedOn(day Date, arm Arm, sessions []Session, rigs map[ID]Rig, taken map[ID]bool) []Attachment {
	var found []Attachment
	for _, s := range sessions {
		if s.Day != day {
			continue
		}
		if t.Unit == BySession {
			if t.sessionArm(s, rigs) == arm && !taken[s.ID] {
				found = append(found, Attachment{SessionID: s.ID})
			}
			continue
		}
		for _, st := range s.Stints {
			if t.ArmOf(rigs, st) == arm && !taken[st.ID] {
				found = append(found, Attachment{SessionID: s.ID, StintID: new(st.ID)})
			}
		}
	}
	return found
}

// sessionArm is the one arm that a session was fished with; "" when there was
// none or both.
func (t Trial) sessionArm(s Session, rigs map[ID]Rig) Arm {
	var only Arm
	for _, st := range s.Stints {
		switch arm := t.ArmOf(rigs, st); {
		case arm == "":
		case only != "" && only != arm:
			return ""
		default:
			only = arm
		}
	}
	return only
}

func startOf(s Session) time.Time {
	if s.Start != nil {
		return *s.Start
	}
	return s.LoggedAt
}

func dayIn(at time.Time, name string) Date {
	loc, err := zone(name)
	if err != nil {
		loc = time.UTC
	}
	return DateOf(at.In(loc))
}

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
			return t.ArmOf(rigs, st), true
		}
	}
	return "", false
}

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
		list = append(list, TrialCandidate{Attachment: Attachment{SessionID: session.ID, StintID: new(st.ID)}, Day: session.Day, Number: i + 1, Rig: title, Minutes: st.Minutes, Arm: t.ArmOf(rigs, st)})
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
