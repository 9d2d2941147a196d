package agency

import (
	"context"
	"errors"
	"time"

	"rigtally/journal/gauge"
)

func (s ea) Provider() string { return gauge.EA }

func (s ea) Find(ctx context.Context, q Query) ([]gauge.Gauge, error) {
	return nil, errors.ErrUnsupported
}

func (s ea) Latest(ctx context.Context, site gauge.Site, r *gauge.Request) (gauge.Found, error) {
	return gauge.Found{}, errors.ErrUnsupported
}

func (s ea) Past(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	return gauge.Found{}, errors.ErrUnsupported
}

func (s ea) Daily(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	return gauge.Found{}, errors.ErrUnsupported
}

const eaAddress = "https://environment.data.gov.uk/hydrology"

// ea is the hydrology service of the Environment Agency.
type ea struct{ service }

func (ea) Title() string { return "the Environment Agency" }

func (ea) Credit() string {
	return "This uses Environment Agency data from the hydrology API, under the Open Government Licence 3.0."
}
