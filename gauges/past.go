package gauges

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/journal/gauge"
)

// Later is a question that can't be asked yet, or had no answer.
type Later struct {
	Trouble string    // for people, without an end
	At      time.Time // when it may be asked again
	Cause   error     // nil where nothing was asked
}

// Error is what people are told, with the day.
func (e *Later) Error() string { return fetch.Again(e.Trouble, e.At, time.Time{}) }

// Say is what people are told, its time in the zone of now.
func (e *Later) Say(now time.Time) string {
	return fetch.Again(e.Trouble, e.At, now)
}

// Unwrap is the cause.
func (e *Later) Unwrap() error { return e.Cause }

// part is a quarter of a year, from its first day up to the next one's.
type part struct{ from, to time.Time }

func (p part) what() string { return "past " + p.from.Format("2006-01") }

// parts are those that a time reaches into, the last one first: what was fished lately is filled first.
func parts(from, to time.Time) []part {
	var list []part
	from, to = from.UTC(), to.UTC()
	at := time.Date(to.Year(), (to.Month()-1)/3*3+1, 1, 0, 0, 0, 0, time.UTC)
	for next := at.AddDate(0, 3, 0); next.After(from); at, next = at.AddDate(0, -3, 0), at {
		if at.Before(to) {
			list = append(list, part{at, next})
		}
	}
	return list
}

// How long a part of the past is taken for known: what may still be revised for a day, older ones for half a year.
const (
	stillRevised = 24 * time.Hour
	longKnown    = 180 * 24 * time.Hour
)

// Fetched is what came of asking for the past.
type Fetched struct {
	Kept     gauge.Kept // now; what was known before isn't counted
	Sessions int        // that were filled now
	Notes    []string   // of the agency, for people: what it does not have
}

// Say is what was fetched, in sentences.
func (f Fetched) Say() string {
	text := Update{Asked: true, Kept: f.Kept, Sessions: f.Sessions}.found()
	if f.Kept.New+f.Kept.Revised == 0 {
		text = "There was nothing that is not here already."
	}
	return strings.Join(append([]string{text}, f.Notes...), " ")
}

// Fetch asks for the readings of a gauge from one time up to another, a quarter of a year after the other from the last, and for
// its daily means of all years. Progress, if not nil, is told before the first part and after each. What was cut short goes on
// where it was when it is called again. What can't be asked now is a *Later.
func (k *Keeper) Fetch(ctx context.Context, site gauge.Site, from, to time.Time, progress func(done, of int)) (f Fetched, err error) {
	if k == nil {
		return f, ErrOff
	}
	of, err := k.source(site)
	if err != nil {
		return f, err
	}
	now := k.opt.Now()
	if to.After(now) {
		to = now
	}
	list := []chore{years}
	for _, p := range parts(from, to) {
		again := longKnown
		if now.Sub(p.to) < recently {
			again = stillRevised
		}
		list = append(list, chore{what: p.what(), again: again, ask: func(ctx context.Context, of agency.Source, r *gauge.Request, now time.Time) (gauge.Found, error) {
			end := p.to
			if end.After(now) {
				end = now
			}
			return of.Past(ctx, r.Site, p.from, end)
		}})
	}
	for done, c := range list {
		if progress != nil {
			progress(done, len(list))
		}
		o, err := k.past(ctx, of, site, c)
		f.Kept.Add(o.kept)
		f.Sessions += o.sessions
		for _, note := range o.notes {
			if !slices.Contains(f.Notes, note) && !strings.Contains(note, " holds no readings") {
				f.Notes = append(f.Notes, note)
			}
		}
		if err != nil {
			return f, err
		}
	}
	// What an earlier try kept without filling from it is filled from now.
	sessions, err := k.fill(ctx, site, from, to)
	if f.Sessions += sessions; err != nil {
		return f, err
	}
	if progress != nil {
		progress(len(list), len(list))
	}
	return f, nil
}

// tries is how often a part is asked for at once, where it may have been an accident that it had no answer.
const tries = 3

// past gets a part, unless it is known.
func (k *Keeper) past(ctx context.Context, of agency.Source, site gauge.Site, c chore) (outcome, error) {
	ask := c.ask
	c.ask = func(ctx context.Context, of agency.Source, r *gauge.Request, now time.Time) (gauge.Found, error) {
		for n := 1; ; n++ {
			found, err := ask(ctx, of, r, now)
			var e *fetch.Error
			if n == tries || !errors.As(err, &e) || e.Kind != fetch.Slow && e.Kind != fetch.Cut && e.Kind != fetch.Ailing {
				return found, err
			}
			sleep(ctx, fetch.Backoff(n, 5*time.Second, time.Minute, k.opt.Chance()))
		}
	}
	o, err := k.do(ctx, of, site, c)
	r := o.request
	var failed *fetch.Error
	switch {
	case ctx.Err() != nil:
		return o, fmt.Errorf("get the past of %s: %w", site, context.Cause(ctx))
	case errors.As(err, &failed):
		return o, &Later{r.Trouble, r.NextAt, err}
	case err != nil:
		return o, err
	case o.asked, r.Trouble == "" && r.NextAt.After(k.opt.Now()): // known
		return o, nil
	case r.Trouble != "":
		return o, &Later{Trouble: r.Trouble, At: o.next(k.opt.Every)}
	}
	return o, &Later{Trouble: "These readings are being fetched already", At: o.next(k.opt.Every)}
}
