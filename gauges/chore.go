package gauges

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/journal/gauge"
)

// chore is a kind of question that is asked about each gauge in use.
type chore struct {
	what   string
	again  time.Duration // after it was answered; 0: as often as is fit
	ask    func(ctx context.Context, of agency.Source, r *gauge.Request, now time.Time) (gauge.Found, error)
	within time.Duration // in which somebody waits for it; 0: as long as it takes
}

// How far back is read again, since agencies revise what was provisional. The U.S. Geological Survey keeps some readings,
// often of temperature, for 120 days alone.
const (
	recently = 120 * 24 * time.Hour
	someDays = 2 * 366 * 24 * time.Hour
)

var (
	latest = chore{what: "latest", ask: func(ctx context.Context, of agency.Source, r *gauge.Request, _ time.Time) (gauge.Found, error) {
		return of.Latest(ctx, r.Site, r)
	}}
	// What a gauge is called and where it is, for links that were made by its number alone.
	place = chore{what: "place", again: 180 * 24 * time.Hour, ask: func(ctx context.Context, of agency.Source, r *gauge.Request, _ time.Time) (gauge.Found, error) {
		list, err := of.Find(ctx, agency.Query{Number: r.Number})
		return gauge.Found{Gauges: slices.DeleteFunc(list, func(g gauge.Gauge) bool { return g.Site != r.Site })}, err
	}}
	recent = chore{what: "recent", again: 24 * time.Hour, ask: func(ctx context.Context, of agency.Source, r *gauge.Request, now time.Time) (gauge.Found, error) {
		return of.Past(ctx, r.Site, now.Add(-recently), now)
	}}
	years = chore{what: "years", again: 180 * 24 * time.Hour, ask: func(ctx context.Context, of agency.Source, r *gauge.Request, now time.Time) (gauge.Found, error) {
		return of.Daily(ctx, r.Site, time.Time{}, now)
	}}
	daily = chore{what: "daily", again: 7 * 24 * time.Hour, ask: func(ctx context.Context, of agency.Source, r *gauge.Request, now time.Time) (gauge.Found, error) {
		return of.Daily(ctx, r.Site, now.Add(-someDays), now)
	}}
)

// outcome is what came of a question.
type outcome struct {
	asked    bool // the agency
	request  gauge.Request
	notes    []string // of what was answered
	kept     gauge.Kept
	sessions int
	unfilled error // of sessions; the readings are kept all the same
}

// next is when the question may be asked again.
func (o outcome) next(every time.Duration) time.Time {
	if at := o.request.AskedAt.Add(every); o.request.NextAt.Before(at) {
		return at
	}
	return o.request.NextAt
}

// do asks a question, unless it was asked just before or must wait, and keeps what is answered. What went wrong with the agency
// is in the outcome's request; the error, too, tells it.
func (k *Keeper) do(ctx context.Context, of agency.Source, site gauge.Site, c chore) (o outcome, err error) {
	defer caught(of, site.String(), &err)
	now := k.opt.Now()
	if p, ok := k.waits(of.Provider()); ok {
		return outcome{request: gauge.Request{Site: site, What: c.what, NextAt: p.until, Trouble: p.why}}, nil
	}
	r, ok, err := k.store.ClaimRequest(ctx, site, c.what, now, k.opt.Every)
	if err != nil {
		return o, fmt.Errorf("claim the question about %s: %w", site, err)
	}
	r.Site, r.What = site, c.what
	o.request = r
	if !ok {
		return o, nil
	}
	o.asked, r.AskedAt = true, now
	claimed := r
	asking := ctx
	if c.within > 0 {
		var end context.CancelFunc
		asking, end = context.WithTimeoutCause(ctx, c.within, &fetch.Error{Service: of.Title(), Kind: fetch.Slow})
		defer end()
	}
	found, err := c.ask(asking, of, &r, now)
	switch {
	case err != nil && ctx.Err() != nil:
		return o, k.givenUp(ctx, claimed, c, err)
	case err != nil:
		k.failed(&r, err)
		o.request = r
		o.sessions, o.unfilled = k.fill(ctx, site, gauge.Span{})
		return o, errors.Join(err, k.settle(ctx, r))
	}
	o.notes = found.Notes
	if len(found.Series)+len(found.Gauges) > 0 {
		// Should it fail, the answer isn't taken for known.
		if o.kept, err = k.store.KeepReadings(ctx, found); err != nil {
			return o, k.givenUp(ctx, claimed, c, fmt.Errorf("keep the readings of %s: %w", site, err))
		}
	}
	var told gauge.Span
	if o.kept.New+o.kept.Revised > 0 {
		told = gauge.Span{From: o.kept.From, To: o.kept.To}
	}
	if c.what == recent.what { // once a day also from what a program that ended had kept without filling from it
		told = told.With(gauge.Span{From: now.Add(-recently), To: now})
	}
	if o.sessions, o.unfilled = k.fill(ctx, site, told); o.unfilled != nil && ctx.Err() != nil {
		return o, k.givenUp(ctx, claimed, c, o.unfilled)
	}
	r.Failures, r.Trouble, r.NextAt = 0, "", time.Time{}
	if c.again > 0 {
		r.NextAt = now.Add(c.again)
	}
	o.request = r
	return o, k.settle(ctx, r)
}

