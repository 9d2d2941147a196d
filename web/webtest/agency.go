package webtest

import (
	"context"
	"math"
	"sync"
	"time"

	"rigtally/gauges"
	"rigtally/gauges/agency"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
	"rigtally/web"
)

// GaugedAt is when a journal of Gauged is looked at.
var GaugedAt = time.Date(2026, time.June, 20, 18, 0, 0, 0, time.UTC)

// Agency is one with gauges that are invented, under the name of a real one so that its readings are asked for.
type Agency struct {
	Fails error         // what it answers; nil: readings
	Hold  chan struct{} // older readings come once it is closed; nil: at once

	mu    sync.Mutex
	asked []agency.Query
}

// Provider is that of a real one.
func (*Agency) Provider() string { return gauge.USGS }

// Title names it.
func (*Agency) Title() string { return "the invented agency" }

// Credit is said beside its readings.
func (*Agency) Credit() string { return "Readings: the invented agency." }

// Mill is one of its gauges.
func Mill() gauge.Gauge {
	return gauge.Gauge{Site: gauge.NewSite(gauge.USGS, "09000001"), Name: "Alder Brook at the invented mill", Zone: "UTC", Latitude: new(39.75), Longitude: new(-105.25), Measures: []gauge.Quantity{gauge.Flow, gauge.Temperature}}
}

// Asked is what it was asked to find.
func (a *Agency) Asked() []agency.Query {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.asked
}

// Find knows two gauges: of a number the first, else both.
func (a *Agency) Find(_ context.Context, q agency.Query) ([]gauge.Gauge, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.asked = append(a.asked, q)
	if a.Fails != nil {
		return nil, a.Fails
	}
	if q.Number != "" && q.Number != "09000001" || q.Name == "nothing" {
		return nil, nil
	}
	far := Mill()
	far.Number, far.Name, far.Latitude = "09000002", "Alder Brook at the invented ford", new(40.0)
	return []gauge.Gauge{far, Mill()}[map[bool]int{true: 1}[q.Number != ""]:], nil
}

// Latest are the readings of three days.
func (a *Agency) Latest(_ context.Context, site gauge.Site, _ *gauge.Request) (gauge.Found, error) {
	if a.Fails != nil {
		return gauge.Found{}, a.Fails
	}
	return read(site, GaugedAt.Add(-72*time.Hour), GaugedAt.Add(-time.Hour)), nil
}

// Past are readings of every hour, and a note.
func (a *Agency) Past(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	if a.Hold != nil {
		select {
		case <-a.Hold:
		case <-ctx.Done():
			return gauge.Found{}, ctx.Err()
		}
	}
	found := read(site, from, to)
	found.Notes = []string{"The invented agency has no stage."}
	return found, nil
}

// Daily are flows that grow by 1 m³/s a year, from 2 m³/s in 2010.
func (a *Agency) Daily(_ context.Context, site gauge.Site, _, to time.Time) (gauge.Found, error) {
	s := gauge.Series{Site: site, Quantity: gauge.Flow, Statistic: gauge.DailyMean}
	for day := time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC); day.Before(to); day = day.AddDate(0, 0, 1) {
		s.Readings = append(s.Readings, gauge.Reading{At: day, Value: float64(day.Year() - 2008)})
	}
	return gauge.Found{Series: []gauge.Series{s}}, nil
}

// read are readings of every hour: a flow of 10 m³/s and water that is warmest, 12 °C, at noon UTC.
func read(site gauge.Site, from, to time.Time) gauge.Found {
	flow, warmth := gauge.Series{Site: site, Quantity: gauge.Flow}, gauge.Series{Site: site, Quantity: gauge.Temperature}
	for at := from.Truncate(time.Hour); !at.After(to); at = at.Add(time.Hour) {
		flow.Readings = append(flow.Readings, gauge.Reading{At: at, Value: 10, Flags: gauge.Provisional})
		warmth.Readings = append(warmth.Readings, gauge.Reading{At: at, Value: 12 - math.Abs(float64(at.Hour()-12))/4})
	}
	return gauge.Found{Series: []gauge.Series{flow, warmth}}
}

// Asking are the options of a server that asks it.
func (a *Agency) Asking(store *pg.Store) web.Options {
	now := func() time.Time { return GaugedAt }
	return web.Options{Now: now, Gauges: gauges.New(store, []agency.Source{a}, gauges.Options{Now: now, Chance: func() float64 { return 0 }})}
}
