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
	sites  map[gauge.Site]*tended
	readAt time.Time
}

// tended is a gauge in use.
type tended struct {
	due  []time.Time // of its chores, by rank
	next time.Time   // before which nothing is asked about it
	last int         // the rank of what was asked last, -1 before
}

// chores are done in this order where several are due, but each second time it is the latest readings' turn.
func chores() []chore { return []chore{latest, place, years, recent, daily} }

// rank is the place of a chore among them.
func rank(what string) int {
	return slices.IndexFunc(chores(), func(c chore) bool { return c.what == what })
}

func (k *Keeper) tend(ctx context.Context, of agency.Source) {
	r := round{}
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
	used = slices.DeleteFunc(used, func(s gauge.Site) bool { return s.Provider != of.Provider() })
	room := min(k.opt.Every, time.Duration(len(used))*apart)
	known := r.sites
	r.sites = make(map[gauge.Site]*tended, len(used))
	for _, site := range used {
		if r.sites[site] = known[site]; known[site] != nil {
			continue
		}
		soon := k.opt.Now().Add(time.Duration(k.opt.Chance() * float64(room)))
		t := &tended{last: -1}
		for range chores() {
			t.due = append(t.due, soon)
		}
		t.due[rank(daily.what)] = soon.Add(time.Hour) // after those of all years, which hold the same
		r.sites[site] = t
	}
	return nil
}

// choose is what is asked about a gauge when its turn comes, and since when that is due. If nothing is, it is -1, and when
// something will be.
func (t *tended) choose(now time.Time) (chore int, since time.Time) {
	chore = -1
	soonest := time.Time{}
	newest := rank(latest.what)
	for i, at := range t.due {
		if at.Before(t.next) {
			at = t.next
		}
		if at.After(now) {
			if soonest.IsZero() || at.Before(soonest) {
				soonest = at
			}
			continue
		}
		if chore < 0 || chore == newest && t.last == newest {
			chore, since = i, at
		}
	}
	if chore < 0 {
		return -1, soonest
	}
	return chore, since
}

// first is what has been due for longest: of a gauge that was never asked about before all else. If nothing is due it is nil,
// and when something will be.
func (r *round) first(now time.Time) (*turn, time.Time) {
	soonest := now.Add(lookAgain)
	var best *turn
	bestAt := time.Time{}
	for site, t := range r.sites {
		chore, at := t.choose(now)
		if chore < 0 {
			if at.Before(soonest) {
				soonest = at
			}
			continue
		}
		if t.last < 0 {
			at = time.Time{}
		}
		if best == nil || at.Before(bestAt) {
			best, bestAt = &turn{site, chore}, at
		}
	}
	return best, soonest
}

// take asks what is due, if it is the gauge's turn, and says when it is again.
func (k *Keeper) take(ctx context.Context, of agency.Source, r *round, t turn) {
	c, site := chores()[t.chore], r.sites[t.site]
	drift := func() time.Duration { return time.Duration(k.opt.Chance() * float64(k.opt.Every) / 10) } // gauges asked about at once drift apart
	mine, ok, err := k.store.ClaimRequest(ctx, t.site, gauge.Turn, k.opt.Now(), k.opt.Every)
	switch {
	case ctx.Err() != nil:
		return
	case err != nil:
		k.opt.Log.Warn("the turn to ask about a gauge can't be told", "gauge", t.site.String(), "error", err)
		site.next = k.opt.Now().Add(k.opt.Every)
		return
	case !ok: // another process asked
		site.next = mine.AskedAt.Add(k.opt.Every + drift())
		if least := k.opt.Now().Add(between); site.next.Before(least) {
			site.next = least
		}
		return
	}
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
	if o.asked {
		site.last, site.next = t.chore, k.opt.Now().Add(k.opt.Every+drift())
	} else {
		mine.Site, mine.What, mine.AskedAt = t.site, gauge.Turn, time.Time{} // for something else
		_ = k.settle(ctx, mine)                                              // which tells the log itself; the turn then ends by itself
	}
	if got := o.request.AskedAt.Add(daily.again); c.what == years.what && err == nil && o.request.Trouble == "" && got.After(site.due[rank(daily.what)]) {
		site.due[rank(daily.what)] = got // which has been got with them, perhaps by another process
	}
	site.due[t.chore] = o.next(k.opt.Every).Add(drift())
	if least := k.opt.Now().Add(between); site.due[t.chore].Before(least) {
		site.due[t.chore] = least
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