// caught makes an error of a panic: nothing that an agency sends ends the program.
func caught(of agency.Source, about string, err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("ask %s about %s: %v", of.Title(), about, p)
	}
}

// givenUp is the error of work that somebody stopped, or whose answer could not be kept. What takes long may begin again at
// once.
func (k *Keeper) givenUp(ctx context.Context, claimed gauge.Request, c chore, err error) error {
	if c.again == 0 {
		return err
	}
	claimed.AskedAt = time.Time{}
	return errors.Join(err, k.settle(ctx, claimed))
}

// settle notes what came of a question, also when whoever asked is gone.
func (k *Keeper) settle(ctx context.Context, r gauge.Request) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	if err := k.store.SettleRequest(ctx, r); err != nil {
		k.opt.Log.Warn("what came of a question about a gauge was not noted", "gauge", r.Site.String(), "error", err)
		return fmt.Errorf("note what came of the question about %s: %w", r.Site, err)
	}
	return nil
}

// fill fills the sessions that readings of a time can tell something about: up to a day later, by the change since. Where that
// fails, as it may in one outfit, the log tells it, and it is tried again when the gauge's agency is asked next.
func (k *Keeper) fill(ctx context.Context, site gauge.Site, told gauge.Span) (sessions int, err error) {
	k.mu.Lock()
	told = told.With(k.unfilled[site])
	delete(k.unfilled, site)
	k.mu.Unlock()
	if told == (gauge.Span{}) {
		return 0, nil
	}
	sessions, err = k.store.FillDue(ctx, site, told.From.Add(-gauge.Reach), told.To.Add(24*time.Hour+gauge.Reach))
	if err == nil {
		return sessions, nil
	}
	k.mu.Lock()
	k.unfilled[site] = told.With(k.unfilled[site])
	k.mu.Unlock()
	if ctx.Err() == nil {
		k.opt.Log.Warn("not all sessions were filled from a gauge; it is tried again", "gauge", site.String(), "error", err)
	}
	return sessions, fmt.Errorf("fill the sessions at %s: %w", site, err)
}

// Update is what came of looking at a gauge now.
type Update struct {
	Asked    bool       // its agency; else somebody did just before, or it is to be left alone
	AskedAt  time.Time  // the last time; zero: never
	Kept     gauge.Kept // of its readings
	Sessions int        // that were filled from them
	Unfilled error      // why not all sessions were that could be; nil where they were
	Next     time.Time  // before which its agency isn't asked again
	Trouble  string     // of the last time, for people; "" for none
}

// Say is an update in sentences, its times in the zone of now.
func (u Update) Say(now time.Time) string {
	next := fetch.Clock(u.Next, now)
	switch {
	case u.Trouble != "":
		return fetch.Again(u.Trouble, u.Next, now)
	case !u.Asked:
		return fmt.Sprintf("It was asked at %s, and is asked every 15 minutes at most: again from %s.", fetch.Clock(u.AskedAt, now), next)
	case u.Kept.New+u.Kept.Revised == 0:
		return "There is nothing new. It can be asked again from " + next + "."
	}
	return u.found()
}

// found is what came in, and what was filled from it.
func (u Update) found() string {
	text := count(u.Kept.New, "new reading")
	if u.Kept.Revised > 0 {
		text += ", and " + count(u.Kept.Revised, "reading") + " revised by the agency"
	}
	if text += "."; u.Sessions > 0 {
		text += " " + count(u.Sessions, "session") + " filled from them."
	}
	return text
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// patience is how long somebody at a page waits for an agency: less than until the page itself is given up, by so much that it can
// still be noted that the agency did not answer.
const (
	patience = 40 * time.Second
	toNote   = 2 * time.Second
)

// Update asks about one gauge at once, unless that was done within the last quarter of an hour: then it says when.
func (k *Keeper) Update(ctx context.Context, site gauge.Site) (Update, error) {
	if k == nil {
		return Update{}, ErrOff
	}
	of, err := k.source(site)
	if err != nil {
		return Update{}, err
	}
	c := latest
	c.within = patience
	if by, ok := ctx.Deadline(); ok {
		c.within = max(time.Millisecond, min(patience, time.Until(by)-toNote))
	}
	o, err := k.do(ctx, of, site, c)
	var failed *fetch.Error
	if err != nil && (!errors.As(err, &failed) || ctx.Err() != nil) {
		return Update{}, err
	}
	return Update{Asked: o.asked, AskedAt: o.request.AskedAt, Kept: o.kept, Sessions: o.sessions, Unfilled: o.unfilled, Next: o.next(k.opt.Every), Trouble: o.request.Trouble}, nil
}
