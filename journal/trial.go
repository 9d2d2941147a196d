package journal

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Trial is a planned comparison of two ways to rig, alternated in an order drawn
// at random. Nothing of the plan changes once it is made but its name and notes.
type Trial struct {
	ID         ID          `json:"id"`
	Name       string      `json:"name"`
	Outcome    string      `json:"outcome"`
	Factor     string      `json:"factor"` // what differs: a factor's key; "rig" for two rigs
	Arms       [2]TrialArm `json:"arms"`   // A and B
	Unit       TrialScale  `json:"unit"`
	Block      int         `json:"block"`               // units in a balanced block: 2 or 4; UsualBlock, if there is no reason for another
	Worth      float64     `json:"worth"`               // the smallest ratio worth knowing
	MostHours  float64     `json:"most_hours"`          // of both arms together, that it may take
	Seed       string      `json:"seed,omitempty"`      // makes the order; "" as long as it is sealed
	OrderCut   bool        `json:"order_cut,omitempty"` // the rest of the order was left out of the backup that the trial came from
	Commitment string      `json:"commitment"`          // hash of seed and order, shown from the start
	Notes      string      `json:"notes,omitempty"`
	PlannedAt  time.Time   `json:"planned_at"`
	EndedAt    *time.Time  `json:"ended_at,omitempty"`
	Ending     string      `json:"ending,omitempty"` // why it ended
	Undone     int         `json:"undone,omitempty"` // starts taken back
	Version    int         `json:"version,omitzero"` // of name, notes and end: 1 when planned, one more at each change
	Units      []TrialUnit `json:"units,omitempty"`  // those started, in order
}

// UsualBlock is the size of a trial's blocks: who has fished one of a pair knows
// the other, and pairs find a difference no sooner.
const UsualBlock = 4

// TrialArm is one of the two ways to rig: a rig, or a level of the factor.
type TrialArm struct {
	RigID *ID    `json:"rig_id,omitempty"`
	Level string `json:"level,omitempty"` // a word, or a number in the storage unit
	Note  string `json:"note,omitempty"`  // how to tie it
}

// Arm names one of the two arms.
type Arm string

// The arms of a trial.
const (
	ArmA Arm = "A"
	ArmB Arm = "B"
)

// Index is 0 for A and 1 for B.
func (a Arm) Index() int {
	if a == ArmB {
		return 1
	}
	return 0
}

// TrialScale says what the arms alternate by.
type TrialScale string

// What the arms of a trial may alternate by.
const (
	ByStint   TrialScale = "stint"
	BySession TrialScale = "session"
)

// TrialUnit is a stint or session of a trial that was started: told which arm
// to tie.
type TrialUnit struct {
	Ordinal   int        `json:"ordinal"` // from 1
	Arm       Arm        `json:"arm"`
	StartedAt time.Time  `json:"started_at"`
	SessionID *ID        `json:"session_id,omitempty"` // nil till what was fished is attached
	StintID   *ID        `json:"stint_id,omitempty"`   // nil also where sessions alternate
	Status    UnitStatus `json:"status"`
	Reason    string     `json:"reason,omitempty"` // why it broke the plan
	Version   int        `json:"version,omitzero"` // 1 when started, one more at each change
}

// UnitStatus says whether a unit was fished as told.
type UnitStatus string

// The standings of a unit.
const (
	UnitOpen  UnitStatus = "open" // started, and what was fished is not attached yet
	UnitKept  UnitStatus = "kept"
	UnitBroke UnitStatus = "broke plan"
)

// Ended reports whether the trial is over.
func (t Trial) Ended() bool { return t.EndedAt != nil }

// Sealed is the trial as anyone may see it: without its seed as long as it runs.
func (t Trial) Sealed() Trial {
	if !t.Ended() {
		t.Seed = ""
	}
	return t
}

// Next is the number of the unit to be started next, 0 when there is none to come.
func (t Trial) Next() int {
	if t.Ended() || t.OrderCut || len(t.Units) >= MostTrialUnits {
		return 0
	}
	return len(t.Units) + 1
}

// StartedUnit returns a unit that was started.
func (t Trial) StartedUnit(ordinal int) (TrialUnit, bool) {
	if ordinal < 1 || ordinal > len(t.Units) {
		return TrialUnit{}, false
	}
	return t.Units[ordinal-1], true
}

// BlockOf is the block of a unit, from 0.
func (t Trial) BlockOf(ordinal int) int { return (ordinal - 1) / t.Block }

// trialFactors can differ between two rigs as tied, or in how they are cast.
var trialFactors = []string{"rig", "junction", tagLength, "facing", "prop", "hang", "swivel", "tippet", "material", "bulk", "hook-size", "stroke", "method"}

// TrialFactors lists what the arms of a trial may differ in.
func TrialFactors() []Factor {
	var list []Factor
	for _, key := range trialFactors {
		if f, err := FactorByKey(key); err == nil {
			list = append(list, f)
		}
	}
	return list
}

// TrialOutcomes lists what a trial may count.
func TrialOutcomes() []Outcome {
	return slices.DeleteFunc(Outcomes(), func(o Outcome) bool { return o.Measure == AmountPer })
}

