package trial

import (
	"cmp"
	"context"
	"math"

	"rigtally/analytics/stat"
	"rigtally/analytics/stat/sequential"
	"rigtally/journal"
)

// Outlook says how a trial may go on, if the arms differ by a ratio.
type Outlook struct {
	Ratio  float64 // as seen so far, or the smallest worth knowing when it is nearer to 1
	Seen   bool    // the ratio is the one seen so far
	Chance float64 // of being settled within the most hours planned
	// Hours of fishing still to come, both arms, by which half of such trials
	// are settled; +Inf when it is out of sight.
	Hours float64
	Left  float64 // hours left of the most planned
	Fixed float64 // hours in all of a test of fixed size, for comparison; +Inf when there is nothing to plan with
	Guess bool    // rate and spread are the journal's or a guess, since the trial has few events yet
}

// fewEvents are too few to plan with.
const fewEvents = 8

// hopelessBelow is the chance of being settled below which a trial can't be
// settled at this pace.
const hopelessBelow = 0.2

// What a unit is taken to last before any was fished, in hours, and how much
// sessions' levels are taken to differ: common practice, no source.
const (
	usualStint   = 1.25
	usualSession = 3.5
	usualSpread  = 0.25
)

// Preview says of a trial that is not planned yet what it may come to, at the
// journal's rates and within its most hours, and which trials asked the same.
func Preview(ctx context.Context, store Keeper, t journal.Trial) (Answer, error) {
	t.Block = cmp.Or(t.Block, journal.UsualBlock)
	if err := t.Validate(); err != nil {
		return Answer{}, err
	}
	a, err := frame(ctx, store, t)
	if err != nil {
		return a, err
	}
	all, err := store.Trials(ctx)
	if err != nil {
		return a, err
	}
	if a.Earlier, err = earlier(ctx, store, t, all); err != nil {
		return a, err
	}
	return a, a.lookAhead(ctx, store)
}

// lookAhead plays the rest of a trial that is not settled.
func (a *Answer) lookAhead(ctx context.Context, store Keeper) error {
	if a.Settled > 0 || a.State == Unlike || a.State == Missing {
		return nil
	}
	if a.Trial.Ended() {
		a.State = GivenUp
		return nil
	}
	c, o, err := a.course(ctx, store)
	if err != nil {
		return err
	}
	if a.Outlook = o; len(c.Units) == 0 {
		return nil
	}
	m, err := a.monitor(false)
	if err != nil {
		return err
	}
	for _, b := range a.blocks() {
		if b.complete {
			if err := m.Add(b.counted); err != nil {
				return err
			}
		}
	}
	out, err := m.Project(c)
	if err != nil {
		return err
	}
	o.Chance, o.Hours = out.Chance, out.Hours
	if enough := !o.Guess || len(a.Looks) >= fewSessions; a.State == Open && o.Chance < hopelessBelow && enough {
		a.State = Hopeless
	}
	return nil
}

// course says how the trial is supposed to go on.
func (a *Answer) course(ctx context.Context, store Keeper) (sequential.Course, *Outlook, error) {
	hours, events, exposure := 0.0, 0.0, 0.0
	for _, arm := range a.Arms {
		hours, events, exposure = hours+arm.Hours, events+arm.Events, exposure+arm.Exposure
	}
	o := &Outlook{Left: math.Max(0, a.Trial.MostHours-hours), Hours: math.Inf(1), Fixed: math.Inf(1)}
	o.Ratio, o.Seen = a.ratioAhead()
	c := sequential.Course{Shared: a.Trial.Unit == journal.ByStint, Size: a.Trial.Block, Limit: o.Left, Horizon: 10 * a.Trial.MostHours, Common: a.spread()}
	for _, u := range a.Units {
		if u.Standing == UnitCounts && u.Hours > 0 {
			c.Units = append(c.Units, sequential.Span{Exposure: u.T, Hours: u.Hours})
		}
	}
	if o.Guess = events < fewEvents; o.Guess {
		answer, err := store.Ask(ctx, journal.Question{Outcome: a.Outcome})
		if err != nil {
			return c, o, err
		}
		if len(answer.Groups) > 0 && answer.Groups[0].K > 0 && answer.Groups[0].Hours > 0 {
			g := answer.Groups[0]
			events, exposure = events+fewEvents, exposure+fewEvents*g.T/g.K
			c.Units = append(c.Units, a.usual(g.T/g.Hours)...)
		}
	}
	if events == 0 || exposure == 0 {
		c.Units = nil
		return c, o, nil
	}
	second := 2 * events / exposure / (1 + o.Ratio)
	c.Rates = [2]float64{o.Ratio * second, second}
	if a.kind() == stat.Share && c.Rates[0] > 1 {
		c.Rates = [2]float64{1, 1 / o.Ratio}
	}
	if len(c.Units) > 0 {
		o.Fixed = a.fixed(c)
	}
	return c, o, nil
}

