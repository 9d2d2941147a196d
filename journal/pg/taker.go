package pg

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// taker is a session of a water that has gauges, and what it takes of them.
type taker struct {
	id     journal.ID
	water  journal.ID
	day    journal.Date
	outing gauge.Outing
	links  string // as they are stored, by which sessions share what is read for them
	typed  map[gauge.Quantity]bool
	takes  []gauge.Fill
	had    []heldFill
	why    string // it takes nothing
}

// heldFill is what a session took, and when and where it was then.
type heldFill struct {
	gauge.Fill
	Day    journal.Date
	Middle *time.Time
	water  journal.ID
}

// keeping says what becomes of what sessions took of gauges that say nothing of them now.
type keeping struct {
	// Unlinked keeps it where the water has not that gauge any more: whoever saves a session says nothing of gauges.
	Unlinked bool
	Into     map[journal.ID]journal.ID // waters that are one by now, or were
}

// selectTakers are the sessions of waters that have gauges. Of one without an end, or a start, the time fished tells it.
const selectTakers = takerColumns + `w.gauges <> '[]' AND `

const takerColumns = `SELECT se.id, se.water_id, se.day, se.started_at, se.ended_at, se.time_zone, se.flow_m3s IS NOT NULL, se.stage_m IS NOT NULL, se.water_temp_c IS NOT NULL, w.gauges::text,
		CASE WHEN (se.started_at IS NULL) <> (se.ended_at IS NULL) THEN (SELECT sum(st.seconds) FROM stint st WHERE st.outfit_id = se.outfit_id AND st.session_id = se.id) END
	FROM session se JOIN water w ON w.outfit_id = se.outfit_id AND w.id = se.water_id WHERE se.outfit_id = $1 AND `

// selectWritten are those of sessions that were written which have gauges, or took something before.
const selectWritten = takerColumns + `se.id = ANY($2) AND (w.gauges <> '[]' OR se.id = ANY($3))`

// readTakers gathers the rows of selectTakers.
func readTakers(rows pgx.Rows) (list []*taker, err error) {
	var t taker
	var start, end *time.Time
	var zone string
	var typed [3]bool
	var seconds *int64
	zones := map[string]*time.Location{}
	_, err = pgx.ForEachRow(rows, []any{&t.id, &t.water, &t.day, &start, &end, &zone, &typed[0], &typed[1], &typed[2], &t.links, &seconds}, func() error {
		loc := zones[zone]
		if loc == nil {
			var err error
			if loc, err = time.LoadLocation(zone); err != nil {
				return fmt.Errorf("find the time zone of the session of %s: %w", t.day, err)
			}
			zones[zone] = loc
		}
		one := t
		one.typed = map[gauge.Quantity]bool{}
		for i, q := range gauge.Quantities() {
			if typed[i] {
				one.typed[q] = true
			}
		}
		one.outing = outingOf(t.day, loc, start, end, seconds)
		list = append(list, &one)
		return nil
	})
	return list, err
}

// outingOf is when somebody fished: in the middle of start and end. Of one of these the other is as far away as was fished.
func outingOf(day journal.Date, loc *time.Location, start, end *time.Time, seconds *int64) gauge.Outing {
	o := gauge.Outing{Day: day.In(loc), Calendar: day.In(time.UTC)}
	o.NextDay = time.Date(day.Year, day.Month, day.Day+1, 0, 0, 0, 0, loc)
	half := time.Duration(0)
	if seconds != nil {
		half = time.Duration(*seconds) * time.Second / 2
	}
	switch {
	case start != nil && end != nil:
		o.Middle = start.Add(end.Sub(*start) / 2)
	case start != nil:
		o.Middle = start.Add(half)
	case end != nil:
		o.Middle = end.Add(-half)
	}
	o.Middle = o.Middle.Truncate(time.Microsecond)
	return o
}

