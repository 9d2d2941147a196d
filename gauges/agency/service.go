package agency

import (
	"net/url"
	"time"

	"rigtally/gauges/fetch"
)

// service is what all sources have in common.
type service struct {
	client *fetch.Client
	now    func() time.Time
	base   *url.URL
}
