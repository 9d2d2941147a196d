package trial

import (
	"math"
	"slices"

	"rigtally/analytics/stat"
	"rigtally/analytics/stat/sequential"
	"rigtally/journal"
)

// Matter is something that can tell that the arms of a trial were not treated alike.
type Matter string

// What is compared between the arms.
const (
	LedNowhere Matter = "starts that led to nothing" // of all starts
	BrokePlan  Matter = "starts that broke the plan" // of all starts
	EndedSoon  Matter = "ends soon after an event"   // of the units whose last stint had an event
)

// SoonMinutes after an event are soon.
const SoonMinutes = 10

// unlikeBelow is the p-value of a comparison below which the arms were not
// treated alike. It was chosen by the simulation of TestArmsTreatedUnlike.
const unlikeBelow = 0.02

// Check compares one matter between the arms, A first: how often it was so, of
// how many. P is that of Fisher's exact test, nil when there is nothing to compare.
type Check struct {
	Matter Matter   `json:"matter"`
	Count  [2]int   `json:"count"`
	Of     [2]int   `json:"of"`
	P      *float64 `json:"p"`
	Unlike bool     `json:"unlike"`
}

// Treatment compares how the arms of a trial were treated. Given the order drawn,
// none of it depends on how often events happen with an arm, or hardly: when
// stints end is compared among those that had an event.
type Treatment struct {
	Checks [3]Check `json:"checks"`
	Untold int      `json:"minutes_not_noted"` // units whose last stint had an event, but not the minutes to compare
	// Missing are starts of which nothing is known that could be counted, those
	// that broke the plan included.
	Missing int `json:"missing"`
}

// Unlike reports whether the arms were not treated alike.
func (t Treatment) Unlike() bool {
	return slices.ContainsFunc(t.Checks[:], func(c Check) bool { return c.Unlike })
}

// nothing reports whether a start that is over led to nothing.
func (u Unit) nothing() bool {
	return u.Standing == UnitWaits || u.Standing == UnitGone || u.Standing == UnitUnusable && !u.Bare
}

// known reports whether what was fished in a unit is known, whether it counts or not.
func (u Unit) known() bool {
	return u.Standing == UnitCounts || u.Standing == UnitApart && u.Found && u.T > 0
}

// missing reports whether a unit had something to count that nobody knows.
func (u Unit) missing() bool { return !u.known() && !(u.Standing == UnitUnusable && u.Bare) }

// treatment compares the arms over the first units, as many as that.
func (a *Answer) treatment(units int) Treatment {
	t := Treatment{Checks: [3]Check{{Matter: LedNowhere}, {Matter: BrokePlan}, {Matter: EndedSoon}}}
	for _, u := range a.Units[:units] {
		arm := u.Unit.Arm.Index()
		count := func(i int, so bool) {
			t.Checks[i].Of[arm]++
			if so {
				t.Checks[i].Count[arm]++
			}
		}
		count(0, u.nothing())
		count(1, u.Standing == UnitApart)
		switch {
		case u.missing():
			t.Missing++
		case u.Untold:
			t.Untold++
		case u.After != nil:
			count(2, *u.After <= SoonMinutes)
		}
	}
	for i := range t.Checks {
		c := &t.Checks[i]
		if c.Of[0] == 0 || c.Of[1] == 0 {
			continue
		}
		if p, err := stat.FisherExact(c.Count, c.Of); err == nil {
			c.P, c.Unlike = &p, p < unlikeBelow
		}
	}
	return t
}

// Turned is the robust evidence if what is missing had gone against the verdict.
type Turned struct {
	Missing int
	LogE    float64
}

// course is a trial's robust evidence, and the rate of arm A over that of B in it.
type course struct {
	sequential.Sequence
	ratio *float64
}