// Validate checks a plan by itself.
func (t Trial) Validate() error {
	var r rules
	r.name("the trial", t.Name)
	r.text("the trial's notes", t.Notes, maxTextLen)
	r.text("why the trial ended", t.Ending, maxTextLen)
	if o, err := OutcomeByKey(t.Outcome); err != nil {
		r.check(err)
	} else if o.Measure == AmountPer {
		r.require(false, "%s are an amount, and a trial needs counts; choose an outcome that is counted", strings.ToLower(o.Title))
	}
	factor, err := FactorByKey(t.Factor)
	if err == nil && !slices.Contains(trialFactors, t.Factor) {
		err = fmt.Errorf("%s can't be tied; a trial compares one of: %s", strings.ToLower(factor.Title), strings.Join(trialFactors, ", "))
	}
	r.check(err)
	if err == nil {
		t.validateArms(&r, factor)
	}
	r.require(t.Unit == ByStint || t.Unit == BySession, "the unit %q is not known; alternate by stint or by session", t.Unit)
	r.require(t.Block == 2 || t.Block == 4, "a block of %d units can't be right; choose 2 or 4", t.Block)
	r.require(t.Worth >= 1.1 && t.Worth <= 5, "the smallest ratio worth knowing is %g; it must be between 1.1 and 5", t.Worth)
	r.require(t.MostHours >= 1 && t.MostHours <= 5000, "at most %g hours can't be right; write a number from 1 to 5000", t.MostHours)
	r.require(t.Undone >= 0, "%d starts can't have been taken back", t.Undone)
	for i, u := range t.Units {
		t.validateUnit(&r, i+1, u)
	}
	return r.err()
}

func (t Trial) validateArms(r *rules, factor Factor) {
	for i, arm := range t.Arms {
		name := "arm " + string(rune('A'+i))
		r.text("the note on "+name, arm.Note, maxTextLen)
		switch {
		case t.Factor == "rig":
			r.require(arm.RigID != nil && arm.Level == "", "%s has no rig; choose one", name)
		case arm.RigID != nil || arm.Level == "":
			r.require(false, "%s has no %s; choose one", name, strings.ToLower(factor.Title))
		case factor.Quantity != Words:
			v, err := strconv.ParseFloat(arm.Level, 64)
			r.require(err == nil && v > 0 && !math.IsInf(v, 0), "%s of %s can't be %q; write a number above 0", strings.ToLower(factor.Title), name, arm.Level)
		default:
			r.text(name, arm.Level, maxNameLen)
			if list := factor.Vocabulary(); list != nil && t.Factor != "junction" {
				r.check(oneOf(strings.ToLower(factor.Title)+" of "+name, arm.Level, list))
			}
		}
	}
	a, b := t.Arms[0], t.Arms[1]
	same := strings.EqualFold(a.Level, b.Level) && (a.RigID == nil) == (b.RigID == nil) && (a.RigID == nil || *a.RigID == *b.RigID)
	r.require(!same, "both arms are the same; choose two that differ")
}

func (t Trial) validateUnit(r *rules, ordinal int, u TrialUnit) {
	r.require(u.Ordinal == ordinal && ordinal <= MostTrialUnits, "a unit of the trial has number %d where %d should come", u.Ordinal, ordinal)
	r.require(u.Arm == ArmA || u.Arm == ArmB, "unit %d has the arm %q; it must be A or B", ordinal, u.Arm)
	r.require(u.Status == UnitOpen || u.Status == UnitKept || u.Status == UnitBroke, "unit %d has the standing %q, which is not known", ordinal, u.Status)
	r.text(fmt.Sprintf("the reason at unit %d", ordinal), u.Reason, maxTextLen)
	r.require(u.Status != UnitKept || u.SessionID != nil, "unit %d was kept, but has no session", ordinal)
	r.require(u.Status != UnitOpen || u.SessionID == nil, "unit %d is open, but has a session", ordinal)
	r.require(u.StintID == nil || u.SessionID != nil, "unit %d has a stint, but no session", ordinal)
	r.require(u.Status != UnitBroke || strings.TrimSpace(u.Reason) != "", "say why unit %d broke the plan", ordinal)
}

// Normalize puts a trial into the form in which it is stored and compared.
func (t *Trial) Normalize() {
	t.Name, t.Notes, t.Ending = strings.TrimSpace(t.Name), strings.TrimSpace(t.Notes), strings.TrimSpace(t.Ending)
	t.PlannedAt = t.PlannedAt.UTC().Truncate(time.Microsecond)
	if t.EndedAt != nil {
		t.EndedAt = new(t.EndedAt.UTC().Truncate(time.Microsecond))
	}
	for i := range t.Arms {
		a := &t.Arms[i]
		a.Level, a.Note = strings.TrimSpace(a.Level), strings.TrimSpace(a.Note)
	}
	t.Units = slices.Clone(t.Units)
	for i := range t.Units {
		u := &t.Units[i]
		u.StartedAt = u.StartedAt.UTC().Truncate(time.Microsecond)
		u.Reason = strings.TrimSpace(u.Reason)
	}
	slices.SortFunc(t.Units, func(a, b TrialUnit) int { return cmp.Compare(a.Ordinal, b.Ordinal) })
	if len(t.Units) == 0 {
		t.Units = nil
	}
}

// Equal reports whether two trials are the same to the last unit, how often they
// were changed aside, and whether either has its seed: the commitment stands for it.
func (t Trial) Equal(other Trial) bool {
	plain := func(t Trial) Trial {
		t.Normalize()
		t.Version, t.Seed, t.OrderCut = 0, "", false
		for i := range t.Units {
			t.Units[i].Version = 0
		}
		return t
	}
	return reflect.DeepEqual(plain(t), plain(other))
}

// CheckTrialName checks what of a trial may be changed after it was planned.
func CheckTrialName(name, notes string) error {
	var r rules
	r.name("the trial", name)
	r.text("the trial's notes", notes, maxTextLen)
	return r.err()
}
