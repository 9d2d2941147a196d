package pg

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// storedSeries is a series without its readings, and under which id these are stored.
type storedSeries struct {
	gauge.Series
	outfit, id journal.ID
}

// seriesOf lists the series of sites that the outfit sees: by site, what is common to all before its own, and of one
// quantity moments before daily means.
func (s *Store) seriesOf(ctx context.Context, from querier, sites []gauge.Site) ([]storedSeries, error) {
	providers, numbers := siteColumns(sites)
	list, err := listOf(ctx, from, func(row pgx.CollectableRow) (v storedSeries, err error) {
		return v, row.Scan(&v.outfit, &v.id, &v.Provider, &v.Number, &v.Quantity, &v.Sensor, &v.Statistic)
	}, `SELECT s.outfit_id, s.id, s.provider, s.number, s.quantity, s.sensor, s.statistic FROM gauge_series s
		WHERE s.outfit_id IN ($1, $2) AND (s.provider, s.number) IN (SELECT * FROM unnest($3::text[], $4::text[]))`, everybody, s.outfit, providers, numbers)
	slices.SortFunc(list, func(a, b storedSeries) int {
		own := func(v storedSeries) int {
			if v.outfit == everybody {
				return 0
			}
			return 1
		}
		return cmp.Or(a.Compare(b.Site), own(a)-own(b), compareSeries(a.Series, b.Series))
	})
	return list, err
}

func siteColumns(sites []gauge.Site) (providers, numbers []string) {
	for _, s := range sites {
		providers, numbers = append(providers, s.Provider), append(numbers, s.Number)
	}
	return providers, numbers
}

// Readings are those of a site from one time to another, both counted, of all quantities and sensors: what is common to
// all before the outfit's own.
func (s *Store) Readings(ctx context.Context, site gauge.Site, from, to time.Time) ([]gauge.Series, error) {
	return view(ctx, s, "read the readings of "+site.String(), func(tx pgx.Tx) ([]gauge.Series, error) {
		stored, err := s.seriesOf(ctx, tx, []gauge.Site{site})
		if err != nil {
			return nil, err
		}
		var list []gauge.Series
		for _, v := range stored {
			low, high := from, to
			if v.Statistic == gauge.DailyMean { // whose days begin before the moments in them
				low, high = from.UTC().Truncate(daySeconds*time.Second), to
			}
			first, _ := blockOf(low, v.Statistic)
			last, _ := dayOf(high)
			rows, err := queryBinary(ctx, tx, `SELECT begins - date '1970-01-01', seconds, value, flags FROM gauge_block
				WHERE outfit_id = $1 AND series_id = $2 AND begins BETWEEN $3 AND $4 ORDER BY begins`, []any{v.outfit, v.id, dateOfDay(first), dateOfDay(last)})
			if err != nil {
				return nil, err
			}
			if err := eachRow(rows, func(in *wire) { v.Series.Readings = in.block().readings(v.Series.Readings) }); err != nil {
				return nil, err
			}
			if v.Series.Readings = v.Between(low, high); len(v.Series.Readings) > 0 {
				list = append(list, v.Series)
			}
		}
		return list, nil
	})
}

// Usual is what flow is usual at a site, by the years before the given time's.
func (s *Store) Usual(ctx context.Context, site gauge.Site, before time.Time) (gauge.Usual, error) {
	return view(ctx, s, "read the daily means of "+site.String(), func(tx pgx.Tx) (gauge.Usual, error) {
		stored, err := s.seriesOf(ctx, tx, []gauge.Site{site})
		if err != nil {
			return gauge.Usual{}, err
		}
		for _, v := range stored {
			if v.Quantity == gauge.Flow && v.Statistic == gauge.DailyMean {
				err := readBlocks(ctx, tx, v.outfit, v.id, nil, func(b block) { v.Series.Readings = b.readings(v.Series.Readings) })
				return gauge.NewUsual(v.Series, before), err
			}
		}
		return gauge.Usual{}, nil
	})
}

