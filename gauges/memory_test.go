package gauges_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/journal/gauge"
)

// memory is a store for tests of when agencies are asked: it claims requests as the journal's does, and counts what it is
// given. What is kept and filled is tested with the real one.
type memory struct {
	mu       sync.Mutex
	used     []gauge.Site
	requests map[string]gauge.Request
	values   map[string]float64
	filled   []string
	unfilled error  // of FillDue, in one of the outfits
	broken   error  // of KeepReadings
	keeping  func() // called in it; may be nil
}

func newMemory(used ...gauge.Site) *memory {
	return &memory{used: used, requests: map[string]gauge.Request{}, values: map[string]float64{}}
}

func (m *memory) GaugesUsed(context.Context) ([]gauge.Site, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Clone(m.used), nil
}

func (m *memory) ClaimRequest(_ context.Context, site gauge.Site, what string, now time.Time, every time.Duration) (gauge.Request, bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	key := site.String() + " " + what
	r, ok := m.requests[key]
	if ok && (now.Sub(r.AskedAt) < every || now.Before(r.NextAt)) {
		return r, false, nil
	}
	r.Site, r.What, r.AskedAt = site, what, now
	m.requests[key] = r
	return r, true, nil
}

func (m *memory) SettleRequest(_ context.Context, r gauge.Request) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.requests[r.Site.String()+" "+r.What] = r
	return nil
}

func (m *memory) KeepReadings(ctx context.Context, found gauge.Found) (kept gauge.Kept, err error) {
	if m.keeping != nil {
		m.keeping()
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, s := range found.Series {
		for _, r := range s.Readings {
			key := fmt.Sprint(s.Site, s.Quantity, s.Statistic, r.At.Unix())
			switch v, ok := m.values[key]; {
			case !ok:
				kept.New++
			case v != r.Value:
				kept.Revised++
			default:
				kept.Same++
			}
			m.values[key] = r.Value
			kept.Add(gauge.Kept{From: r.At, To: r.At})
		}
	}
	return kept, errors.Join(ctx.Err(), m.broken)
}

func (m *memory) FillDue(_ context.Context, site gauge.Site, from, to time.Time) (int, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.filled = append(m.filled, fmt.Sprint(site, " ", from.UTC().Format("2006-01-02 15:04"), " to ", to.UTC().Format("2006-01-02 15:04")))
	return 1, m.unfilled
}

// actor is an agency that answers what a test has it answer, and notes when it was asked what.
type actor struct {
	provider string
	mu       sync.Mutex
	asked    []question
	hangs    bool
	answer   func(what string, site gauge.Site, now time.Time) (gauge.Found, error)
}

type question struct {
	what string
	site gauge.Site
	at   time.Time
}

func (a *actor) Provider() string { return a.provider }
func (a *actor) Title() string    { return "the Agency of " + a.provider }
func (a *actor) Credit() string   { return "Invented." }

func (a *actor) tell(what string, site gauge.Site) (gauge.Found, error) {
	a.mu.Lock()
	now := time.Now()
	a.asked = append(a.asked, question{what, site, now})
	a.mu.Unlock()
	time.Sleep(time.Second) // of the test's clock, which an answer takes
	if a.answer == nil {
		return one(site, now, float64(now.Unix())), nil
	}
	return a.answer(what, site, now)
}

func (a *actor) Latest(ctx context.Context, site gauge.Site, _ *gauge.Request) (gauge.Found, error) {
	if a.hangs {
		<-ctx.Done()
		return gauge.Found{}, fmt.Errorf("ask %s: %w", a.Title(), context.Cause(ctx)) // as fetch does
	}
	return a.tell("latest", site)
}

func (a *actor) Past(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	if err := ctx.Err(); err != nil {
		return gauge.Found{}, err
	}
	return a.tell(fmt.Sprintf("%s to %s", from.UTC().Format(time.DateOnly), to.UTC().Format(time.DateOnly)), site)
}

func (a *actor) Daily(_ context.Context, site gauge.Site, from, _ time.Time) (gauge.Found, error) {
	if from.IsZero() {
		return a.tell("years", site)
	}
	return a.tell("daily", site)
}

func (a *actor) Find(_ context.Context, q agency.Query) ([]gauge.Gauge, error) {
	_, err := a.tell("find "+q.Number+q.Name, gauge.NewSite(a.provider, q.Number))
	return []gauge.Gauge{{Site: gauge.Site{Provider: a.provider, Number: "1"}}}, err
}

// times are when something was asked about a site, since a moment.
func (a *actor) times(what string, site gauge.Site) []time.Time {
	a.mu.Lock()
	defer a.mu.Unlock()
	var list []time.Time
	for _, q := range a.asked {
		if (q.what == what || what == "past" && len(q.what) > 20) && q.site == site {
			list = append(list, q.at)
		}
	}
	return list
}

func one(site gauge.Site, at time.Time, v float64) gauge.Found {
	return gauge.Found{Series: []gauge.Series{{Site: site, Quantity: gauge.Flow, Readings: []gauge.Reading{{At: at, Value: v}}}}}
}

func trouble(a *actor, kind fetch.Kind, retry time.Time) error {
	return &fetch.Error{Service: a.Title(), Kind: kind, RetryAt: retry}
}
