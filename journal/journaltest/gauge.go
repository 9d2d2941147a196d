package journaltest

import (
	"context"
	"fmt"
	"math"
	"time"

	"rigtally/journal/gauge"
	"rigtally/journal/pg"
)

// Gauge has the sessions of a water, from 2022 to 2026, take what an invented gauge says, partly by a file of the outfit's own.
func Gauge(ctx context.Context, store *pg.Store) error {
	waters, err := store.Waters(ctx)
	if err != nil {
		return err
	}
	w := waters[0]
	w.Gauges = []gauge.Link{{Site: gauge.NewSite(gauge.USGS, "00000017")}}
	if err := store.SaveWater(ctx, w); err != nil {
		return err
	}
	flow := gauge.Series{Site: w.Gauges[0].Site, Quantity: gauge.Flow}
	for h := range 24 * 365 * 5 {
		flow.Readings = append(flow.Readings, gauge.Reading{At: time.Date(2022, 1, 1, h, 0, 0, 0, time.UTC), Value: float64(h%700) / 7, Flags: gauge.Provisional})
	}
	flow.Readings[7].Value, flow.Readings[7].Flags = math.NaN(), gauge.Ice
	stage := flow
	stage.Quantity = gauge.Stage
	if _, err := store.KeepReadings(ctx, gauge.Found{Gauges: []gauge.Gauge{{Site: flow.Site, Name: "An invented gauge"}}, Series: []gauge.Series{flow}}); err != nil {
		return err
	}
	if _, err := store.KeepOwnReadings(ctx, gauge.Found{Series: []gauge.Series{stage}}); err != nil {
		return err
	}
	if _, _, err := store.ClaimRequest(ctx, flow.Site, "latest", time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), time.Minute); err != nil {
		return err
	}
	plan, err := store.Fill(ctx, pg.FillAsk{Water: &w.ID})
	if err == nil && plan.Changed == 0 {
		err = fmt.Errorf("no session takes anything: %+v", plan)
	}
	return err
}