// within are the times of the readings that an outing may take: up to a day before its middle, and its whole day.
func within(o gauge.Outing) (from, to time.Time) {
	from, to = o.Day, o.NextDay
	if !o.Middle.IsZero() {
		if before := o.Middle.Add(-24*time.Hour - 2*gauge.Reach); before.Before(from) {
			from = before
		}
		if after := o.Middle.Add(2 * gauge.Reach); after.After(to) {
			to = after
		}
	}
	return from, to
}

// around are the times of the readings that an outing may take, and the day before, which the drawing of its river begins with.
func around(o gauge.Outing) gauge.Span {
	from, to := within(o)
	return gauge.Span{From: from, To: to}.With(gauge.Span{From: o.Day.AddDate(0, 0, -1), To: o.NextDay})
}

// source is what sessions of equal links take a quantity from, in order.
type source struct {
	site gauge.Site
	list []gauge.Series
}

// filling is the filling of sessions under way.
type filling struct {
	*Store
	tx     pgx.Tx
	links  map[string]links
	stored []storedSeries
	usual  map[usualKey]gauge.Usual
}

// usualKey names what is usual at a site before a year.
type usualKey struct {
	site gauge.Site
	year int
}

// take finds out what sessions take.
func (s *Store) take(ctx context.Context, tx pgx.Tx, list []*taker, keep keeping) error {
	f := filling{Store: s, tx: tx, links: map[string]links{}, usual: map[usualKey]gauge.Usual{}}
	if err := f.read(ctx, list); err != nil {
		return err
	}
	sources := map[string]map[gauge.Quantity][]source{}
	for text, l := range f.links {
		sources[text] = map[gauge.Quantity][]source{}
		for _, q := range gauge.Quantities() {
			sources[text][q] = f.sources(l, q)
		}
	}
	for _, t := range list {
		for _, q := range gauge.Quantities() {
			for _, from := range sources[t.links][q] {
				fill, ok := gauge.Take(t.outing, q, from.list, f.usualAt(from.site, t.day.Year))
				if !ok {
					continue
				}
				fill.At = fill.At.UTC()
				t.takes = append(t.takes, fill)
				break
			}
		}
		f.keepHeld(t, keep)
		if len(t.takes) == 0 {
			t.why = f.whyNot(t)
		}
	}
	return nil
}

// read reads what sessions may take, of each series only the days near theirs. Daily means are read whole, since they say
// what is usual.
func (f *filling) read(ctx context.Context, list []*taker) error {
	near := map[gauge.Site]map[int64]bool{}
	for _, t := range list {
		l, known := f.links[t.links]
		if !known {
			if err := l.UnmarshalJSON([]byte(t.links)); err != nil {
				return fmt.Errorf("read the gauges of a water: %w", err)
			}
			f.links[t.links] = l
		}
		from, to := within(t.outing)
		first, _ := dayOf(from)
		last, _ := dayOf(to)
		for _, link := range l {
			days := near[link.Site]
			if days == nil {
				days = map[int64]bool{}
				near[link.Site] = days
			}
			for d := first; d <= last; d++ {
				days[d] = true
			}
		}
	}
	stored, err := f.seriesOf(ctx, f.tx, slices.Collect(maps.Keys(near)))
	if err != nil {
		return err
	}
	f.stored = stored
	batch := &pgx.Batch{} // one way there and back for all of them
	for i, v := range stored {
		days := []int64(nil)
		if v.Statistic == gauge.Instant {
			days = slices.Sorted(maps.Keys(near[v.Site]))
		}
		put := func(b block) { stored[i].Series.Readings = b.readings(stored[i].Series.Readings) }
		if !inBinary(f.tx) {
			if err := readBlocks(ctx, f.tx, v.outfit, v.id, days, put); err != nil {
				return err
			}
			continue
		}
		batch.Queue(selectBlocks, v.outfit, v.id, datesOf(days)).Query(func(rows pgx.Rows) error { return eachRow(rows, func(in *wire) { put(in.block()) }) })
	}
	return f.tx.SendBatch(ctx, batch).Close()
}

