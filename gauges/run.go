package gauges

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/journal/gauge"
)

const (
	lookAgain = time.Minute            // for gauges that came into use
	between   = 200 * time.Millisecond // two questions to one agency
	apart     = 2 * time.Second        // of first questions, by gauge
)

// Run keeps the gauges that waters are linked to up to date until ctx ends. Agencies are asked side by side, about one gauge
// after another.
func (k *Keeper) Run(ctx context.Context) {
	if k == nil {
		return
	}
	var all sync.WaitGroup
	for _, of := range k.sources {
		all.Go(func() { k.tend(ctx, of) })
	}
	all.Wait()
}

// turn is a question about a gauge.
type turn struct {
	site  gauge.Site
	chore int // its rank
}

// round is what one agency's gauges are due for.
type round struct {
	due    map[turn]time.Time
	sites  []gauge.Site
	readAt time.Time
}

// chores are done in this order where several are due.
func chores() []chore { return []chore{latest, place, recent, years, daily} }

// rank is the place of a chore among them.
func rank(what string) int {
	return slices.IndexFunc(chores(), func(c chore) bool { return c.what == what })
}

func (k *Keeper) tend(ctx context.Context, of agency.Source) {
	r := round{due: map[turn]time.Time{}}
	for ctx.Err() == nil {
		if now := k.opt.Now(); r.readAt.IsZero() || now.Sub(r.readAt) >= lookAgain {
			if err := k.look(ctx, of, &r); err != nil && ctx.Err() == nil {
				k.opt.Log.Warn("the gauges in use can't be told", "error", err)
			}
			r.readAt = now
		}
		t, at := r.first(k.opt.Now())
		if t == nil {
			sleep(ctx, min(at.Sub(k.opt.Now()), lookAgain))
			continue
		}
		k.take(ctx, of, &r, *t)
		sleep(ctx, between)
	}
}

// look brings the list of gauges in use up to date. New ones are asked about soon, but not all at once.
func (k *Keeper) look(ctx context.Context, of agency.Source, r *round) error {
	used, err := k.store.GaugesUsed(ctx)
	if err != nil {
		return err
	}
	r.sites = slices.DeleteFunc(used, func(s gauge.Site) bool { return s.Provider != of.Provider() })
	room := min(k.opt.Every, time.Duration(len(r.sites))*apart)
	known := r.due
	r.due = make(map[turn]time.Time, len(known))
	for _, site := range r.sites {
		for i, c := range chores() {
			at, ok := known[turn{site, i}]
			if !ok {
				at = k.opt.Now().Add(time.Duration(k.opt.Chance() * float64(room)))
				if c.what == daily.what {
					at = at.Add(time.Hour) // after those of all years, which hold the same
				}
			}
			r.due[turn{site, i}] = at
		}
	}
	return nil
}

// first is what is due first: the latest readings of a gauge before all else. If nothing is due it is nil, and when something will be.
func (r *round) first(now time.Time) (*turn, time.Time) {
	soonest := now.Add(lookAgain)
	var best *turn
	bestAt := time.Time{}
	for t, at := range r.due {
		if at.After(now) {
			if at.Before(soonest) {
				soonest = at
			}
			continue
		}
		if best == nil || t.chore < best.chore || t.chore == best.chore && at.Before(bestAt) {
			best, bestAt = &t, at
		}
	}
	return best, soonest
}

// take asks what is due, and says when it is again.
func (k *Keeper) take(ctx context.Context, of agency.Source, r *round, t turn) {
	c := chores()[t.chore]
	o, err := k.do(ctx, of, t.site, c)
	var failed *fetch.Error
	switch {
	case ctx.Err() != nil:
		return
	case errors.As(err, &failed):
		k.opt.Log.Info("an agency did not answer about a gauge", "gauge", t.site.String(), "what", c.what, "error", err, "cause", failed.Cause)
	case err != nil:
		k.opt.Log.Warn("a gauge was not brought up to date", "gauge", t.site.String(), "what", c.what, "error", err)
		o.request.NextAt = k.opt.Now().Add(k.opt.Every)
	case o.asked:
		k.opt.Log.Debug("a gauge was brought up to date", "gauge", t.site.String(), "what", c.what, "new", o.kept.New, "revised", o.kept.Revised, "sessions", o.sessions)
	}
	if c.what == years.what && o.asked && err == nil {
		r.due[turn{t.site, rank(daily.what)}] = k.opt.Now().Add(daily.again) // which has been got with them
	}
	// Gauges that were asked about at once drift apart.
	r.due[t] = o.next(k.opt.Every).Add(time.Duration(k.opt.Chance() * float64(k.opt.Every) / 10))
	if least := k.opt.Now().Add(between); r.due[t].Before(least) {
		r.due[t] = least
	}
}

// sleep waits for a time, or until ctx ends.
func sleep(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
	case <-t.C:
	}
}
