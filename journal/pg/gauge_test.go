package pg_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

// invented is a gauge that nobody runs.
var invented = gauge.NewSite(gauge.USGS, "00000017")

func ptr[T any](v T) *T { return &v }

// every are readings of a site, so many minutes apart.
func every(site gauge.Site, q gauge.Quantity, from time.Time, n, minutes int, value func(i int) float64) gauge.Series {
	s := gauge.Series{Site: site, Quantity: q}
	for i := range n {
		s.Readings = append(s.Readings, gauge.Reading{At: from.Add(time.Duration(i*minutes) * time.Minute), Value: value(i), Flags: gauge.Provisional})
	}
	return s
}

func found(list ...gauge.Series) gauge.Found { return gauge.Found{Series: list} }

func keep(t *testing.T, store *pg.Store, f gauge.Found) gauge.Kept {
	t.Helper()
	kept, err := store.KeepReadings(t.Context(), f)
	if err != nil {
		t.Fatal(err)
	}
	return kept
}

func readings(t *testing.T, store *pg.Store, from, to time.Time) []gauge.Series {
	t.Helper()
	list, err := store.Readings(t.Context(), invented, from, to)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// Ensure that what is said anew takes the place of what is stored and what is the same is left alone, that a gap takes
// nothing away unless the provider says why there is no value any more, and that all comes back as it was stored.
func TestReadingsAreRevised(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	// From the evening of one day into the next, in UTC.
	from := time.Date(2024, 5, 1, 22, 0, 0, 0, time.UTC)
	flow := func(i int) float64 { return 3 + float64(i)/7 }
	first := every(invented, gauge.Flow, from, 16, 15, flow)
	first.Readings[3].Value, first.Readings[3].Flags = math.NaN(), gauge.Ice
	kept := keep(t, b.store, gauge.Found{Gauges: []gauge.Gauge{{Site: invented, Name: "Alder Brook at Mill", Zone: "America/Denver", Latitude: ptr(40.1)}}, Series: []gauge.Series{first}})
	if want := (gauge.Kept{Series: 1, New: 15, Empty: 1, From: from, To: from.Add(15 * 15 * time.Minute)}); kept != want {
		t.Errorf("first %+v, want %+v", kept, want)
	}
	again := keep(t, b.store, found(first))
	if again.Same != 15 || again.Empty != 1 || again.New+again.Revised != 0 {
		t.Errorf("again %+v", again)
	}
	second := every(invented, gauge.Flow, from, 16, 15, flow)
	second.Readings[3].Value = 9                                                     // the ice is gone
	second.Readings[4].Value = 8                                                     // revised
	second.Readings[5].Flags = 0                                                     // approved
	second.Readings[6].Value, second.Readings[6].Flags = math.NaN(), 0               // a gap, of which nothing is said
	second.Readings[7].Value, second.Readings[7].Flags = math.NaN(), gauge.Equipment // taken back
	second.Readings = append(slices.Delete(second.Readings, 8, 12), gauge.Reading{At: from.Add(5 * time.Minute), Value: 7})
	got := keep(t, b.store, found(second))
	if got.New != 2 || got.Revised != 2 || got.Empty != 1 || got.Same != 16+1-4-5 {
		t.Errorf("second %+v", got)
	}
	want := map[int]gauge.Reading{3: {Value: 9, Flags: gauge.Provisional}, 4: {Value: 8, Flags: gauge.Provisional}, 5: {Value: flow(5)}, 6: first.Readings[6], 7: {Value: math.NaN(), Flags: gauge.Equipment}, 10: first.Readings[10]}
	list := readings(t, b.store, from, from.Add(24*time.Hour))
	if len(list) != 1 || len(list[0].Readings) != 17 {
		t.Fatalf("%+v", list)
	}
	for i, w := range want {
		on := list[0].Between(from.Add(time.Duration(i)*15*time.Minute), from.Add(time.Duration(i)*15*time.Minute))
		if len(on) != 1 || on[0].Flags != w.Flags || math.Float64bits(on[0].Value) != math.Float64bits(w.Value) && !(math.IsNaN(on[0].Value) && math.IsNaN(w.Value)) {
			t.Errorf("reading %d is %+v, want %+v", i, on, w)
		}
	}
	states, err := b.store.Gauges(t.Context(), invented)
	if err != nil || len(states) != 1 {
		t.Fatal(states, err)
	}
	if s := states[0]; s.Name != "Alder Brook at Mill" || s.Zone != "America/Denver" || s.Days != 2 || !s.From.Equal(from) || !s.To.Equal(from.Add(15*15*time.Minute)) || s.LatestOf(gauge.Link{Site: invented})[gauge.Flow].Value != flow(15) {
		t.Errorf("the state is %+v, %d days, from %v to %v, %v", s.Gauge.Name, s.Days, s.From, s.To, s.Last)
	}
	if n := count(t, connect(t, b.url), `SELECT count(*) FROM gauge_block`); n != 2 {
		t.Errorf("%d rows for two days", n)
	}
	for says, f := range map[string]gauge.Found{
		"usgs:01234567":    {Gauges: []gauge.Gauge{{Site: gauge.Site{Provider: "USGS", Number: "1"}}}},
		"of the year 3024": found(every(invented, gauge.Flow, time.Date(3024, 1, 1, 0, 0, 0, 0, time.UTC), 1, 1, func(int) float64 { return 1 })),
		"choose flow":      found(every(invented, "depth", from, 1, 1, func(int) float64 { return 1 })),
	} {
		if _, err := b.store.KeepReadings(t.Context(), f); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v: %v, want %q", f, err, says)
		}
	}
}