// sources are what links give of a quantity, in their order.
func (f *filling) sources(l links, q gauge.Quantity) (list []source) {
	var of []gauge.Series
	for _, v := range f.stored {
		if v.Quantity == q {
			of = append(of, v.Series)
		}
	}
	for _, link := range l {
		if given := link.Of(of); len(given) > 0 {
			list = append(list, source{link.Site, given})
		}
	}
	return list
}

// usualAt is what flow is usual at a site, by the years before a session's: so that it stays what it is as years go on.
func (f *filling) usualAt(site gauge.Site, year int) gauge.Usual {
	key := usualKey{site, year}
	u, known := f.usual[key]
	if !known {
		for _, v := range f.stored {
			if v.Site == site && v.Quantity == gauge.Flow && v.Statistic == gauge.DailyMean {
				u = gauge.NewUsual(v.Series, time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC))
				break
			}
		}
		f.usual[key] = u
	}
	return u
}

// keepHeld keeps what a session took and gauges don't say now, while it is of the same time and water: where nothing of that
// gauge is stored here, as after a backup was brought in.
func (f *filling) keepHeld(t *taker, keep keeping) {
	for _, h := range t.had {
		there := slices.ContainsFunc(t.takes, func(x gauge.Fill) bool { return x.Quantity == h.Quantity })
		linked := slices.ContainsFunc(f.links[t.links], func(l gauge.Link) bool { return l.Site == h.Site && l.Gives(h.Quantity) })
		stored := slices.ContainsFunc(f.stored, func(v storedSeries) bool { return v.Site == h.Site && v.Quantity == h.Quantity })
		then := h.Day == t.day && (h.Middle == nil && t.outing.Middle.IsZero() || h.Middle != nil && h.Middle.Equal(t.outing.Middle))
		where := h.water == t.water || keep.Into[h.water] == t.water || keep.Into[t.water] == h.water
		if !there && then && where && (linked && !stored || !linked && keep.Unlinked) {
			t.takes = append(t.takes, h.Fill)
		}
	}
	slices.SortFunc(t.takes, func(a, b gauge.Fill) int { return cmp.Compare(a.Quantity, b.Quantity) })
}

// whyNot says why a session takes nothing.
func (f *filling) whyNot(t *taker) string {
	stored, near, mean := false, false, false
	from, to := t.outing.Day, t.outing.NextDay
	if !t.outing.Middle.IsZero() {
		from, to = within(t.outing)
	}
	for _, v := range f.stored {
		if slices.ContainsFunc(f.links[t.links], func(l gauge.Link) bool { return l.Site == v.Site && l.Gives(v.Quantity) }) {
			stored = true
			switch some := len(v.Between(from, to)) > 0; {
			case v.Statistic == gauge.DailyMean && !t.outing.Middle.IsZero():
				mean = mean || some
			default:
				near = near || some
			}
		}
	}
	switch {
	case !stored:
		return "No readings of the gauge are stored"
	case !near && mean:
		return "Of that day only the mean is stored"
	case !near:
		return "No readings of that day are stored"
	case t.outing.Middle.IsZero():
		return "No times were noted, and the gauge's readings cover less than two thirds of the day"
	}
	return fmt.Sprintf("The gauge had no reading within %d minutes", int(gauge.Reach.Minutes()))
}

// changed reports whether a session takes something else than it did.
func (t *taker) changed() bool {
	return !slices.EqualFunc(t.takes, t.had, func(a gauge.Fill, b heldFill) bool { return sameFill(a, b.Fill) })
}

func sameFill(a, b gauge.Fill) bool {
	at := a.At.Equal(b.At)
	a.At, b.At = time.Time{}, time.Time{}
	return at && reflect.DeepEqual(a, b)
}

