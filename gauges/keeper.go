// Package gauges keeps what river gauges measured up to date: it asks their agencies, as seldom as will do, and has the
// journal keep what they answer.
package gauges

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"rigtally/gauges/agency"
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
	// ClaimRequest takes the right to ask about something, unless somebody did within a time, or must wait.
	ClaimRequest(ctx context.Context, site gauge.Site, what string, now time.Time, every time.Duration) (gauge.Request, bool, error)
	SettleRequest(ctx context.Context, r gauge.Request) error
	FillDue(ctx context.Context, site gauge.Site, from, to time.Time) (sessions int, err error)
}

// Options are what a Keeper may be told; the zero value is ready to use.
type Options struct {
	Now    func() time.Time // the clock; nil is time.Now
	Chance func() float64   // from 0 to 1, to spread questions by; nil is math/rand
	Every  time.Duration    // between questions about one gauge; 0 is Every
	Log    *slog.Logger     // nil discards
}

// Keeper asks agencies. A nil one asks nobody: its methods answer ErrOff, or nothing.
type Keeper struct {
	store   Store
	sources []agency.Source
	opt     Options
}

// New makes a keeper of readings.
func New(store Store, sources []agency.Source, opt Options) *Keeper {
	return &Keeper{store: store, sources: sources, opt: opt}
}

// Sources are the agencies that are asked.
func (k *Keeper) Sources() []agency.Source {
	if k == nil {
		return nil
	}
	return k.sources
}

// Update is what came of looking at a gauge now.
type Update struct {
	Asked    bool       // its agency; else somebody did just before, or it asked to wait
	Kept     gauge.Kept // of its readings
	Sessions int        // that were filled from them
	Next     time.Time  // before which its agency isn't asked again
	Trouble  string     // in words, "" for none
}

// Trouble is an agency that could not be searched, and why in a sentence.
type Trouble struct {
	Provider string
	Words    string
}

// Run keeps the gauges that waters are linked to up to date until ctx ends.
func (k *Keeper) Run(ctx context.Context) {
	if k == nil {
		return
	}
	<-ctx.Done()
}

// Update asks about one gauge at once, unless that was done within the last quarter of an hour.
func (k *Keeper) Update(ctx context.Context, site gauge.Site) (Update, error) {
	return Update{}, ErrOff
}

// FetchPast asks for the readings of a gauge from one time up to another, and for its daily means of all years. Progress, if not
// nil, is told after each part. What was cut short goes on where it was when it is called again.
func (k *Keeper) FetchPast(ctx context.Context, site gauge.Site, from, to time.Time, progress func(done, of int)) error {
	return ErrOff
}

// Find looks for gauges at all agencies at once.
func (k *Keeper) Find(ctx context.Context, q agency.Query) ([]gauge.Gauge, []Trouble) {
	if k == nil {
		return nil, []Trouble{{Words: ErrOff.Error() + "."}}
	}
	return nil, nil
}
