package gauges

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/jellydator/ttlcache/v3"

	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// asked is a query to an agency, whose answer is remembered for a while.
type asked struct {
	provider, number, name string
	near                   agency.Place
	around                 bool
}

const (
	mostQueries = 500
	queryLasts  = 15 * time.Minute
)

// Trouble is an agency that could not be searched.
type Trouble struct {
	Provider string
	Words    string    // why, for people, without an end
	At       time.Time // when it may be searched again; zero where that isn't told
}

// Say is the trouble in a sentence, its time in the zone of now.
func (t Trouble) Say(now time.Time) string {
	switch {
	case t.At.IsZero():
		return strings.TrimSuffix(t.Words, ".") + "."
	case strings.HasSuffix(t.Words, " asks to wait"):
		return t.Words + " until " + fetch.Clock(t.At, now) + "."
	}
	return t.Words + "; try again at " + fetch.Clock(t.At, now) + "."
}

// Find looks for gauges at all agencies at once, or at the one whose number it is. What one of them does not know or can't answer
// leaves what others do.
func (k *Keeper) Find(ctx context.Context, q agency.Query) ([]gauge.Gauge, []Trouble) {
	if k == nil {
		return nil, []Trouble{{Words: "Gauges are not asked: the setting gauges is off"}}
	}
	sources := slices.DeleteFunc(slices.Clone(k.sources), func(of agency.Source) bool { return q.Provider != "" && of.Provider() != q.Provider })
	lists, errs := make([][]gauge.Gauge, len(sources)), make([]error, len(sources))
	var all sync.WaitGroup
	for i, of := range sources {
		all.Go(func() { lists[i], errs[i] = k.findAt(ctx, of, q) })
	}
	all.Wait()
	var found []gauge.Gauge
	var troubles []Trouble
	understood := 0
	for i, of := range sources {
		found = append(found, lists[i]...)
		understood++
		var e *fetch.Error
		var later *Later
		var invalid *journal.Invalid
		switch err := errs[i]; {
		case err == nil:
		case errors.As(err, &invalid): // as a number that no gauge of this agency can have
			understood--
		case errors.As(err, &later):
			troubles = append(troubles, Trouble{of.Provider(), later.Trouble, later.At})
		case errors.As(err, &e):
			troubles = append(troubles, Trouble{of.Provider(), e.Error(), e.RetryAt})
		default:
			troubles = append(troubles, Trouble{Provider: of.Provider(), Words: "The search was given up"})
			k.opt.Log.Info("gauges were not searched", "provider", of.Provider(), "error", err)
		}
	}
	if understood == 0 && q.Number != "" {
		troubles = append(troubles, Trouble{Words: fmt.Sprintf("No agency that is asked has gauges with a number like %q", q.Number)})
	} else if understood == 0 {
		troubles = append(troubles, Trouble{Words: "Write the number of a gauge, words of its name, or a place"})
	}
	return found, troubles
}

func (k *Keeper) findAt(ctx context.Context, of agency.Source, q agency.Query) (list []gauge.Gauge, err error) {
	defer caught(of, "its gauges", &err)
	key := asked{provider: of.Provider(), number: strings.TrimSpace(q.Number), name: strings.ToLower(strings.TrimSpace(q.Name))}
	if q.Near != nil {
		key.near, key.around = *agency.Near(q.Near.Latitude, q.Near.Longitude), true
	}
	if known := k.found.Get(key); known != nil {
		return known.Value(), nil
	}
	if p, ok := k.waits(of.Provider()); ok {
		return nil, &Later{Trouble: p.why, At: p.until}
	}
	q.Number, q.Name = key.number, strings.TrimSpace(q.Name)
	list, err = of.Find(ctx, q)
	if err != nil {
		var e *fetch.Error
		if errors.As(err, &e) && (e.Kind == fetch.Wait || e.Kind == fetch.Busy) {
			until := e.RetryAt
			if until.IsZero() {
				until = k.opt.Now().Add(fetch.Backoff(1, k.opt.Every, longestWait, k.opt.Chance()))
			}
			k.wait(of.Provider(), e.Error(), until)
		}
		return nil, err
	}
	k.found.Set(key, list, ttlcache.DefaultTTL)
	return list, nil
}