const fillColumns = `g.session_id, g.quantity, provider, number, sensor, value, at, two, whole_day, flags, percentile, years, change_6h, change_24h, peak, g.day, middle`

// readFills reads what sessions take now, by quantity.
func (s *Store) readFills(ctx context.Context, from querier, ids []journal.ID) (map[journal.ID][]heldFill, error) {
	rows, _ := from.Query(ctx, selectFills, s.outfit, ids)
	return collectFills(rows)
}

const selectFills = `SELECT ` + fillColumns + `, (SELECT water_id FROM session se WHERE se.outfit_id = g.outfit_id AND se.id = g.session_id)
	FROM session_gauge g WHERE outfit_id = $1 AND ($2::uuid[] IS NULL OR session_id = ANY($2)) ORDER BY g.session_id, g.quantity`

func collectFills(rows pgx.Rows) (map[journal.ID][]heldFill, error) {
	held := map[journal.ID][]heldFill{}
	var id journal.ID
	var f heldFill
	var flags int16
	_, err := pgx.ForEachRow(rows, []any{&id, &f.Quantity, &f.Site.Provider, &f.Site.Number, &f.Sensor, &f.Value, &f.At, &f.Between, &f.WholeDay, &flags,
		&f.Percentile, &f.Years, &f.Change6H, &f.Change24H, &f.Peak, &f.Day, &f.Middle, &f.water}, func() error {
		f.Flags, f.At = gauge.Flags(flags), f.At.UTC()
		held[id] = append(held[id], f)
		return nil
	})
	return held, err
}

// writeFills writes what sessions take, in the place of what they took.
func (s *Store) writeFills(ctx context.Context, tx pgx.Tx, list []*taker) error {
	var ids []journal.ID
	var rows fillRows
	for _, t := range list {
		if len(t.had) > 0 {
			ids = append(ids, t.id)
		}
		var middle *time.Time
		if !t.outing.Middle.IsZero() {
			middle = &t.outing.Middle
		}
		for _, f := range t.takes {
			rows.add(t.id, t.day, middle, f)
		}
	}
	batch := &pgx.Batch{}
	if len(ids) > 0 {
		batch.Queue(`DELETE FROM session_gauge WHERE outfit_id = $1 AND session_id = ANY($2)`, s.outfit, ids)
	}
	rows.queue(batch, s.outfit, "")
	return tx.SendBatch(ctx, batch).Close()
}

// fillRows are rows of session_gauge, column by column.
type fillRows struct {
	ids                                     []journal.ID
	quantities, providers, numbers, sensors []string
	values                                  []float64
	ats                                     []time.Time
	twos, wholeDays                         []bool
	flags, years                            []int16
	percentiles, changes6, changes24, peaks []*float64
	days                                    []journal.Date
	middles                                 []*time.Time
}

func (r *fillRows) add(session journal.ID, day journal.Date, middle *time.Time, f gauge.Fill) {
	r.ids, r.quantities, r.providers, r.numbers = append(r.ids, session), append(r.quantities, string(f.Quantity)), append(r.providers, f.Site.Provider), append(r.numbers, f.Site.Number)
	r.sensors, r.values, r.ats, r.twos = append(r.sensors, f.Sensor), append(r.values, f.Value), append(r.ats, f.At), append(r.twos, f.Between)
	r.wholeDays, r.flags, r.years, r.percentiles = append(r.wholeDays, f.WholeDay), append(r.flags, int16(f.Flags)), append(r.years, int16(f.Years)), append(r.percentiles, f.Percentile)
	r.changes6, r.changes24, r.peaks, r.days = append(r.changes6, f.Change6H), append(r.changes24, f.Change24H), append(r.peaks, f.Peak), append(r.days, day)
	r.middles = append(r.middles, middle)
}

