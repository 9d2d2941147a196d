package page

import (
	"context"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// Readings are what the gauges of a water measured from one time to another, of the quantities and sensors that it takes, in the
// order in which they are asked.
func (d *Desk) Readings(ctx context.Context, w journal.Water, from, to time.Time) (list []gauge.Series, err error) {
	for _, l := range w.Gauges {
		found, err := d.Store.Readings(ctx, l.Site, from, to)
		if err != nil {
			return nil, err
		}
		list = append(list, l.Of(found)...)
	}
	return list, nil
}