// ReadingsStamp is another number once the readings of a gauge that waters are linked to are others, of which the journal's
// revision knows nothing where they are common to all outfits.
func (s *Store) ReadingsStamp(ctx context.Context) (stamp int64, err error) {
	err = s.once().QueryRow(ctx, `SELECT coalesce(sum(changes), 0)::bigint FROM gauge_series g WHERE outfit_id IN ($1, $2)
		AND EXISTS (SELECT FROM gauge_use u WHERE u.outfit_id = $2 AND u.provider = g.provider AND u.number = g.number)`, everybody, s.outfit).Scan(&stamp)
	return stamp, explain("ask whether gauges have new readings", err)
}

// Gauges tells what is stored of sites, in their order; without any, of those that waters are linked to.
func (s *Store) Gauges(ctx context.Context, sites ...gauge.Site) ([]gauge.State, error) {
	return view(ctx, s, "read what is known of gauges", func(tx pgx.Tx) ([]gauge.State, error) {
		if len(sites) == 0 {
			var err error
			if sites, err = listOf(ctx, tx, pgx.RowToStructByPos[gauge.Site], `SELECT DISTINCT provider, number FROM gauge_use WHERE outfit_id = $1 ORDER BY 1, 2`, s.outfit); err != nil {
				return nil, err
			}
		}
		list := make([]gauge.State, len(sites))
		at := map[gauge.Site]*gauge.State{}
		for i, site := range sites {
			list[i].Site, at[site] = site, &list[i]
		}
		for _, read := range []func(context.Context, pgx.Tx, []gauge.Site, map[gauge.Site]*gauge.State) error{s.describe, s.extents, s.asked} {
			if err := read(ctx, tx, sites, at); err != nil {
				return nil, err
			}
		}
		for i, site := range sites { // one may be there twice, as with two sensors
			list[i] = *at[site]
		}
		return list, nil
	})
}

// describe reads how gauges are described: by their agency where it does, else by the outfit's own files.
func (s *Store) describe(ctx context.Context, tx pgx.Tx, sites []gauge.Site, at map[gauge.Site]*gauge.State) error {
	providers, numbers := siteColumns(sites)
	var g gauge.Gauge
	return each(ctx, tx, []any{&g.Provider, &g.Number, &g.Name, &g.Zone, &g.Latitude, &g.Longitude, &g.Measures}, func() { at[g.Site].Gauge = g },
		`SELECT DISTINCT ON (provider, number) provider, number, name, zone, latitude, longitude, measures FROM gauge
		WHERE outfit_id IN ($1, $2) AND (provider, number) IN (SELECT * FROM unnest($3::text[], $4::text[])) ORDER BY provider, number, outfit_id`, everybody, s.outfit, providers, numbers)
}

// extents reads from when to when there are readings, and the latest ones.
func (s *Store) extents(ctx context.Context, tx pgx.Tx, sites []gauge.Site, at map[gauge.Site]*gauge.State) error {
	stored, err := s.seriesOf(ctx, tx, sites)
	if err != nil {
		return err
	}
	for _, v := range stored {
		state := at[v.Site]
		var rows int
		var days [2]*time.Time
		err := tx.QueryRow(ctx, `SELECT count(*), min(begins), max(begins) FROM gauge_block WHERE outfit_id = $1 AND series_id = $2`, v.outfit, v.id).Scan(&rows, &days[0], &days[1])
		switch {
		case err != nil:
			return err
		case rows == 0:
			continue
		case v.Statistic == gauge.DailyMean:
			state.DailyYears = max(state.DailyYears, rows)
			continue
		}
		state.Days = max(state.Days, rows)
		first, _ := dayOf(*days[0])
		last, _ := dayOf(*days[1])
		err = readBlocks(ctx, tx, v.outfit, v.id, []int64{first, last - 1, last}, func(b block) { v.Series.Readings = b.readings(v.Series.Readings) })
		if err != nil {
			return err
		}
		all := v.Series.Readings
		if from := all[0].At; state.From.IsZero() || from.Before(state.From) {
			state.From = from
		}
		if to := all[len(all)-1].At; to.After(state.To) {
			state.To = to
		}
		for _, r := range slices.Backward(all) {
			if !r.Usable() {
				continue
			}
			v.Series.Readings = []gauge.Reading{r}
			state.Last = append(state.Last, v.Series)
			break
		}
	}
	return nil
}

