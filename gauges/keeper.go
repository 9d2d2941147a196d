// Package gauges keeps what river gauges measured up to date: it asks their agencies, no more often than is fit, and has the
// journal keep what they answer.
package gauges

import (
	"context"
	"errors"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"sync"
	"time"

	"github.com/jellydator/ttlcache/v3"

	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// Every is how often a gauge is asked about at most, by all processes and outfits together.
const Every = 15 * time.Minute

// ErrOff says that no agency is asked.
var ErrOff = errors.New("gauges are not asked: the setting gauges is off")

// Store keeps readings for all outfits; *pg.Store is one.
type Store interface {
	KeepReadings(ctx context.Context, found gauge.Found) (gauge.Kept, error)
	GaugesUsed(ctx context.Context) ([]gauge.Site, error)
	// ClaimRequest takes the right to ask about something, unless somebody did within a time or it is to be left alone.
	ClaimRequest(ctx context.Context, site gauge.Site, what string, now time.Time, every time.Duration) (gauge.Request, bool, error)
	SettleRequest(ctx context.Context, r gauge.Request) error
	// FillDue goes on where it fails in one outfit; the error tells of all.
	FillDue(ctx context.Context, site gauge.Site, from, to time.Time) (sessions int, err error)
}

// Options are what a Keeper may be told; the zero value is ready to use.
type Options struct {
	Now    func() time.Time // the clock; nil is time.Now
	Chance func() float64   // from 0 to 1, to spread questions by; nil is math/rand
	Every  time.Duration    // between questions about one gauge; 0 is Every
	Log    *slog.Logger     // nil discards
}

// Keeper asks agencies. A nil one asks nobody: its methods answer ErrOff, or nothing. It is safe for use by several at once.
type Keeper struct {
	store   Store
	sources []agency.Source
	opt     Options

	mu       sync.Mutex
	paused   map[string]pause          // by provider
	unfilled map[gauge.Site]gauge.Span // readings that sessions could not be filled from
	found    *ttlcache.Cache[asked, []gauge.Gauge]
}

// pause is a time in which a provider is left alone, and why.
type pause struct {
	until time.Time
	why   string
}

// New makes a keeper of readings.
func New(store Store, sources []agency.Source, opt Options) *Keeper {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	if opt.Chance == nil {
		opt.Chance = rand.Float64
	}
	if opt.Every == 0 {
		opt.Every = Every
	}
	if opt.Log == nil {
		opt.Log = slog.New(slog.DiscardHandler)
	}
	return &Keeper{store: store, sources: sources, opt: opt, paused: map[string]pause{}, unfilled: map[gauge.Site]gauge.Span{},
		found: ttlcache.New(ttlcache.WithCapacity[asked, []gauge.Gauge](mostQueries), ttlcache.WithTTL[asked, []gauge.Gauge](queryLasts), ttlcache.WithDisableTouchOnHit[asked, []gauge.Gauge]())}
}

// Sources are the agencies that are asked.
func (k *Keeper) Sources() []agency.Source {
	if k == nil {
		return nil
	}
	return k.sources
}

// source is the agency that a site is of.
func (k *Keeper) source(site gauge.Site) (agency.Source, error) {
	for _, s := range k.sources {
		if s.Provider() == site.Provider {
			return s, nil
		}
	}
	return nil, journal.Invalidf("Nobody is asked about gauges of %q; bring their readings in from a file", site.Provider)
}

// wait leaves a provider alone for a time.
func (k *Keeper) wait(provider, why string, until time.Time) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if until.After(k.paused[provider].until) {
		k.paused[provider] = pause{until, why}
	}
}

// waits tells whether a provider is left alone.
func (k *Keeper) waits(provider string) (pause, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	p := k.paused[provider]
	return p, p.until.After(k.opt.Now())
}

// The least and the most that a question waits after failures.
const longestWait = 6 * time.Hour

// soon is how long a provider is left alone that can't be reached at all, so that not each of its gauges waits for it in turn.
const soon = time.Minute

// failed notes in a request that it failed, and says when it may be asked again.
func (k *Keeper) failed(r *gauge.Request, err error) {
	now := k.opt.Now()
	r.Failures++
	r.Trouble, r.ETag, r.LastModified = err.Error(), "", ""
	r.NextAt = now.Add(fetch.Backoff(r.Failures, k.opt.Every, longestWait, k.opt.Chance()))
	var e *fetch.Error
	if !errors.As(err, &e) {
		return
	}
	r.Trouble = e.Error()
	if e.RetryAt.After(now) {
		r.NextAt = e.RetryAt
	}
	switch e.Kind {
	case fetch.Wait, fetch.Busy:
		k.wait(r.Provider, r.Trouble, r.NextAt)
	case fetch.BadKey, fetch.Refused:
		if e.Status == http.StatusUnauthorized || e.Status == http.StatusForbidden { // us, and not the question
			k.wait(r.Provider, r.Trouble, r.NextAt)
		}
	case fetch.Offline, fetch.Ailing, fetch.Untrusted:
		k.wait(r.Provider, r.Trouble, now.Add(soon))
	}
}
