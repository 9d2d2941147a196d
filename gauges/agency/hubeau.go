package agency

import (
	"context"
	"errors"
	"time"

	"rigtally/journal/gauge"
)

func (s hubeau) Provider() string { return gauge.Hubeau }

func (s hubeau) Find(ctx context.Context, q Query) ([]gauge.Gauge, error) {
	return nil, errors.ErrUnsupported
}

func (s hubeau) Latest(ctx context.Context, site gauge.Site, r *gauge.Request) (gauge.Found, error) {
	return gauge.Found{}, errors.ErrUnsupported
}

func (s hubeau) Past(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	return gauge.Found{}, errors.ErrUnsupported
}

func (s hubeau) Daily(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	return gauge.Found{}, errors.ErrUnsupported
}

const hubeauAddress = "https://hubeau.eaufrance.fr/api/v2/hydrometrie"

// hubeau is Hub'Eau, which publishes what the gauges of France measure.
type hubeau struct{ service }

func (hubeau) Title() string { return "Hub'Eau" }

func (hubeau) Credit() string {
	return "Readings: Hub'Eau, from the French hydrometric network, under the Licence Ouverte 2.0."
}