const requestColumns = `provider, number, what, etag, last_modified, asked_at, next_at, failures, trouble`

func rowToRequest(row pgx.CollectableRow) (r gauge.Request, err error) {
	var next *time.Time
	err = row.Scan(&r.Provider, &r.Number, &r.What, &r.ETag, &r.LastModified, &r.AskedAt, &next, &r.Failures, &r.Trouble)
	if r.AskedAt = r.AskedAt.UTC(); next != nil {
		r.NextAt = next.UTC()
	}
	return r, err
}

// asked reads what agencies were asked last.
func (s *Store) asked(ctx context.Context, tx pgx.Tx, sites []gauge.Site, at map[gauge.Site]*gauge.State) error {
	providers, numbers := siteColumns(sites)
	list, err := listOf(ctx, tx, rowToRequest, `SELECT DISTINCT ON (provider, number) `+requestColumns+` FROM gauge_request
		WHERE (provider, number) IN (SELECT * FROM unnest($1::text[], $2::text[])) AND what <> $3 ORDER BY provider, number, asked_at DESC`, providers, numbers, gauge.Turn)
	for i, r := range list {
		at[r.Site].Request = &list[i]
	}
	return err
}

// atGauges asks where readings are kept for all.
func (s *Store) atGauges() once { return once{s.pool, room{role: atGauges}} }

// GaugesUsed lists the sites that waters of any outfit are linked to.
func (s *Store) GaugesUsed(ctx context.Context) ([]gauge.Site, error) {
	list, err := listOf(ctx, s.atGauges(), pgx.RowToStructByPos[gauge.Site], `SELECT DISTINCT provider, number FROM gauge_use ORDER BY 1, 2`)
	return list, explain("list the gauges in use", err)
}

// ClaimRequest takes the right to ask a site's provider about something, which one caller at a time has: not ok within some
// time since anybody asked, or before the request's NextAt. The request is as it was settled last, asked now.
func (s *Store) ClaimRequest(ctx context.Context, site gauge.Site, what string, now time.Time, every time.Duration) (r gauge.Request, ok bool, err error) {
	err = room{role: atGauges}.begin(ctx, s.pool, toWrite, func(tx pgx.Tx) error {
		// Asked long after now: by a clock that was wrong.
		list, err := listOf(ctx, tx, rowToRequest, `INSERT INTO gauge_request AS r (provider, number, what, asked_at) VALUES ($1, $2, $3, $4)
			ON CONFLICT (provider, number, what) DO UPDATE SET asked_at = excluded.asked_at
			WHERE (r.asked_at <= excluded.asked_at - make_interval(secs => $5) AND coalesce(r.next_at <= excluded.asked_at, true)) OR r.asked_at > excluded.asked_at + interval '1 day'
			RETURNING `+requestColumns, site.Provider, site.Number, what, now, every.Seconds())
		if ok = len(list) > 0; err == nil && !ok {
			list, err = listOf(ctx, tx, rowToRequest, `SELECT `+requestColumns+` FROM gauge_request WHERE provider = $1 AND number = $2 AND what = $3`, site.Provider, site.Number, what)
		}
		if err == nil && len(list) == 0 {
			err = errors.New("the request is gone")
		}
		if err != nil {
			return err
		}
		r = list[0]
		return nil
	})
	return r, ok, explain("claim a request to a gauge's agency", err)
}

// SettleRequest keeps what came of a request.
func (s *Store) SettleRequest(ctx context.Context, r gauge.Request) error {
	var next *time.Time
	if !r.NextAt.IsZero() {
		next = &r.NextAt
	}
	return explain("keep what came of a request to a gauge's agency", room{role: atGauges}.begin(ctx, s.pool, toWrite, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `INSERT INTO gauge_request (`+requestColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
			ON CONFLICT (provider, number, what) DO UPDATE SET etag = excluded.etag, last_modified = excluded.last_modified, asked_at = excluded.asked_at,
				next_at = excluded.next_at, failures = excluded.failures, trouble = excluded.trouble`,
			r.Provider, r.Number, r.What, r.ETag, r.LastModified, r.AskedAt, next, r.Failures, r.Trouble)
		return err
	}))
}
