package pg

import (
	"context"
	"encoding/json"
	"time"

	"rigtally/journal/gauge"
)

// links are those of a water, in one column.
type links []gauge.Link

// UnmarshalJSON reads no links as none.
func (l *links) UnmarshalJSON(b []byte) error {
	var list []gauge.Link
	if err := json.Unmarshal(b, &list); err != nil {
		return err
	}
	if *l = list; len(list) == 0 {
		*l = nil
	}
	return nil
}

// KeepReadings stores readings for all outfits, in one transaction.
func (s *Store) KeepReadings(ctx context.Context, found gauge.Found) (gauge.Kept, error) {
	return gauge.Kept{}, errNotBuilt
}

// KeepOwnReadings stores readings for this outfit alone.
func (s *Store) KeepOwnReadings(ctx context.Context, found gauge.Found) (gauge.Kept, error) {
	return gauge.Kept{}, errNotBuilt
}

// Readings are those of a site from one time to another, both counted, of all quantities and sensors: what is common to
// all before the outfit's own.
func (s *Store) Readings(ctx context.Context, site gauge.Site, from, to time.Time) ([]gauge.Series, error) {
	return nil, errNotBuilt
}

// Usual is the usual flow of a site, by the years before the given time's.
func (s *Store) Usual(ctx context.Context, site gauge.Site, before time.Time) (gauge.Usual, error) {
	return gauge.Usual{}, errNotBuilt
}

// Gauges tells what is stored of sites; without any, of those that waters are linked to.
func (s *Store) Gauges(ctx context.Context, sites ...gauge.Site) ([]gauge.State, error) {
	return nil, errNotBuilt
}

// GaugesUsed lists the sites that waters of any outfit are linked to.
func (s *Store) GaugesUsed(ctx context.Context) ([]gauge.Site, error) { return nil, errNotBuilt }

// ClaimRequest takes the right to ask a site's provider about something, which one caller at a time has: not ok within some
// time since anybody asked, or before the request's NextAt.
func (s *Store) ClaimRequest(ctx context.Context, site gauge.Site, what string, now time.Time, every time.Duration) (gauge.Request, bool, error) {
	return gauge.Request{}, false, errNotBuilt
}

// SettleRequest keeps what came of a request.
func (s *Store) SettleRequest(ctx context.Context, r gauge.Request) error { return errNotBuilt }
