package webtest

import (
	"fmt"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// Course is what an invented gauge reads of a quantity at a moment.
type Course func(at time.Time) (float64, gauge.Flags)

// Gauge links a water to an invented gauge that read something every quarter of an hour.
func (s *Site) Gauge(w journal.Water, from, to time.Time, courses map[gauge.Quantity]Course) gauge.Site {
	s.T.Helper()
	site := gauge.NewSite("invented", fmt.Sprintf("%x", w.ID[12:]))
	found := gauge.Found{Gauges: []gauge.Gauge{{Site: site, Name: w.Name + " at an invented bridge"}}}
	for q, course := range courses {
		list := gauge.Series{Site: site, Quantity: q}
		for at := from; !at.After(to); at = at.Add(15 * time.Minute) {
			v, flags := course(at)
			list.Readings = append(list.Readings, gauge.Reading{At: at, Value: v, Flags: flags})
		}
		found.Series = append(found.Series, list)
	}
	w.Gauges = []gauge.Link{{Site: site}}
	s.Must(s.Store.SaveWater(s.T.Context(), w))
	_, err := s.Store.KeepOwnReadings(s.T.Context(), found)
	s.Must(err)
	return site
}
