package analytics

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"

	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

// TrialConf is the confidence of a trial's sequences; a trial is settled when its
// e-value reaches 1/(1 − TrialConf) = 20.
const TrialConf = 0.95

// TrialAnswer is a trial with what it says so far.
type TrialAnswer struct {
	Trial   journal.Trial // its seed is blank as long as it is sealed
	Outcome journal.Outcome
	Factor  journal.Factor
	Rigs    [2]string // titles of the arms' rigs, where two rigs are compared
	Arms    [2]TrialArm
	Units   []TrialUnit
	Looks   []TrialLook // after each session of the trial, in order
	Ratio   *float64    // rate of arm A over that of B; nil when B has no events yet
	State   TrialState
	Settled int           // number of the look at which it was settled, from 1; 0 while it is not
	Outlook *TrialOutlook // nil when it is settled or has ended
	Drawn   *TrialDrawn   // nil when no unit broke the plan
	Undone  int
}

// TrialArm adds up what counts of one arm.
type TrialArm struct {
	Units    int
	Broke    int // units that broke the plan, which are not among Units
	Hours    float64
	Exposure float64
	Events   float64
}

// Rate is events per exposure, 0 without any.
func (a TrialArm) Rate() float64 {
	if a.Exposure == 0 {
		return 0
	}
	return a.Events / a.Exposure
}

// TrialStanding says what a unit is in the trial.
type TrialStanding string

// The standings of a unit.
const (
	UnitWaits    TrialStanding = "open"     // what was fished is not attached yet
	UnitCounts   TrialStanding = "counts"   //
	UnitApart    TrialStanding = "broke"    // it broke the plan
	UnitGone     TrialStanding = "gone"     // its session is no longer in the journal
	UnitUnusable TrialStanding = "unusable" // it has nothing to be counted against
)

// TrialUnit is a unit that was started, with what was fished in it.
type TrialUnit struct {
	journal.TrialCount
	Standing TrialStanding
	Reason   string // why it does not count
	Block    int    // from 1
	Complete bool   // every unit of its block is accounted for
}

// TrialLook is the evidence after a session.
type TrialLook struct {
	Session  journal.ID
	Day      journal.Date
	Hours    float64 // of the trial up to its end, both arms
	Exposure float64
	Events   float64
	Ratio    *float64 // rate of arm A over that of B so far; nil when B has no events yet
	Blocks   int      // compared so far
	Robust   stat.Sequence
	Model    stat.Sequence
}

// TrialState says where a trial stands.
type TrialState string

// The states of a trial.
const (
	TrialPlanned  TrialState = "planned"   // nothing can be compared yet
	TrialMoreA    TrialState = "more A"    // settled: arm A has more
	TrialMoreB    TrialState = "more B"    // settled: arm B has more
	TrialNoOdds   TrialState = "no odds"   // settled: no difference worth knowing
	TrialOpen     TrialState = "open"      // not settled yet
	TrialHopeless TrialState = "hopeless"  // can't be settled at this pace
	TrialGivenUp  TrialState = "unsettled" // ended without being settled
)

// TrialDrawn is the robust evidence with the units that broke the plan counted
// for the arm that was drawn for them.
type TrialDrawn struct {
	Units int // that broke the plan, and of which something can be counted
	LogE  float64
}

// TrialKeeper holds trials and what was fished in them; *pg.Store is one.
type TrialKeeper interface {
	TrialByID(ctx context.Context, id journal.ID) (journal.Trial, error)
	TrialCounts(ctx context.Context, t journal.Trial) ([]journal.TrialCount, error)
	Trials(ctx context.Context) ([]journal.Trial, error)
	RigByID(ctx context.Context, id journal.ID) (journal.Rig, error)
	Ask(ctx context.Context, q journal.Question) (journal.Answer, error)
}

// Trial says how a trial stands.
func Trial(ctx context.Context, store TrialKeeper, id journal.ID) (TrialAnswer, error) {
	t, err := store.TrialByID(ctx, id)
	if err != nil {
		return TrialAnswer{}, err
	}
	a, err := trialFrame(ctx, store, t)
	if err != nil {
		return TrialAnswer{}, err
	}
	counts, err := store.TrialCounts(ctx, t)
	if err != nil {
		return TrialAnswer{}, err
	}
	if err := a.follow(counts); err != nil {
		return TrialAnswer{}, err
	}
	if err := a.lookAhead(ctx, store); err != nil {
		return TrialAnswer{}, err
	}
	return a, nil
}

// Trials says how every trial stands, the running ones first.
func Trials(ctx context.Context, store TrialKeeper) ([]TrialAnswer, error) {
	list, err := store.Trials(ctx)
	if err != nil {
		return nil, err
	}
	var answers []TrialAnswer
	for _, t := range list {
		a, err := Trial(ctx, store, t.ID)
		if err != nil {
			return nil, err
		}
		answers = append(answers, a)
	}
	return answers, nil
}