// queue inserts them; there says what is done about those that are there.
func (r *fillRows) queue(batch *pgx.Batch, outfit journal.ID, there string) {
	if len(r.ids) == 0 {
		return
	}
	batch.Queue(`INSERT INTO session_gauge (outfit_id, `+strings.ReplaceAll(fillColumns, "g.", "")+`) SELECT $1, * FROM unnest($2::uuid[], $3::text[], $4::text[], $5::text[], $6::text[], $7::float8[], $8::timestamptz[],
			$9::boolean[], $10::boolean[], $11::smallint[], $12::float8[], $13::smallint[], $14::float8[], $15::float8[], $16::float8[], $17::date[], $18::timestamptz[])`+there,
		outfit, r.ids, r.quantities, r.providers, r.numbers, r.sensors, r.values, r.ats, r.twos, r.wholeDays, r.flags, r.percentiles, r.years, r.changes6, r.changes24, r.peaks, r.days, r.middles)
}

// fillWritten has sessions that the transaction has written take what gauges say. held is what they took before.
func (s *Store) fillWritten(ctx context.Context, tx pgx.Tx, list []*taker, held map[journal.ID][]heldFill, into map[journal.ID]journal.ID) error {
	if len(list) == 0 {
		return nil
	}
	for _, t := range list {
		t.had = held[t.id]
	}
	if err := s.take(ctx, tx, list, keeping{Unlinked: true, Into: into}); err != nil {
		return err
	}
	for _, t := range list {
		t.had = nil // it went with the session
	}
	return s.writeFills(ctx, tx, list)
}

// fillRun is how many sessions are filled at once.
const fillRun = 10 * bulkRun

// fillAll is fillWritten for many, if the outfit has any gauge, or had. Of waters into says which are one.
func (s *Store) fillAll(ctx context.Context, tx pgx.Tx, sessions []journal.Session, held map[journal.ID][]heldFill, into map[journal.ID]journal.ID) error {
	var linked bool
	if err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM gauge_use WHERE outfit_id = $1)`, s.outfit).Scan(&linked); err != nil || !linked && len(held) == 0 {
		return err
	}
	took := slices.AppendSeq([]journal.ID{}, maps.Keys(held))
	for part := range slices.Chunk(sessions, fillRun) {
		ids := make([]journal.ID, len(part))
		for i, session := range part {
			ids[i] = session.ID
		}
		rows, _ := tx.Query(ctx, selectWritten, s.outfit, ids, took)
		list, err := readTakers(rows)
		if err != nil {
			return err
		}
		if err := s.fillWritten(ctx, tx, list, held, into); err != nil {
			return err
		}
	}
	return nil
}

// addTaken adds what sessions took elsewhere of gauges that say nothing of them here.
func (s *Store) addTaken(ctx context.Context, tx pgx.Tx, a journal.Addition) error {
	came := map[journal.ID]bool{}
	for _, session := range a.Sessions {
		came[session.ID] = true
	}
	var rows fillRows
	for _, t := range a.Taken {
		if came[t.Session] {
			for _, f := range t.Fills {
				rows.add(t.Session, t.Day, t.Middle, f)
			}
		}
	}
	batch := &pgx.Batch{}
	rows.queue(batch, s.outfit, ` ON CONFLICT (outfit_id, session_id, quantity) DO NOTHING`)
	return tx.SendBatch(ctx, batch).Close()
}

// readTaken reads what all sessions take, by session.
func (s *Store) readTaken(ctx context.Context, from querier) (list []journal.Taken, err error) {
	held, err := s.readFills(ctx, from, nil)
	for id, fills := range held {
		t := journal.Taken{Session: id, Day: fills[0].Day}
		if m := fills[0].Middle; m != nil {
			t.Middle = new(m.UTC())
		}
		for _, f := range fills {
			t.Fills = append(t.Fills, f.Fill)
		}
		list = append(list, t)
	}
	slices.SortFunc(list, func(a, b journal.Taken) int { return cmp.Compare(a.Session.String(), b.Session.String()) })
	return list, err
}