// usual are units of the usual length, for an outlook before there are any.
func (a *Answer) usual(perHour float64) []sequential.Span {
	if len(a.Units) > 0 && a.Arms[0].Units+a.Arms[1].Units > 0 {
		return nil
	}
	length := usualStint
	if a.Trial.Unit == journal.BySession {
		length = usualSession
	}
	exposure := length * perHour
	if a.Outcome.Exposure != "hours" {
		exposure = math.Max(1, math.Round(exposure))
	}
	return []sequential.Span{{Exposure: exposure, Hours: length}}
}

// ratioAhead is the ratio to plan with: the one seen, between the smallest worth
// knowing and its square, once there are a few events.
func (a *Answer) ratioAhead() (ratio float64, seen bool) {
	worth := a.Trial.Worth
	if a.Arms[0].Events+a.Arms[1].Events < fewEvents || a.Arms[0].Exposure == 0 || a.Arms[1].Exposure == 0 {
		return worth, false
	}
	log := math.Log((a.Arms[0].Events + 0.5) / a.Arms[0].Exposure / ((a.Arms[1].Events + 0.5) / a.Arms[1].Exposure))
	side := math.Copysign(1, log)
	least := math.Log(worth)
	size := math.Abs(log)
	return math.Exp(side * math.Min(math.Max(size, least), 2*least)), size >= least && size <= 2*least
}

// fewSessions are too few to know how sessions differ.
const fewSessions = 5

// spread is how much the levels of sessions differ, as a squared coefficient of
// variation.
func (a *Answer) spread() float64 {
	sessions := a.sessions()
	if len(sessions) < fewSessions {
		return usualSpread
	}
	var arms [2]stat.Sums
	for _, s := range sessions {
		var k, t [2]float64
		for _, u := range a.Units {
			if u.Session == s.id && u.Standing == UnitCounts {
				k[u.Unit.Arm.Index()] += u.K
				t[u.Unit.Arm.Index()] += u.T
			}
		}
		for i := range arms {
			if err := arms[i].Add(k[i], t[i]); err != nil {
				return usualSpread
			}
		}
	}
	d, err := stat.Disperse(a.kind(), arms[:], len(sessions))
	if err != nil {
		return usualSpread
	}
	if a.kind() == stat.Share {
		if p := (arms[0].K + arms[1].K) / (arms[0].T + arms[1].T); p > 0 {
			return d.Common * (1 - p) / p
		}
	}
	return d.Common
}

// fixed is how many hours a test of fixed size would take in all, with 80% power
// at 5%, both arms of a session sharing its level where stints alternate.
func (a *Answer) fixed(c sequential.Course) float64 {
	exposure, hours := 0.0, 0.0
	for _, u := range c.Units {
		exposure, hours = exposure+u.Exposure, hours+u.Hours
	}
	if exposure == 0 {
		return math.Inf(1)
	}
	phi := 1.0
	if !c.Shared {
		mean := exposure / float64(len(c.Units))
		phi += c.Common * math.Sqrt(c.Rates[0]*c.Rates[1]) * mean
	}
	needed := stat.ExposureNeededRates
	if a.kind() == stat.Share {
		needed = stat.ExposureNeededShares
	}
	n, err := needed(c.Rates[0], c.Rates[1], phi, 0.05, 0.8)
	if err != nil {
		return math.Inf(1)
	}
	return 2 * n * hours / exposure
}
