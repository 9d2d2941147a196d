package agency

import (
	"context"
	"errors"
	"time"

	"rigtally/gauges/fetch"
	"rigtally/journal/gauge"
)

func (s usgs) Provider() string { return gauge.USGS }

func (s usgs) Find(ctx context.Context, q Query) ([]gauge.Gauge, error) {
	return nil, errors.ErrUnsupported
}

func (s usgs) Latest(ctx context.Context, site gauge.Site, r *gauge.Request) (gauge.Found, error) {
	return gauge.Found{}, errors.ErrUnsupported
}

func (s usgs) Past(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	return gauge.Found{}, errors.ErrUnsupported
}

func (s usgs) Daily(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	return gauge.Found{}, errors.ErrUnsupported
}

const usgsAddress = "https://api.waterdata.usgs.gov/ogcapi/v0"

// usgs is the Water Data service of the U.S. Geological Survey.
type usgs struct {
	service
	key fetch.Key
}

func (usgs) Title() string { return "the U.S. Geological Survey" }

func (usgs) Credit() string {
	return "Readings: U.S. Geological Survey. Recent ones are provisional and may be revised."
}
