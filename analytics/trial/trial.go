// Package trial follows randomised trials: their evidence after each session, and how they may go on.
package trial

import (
	"cmp"
	"context"
	"slices"
	"strconv"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/sequential"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Conf is the confidence of a trial's sequences; a trial is settled when its
// e-value reaches 1/(1 − Conf) = 20.
const Conf = 0.95

// Answer is a trial with what it says so far.
type Answer struct {
	Trial   journal.Trial // its seed is blank as long as it is sealed
	Outcome journal.Outcome
	Factor  journal.Factor
	Rigs    [2]string // titles of the arms' rigs, where two rigs are compared
	Arms    [2]Arm
	Units   []Unit
	Looks   []Look   // after each session of the trial, in order
	Ratio   *float64 // rate of arm A over that of B; nil when B has no events yet
	State   State
	Settled int            // number of the look at which it was settled, from 1; 0 while it is not
	Outlook *Outlook       // nil when it is settled or has ended
	Bet     *analytics.Bet // which arm to go by tomorrow, 0 for A, 1 for B; nil where nothing tells
	Drawn   *Drawn         // nil when no unit broke the plan
	Undone  int
	Earlier []Earlier // trials that asked the same
	// Treatment compares how the arms were treated, up to the last look.
	Treatment Treatment
	// Turned is set when something was missing at the look that settled it, or would have.
	Turned *Turned
}

// Arm adds up what counts of one arm.
type Arm struct {
	Units    int     `json:"units"`
	Broke    int     `json:"broke_plan"` // units that broke the plan, which are not among Units
	Hours    float64 `json:"hours"`
	Exposure float64 `json:"exposure"`
	Events   float64 `json:"events"`
}

// Rate is events per exposure, 0 without any.
func (a Arm) Rate() float64 {
	if a.Exposure == 0 {
		return 0
	}
	return a.Events / a.Exposure
}

// Standing says what a unit is in the trial.
type Standing string

// The standings of a unit.
const (
	UnitWaits    Standing = "open"     // what was fished is not attached yet
	UnitCounts   Standing = "counts"   //
	UnitApart    Standing = "broke"    // it broke the plan
	UnitGone     Standing = "gone"     // its session is no longer in the journal
	UnitUnusable Standing = "unusable" // it has nothing to be counted against
)

// Unit is a unit that was started, with what was fished in it.
type Unit struct {
	journal.TrialCount
	Standing Standing
	Reason   string // why it does not count
	Block    int    // from 1
	Complete bool   // every unit of its block is accounted for
}

// Look is the evidence after a session.
type Look struct {
	Session  journal.ID          `json:"session"`
	Day      journal.Date        `json:"day"`
	Hours    float64             `json:"hours"` // of the trial up to its end, both arms
	Exposure float64             `json:"exposure"`
	Events   float64             `json:"events"`
	Ratio    *float64            `json:"ratio"`  // rate of arm A over that of B so far; nil when B has no events yet
	Blocks   int                 `json:"blocks"` // compared so far
	State    State               `json:"state"`  // where the trial stood then
	Robust   sequential.Sequence `json:"robust"`
	Model    sequential.Sequence `json:"model"`
}

// State says where a trial stands.
type State string

// The states of a trial.
const (
	Planned  State = "planned"   // nothing can be compared yet
	MoreA    State = "more A"    // settled: arm A has more
	MoreB    State = "more B"    // settled: arm B has more
	NoOdds   State = "no odds"   // settled: no difference worth knowing
	Open     State = "open"      // not settled yet
	Hopeless State = "hopeless"  // can't be settled at this pace
	Unlike   State = "unlike"    // the evidence would settle it, but the arms were not treated alike
	Missing  State = "missing"   // the evidence would settle it, but for what is missing
	GivenUp  State = "unsettled" // ended without being settled
)

// Drawn is the robust evidence with the units that broke the plan counted
// for the arm that was drawn for them.
type Drawn struct {
	Units int // that broke the plan, and of which something can be counted
	LogE  float64
}

// Keeper holds trials and what was fished in them; *pg.Store is one.
type Keeper interface {
	TrialByID(ctx context.Context, id journal.ID) (journal.Trial, error)
	TrialCounts(ctx context.Context, t journal.Trial) ([]journal.TrialCount, error)
	Trials(ctx context.Context) ([]journal.Trial, error)
	RigByID(ctx context.Context, id journal.ID) (journal.Rig, error)
	Ask(ctx context.Context, q journal.Question) (journal.Answer, error)
	Outfit(ctx context.Context) (journal.Outfit, error)
}

// Follow says how a trial stands.
func Follow(ctx context.Context, store Keeper, id journal.ID) (Answer, error) {
	t, err := store.TrialByID(ctx, id)
	if err != nil {
		return Answer{}, err
	}
	all, err := store.Trials(ctx)
	if err != nil {
		return Answer{}, err
	}
	return follow(ctx, store, t, all)
}

func follow(ctx context.Context, store Keeper, t journal.Trial, all []journal.Trial) (Answer, error) {
	a, err := frame(ctx, store, t)
	if err != nil {
		return Answer{}, err
	}
	if a.Earlier, err = earlier(ctx, store, t, all); err != nil {
		return Answer{}, err
	}
	counts, err := store.TrialCounts(ctx, t)
	if err != nil {
		return Answer{}, err
	}
	if err := a.follow(counts); err != nil {
		return Answer{}, err
	}
	outfit, err := store.Outfit(ctx)
	if err != nil {
		return Answer{}, err
	}
	if err := a.lookAhead(ctx, store); err != nil {
		return Answer{}, err
	}
	a.bet(outfit.Prior())
	return a, nil
}

// FollowAll says how every trial stands, the running ones first.
func FollowAll(ctx context.Context, store Keeper) ([]Answer, error) {
	list, err := store.Trials(ctx)
	if err != nil {
		return nil, err
	}
	var answers []Answer
	for _, t := range list {
		a, err := follow(ctx, store, t, list)
		if err != nil {
			return nil, err
		}
		answers = append(answers, a)
	}
	return answers, nil
}

// frame is a trial without what was fished in it.
func frame(ctx context.Context, store Keeper, t journal.Trial) (Answer, error) {
	a := Answer{Trial: t.Sealed(), State: Planned, Undone: t.Undone}
	var err error
	if a.Outcome, err = journal.OutcomeByKey(t.Outcome); err != nil {
		return a, err
	}
	if a.Factor, err = journal.FactorByKey(t.Factor); err != nil {
		return a, err
	}
	for i, arm := range t.Arms {
		if arm.RigID != nil {
			rig, err := store.RigByID(ctx, *arm.RigID)
			if err != nil {
				return a, err
			}
			a.Rigs[i] = rig.Title()
		}
	}
	return a, nil
}

func (a *Answer) kind() stat.Kind { return analytics.KindOf(a.Outcome) }

// follow takes in what was fished and looks at it after each session.
func (a *Answer) follow(counts []journal.TrialCount) error {
	for _, c := range counts {
		a.Units = append(a.Units, a.unit(c))
	}
	blocks := a.blocks()
	a.addUp()
	m, err := a.monitor(true)
	if err != nil {
		return err
	}
	var arms [2]Arm
	over := 0
	for _, session := range a.sessions() {
		look := Look{Session: session.id, Day: session.day}
		if n := len(a.Looks); n > 0 {
			look = a.Looks[n-1]
			look.Session, look.Day = session.id, session.day
		}
		for _, u := range a.Units {
			if u.Session == session.id && u.Standing == UnitCounts {
				look.Hours, look.Exposure, look.Events = look.Hours+u.Hours, look.Exposure+u.T, look.Events+u.K
				so := &arms[u.Unit.Arm.Index()]
				so.Exposure, so.Events = so.Exposure+u.T, so.Events+u.K
			}
		}
		look.Ratio = ratioOf(arms)
		for _, b := range blocks {
			if b.complete && b.last == session.id {
				if err := m.Add(b.counted); err != nil {
					return err
				}
			}
		}
		e := m.Evidence()
		look.Blocks, look.Robust, look.Model = e.Blocks, e.Robust, e.Model
		a.Looks = append(a.Looks, look)
		over = a.over(over, session.id)
		if err := a.judge(over); err != nil {
			return err
		}
		a.Looks[len(a.Looks)-1].State = a.State
	}
	a.Treatment = a.treatment(over)
	a.drawn(blocks)
	return nil
}

// over is how many units were over once a session was, if so many were before it:
// those up to its last, and what broke the plan right after.
func (a *Answer) over(before int, session journal.ID) int {
	for _, u := range a.Units {
		if u.Session == session && u.Found {
			before = max(before, u.Unit.Ordinal)
		}
	}
	for before < len(a.Units) && a.Units[before].Standing == UnitApart {
		before++
	}
	return before
}

// monitor takes in blocks; without intervals it is quicker.
func (a *Answer) monitor(intervals bool) (*sequential.Monitor, error) {
	return sequential.NewMonitor(sequential.Options{Kind: a.kind(), Worth: a.Trial.Worth, Conf: Conf, NoIntervals: !intervals})
}

// unit says what a unit is in the trial. One whose rig is no longer the arm's,
// because its session was edited since, broke the plan.
func (a *Answer) unit(c journal.TrialCount) Unit {
	u := Unit{TrialCount: c, Block: a.Trial.BlockOf(c.Unit.Ordinal) + 1, Reason: c.Unit.Reason}
	switch {
	case c.Unit.Status == journal.UnitOpen:
		u.Standing = UnitWaits
	case c.Unit.Status == journal.UnitBroke:
		u.Standing = UnitApart
	case !c.Found:
		u.Standing, u.Reason = UnitGone, "its session is no longer in the journal"
	case c.Fished != c.Unit.Arm:
		u.Standing, u.Reason = UnitApart, "as it was logged, it was not fished with the arm that was drawn"
	case c.Unusable != "":
		u.Standing, u.Reason = UnitUnusable, c.Unusable
	default:
		u.Standing = UnitCounts
	}
	return u
}

// addUp sums the arms.
func (a *Answer) addUp() {
	for _, u := range a.Units {
		arm := &a.Arms[u.Unit.Arm.Index()]
		switch u.Standing {
		case UnitCounts:
			arm.Units++
			arm.Hours, arm.Exposure, arm.Events = arm.Hours+u.Hours, arm.Exposure+u.T, arm.Events+u.K
		case UnitApart:
			arm.Broke++
		}
	}
	a.Ratio = ratioOf(a.Arms)
}

// ratioOf is the rate of A over that of B, nil when B has no events.
func ratioOf(arms [2]Arm) *float64 {
	if b := arms[1].Rate(); b > 0 && arms[0].Exposure > 0 {
		return new(arms[0].Rate() / b)
	}
	return nil
}

// block is a block of the order with what counts of it.
type block struct {
	complete bool       // every unit is accounted for
	last     journal.ID // the session in which it was completed
	counted  sequential.Block
	all      sequential.Block // with the units that broke the plan
}

// blocks puts the units together. A block of which a unit is still to be fished
// or attached is not complete, and says nothing yet.
func (a *Answer) blocks() []block {
	place := map[journal.ID]int{}
	for i, s := range a.sessions() {
		place[s.id] = i
	}
	var list []block
	for part := range slices.Chunk(a.Units, a.Trial.Block) {
		b := block{complete: len(part) == a.Trial.Block}
		last := -1
		for _, u := range part {
			one := sequential.Unit{First: u.Unit.Arm == journal.ArmA, K: u.K, T: u.T}
			switch u.Standing {
			case UnitWaits, UnitGone:
				b.complete = false
			case UnitCounts:
				b.counted, b.all = append(b.counted, one), append(b.all, one)
			case UnitApart:
				if u.Found && u.T > 0 {
					b.all = append(b.all, one)
				}
			}
			if at, ok := place[u.Session]; ok && at > last {
				last, b.last = at, u.Session
			}
		}
		for i := range part {
			part[i].Complete = b.complete
		}
		list = append(list, b)
	}
	return list
}

type session struct {
	id  journal.ID
	day journal.Date
}

// sessions lists those in which something of the trial was fished, in order.
func (a *Answer) sessions() []session {
	var list []session
	for _, u := range a.Units {
		if u.Found && !slices.ContainsFunc(list, func(s session) bool { return s.id == u.Session }) {
			list = append(list, session{u.Session, u.Day})
		}
	}
	slices.SortStableFunc(list, func(x, y session) int { return cmp.Compare(x.day.String(), y.day.String()) })
	return list
}

// drawn counts the units that broke the plan for the arm drawn for them.
func (a *Answer) drawn(blocks []block) {
	d := &Drawn{}
	for _, u := range a.Units {
		if u.Standing == UnitApart && u.Found && u.T > 0 {
			d.Units++
		}
	}
	if d.Units == 0 {
		return
	}
	m, err := a.monitor(false)
	if err != nil {
		return
	}
	for _, b := range blocks {
		if b.complete {
			if err := m.Add(b.all); err != nil {
				return
			}
		}
	}
	d.LogE = m.Evidence().Robust.LogE
	a.Drawn = d
}

// Last is the latest look, false before the first.
func (a Answer) Last() (Look, bool) {
	if len(a.Looks) == 0 {
		return Look{}, false
	}
	return a.Looks[len(a.Looks)-1], true
}

// Level reads the level of an arm as a person writes it, into the form in
// which trials keep it. A bare number is in the unit that the person sees.
func Level(f journal.Factor, text string, sys units.System) (string, error) {
	if f.Quantity == journal.Words {
		return analytics.KnownWord(f, strings.TrimSpace(text))
	}
	v, err := analytics.ParseValue(f, text, sys)
	if err != nil {
		return "", err
	}
	return strconv.FormatFloat(v, 'g', -1, 64), nil
}