// Ensure that several who keep the same readings at once end with each reading once, and that none of them fails.
func TestReadingsKeptAtOnce(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	from := time.Date(2024, 12, 31, 12, 0, 0, 0, time.UTC)
	var wg sync.WaitGroup
	for k := range 6 {
		wg.Go(func() {
			list := []gauge.Series{}
			for _, q := range gauge.Quantities() { // each in another order
				list = append(list, every(invented, q, from.Add(time.Duration(k)*time.Hour), 96, 15, func(i int) float64 { return float64(i + 4*k) }))
			}
			if k%2 == 1 {
				slices.Reverse(list)
			}
			if _, err := b.store.KeepReadings(context.Background(), found(list...)); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	list := readings(t, b.store, from, from.AddDate(0, 0, 3))
	if len(list) != 3 {
		t.Fatalf("%d series", len(list))
	}
	for _, s := range list {
		if len(s.Readings) != 96+5*4 {
			t.Errorf("%d readings of %s", len(s.Readings), s.Quantity)
		}
		for i, r := range s.Readings {
			if r.Value != float64(i) {
				t.Fatalf("%s: reading %d is %v", s.Quantity, i, r.Value)
			}
		}
	}
	if n := count(t, connect(t, b.url), `SELECT count(*) FROM gauge_block b JOIN pg_class c ON c.oid = b.tableoid WHERE relname IN ('gauge_block_2020', 'gauge_block_2025')`); n != 6 {
		t.Errorf("%d rows in the partitions of either year, want two of each quantity", n)
	}
	plan, err := pgx.CollectRows(must1(connect(t, b.url).Query(t.Context(), `EXPLAIN SELECT * FROM gauge_block WHERE outfit_id = no_outfit() AND series_id = no_outfit() AND begins BETWEEN '2024-12-30' AND '2024-12-31'`)), pgx.RowTo[string])
	if all := strings.Join(plan, "\n"); err != nil || !strings.Contains(all, "gauge_block_2020") || strings.Contains(all, "gauge_block_2025") {
		t.Errorf("%v, %v", all, err)
	}
}

func must1[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// Ensure that daily means are a row a year, that they stand for no other day, and that the usual is of earlier years.
func TestDailyMeansAreRowsOfYears(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	s := gauge.Series{Site: invented, Quantity: gauge.Flow, Statistic: gauge.DailyMean}
	for d := time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC); d.Year() < 2024; d = d.AddDate(0, 0, 1) {
		s.Readings = append(s.Readings, gauge.Reading{At: d, Value: float64(d.Year() - 2009)})
	}
	keep(t, b.store, found(s))
	if n := count(t, connect(t, b.url), `SELECT count(*) FROM gauge_block`); n != 14 {
		t.Errorf("%d rows for 14 years", n)
	}
	list := readings(t, b.store, time.Date(2015, 12, 31, 10, 0, 0, 0, time.UTC), time.Date(2016, 1, 1, 9, 0, 0, 0, time.UTC))
	if len(list) != 1 || len(list[0].Readings) != 2 || list[0].Readings[0].Value != 6 || list[0].Readings[1].Value != 7 || list[0].Statistic != gauge.DailyMean {
		t.Errorf("%+v", list)
	}
	usual, err := b.store.Usual(t.Context(), invented, time.Date(2022, 7, 1, 0, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	// 1 to 12 of the years 2010 to 2021: 6 is at 6/13.
	if p, years, ok := usual.Percentile(time.Date(2022, 7, 1, 0, 0, 0, 0, time.UTC), 6); !ok || years != 12 || math.Abs(p-600.0/13) > 0.005 {
		t.Errorf("%v of %d years, %v", p, years, ok)
	}
	if st, err := b.store.Gauges(t.Context(), invented); err != nil || st[0].DailyYears != 14 || st[0].Days != 0 || !st[0].From.IsZero() {
		t.Errorf("%+v, %v", st, err)
	}
}

// Ensure that one caller at a time may ask an agency, until it is time again, and that what came of it is told to outfits
// that use the gauge and to no other.
func TestRequestsAreClaimed(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	now := time.Date(2026, 5, 1, 10, 0, 0, 0, time.UTC)
	var wg sync.WaitGroup
	var mu sync.Mutex
	claimed := 0
	for range 8 {
		wg.Go(func() {
			_, ok, err := b.store.ClaimRequest(context.Background(), invented, "latest", now, 15*time.Minute)
			mu.Lock()
			defer mu.Unlock()
			if err != nil {
				t.Error(err)
			}
			if ok {
				claimed++
			}
		})
	}
	wg.Wait()
	if claimed != 1 {
		t.Errorf("%d of eight may ask", claimed)
	}
	want := gauge.Request{Site: invented, What: "latest", ETag: `"x"`, LastModified: "Fri, 01 May 2026 09:00:00 GMT", AskedAt: now, NextAt: now.Add(time.Hour), Failures: 2, Trouble: "The agency is down"}
	if err := b.store.SettleRequest(ctx, want); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		after time.Duration
		ok    bool
	}{{20 * time.Minute, false}, {time.Hour, true}, {61 * time.Minute, false}, {-48 * time.Hour, true}} {
		r, ok, err := b.store.ClaimRequest(ctx, invented, "latest", now.Add(c.after), 15*time.Minute)
		if err != nil || ok != c.ok || r.ETag != want.ETag || r.Failures != 2 || r.Trouble != want.Trouble {
			t.Errorf("after %v: %+v, %v, %v", c.after, r, ok, err)
		}
	}
	if err := b.store.SettleRequest(ctx, want); err != nil {
		t.Fatal(err)
	}
	if st, err := b.store.Gauges(ctx, invented); err != nil || st[0].Request != nil {
		t.Errorf("an outfit that has nothing to do with the gauge learns of %+v, %v", st[0].Request, err)
	}
	// Whose turn it is tells nobody what came of asking.
	if _, ok, err := b.store.ClaimRequest(ctx, invented, gauge.Turn, now.Add(time.Minute), 15*time.Minute); !ok || err != nil {
		t.Errorf("the turn: %v, %v", ok, err)
	}
	b.link(t, invented)
	if st, err := b.store.Gauges(ctx); err != nil || len(st) != 1 || st[0].Request == nil || *st[0].Request != want {
		t.Errorf("the outfit learns of %+v, %v", st, err)
	}
	if used, err := b.store.GaugesUsed(ctx); err != nil || !slices.Equal(used, []gauge.Site{invented}) {
		t.Errorf("in use are %v, %v", used, err)
	}
	b.link(t)
	if used, err := b.store.GaugesUsed(ctx); err != nil || len(used) != 0 {
		t.Errorf("in use are %v, %v", used, err)
	}
}

// link gives the bench's water gauges.
func (b bench) link(t testing.TB, sites ...gauge.Site) {
	t.Helper()
	w := b.water
	w.Gauges = []gauge.Link{}
	for _, s := range sites {
		w.Gauges = append(w.Gauges, gauge.Link{Site: s})
	}
	if err := b.store.SaveWater(context.Background(), w); err != nil {
		t.Fatal(err)
	}
}

// Ensure that people who change the links of a water and the water itself at once leave each other's changes.
func TestLinksAreChangedAlone(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	form, err := b.store.WaterByName(ctx, b.water.Name) // as it is before
	if err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			_, err := b.store.Links(ctx, form.ID, func(links []gauge.Link) ([]gauge.Link, error) {
				return append(links, gauge.Link{Site: gauge.NewSite("county", string(rune('1'+i)))}), nil
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	form.Kind = "tailwater"
	if err := b.store.SaveWater(ctx, form); err != nil {
		t.Fatal(err)
	}
	var invalid *journal.Invalid
	for name, c := range map[string]struct {
		change func([]gauge.Link) ([]gauge.Link, error)
		fails  bool
	}{
		"nothing": {func(l []gauge.Link) ([]gauge.Link, error) { return l, nil }, false},
		"twice":   {func(l []gauge.Link) ([]gauge.Link, error) { return append(l, l[0]), nil }, true},
	} {
		if _, err := b.store.Links(ctx, form.ID, c.change); errors.As(err, &invalid) != c.fails || err != nil && !c.fails {
			t.Errorf("%s: %v", name, err)
		}
	}
	if w, err := b.store.WaterByName(ctx, b.water.Name); err != nil || len(w.Gauges) != 8 || w.Kind != "tailwater" {
		t.Errorf("it is a %s with %v, %v", w.Kind, w.Gauges, err)
	}
	if _, err := b.store.Links(ctx, journal.NewID(), func(l []gauge.Link) ([]gauge.Link, error) { return l, nil }); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("of no water: %v", err)
	}
	if now, err := b.store.Links(ctx, form.ID, func([]gauge.Link) ([]gauge.Link, error) { return nil, nil }); err != nil || len(now) > 0 {
		t.Errorf("without any: %v, %v", now, err)
	}
	if used, err := b.store.GaugesUsed(ctx); err != nil || len(used) > 0 {
		t.Errorf("in use are %v, %v", used, err)
	}
}

// Ensure that what an outfit brought in from a file is seen by it alone and changes nothing that is common, whoever tries,
// and that no outfit, guide or client can write what is common, nor the keeper what is an outfit's.
func TestReadingsOfOneOutfitAreItsOwn(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	from := time.Date(2024, 5, 1, 0, 0, 0, 0, time.UTC)
	common := every(invented, gauge.Flow, from, 96, 15, func(int) float64 { return 1 })
	own := every(invented, gauge.Flow, from, 96, 15, func(int) float64 { return 666 })
	keep(t, b.store, gauge.Found{Gauges: []gauge.Gauge{{Site: invented, Name: "Common"}}, Series: []gauge.Series{common}})
	if _, err := b.store.KeepOwnReadings(ctx, gauge.Found{Gauges: []gauge.Gauge{{Site: invented, Name: "quillwort"}}, Series: []gauge.Series{own}}); err != nil {
		t.Fatal(err)
	}
	other, err := b.store.AddOutfit(ctx, "Another outfit")
	if err != nil {
		t.Fatal(err)
	}
	elsewhere := b.store.In(other, journal.Keeper())
	client := b.store.For(journal.Who{Role: journal.RoleClient, Name: "Ilse", Angler: &b.angler.ID})
	for name, c := range map[string]struct {
		store *pg.Store
		want  []float64
	}{"the outfit": {b.store, []float64{1, 666}}, "a client of it": {client, []float64{1, 666}}, "another": {elsewhere, []float64{1}}} {
		var got []float64
		for _, s := range readings(t, c.store, from, from.Add(time.Hour)) {
			got = append(got, s.Readings[0].Value)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s reads %v, want %v", name, got, c.want)
		}
		if st, err := c.store.Gauges(ctx, invented); err != nil || st[0].Name != "Common" {
			t.Errorf("%s: %+v, %v", name, st, err)
		}
	}
	if _, err := client.KeepOwnReadings(ctx, found(own)); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("a client kept readings: %v", err)
	}
	conn, err := pgx.Connect(ctx, b.url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	mine := b.store.OutfitID().String()
	zero := journal.ID{}.String()
	for _, role := range workRoles {
		for _, outfit := range []string{mine, other.String()} {
			for _, sql := range []string{
				`UPDATE gauge_block SET value = array_fill(0::float8, ARRAY[cardinality(seconds)]) WHERE outfit_id <> '` + outfit + `'`,
				`DELETE FROM gauge_block WHERE outfit_id <> '` + outfit + `'`, `DELETE FROM gauge WHERE outfit_id <> '` + outfit + `'`,
				`UPDATE gauge SET outfit_id = '` + zero + `' WHERE outfit_id = '` + outfit + `'`,
				`UPDATE gauge_block SET outfit_id = '` + zero + `'`,
				`INSERT INTO gauge_series (outfit_id, id, provider, number, quantity, sensor, statistic) VALUES ('` + zero + `', gen_random_uuid(), 'x', '1', 'flow', '', '')`,
				`DELETE FROM gauge_request`, `UPDATE gauge_use SET water_id = water_id`,
				`SELECT FROM gauge_block_2020`, `SELECT FROM gauge_block WHERE outfit_id NOT IN ('` + zero + `', '` + outfit + `')`,
			} {
				tx, err := conn.Begin(ctx)
				if err != nil {
					t.Fatal(err)
				}
				if _, err := tx.Exec(ctx, "SET LOCAL ROLE "+role+"; SET LOCAL rigtally.outfit = '"+outfit+"'; SET LOCAL rigtally.client = '"+b.angler.ID.String()+"'"); err != nil {
					t.Fatal(err)
				}
				tag, err := tx.Exec(ctx, sql)
				if atGauges := role == "rigtally_at_gauges"; err == nil && tag.RowsAffected() > 0 && !(atGauges && !strings.Contains(sql, "NOT IN")) {
					t.Errorf("%s: %s did it to %d rows", role, sql, tag.RowsAffected())
				}
				_ = tx.Rollback(ctx)
			}
		}
	}
	// The keeper reads and writes no row of an outfit, whatever outfit it names.
	tx, err := conn.Begin(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = tx.Rollback(ctx) }()
	var n int
	if _, err := tx.Exec(ctx, "SET LOCAL ROLE rigtally_at_gauges"); err != nil {
		t.Fatal(err)
	}
	if err := tx.QueryRow(ctx, `SELECT count(*) FROM gauge_block WHERE outfit_id <> no_outfit()`).Scan(&n); err != nil || n != 0 {
		t.Errorf("the keeper reads %d rows of outfits, %v", n, err)
	}
	if _, err := tx.Exec(ctx, `UPDATE gauge SET outfit_id = $1`, other); err == nil {
		t.Error("the keeper gave an outfit a row")
	}
}

// Ensure that what links say is what is in use, whichever way a water comes, goes and comes back.
func TestGaugesInUse(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	used := func(want ...gauge.Site) {
		t.Helper()
		if got, err := b.store.GaugesUsed(ctx); err != nil || !slices.Equal(got, want) {
			t.Errorf("in use are %v, %v; want %v", got, err, want)
		}
	}
	second := gauge.NewSite(gauge.EA, "9001TH")
	w := journal.Water{ID: journaltest.NewID(t), Name: "Alder Bk", Kind: "freestone", TimeZone: b.water.TimeZone, Gauges: []gauge.Link{{Site: invented}, {Site: second, Takes: []gauge.Quantity{gauge.Temperature}}}}
	if err := b.store.SaveWater(ctx, w); err != nil {
		t.Fatal(err)
	}
	used(second, invented)
	if _, err := b.store.Merge(ctx, journal.Thing{Kind: journal.ThingWater, ID: w.ID}, journal.Thing{Kind: journal.ThingWater, ID: b.water.ID}); err != nil {
		t.Fatal(err)
	}
	used(second, invented)
	if _, err := b.store.Undo(ctx, journal.ID{}); err != nil {
		t.Fatal(err)
	}
	used(second, invented)
	if held, err := b.store.WaterByName(ctx, b.water.Name); err != nil || held.Gauges != nil {
		t.Errorf("the other water has %v, %v", held.Gauges, err)
	}
	w.Gauges = w.Gauges[:1]
	if err := b.store.SaveWater(ctx, w); err != nil {
		t.Fatal(err)
	}
	used(invented)
	third := w
	third.ID, third.Name, third.Gauges = journaltest.NewID(t), "Tessel River", []gauge.Link{{Site: second}}
	if err := b.store.Add(ctx, journal.Addition{Waters: []journal.Water{third}, Told: "Imported"}, nil); err != nil {
		t.Fatal(err)
	}
	used(second, invented)
	if _, err := b.store.Undo(ctx, journal.ID{}); err != nil {
		t.Fatal(err)
	}
	used(invented)
}
