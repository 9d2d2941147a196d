package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"time"

	"rigtally/gauges/read"
	"rigtally/journal/demo"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
)

const (
	gaugeReadings = 1_000_000 // one each quarter of an hour, up to autumn 2026; what is read from the future is refused
	gaugeSessions = 10_000
	gaugeYears    = 30 // of daily means
)

// gauges times a file of a million readings, read, checked and merged into what is stored, against psql's \copy of the
// same file into a plain table; and how long ten thousand sessions take to be filled from readings.
func (b *bench) gauges(ctx context.Context) error {
	file := filepath.Join(b.dir, "readings.csv")
	if err := os.WriteFile(file, readingsCSV(), 0o644); err != nil {
		return err
	}
	store, err := b.open(ctx, "gauges")
	if err != nil {
		return err
	}
	defer store.Close()
	var ours, again, keyed, plain timed
	for i := range importRounds {
		site := gauge.NewSite("invented", fmt.Sprint(i))
		for _, to := range []*timed{&ours, &again} {
			d, err := clock(func() error { return keepFile(ctx, store, file, site) })
			if err != nil {
				return err
			}
			*to = append(*to, d)
		}
		for key, to := range map[string]*timed{"": &plain, " PRIMARY KEY": &keyed} {
			if _, err := b.script("gauges", "DROP TABLE IF EXISTS plain_reading; CREATE TABLE plain_reading (at timestamptz"+key+", value double precision);\n"); err != nil {
				return err
			}
			d, err := b.script("gauges", "\\copy plain_reading from '"+file+"' csv header\n")
			if err != nil {
				return err
			}
			*to = append(*to, d)
		}
	}
	what := fmt.Sprintf("a file of %d readings, read, checked and merged", gaugeReadings)
	compare(what, ours, `psql \copy of it into a table with its time as the key`, keyed)
	compare(what, ours, `psql \copy of it into a table without a key`, plain)
	compare(what+", all of which are there already", again, `psql \copy of it into a table with its time as the key`, keyed)
	return b.fillSessions(ctx)
}

func readingsCSV() []byte {
	var out bytes.Buffer
	out.WriteString("time,value\n")
	at := time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC).Add(-gaugeReadings * 15 * time.Minute)
	for i := range gaugeReadings {
		fmt.Fprintf(&out, "%s,%.3f\n", at.Add(time.Duration(i)*15*time.Minute).Format(time.RFC3339), inventedFlow(i))
	}
	return out.Bytes()
}

// inventedFlow rises and falls through the year and the day.
func inventedFlow(quarter int) float64 {
	return 12 + 8*math.Sin(float64(quarter)/(4*24*365)*2*math.Pi) + math.Sin(float64(quarter)/(4*24)*2*math.Pi)
}

func keepFile(ctx context.Context, store *pg.Store, file string, site gauge.Site) error {
	in, err := os.Open(file)
	if err != nil {
		return err
	}
	defer in.Close()
	found, err := read.Any(file, in, read.Options{Site: site, Quantity: gauge.Flow, Unit: "m3/s", Zone: time.UTC})
	if err != nil {
		return err
	}
	kept, err := store.KeepReadings(ctx, found)
	if err == nil && kept.New+kept.Same != gaugeReadings {
		err = fmt.Errorf("kept %+v", kept)
	}
	return err
}

// fillSessions times the filling of an invented outfit's sessions by flow, temperature and daily means.
func (b *bench) fillSessions(ctx context.Context) error {
	store, err := b.open(ctx, "filled")
	if err != nil {
		return err
	}
	defer store.Close()
	if err := demo.Load(ctx, store, demo.Generate(7, gaugeSessions)); err != nil {
		return err
	}
	site := gauge.NewSite("invented", "1")
	if err := keepFile(ctx, store, filepath.Join(b.dir, "readings.csv"), site); err != nil {
		return err
	}
	warm := gauge.Series{Site: site, Quantity: gauge.Temperature}
	for i := range 4 * 24 * 365 * 10 {
		warm.Readings = append(warm.Readings, gauge.Reading{At: time.Date(2017, 1, 1, 0, 15*i, 0, 0, time.UTC), Value: inventedFlow(i)})
	}
	daily := gauge.Series{Site: site, Quantity: gauge.Flow, Statistic: gauge.DailyMean}
	for i := range 365 * gaugeYears {
		daily.Readings = append(daily.Readings, gauge.Reading{At: time.Date(1996, 1, 1+i, 0, 0, 0, 0, time.UTC), Value: inventedFlow(4 * 24 * i)})
	}
	if _, err := store.KeepReadings(ctx, gauge.Found{Series: []gauge.Series{warm, daily}}); err != nil {
		return err
	}
	waters, err := store.Waters(ctx)
	if err != nil {
		return err
	}
	for _, w := range waters {
		w.Gauges = []gauge.Link{{Site: site}}
		if err := store.SaveWater(ctx, w); err != nil {
			return err
		}
	}
	var plans, fills timed
	var done pg.FillPlan
	for range importRounds {
		d, err := clock(func() error { _, err := store.PlanFill(ctx, pg.FillAsk{}); return err })
		if err != nil {
			return err
		}
		plans = append(plans, d)
		if d, err = clock(func() error { done, err = store.Fill(ctx, pg.FillAsk{}); return err }); err != nil {
			return err
		}
		fills = append(fills, d)
		if n, err := store.ClearFills(ctx, pg.FillAsk{}); err != nil || n != done.Changed || n == 0 {
			return errors.Join(err, fmt.Errorf("of %+v %d were cleared", done, n))
		}
	}
	fmt.Printf("\nfilling of %d sessions, of which %d take something of a gauge\n  planned  %v\n  filled   %v\n", done.Sessions, done.Changed, plans, fills)
	return nil
}