// turned counts every start so far for the arm drawn for it, whether it broke the
// plan or not, and takes what is missing to have gone against a difference: a unit
// of the worse arm to have had a standard deviation more events than units have
// on average, one of the other as many fewer. A session that was not logged can't
// be told from a bad one, so a verdict has to withstand that it was one.
func (a *Answer) turned(units int, worse journal.Arm, intervals bool) (c course, err error) {
	m, err := a.monitor(intervals)
	if err != nil {
		return c, err
	}
	var arms [2]Arm
	guess := a.guess(units)
	for part := range slices.Chunk(a.Units[:units], a.Trial.Block) {
		if len(part) < a.Trial.Block {
			break
		}
		var b sequential.Block
		for _, u := range part {
			one := sequential.Unit{First: u.Unit.Arm == journal.ArmA, K: u.K, T: u.T}
			if u.missing() {
				one.K, one.T = guess.less, guess.exposure
				if u.Unit.Arm == worse {
					one.K = guess.more
				}
			}
			b = append(b, one) // without exposure it is passed over
			so := &arms[u.Unit.Arm.Index()]
			so.Exposure, so.Events = so.Exposure+one.T, so.Events+one.K
		}
		if err := m.Add(b); err != nil {
			return c, err
		}
	}
	return course{m.Evidence().Robust, ratioOf(arms)}, nil
}

// guess is what a missing unit may have been.
type guess struct{ exposure, less, more float64 }

// guess goes by the units that count.
func (a *Answer) guess(units int) (g guess) {
	var n, k, square float64
	for _, u := range a.Units[:units] {
		if u.Standing == UnitCounts {
			n, k, square, g.exposure = n+1, k+u.K, square+u.K*u.K, g.exposure+u.T
		}
	}
	if n == 0 {
		return g
	}
	mean := k / n
	spread := math.Sqrt(math.Max(0, square/n-mean*mean))
	g.exposure /= n
	g.less, g.more = math.Floor(math.Max(0, mean-spread)), math.Ceil(mean+spread)
	if a.kind() == stat.Share {
		g.exposure = math.Max(1, math.Round(g.exposure))
		g.more = math.Min(g.more, g.exposure)
		g.less = math.Min(g.less, g.more)
	}
	return g
}

// withstands reports whether a verdict holds even if what is missing of the first
// units had gone against it.
func (a *Answer) withstands(verdict State, units int) (bool, error) {
	if verdict == NoOdds {
		for _, worse := range []journal.Arm{journal.ArmA, journal.ArmB} {
			c, err := a.turned(units, worse, true)
			if err != nil || !a.alike(c.Sequence) {
				return false, err
			}
		}
		return true, nil
	}
	worse := journal.ArmA
	if verdict == MoreA {
		worse = journal.ArmB
	}
	c, err := a.turned(units, worse, false)
	if err != nil {
		return false, err
	}
	if (c.ratio == nil || *c.ratio > 1) != (verdict == MoreA) {
		c.LogE = math.Min(c.LogE, 0) // it speaks for the other arm
	}
	a.Turned = &Turned{a.treatment(units).Missing, c.LogE}
	return settles(c.LogE), nil
}

// settles reports whether a log e-value settles a difference.
func settles(logE float64) bool { return logE >= -math.Log(1-Conf) }

// alike reports whether a difference worth knowing is ruled out.
func (a *Answer) alike(s sequential.Sequence) bool {
	return s.Low > 1/a.Trial.Worth && s.High < a.Trial.Worth
}

// judge says where the trial stands after the last look, at which so many of its
// units were over. Once settled it stays so, and for the arm that had more then:
// the chance of an error was spent on the first time. A verdict needs arms that
// were treated alike up to that look, and must withstand what is missing.
func (a *Answer) judge(units int) error {
	look := &a.Looks[len(a.Looks)-1]
	if a.Settled > 0 || look.Blocks == 0 {
		return nil
	}
	verdict := Open
	switch {
	case settles(look.Robust.LogE):
		verdict = look.more()
	case a.alike(look.Robust):
		verdict = NoOdds
	}
	a.Turned = nil
	t := a.treatment(units)
	switch {
	case verdict == Open:
	case t.Unlike():
		verdict = Unlike
	case t.Missing > 0 || t.Checks[1].Count != [2]int{}:
		held, err := a.withstands(verdict, units)
		if err != nil {
			return err
		}
		if !held {
			verdict = Missing
		}
	}
	if a.State = verdict; verdict == MoreA || verdict == MoreB || verdict == NoOdds {
		a.Settled = len(a.Looks)
	}
	return nil
}

// more is the verdict of a look that has found a difference.
func (l Look) more() State {
	switch {
	case l.Robust.Low >= 1:
		return MoreA
	case l.Robust.High <= 1:
		return MoreB
	case l.Ratio != nil && *l.Ratio < 1:
		return MoreB
	}
	return MoreA
}
