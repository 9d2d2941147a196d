package pg

import (
	"cmp"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// links are those of a water, in one column.
type links []gauge.Link

// UnmarshalJSON reads no links as none.
func (l *links) UnmarshalJSON(b []byte) error {
	var list []gauge.Link
	if err := json.Unmarshal(b, &list); err != nil {
		return err
	}
	if *l = list; len(list) == 0 {
		*l = nil
	}
	return nil
}

// Links changes to which gauges a water is linked, and nothing else of it: f makes of the links that are there the ones that are to be,
// while nobody else writes the journal. It returns those.
func (s *Store) Links(ctx context.Context, water journal.ID, f func([]gauge.Link) ([]gauge.Link, error)) (now []gauge.Link, err error) {
	err = s.write(ctx, "change the gauges of a water", func(tx pgx.Tx) error {
		list, err := waterTable.of(ctx, tx, s.outfit, "t.id = $2", water)
		if err != nil {
			return err
		}
		if len(list) == 0 {
			return journal.ErrNotFound
		}
		w := list[0]
		before := w.Gauges
		if now, err = f(slices.Clone(before)); err != nil {
			return err
		}
		w.Gauges = now
		if err := w.Validate(); err != nil {
			return err
		}
		if reflect.DeepEqual(before, now) {
			return errUnchanged
		}
		if now == nil {
			now = links{}
		}
		tag, err := tx.Exec(ctx, `UPDATE water SET gauges = $3 WHERE outfit_id = $1 AND id = $2`, s.outfit, water, now)
		if err == nil && tag.RowsAffected() == 0 {
			err = journal.ErrNotFound
		}
		return err
	})
	return now, err
}

// withLinks gives a water that says nothing of gauges the links that it has.
func (s *Store) withLinks(ctx context.Context, tx pgx.Tx, w *journal.Water) error {
	if w.Gauges != nil {
		return nil
	}
	held, err := waterTable.of(ctx, tx, s.outfit, "t.id = $2", w.ID)
	if len(held) > 0 {
		w.Gauges = held[0].Gauges
	}
	return err
}

// everybody is under whose id readings lie that are common to all outfits.
var everybody journal.ID

// KeepReadings stores readings for all outfits, in one transaction: all of them or none. What is stored is replaced where
// the provider says something else by now; that it says nothing any more takes nothing away.
func (s *Store) KeepReadings(ctx context.Context, found gauge.Found) (kept gauge.Kept, err error) {
	err = room{role: atGauges}.begin(ctx, s.pool, toWrite, func(tx pgx.Tx) error {
		kept, err = keepReadings(ctx, tx, everybody, found)
		return err
	})
	return kept, explain("keep the gauges' readings", err)
}

// KeepOwnReadings stores readings for this outfit alone, as KeepReadings does. They are not for clients to store.
func (s *Store) KeepOwnReadings(ctx context.Context, found gauge.Found) (kept gauge.Kept, err error) {
	const doing = "keep the readings of a file"
	if s.who.IsClient() {
		return kept, fmt.Errorf("%s: %w", doing, journal.ErrNotFound)
	}
	err = s.write(ctx, doing, func(tx pgx.Tx) error {
		kept, err = keepReadings(ctx, tx, s.outfit, found)
		return err
	})
	return kept, err
}

func keepReadings(ctx context.Context, tx pgx.Tx, outfit journal.ID, found gauge.Found) (gauge.Kept, error) {
	var kept gauge.Kept
	list, err := checkFound(found)
	if err != nil {
		return kept, err
	}
	if err := keepGauges(ctx, tx, outfit, found.Gauges); err != nil {
		return kept, err
	}
	w := blockWriter{tx: tx, outfit: outfit}
	for _, series := range list { // in one order, so that two who keep several don't wait for each other
		id, err := lockSeries(ctx, tx, outfit, series)
		if err != nil {
			return kept, err
		}
		one, err := w.keep(ctx, id, series)
		if err == nil && w.changed {
			_, err = tx.Exec(ctx, `UPDATE gauge_series SET changes = changes + 1 WHERE outfit_id = $1 AND id = $2`, outfit, id)
		}
		if err != nil {
			return kept, fmt.Errorf("keep the %s of %s: %w", series.Quantity, series.Site, err)
		}
		kept.Add(one)
	}
	return kept, w.flush(ctx)
}

// checkFound returns the series that hold anything, in order, each once.
func checkFound(found gauge.Found) ([]gauge.Series, error) {
	for _, g := range found.Gauges {
		if g.Site != gauge.NewSite(g.Provider, g.Number) || g.Provider == "" || g.Number == "" {
			return nil, journal.Invalidf("%s is not a gauge; write who runs it in small letters and its number, as in usgs:01234567", g.Site)
		}
	}
	type key struct {
		gauge.Site
		quantity  gauge.Quantity
		sensor    string
		statistic gauge.Statistic
	}
	at := map[key]int{}
	var list []gauge.Series
	for _, s := range found.Series {
		switch {
		case len(s.Readings) == 0:
			continue
		case s.Site != gauge.NewSite(s.Provider, s.Number) || s.Provider == "" || s.Number == "":
			return nil, journal.Invalidf("the readings are of no gauge (%s); say which, as in usgs:01234567", s.Site)
		case !slices.Contains(gauge.Quantities(), s.Quantity):
			return nil, journal.Invalidf("the readings of %s are of %q; choose flow, stage or temperature", s.Site, s.Quantity)
		case s.Statistic != gauge.Instant && s.Statistic != gauge.DailyMean:
			return nil, journal.Invalidf("the readings of %s are a %q of their time; only values of a moment and daily means can be kept", s.Site, s.Statistic)
		}
		k := key{s.Site, s.Quantity, s.Sensor, s.Statistic}
		if i, twice := at[k]; twice {
			list[i].Readings = slices.Concat(list[i].Readings, s.Readings)
			continue
		}
		at[k] = len(list)
		list = append(list, s)
	}
	for i := range list {
		if !slices.IsSortedFunc(list[i].Readings, func(a, b gauge.Reading) int { return cmp.Or(a.At.Compare(b.At), 1) }) {
			list[i].Readings = slices.Clone(list[i].Readings)
			list[i].Sort()
		}
		for _, r := range []gauge.Reading{list[i].Readings[0], list[i].Readings[len(list[i].Readings)-1]} {
			if y := r.At.UTC().Year(); y < 1800 || y > 2200 {
				return nil, journal.Invalidf("a reading of %s is of the year %d; look at the file's dates", list[i].Site, y)
			}
		}
	}
	slices.SortFunc(list, func(a, b gauge.Series) int { return compareSeries(a, b) })
	return list, nil
}

func compareSeries(a, b gauge.Series) int {
	return cmp.Or(a.Compare(b.Site), cmp.Compare(a.Quantity, b.Quantity), cmp.Compare(a.Statistic, b.Statistic), cmp.Compare(a.Sensor, b.Sensor))
}

// keepGauges stores how gauges are described, as far as they are.
func keepGauges(ctx context.Context, tx pgx.Tx, outfit journal.ID, list []gauge.Gauge) error {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b gauge.Gauge) int { return a.Compare(b.Site) })
	batch := &pgx.Batch{}
	for _, g := range list {
		batch.Queue(`INSERT INTO gauge AS g (outfit_id, provider, number, name, zone, latitude, longitude, measures) VALUES ($1, $2, $3, $4, $5, $6, $7, coalesce($8::text[], '{}'))
			ON CONFLICT (outfit_id, provider, number) DO UPDATE SET name = coalesce(nullif(excluded.name, ''), g.name), zone = coalesce(nullif(excluded.zone, ''), g.zone),
				latitude = coalesce(excluded.latitude, g.latitude), longitude = coalesce(excluded.longitude, g.longitude),
				measures = CASE WHEN excluded.measures = '{}' THEN g.measures ELSE excluded.measures END
			WHERE (excluded.name, excluded.zone, excluded.latitude, excluded.longitude, excluded.measures) IS DISTINCT FROM (g.name, g.zone, g.latitude, g.longitude, g.measures)`,
			outfit, g.Provider, g.Number, g.Name, g.Zone, g.Latitude, g.Longitude, g.Measures)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// lockSeries finds a series or adds it, and keeps others from writing it until the transaction ends.
func lockSeries(ctx context.Context, tx pgx.Tx, outfit journal.ID, s gauge.Series) (id journal.ID, err error) {
	key := []any{outfit, s.Provider, s.Number, s.Quantity, s.Sensor, s.Statistic}
	for range 2 {
		err = tx.QueryRow(ctx, `SELECT id FROM gauge_series WHERE outfit_id = $1 AND provider = $2 AND number = $3 AND quantity = $4 AND sensor = $5 AND statistic = $6 FOR UPDATE`, key...).Scan(&id)
		if !errors.Is(err, pgx.ErrNoRows) {
			return id, err
		}
		if _, err := tx.Exec(ctx, `INSERT INTO gauge_series (outfit_id, id, provider, number, quantity, sensor, statistic) VALUES ($1, $7, $2, $3, $4, $5, $6)
			ON CONFLICT ON CONSTRAINT gauge_series_once DO NOTHING`, append(key, journal.NewID())...); err != nil {
			return id, err
		}
	}
	return id, err
}

// block is a row of readings: those of a day, or of a year where they are daily means.
type block struct {
	begins  int64 // days since 1970
	seconds []int32
	value   []float64
	flags   []int16
}

const daySeconds = 24 * 60 * 60

// dayOf is the day in UTC of a moment, in days since 1970, and the seconds into it.
func dayOf(t time.Time) (day int64, seconds int32) {
	unix := t.Unix()
	day = unix / daySeconds
	if unix%daySeconds < 0 {
		day--
	}
	return day, int32(unix - day*daySeconds)
}

func dateOfDay(day int64) time.Time { return time.Unix(day*daySeconds, 0).UTC() }

// blockOf is the block of a moment, and its place there.
func blockOf(t time.Time, of gauge.Statistic) (begins int64, seconds int32) {
	begins, seconds = dayOf(t)
	if of == gauge.DailyMean {
		first, _ := dayOf(time.Date(t.UTC().Year(), 1, 1, 0, 0, 0, 0, time.UTC))
		begins, seconds = first, int32((begins-first)*daySeconds)
	}
	return begins, seconds
}

// put puts a reading into a block at its end.
func (b *block) put(seconds int32, value float64, flags int16) {
	b.seconds, b.value, b.flags = append(b.seconds, seconds), append(b.value, value), append(b.flags, flags)
}

// readings are those of a block, behind others.
func (b block) readings(list []gauge.Reading) []gauge.Reading {
	for i, s := range b.seconds {
		list = append(list, gauge.Reading{At: time.Unix(b.begins*daySeconds+int64(s), 0).UTC(), Value: b.value[i], Flags: gauge.Flags(b.flags[i])})
	}
	return list
}

// gone are the flags that say why there is no value.
const gone = gauge.Suspect | gauge.Ice | gauge.Equipment | gauge.Dry | gauge.Missing | gauge.Censored

// merge is what is stored of a block, nil for nothing, with what is said now, in order. It returns nil where that is the same.
func (b *block) merge(now block, kept *gauge.Kept) *block {
	var old block
	if b != nil {
		old = *b
	}
	out := block{begins: now.begins, seconds: make([]int32, 0, len(old.seconds)+len(now.seconds))}
	out.value, out.flags = make([]float64, 0, cap(out.seconds)), make([]int16, 0, cap(out.seconds))
	changed, i := false, 0
	for j, s := range now.seconds {
		for ; i < len(old.seconds) && old.seconds[i] < s; i++ {
			out.put(old.seconds[i], old.value[i], old.flags[i])
		}
		stored := i < len(old.seconds) && old.seconds[i] == s
		was, v, flags := math.NaN(), now.value[j], now.flags[j]
		if stored {
			was = old.value[i]
		}
		had, has := !math.IsNaN(was), !math.IsNaN(v)
		switch {
		case !has && gauge.Flags(flags)&gone == 0: // nothing is said
			if kept.Empty++; stored {
				v, flags = was, old.flags[i]
			} else {
				continue
			}
		case !has && !had:
			kept.Empty++
		case has && !had:
			kept.New++
		case v == was:
			kept.Same++
		default:
			kept.Revised++
		}
		changed = changed || !stored || flags != old.flags[i] || v != was && (had || has)
		out.put(s, v, flags)
		if stored {
			i++
		}
	}
	for ; i < len(old.seconds); i++ {
		out.put(old.seconds[i], old.value[i], old.flags[i])
	}
	if !changed {
		return nil
	}
	return &out
}

// blockWriter writes blocks, many at a time.
type blockWriter struct {
	tx     pgx.Tx
	outfit journal.ID
	rows   [][]any

	changed bool // what is stored of the series that was kept last
}

// mostBlocks are held until they are written.
const mostBlocks = 2000

// keep merges a series, which is locked, into what is stored of it.
func (w *blockWriter) keep(ctx context.Context, id journal.ID, s gauge.Series) (kept gauge.Kept, err error) {
	kept = gauge.Kept{Series: 1, From: s.Readings[0].At, To: s.Readings[len(s.Readings)-1].At}
	w.changed = false
	var run []block
	for _, r := range s.Readings {
		begins, seconds := blockOf(r.At, s.Statistic)
		if len(run) == 0 || run[len(run)-1].begins != begins {
			if len(run) == mostBlocks {
				if err := w.merge(ctx, id, run, &kept); err != nil {
					return kept, err
				}
				run = nil
			}
			run = append(run, block{begins: begins})
		}
		b, v := &run[len(run)-1], r.Value
		if math.IsInf(v, 0) {
			v = math.NaN()
		}
		if n := len(b.seconds); n > 0 && b.seconds[n-1] == seconds { // the same second
			b.seconds, b.value, b.flags = b.seconds[:n-1], b.value[:n-1], b.flags[:n-1]
		}
		b.put(seconds, v, int16(r.Flags))
	}
	return kept, w.merge(ctx, id, run, &kept)
}

func (w *blockWriter) merge(ctx context.Context, id journal.ID, run []block, kept *gauge.Kept) error {
	days := make([]int64, len(run))
	for i, b := range run {
		days[i] = b.begins
	}
	stored := map[int64]*block{}
	if err := readBlocks(ctx, w.tx, w.outfit, id, days, func(b block) { stored[b.begins] = &b }); err != nil {
		return err
	}
	for _, b := range run {
		if b := stored[b.begins].merge(b, kept); b != nil && len(b.seconds) > 0 {
			w.changed = true
			w.rows = append(w.rows, []any{w.outfit, id, dateOfDay(b.begins), b.seconds, b.value, b.flags})
		}
	}
	if len(w.rows) >= mostBlocks {
		return w.flush(ctx)
	}
	return nil
}

// flush writes what is held.
func (w *blockWriter) flush(ctx context.Context) error {
	columns := []string{"outfit_id", "series_id", "begins", "seconds", "value", "flags"}
	const instead = ` ON CONFLICT (outfit_id, series_id, begins) DO UPDATE SET seconds = excluded.seconds, value = excluded.value, flags = excluded.flags`
	rows := w.rows
	w.rows = nil
	if len(rows) > 20 {
		return copyInto(ctx, w.tx, "gauge_block", columns, rows, instead)
	}
	batch := &pgx.Batch{}
	for _, row := range rows {
		batch.Queue(insertInto("gauge_block", columns)+instead, row...)
	}
	return w.tx.SendBatch(ctx, batch).Close()
}

// readBlocks reads the blocks of a series that begin on some days, or all where days are nil, in order.
func readBlocks(ctx context.Context, tx pgx.Tx, outfit, series journal.ID, days []int64, f func(block)) error {
	rows, err := queryBinary(ctx, tx, selectBlocks, []any{outfit, series, datesOf(days)})
	if err != nil {
		return err
	}
	return eachRow(rows, func(in *wire) { f(in.block()) })
}

const selectBlocks = `SELECT begins - date '1970-01-01', seconds, value, flags FROM gauge_block
	WHERE outfit_id = $1 AND series_id = $2 AND ($3::date[] IS NULL OR begins = ANY($3)) ORDER BY begins`

func datesOf(days []int64) (dates []time.Time) {
	for _, d := range days {
		dates = append(dates, dateOfDay(d))
	}
	return dates
}

// block is the next columns, those of a block.
func (w *wire) block() block {
	b := block{begins: int64(w.number())}
	w.array(4, func(n int) { b.seconds = make([]int32, 0, n) }, func(raw []byte) { b.seconds = append(b.seconds, int32(binary.BigEndian.Uint32(raw))) })
	w.array(8, func(n int) { b.value = make([]float64, 0, n) }, func(raw []byte) { b.value = append(b.value, math.Float64frombits(binary.BigEndian.Uint64(raw))) })
	w.array(2, func(n int) { b.flags = make([]int16, 0, n) }, func(raw []byte) { b.flags = append(b.flags, int16(binary.BigEndian.Uint16(raw))) })
	return b
}