// trialFrame is a trial without what was fished in it. Its seed is taken off as
// long as the order is sealed.
func trialFrame(ctx context.Context, store TrialKeeper, t journal.Trial) (TrialAnswer, error) {
	a := TrialAnswer{Trial: t, State: TrialPlanned, Undone: t.Undone}
	if !t.Ended() {
		a.Trial.Seed = ""
	}
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

func (a *TrialAnswer) kind() stat.Kind {
	if a.Outcome.Measure == journal.ShareOf {
		return stat.Share
	}
	return stat.Rate
}

// follow takes in what was fished and looks at it after each session.
func (a *TrialAnswer) follow(counts []journal.TrialCount) error {
	for _, c := range counts {
		a.Units = append(a.Units, a.unit(c))
	}
	blocks := a.blocks()
	a.addUp()
	m, err := a.monitor()
	if err != nil {
		return err
	}
	var arms [2]TrialArm
	for _, session := range a.sessions() {
		look := TrialLook{Session: session.id, Day: session.day}
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
		a.judge()
	}
	a.drawn(blocks)
	return nil
}

func (a *TrialAnswer) monitor() (*stat.Monitor, error) {
	return stat.NewMonitor(stat.MonitorOptions{Kind: a.kind(), Worth: a.Trial.Worth, Conf: TrialConf})
}

// unit says what a unit is in the trial. One whose rig is no longer the arm's,
// because its session was edited since, broke the plan.
func (a *TrialAnswer) unit(c journal.TrialCount) TrialUnit {
	u := TrialUnit{TrialCount: c, Block: a.Trial.BlockOf(c.Unit.Ordinal) + 1, Reason: c.Unit.Reason}
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
func (a *TrialAnswer) addUp() {
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
func ratioOf(arms [2]TrialArm) *float64 {
	if b := arms[1].Rate(); b > 0 && arms[0].Exposure > 0 {
		return new(arms[0].Rate() / b)
	}
	return nil
}

// trialBlock is a block of the order with what counts of it.
type trialBlock struct {
	complete bool       // every unit is accounted for
	last     journal.ID // the session in which it was completed
	counted  stat.TrialBlock
	all      stat.TrialBlock // with the units that broke the plan
}

// blocks puts the units together. A block of which a unit is still to be fished
// or attached is not complete, and says nothing yet.
func (a *TrialAnswer) blocks() []trialBlock {
	place := map[journal.ID]int{}
	for i, s := range a.sessions() {
		place[s.id] = i
	}
	var list []trialBlock
	for part := range slices.Chunk(a.Units, a.Trial.Block) {
		b := trialBlock{complete: len(part) == a.Trial.Block}
		last := -1
		for _, u := range part {
			one := stat.TrialUnit{First: u.Unit.Arm == journal.ArmA, K: u.K, T: u.T}
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

type trialSession struct {
	id  journal.ID
	day journal.Date
}

// sessions lists those in which something of the trial was fished, in order.
func (a *TrialAnswer) sessions() []trialSession {
	var list []trialSession
	for _, u := range a.Units {
		if u.Found && !slices.ContainsFunc(list, func(s trialSession) bool { return s.id == u.Session }) {
			list = append(list, trialSession{u.Session, u.Day})
		}
	}
	slices.SortStableFunc(list, func(x, y trialSession) int { return compareDays(x.day, y.day) })
	return list
}

func compareDays(x, y journal.Date) int {
	return (x.Year-y.Year)*400 + (int(x.Month)-int(y.Month))*32 + x.Day - y.Day
}

// judge says where the trial stands after the last look. Once settled it stays
// so: the chance of an error was spent on the first time.
func (a *TrialAnswer) judge() {
	look := a.Looks[len(a.Looks)-1]
	if a.Settled > 0 || look.Blocks == 0 {
		return
	}
	worth := a.Trial.Worth
	switch {
	case look.Robust.LogE >= -math.Log(1-TrialConf):
		a.Settled, a.State = len(a.Looks), TrialMoreB
		if a.Arms[0].Rate() > a.Arms[1].Rate() {
			a.State = TrialMoreA
		}
	case look.Robust.Low > 1/worth && look.Robust.High < worth:
		a.Settled, a.State = len(a.Looks), TrialNoOdds
	default:
		a.State = TrialOpen
	}
}

// drawn counts the units that broke the plan for the arm drawn for them.
func (a *TrialAnswer) drawn(blocks []trialBlock) {
	d := &TrialDrawn{}
	for _, u := range a.Units {
		if u.Standing == UnitApart && u.Found && u.T > 0 {
			d.Units++
		}
	}
	if d.Units == 0 {
		return
	}
	m, err := stat.NewMonitor(stat.MonitorOptions{Kind: a.kind(), Worth: a.Trial.Worth, Conf: TrialConf, NoIntervals: true})
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
func (a TrialAnswer) Last() (TrialLook, bool) {
	if len(a.Looks) == 0 {
		return TrialLook{}, false
	}
	return a.Looks[len(a.Looks)-1], true
}

// Next is the ordinal of the unit to be started next.
func (a TrialAnswer) Next() int { return len(a.Trial.Units) + 1 }

// TrialLevel reads the level of an arm as a person writes it, into the form in
// which trials keep it. A bare number is in the unit that the person sees.
func TrialLevel(f journal.Factor, text string, sys units.System) (string, error) {
	if f.Quantity == journal.Words {
		return knownWord(f, strings.TrimSpace(text))
	}
	v, err := ParseValue(f, text, sys)
	if err != nil {
		return "", err
	}
	return strconv.FormatFloat(v, 'g', -1, 64), nil
}
