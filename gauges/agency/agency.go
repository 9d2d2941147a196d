// Package agency asks the services that publish what river gauges measure. It tells them the number of a site, or a place
// rounded to a tenth of a degree, or words of a name to find one by, and nothing else.
package agency

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/url"
	"time"

	"rigtally/gauges/fetch"
	"rigtally/journal/gauge"
)

// Source is a service that publishes readings. Where the service or the way to it failed, its errors are *fetch.Error; what
// people did wrong is an error of the journal's.
type Source interface {
	Provider() string // as in gauge.Site
	Title() string    // who runs it, as in a sentence: "the U.S. Geological Survey"
	Credit() string   // what is said beside its readings, as a sentence
	Find(ctx context.Context, q Query) ([]gauge.Gauge, error)

	// Latest are the readings of the last days. It takes from the request by what the last answer is known, and leaves
	// there by what this one is; where there is nothing new, Found is empty.
	Latest(ctx context.Context, site gauge.Site, r *gauge.Request) (gauge.Found, error)
	// Past are the readings from one time up to another.
	Past(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error)
	// Daily are the daily means of flow from one calendar day to another, that one too. A zero from is their beginning.
	Daily(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error)
}

// Query says which gauges are looked for: the one with a number, else those whose name has every word, else those near a place.
type Query struct {
	Number   string
	Provider string // whose number it is, where that is known: nobody else is asked
	Name     string
	Near     *Place
}

// Place is somewhere on the map, no more exactly than to a tenth of a degree (11 km from north to south).
type Place struct{ Latitude, Longitude float64 }

// Near is what services are told of a place.
func Near(latitude, longitude float64) *Place {
	return &Place{math.Round(latitude*10) / 10, math.Round(longitude*10) / 10}
}

// Around is how far around a place gauges are looked for, in degrees to each side.
const Around = 0.3

// mostFound is how many gauges one query finds.
const mostFound = 100

// Lately is how far back Latest goes, so that values which were revised within the hour or the day are read again.
const Lately = 3 * 24 * time.Hour

// Settings say how services are asked.
type Settings struct {
	Client *fetch.Client
	Now    func() time.Time // the clock; nil is time.Now
	Key    string           // for the U.S. Geological Survey; "" for none

	// Addresses other than the usual ones, without a slash at their end; "" for the usual one.
	USGS, EA, Hubeau string
}

// Sources are those that rigtally knows.
func Sources(s Settings) ([]Source, error) {
	if s.Now == nil {
		s.Now = time.Now
	}
	var list []Source
	for _, one := range []struct {
		address, usual, title string
		key                   fetch.Key
		of                    func(service) Source
	}{
		{s.USGS, usgsAddress, usgs{}.Title(), fetch.Key{Name: "X-Api-Key", Value: s.Key}, func(at service) Source { return usgs{at} }},
		{s.EA, eaAddress, ea{}.Title(), fetch.Key{}, func(at service) Source { return ea{at, &liveNames{of: map[string]liveName{}}} }},
		{s.Hubeau, hubeauAddress, hubeau{}.Title(), fetch.Key{}, func(at service) Source { return hubeau{at} }},
	} {
		base, err := url.Parse(cmp.Or(one.address, one.usual))
		if err != nil || base.Host == "" {
			return nil, fmt.Errorf("%q is no address of a service; write it as %s", one.address, one.usual)
		}
		list = append(list, one.of(service{s.Client, s.Now, base, one.title, one.key}))
	}
	return list, nil
}
