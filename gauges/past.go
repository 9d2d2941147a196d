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

const (
	// shortGap is no longer than it is worth to ask twice: four weeks of readings take less than another question.
	shortGap = 28 * 24 * time.Hour
	// longestPart is how long a time is asked for at once; that of a longer one is cut where quarters of a year begin.
	longestPart = 92 * 24 * time.Hour
)

// part is some whole days in UTC, from the first up to the one after the last.
type part gauge.Span

func (p part) what() string {
	return "past " + p.From.Format(time.DateOnly) + " to " + p.To.AddDate(0, 0, -1).Format(time.DateOnly)
}

// parts are those that some times are asked for in, the last one first: what was fished lately is filled first. A long time has the same
// ones from one day to the next, but for its ends.
func parts(times []gauge.Span) (list []part) {
	var days []gauge.Span
	for _, t := range times {
		to := t.To.UTC().Truncate(24 * time.Hour)
		if to.Before(t.To) {
			to = to.AddDate(0, 0, 1)
		}
		if from := t.From.UTC().Truncate(24 * time.Hour); from.Before(to) {
			days = append(days, gauge.Span{From: from, To: to})
		}
	}
	for _, t := range gauge.Join(days, shortGap) {
		for t.To.Sub(t.From) > longestPart {
			next := time.Date(t.From.Year(), (t.From.Month()-1)/3*3+4, 1, 0, 0, 0, 0, time.UTC)
			list = append(list, part{t.From, next})
			t.From = next
		}
		list = append(list, part(t))
	}
	slices.Reverse(list)
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
	Unfilled error      // why not all sessions were that could be; nil where they were
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

// Fetch asks for the readings of a gauge of some times, in parts from the last, and for its daily means of all years. What lies between two
// times is asked for too where it is short. Progress, if not nil, is told before the first part and after each. What was cut short goes on
// where it was when it is called again. What can't be asked now is a *Later.
func (k *Keeper) Fetch(ctx context.Context, site gauge.Site, times []gauge.Span, progress func(done, of int)) (f Fetched, err error) {
	if k == nil {
		return f, ErrOff
	}
	of, err := k.source(site)
	if err != nil {
		return f, err
	}
	now := k.opt.Now()
	var whole gauge.Span
	var past []gauge.Span // without what is to come
	for _, t := range times {
		if t.To.After(now) {
			t.To = now
		}
		if t.From.Before(t.To) {
			past, whole = append(past, t), whole.With(t)
		}
	}
	list := []chore{years}
	for _, p := range parts(past) {
		again := longKnown
		if now.Sub(p.To) < recently {
			again = stillRevised
		}
		list = append(list, chore{what: p.what(), again: again, ask: func(ctx context.Context, of agency.Source, r *gauge.Request, now time.Time) (gauge.Found, error) {
			end := p.To
			if end.After(now) {
				end = now
			}
			return of.Past(ctx, r.Site, p.From, end)
		}})
	}
	for done, c := range list {
		if progress != nil {
			progress(done, len(list))
		}
		o, err := k.past(ctx, of, site, c)
		f.Kept.Add(o.kept)
		f.Sessions += o.sessions
		f.Unfilled = o.unfilled // which each part tries again
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
	sessions, err := k.fill(ctx, site, whole)
	if f.Sessions, f.Unfilled = f.Sessions+sessions, err; err != nil && ctx.Err() != nil {
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
