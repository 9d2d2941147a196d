package agency

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"time"

	"rigtally/gauges/read"
	"rigtally/journal/gauge"
)

const usgsAddress = "https://api.waterdata.usgs.gov/ogcapi/v0"

// usgs is the Water Data service of the U.S. Geological Survey, an OGC API of features.
type usgs struct{ service }

func (usgs) Provider() string { return gauge.USGS }

func (usgs) Title() string { return "the U.S. Geological Survey" }

func (usgs) Credit() string {
	return "Readings: U.S. Geological Survey. Recent ones are provisional and may be revised."
}

var usgsNumber = regexp.MustCompile(`^[0-9]{8,15}$`)

// What is asked for of all that a site measures, as a filter that the service applies: flow, stage and water temperature.
const usgsMeasures = "parameter_code IN ('00060','00065','00010')"

const (
	usgsLongest = 3*365*24*time.Hour - 24*time.Hour // of one question about readings
	usgsPage    = "50000"                           // features, the most that it gives at once
)

func (s usgs) id(site gauge.Site) (string, error) {
	n, err := number(site, usgsNumber, "01234567")
	return "USGS-" + n, err
}

func (s usgs) collection(name string, pairs ...string) *url.URL {
	return s.at([]string{"collections", name, "items"}, append([]string{"f", "json"}, pairs...)...)
}

// Latest asks for all quantities by one question, whose words stay the same, so that the service can say that nothing is new.
func (s usgs) Latest(ctx context.Context, site gauge.Site, r *gauge.Request) (gauge.Found, error) {
	id, err := s.id(site)
	if err != nil {
		return gauge.Found{}, err
	}
	return s.readings(ctx, s.collection("continuous", "monitoring_location_id", id, "time", fmt.Sprintf("P%dD", Lately/(24*time.Hour)),
		"filter", usgsMeasures, "skipGeometry", "true", "limit", usgsPage), site, r)
}

func (s usgs) Past(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	id, err := s.id(site)
	if err != nil {
		return gauge.Found{}, err
	}
	return each(spans(from, to, usgsLongest), func(from, to time.Time) (gauge.Found, error) {
		return s.readings(ctx, s.collection("continuous", "monitoring_location_id", id, "time", moment(from)+"/"+moment(to),
			"filter", usgsMeasures, "skipGeometry", "true", "limit", usgsPage), site, nil)
	})
}

func moment(t time.Time) string { return t.UTC().Format(time.RFC3339) }

func (s usgs) Daily(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	id, err := s.id(site)
	if err != nil {
		return gauge.Found{}, err
	}
	begin := ".."
	if !from.IsZero() {
		begin = day(from)
	}
	return s.readings(ctx, s.collection("daily", "monitoring_location_id", id, "time", begin+"/"+day(to),
		"parameter_code", "00060", "statistic_id", "00003", "skipGeometry", "true", "limit", usgsPage), site, nil)
}

// Find looks among sites that have measured something within a year. One that is asked for by its number is found all the same.
func (s usgs) Find(ctx context.Context, q Query) ([]gauge.Gauge, error) {
	switch {
	case q.Number != "":
		id, err := s.id(gauge.Site{Provider: gauge.USGS, Number: strings.TrimPrefix(strings.ToUpper(q.Number), "USGS-")})
		if err != nil {
			return nil, err
		}
		list, err := s.locations(ctx, "id", id)
		if err != nil || len(list) == 0 {
			return nil, err
		}
		return s.measured(ctx, list, true)
	case len(words(q.Name)) > 0:
		list, err := s.locations(ctx, "filter", nameFilter(words(q.Name)))
		if err != nil || len(list) == 0 {
			return nil, err
		}
		return s.measured(ctx, list, false)
	case q.Near != nil:
		place := rounded(*q.Near)
		active, err := s.active(ctx, "bbox", box(place), "filter", usgsMeasures)
		if err != nil || len(active) == 0 {
			return nil, err
		}
		var ids []string
		for site := range active {
			ids = append(ids, "USGS-"+site.Number)
		}
		slices.Sort(ids)
		list, err := s.locations(ctx, "id", strings.Join(ids[:min(len(ids), mostFound)], ","))
		list = measuring(list, active)
		nearest(list, place)
		return list, err
	}
	return nil, nothing()
}

// nameFilter finds names that have every word. The service tells large letters from small ones, and its names are in large ones,
// or each word begins with one.
func nameFilter(list []string) string {
	parts := []string{"site_type_code IN ('ST','ST-CA','ST-DCH','ST-TS','SP','LK')"}
	for _, word := range list {
		large := strings.ToUpper(word)
		parts = append(parts, fmt.Sprintf("(monitoring_location_name LIKE '%%%s%%' OR monitoring_location_name LIKE '%%%s%%')",
			large, large[:1]+strings.ToLower(large[1:])))
	}
	return strings.Join(parts, " AND ")
}

// locations are sites as the service describes them, of its own alone: it also numbers those of others.
func (s usgs) locations(ctx context.Context, pairs ...string) ([]gauge.Gauge, error) {
	list, err := s.gauges(ctx, s.collection("monitoring-locations", append(pairs, "limit", fmt.Sprint(mostFound))...))
	return slices.DeleteFunc(list, func(g gauge.Gauge) bool { return !usgsNumber.MatchString(g.Number) }), err
}

// active are sites that measured something within the last year, with what.
func (s usgs) active(ctx context.Context, pairs ...string) (map[gauge.Site][]gauge.Quantity, error) {
	answer, err := s.ask(ctx, s.collection("latest-continuous", append(pairs, "skipGeometry", "true", "limit", "5000")...), nil)
	if err != nil {
		return nil, err
	}
	page, err := read.OGC(bytes.NewReader(answer.Body), read.Options{Now: s.now()})
	if err != nil {
		return nil, s.unreadable(err)
	}
	year := s.now().AddDate(-1, 0, 0)
	active := map[gauge.Site][]gauge.Quantity{}
	for _, series := range page.Series {
		n := len(series.Readings)
		if n > 0 && series.Readings[n-1].At.After(year) && usgsNumber.MatchString(series.Number) && !slices.Contains(active[series.Site], series.Quantity) {
			active[series.Site] = append(active[series.Site], series.Quantity)
		}
	}
	return active, nil
}

// measured adds to gauges what they measure, and leaves those out that measure nothing unless all are asked for.
func (s usgs) measured(ctx context.Context, list []gauge.Gauge, all bool) ([]gauge.Gauge, error) {
	var ids []string
	for _, g := range list {
		ids = append(ids, "'USGS-"+g.Number+"'")
	}
	active, err := s.active(ctx, "filter", "monitoring_location_id IN ("+strings.Join(ids, ",")+") AND "+usgsMeasures)
	if err != nil {
		return nil, err
	}
	if found := measuring(slices.Clone(list), active); len(found) > 0 || !all {
		return found, nil
	}
	return list, nil
}

func measuring(list []gauge.Gauge, active map[gauge.Site][]gauge.Quantity) []gauge.Gauge {
	var kept []gauge.Gauge
	for _, g := range list {
		if measures := active[g.Site]; len(measures) > 0 {
			g.Measures = inOrder(measures)
			kept = append(kept, g)
		}
	}
	return kept
}

// inOrder are quantities as they are listed everywhere.
func inOrder(list []gauge.Quantity) []gauge.Quantity {
	return slices.DeleteFunc(gauge.Quantities(), func(q gauge.Quantity) bool { return !slices.Contains(list, q) })
}
