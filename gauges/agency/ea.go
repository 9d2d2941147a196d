package agency

import (
	"context"
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

const eaAddress = "https://environment.data.gov.uk/hydrology"

// ea is the Environment Agency: its hydrology service, an archive, and for the last hours its flood monitoring.
type ea struct {
	service
	names *liveNames
}

func (ea) Provider() string { return gauge.EA }

func (ea) Title() string { return "the Environment Agency" }

func (ea) Credit() string {
	return "This uses Environment Agency data from the hydrology API, and flood and river level data from the real-time data API (Beta), under the Open Government Licence 3.0."
}

// eaNumber is how the service names stations: by a GUID, which may have something after it, or by a code of letters and digits.
var eaNumber = regexp.MustCompile(`^[0-9A-Za-z][0-9A-Za-z_-]{2,63}$`)

const (
	eaLikeGUID = "3c9d1f5e-0b1a-4c55-9f0e-0a1b2c3d4e5f"
	eaLongest  = 45 * 24 * time.Hour // of one question about readings, which is of all that the station measures
	eaMost     = "100000"            // readings of one answer
)

// Latest are live readings, of a station that flood monitoring does not have the latest of the archive.
func (s ea) Latest(ctx context.Context, site gauge.Site, r *gauge.Request) (gauge.Found, error) {
	id, err := number(site, eaNumber, eaLikeGUID)
	if err != nil {
		return gauge.Found{}, err
	}
	if r == nil {
		r = &gauge.Request{}
	}
	if found, ok, err := s.live(ctx, site, r); ok || err != nil {
		return found, err
	}
	found, err := s.readings(ctx, s.at([]string{"data", "readings.json"}, "station", id, "mineq-date", day(s.now().Add(-Lately)), "_limit", eaMost), site, r)
	return instants(found), err
}

func (s ea) Past(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	id, err := number(site, eaNumber, eaLikeGUID)
	if err != nil {
		return gauge.Found{}, err
	}
	found, err := each(spans(from, to, eaLongest), func(from, to time.Time) (gauge.Found, error) {
		return s.readings(ctx, s.at([]string{"data", "readings.json"}, "station", id, "mineq-date", day(from), "maxeq-date", day(to), "_limit", eaMost), site, nil)
	})
	return within(instants(found), from, to), err
}

// Daily asks for the one series of daily means of flow, by the name that the service makes of a station's. A station without
// one is not an error.
func (s ea) Daily(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	id, err := number(site, eaNumber, eaLikeGUID)
	if err != nil {
		return gauge.Found{}, err
	}
	pairs := []string{"maxeq-date", day(to), "_limit", eaMost}
	if !from.IsZero() {
		pairs = append(pairs, "mineq-date", day(from))
	}
	found, err := s.readings(ctx, s.at([]string{"id", "measures", id + "-flow-m-86400-m3s-qualified", "readings.json"}, pairs...), site, nil)
	if isUnknown(err) {
		return gauge.Found{Notes: []string{"The Environment Agency has no daily means of flow of this gauge."}}, nil
	}
	return found, err
}

// Find looks for a station by the service's own name for it, else by its WISKI number or its station reference, which signs and
// reports have.
func (s ea) Find(ctx context.Context, q Query) ([]gauge.Gauge, error) {
	stations := []string{"id", "stations.json"}
	switch {
	case q.Number != "":
		if !eaNumber.MatchString(q.Number) {
			return nil, journal.Invalidf("%q is not the number of a gauge of the Environment Agency; such numbers look like %s, or 1234TH", q.Number, eaLikeGUID)
		}
		if len(q.Number) >= 36 {
			list, err := s.stations(ctx, s.at([]string{"id", "stations", q.Number + ".json"}))
			if isUnknown(err) {
				return nil, nil
			}
			return list, err
		}
		for _, by := range []string{"wiskiID", "stationReference", "notation"} {
			if list, err := s.stations(ctx, s.at(stations, by, q.Number, "_limit", fmt.Sprint(mostFound))); err != nil || len(list) > 0 {
				return list, err
			}
		}
		return nil, nil
	case len(words(q.Name)) > 0:
		return s.stations(ctx, s.at(stations, "search", strings.Join(words(q.Name), " "), "_limit", fmt.Sprint(mostFound)))
	case q.Near != nil:
		place := rounded(*q.Near)
		list, err := s.stations(ctx, s.at(stations, "lat", fmt.Sprintf("%.1f", place.Latitude), "long", fmt.Sprintf("%.1f", place.Longitude),
			"dist", fmt.Sprintf("%.0f", Around*111), "_limit", fmt.Sprint(mostFound)))
		nearest(list, place)
		return list, err
	}
	return nil, nothing()
}

// stations are those of an answer that measure something which is kept.
func (s ea) stations(ctx context.Context, at *url.URL) ([]gauge.Gauge, error) {
	list, err := s.gauges(ctx, at)
	return slices.DeleteFunc(list, func(g gauge.Gauge) bool { return len(g.Measures) == 0 || !eaNumber.MatchString(g.Number) }), err
}
