package pg_test

import (
	"context"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
)

// river is a bench whose water has a gauge in UTC with flow and temperature of the first ten days of May 2026, but for the
// sixth, and with daily means of twelve years before. Flow grows by 1 m³/s an hour from 100, temperature is the hour.
func newRiver(t *testing.T) bench {
	t.Helper()
	b := newBench(t)
	from := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	hours := func(q gauge.Quantity, value func(i int) float64) gauge.Series {
		s := every(invented, q, from, 240, 60, value)
		return gauge.Series{Site: s.Site, Quantity: q, Readings: slices.DeleteFunc(s.Readings, func(r gauge.Reading) bool { return r.At.Day() == 6 })}
	}
	daily := gauge.Series{Site: invented, Quantity: gauge.Flow, Statistic: gauge.DailyMean}
	for y := 2014; y < 2026; y++ {
		for d := range 12 {
			daily.Readings = append(daily.Readings, gauge.Reading{At: time.Date(y, 5, 1+d, 0, 0, 0, 0, time.UTC), Value: float64(y-2013) * 20})
		}
	}
	keep(t, b.store, found(hours(gauge.Flow, func(i int) float64 { return 100 + float64(i) }), hours(gauge.Temperature, func(i int) float64 { return float64(i % 24) }), daily))
	return b
}

// outing is a session from nine to eleven, for which nothing was typed.
func (b bench) outing(t *testing.T, day int) journal.Session {
	t.Helper()
	s := b.session(t, journal.Date{Year: 2026, Month: 5, Day: day}, new(120.0))
	s.FlowM3S, s.WaterTempC = nil, nil
	s.Start, s.End = new(time.Date(2026, 5, day, 9, 0, 0, 0, time.UTC)), new(time.Date(2026, 5, day, 11, 0, 0, 0, time.UTC))
	return s
}

// takes are the flow and temperature that a session takes, NaN for none.
func (b bench) takes(t *testing.T, id journal.ID) (flow, temp float64) {
	t.Helper()
	flow, temp = math.NaN(), math.NaN()
	fills, err := b.store.Fills(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range fills[id] {
		switch f.Quantity {
		case gauge.Flow:
			flow = f.Value
		case gauge.Temperature:
			temp = f.Value
		}
	}
	return flow, temp
}

// takesIt holds what a session takes against the river on a day at ten, or nothing for day 0.
func (b bench) takesIt(t *testing.T, what string, id journal.ID, day int) {
	t.Helper()
	flow, temp := b.takes(t, id)
	switch {
	case day == 0 && !math.IsNaN(flow+temp):
		t.Errorf("%s: takes %v and %v, want nothing", what, flow, temp)
	case day > 0 && (flow != float64(100+24*(day-1)+10) || temp != 10):
		t.Errorf("%s: takes %v and %v, want %d and 10", what, flow, temp, 100+24*(day-1)+10)
	}
}

// Ensure that a session takes what the gauge said at its middle as it is saved, and keeps to that through edits, deletion,
// restoring, undo and a merge of its water; and that what was typed stands beside it.
func TestSessionsTakeWhatGaugesSay(t *testing.T) {
	t.Parallel()
	b := newRiver(t)
	ctx := t.Context()
	before := b.store1(t, b.outing(t, 2))
	b.takesIt(t, "before the link", before.ID, 0)
	b.link(t, invented)
	b.takesIt(t, "by the link alone", before.ID, 0)

	s := b.store1(t, b.outing(t, 3))
	b.takesIt(t, "saved", s.ID, 3)
	fills, err := b.store.Fills(ctx, s.ID)
	if err != nil {
		t.Fatal(err)
	}
	v := 158.0 // of 20, 40, … 240 it is between the seventh and the eighth, at 7.9 of 13
	want := []gauge.Fill{{Quantity: gauge.Flow, Site: invented, Value: 158, At: time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC), Flags: gauge.Provisional,
		Percentile: new(60.77), Years: 12, Change6H: new(v/152 - 1), Change24H: new(v/134 - 1)},
		{Quantity: gauge.Temperature, Site: invented, Value: 10, At: time.Date(2026, 5, 3, 10, 0, 0, 0, time.UTC), Flags: gauge.Provisional, Peak: new(23.0)}}
	if !reflect.DeepEqual(fills[s.ID], want) {
		t.Errorf("took %+v\nwant %+v", fills[s.ID], want)
	}
	typed := b.outing(t, 3)
	typed.FlowM3S = new(4.25)
	typed = b.store1(t, typed)
	b.takesIt(t, "typed", typed.ID, 3)

	edited := s
	edited.Day, edited.Start, edited.End = b.outing(t, 4).Day, b.outing(t, 4).Start, b.outing(t, 4).End
	edited = b.store1(t, edited)
	b.takesIt(t, "edited to another day", s.ID, 4)
	gap := edited
	gap.Day, gap.Start, gap.End = b.outing(t, 6).Day, b.outing(t, 6).Start, b.outing(t, 6).End
	b.store1(t, gap)
	b.takesIt(t, "edited to a day without readings", s.ID, 0)
	if _, err := b.store.Undo(ctx, journal.ID{}); err != nil {
		t.Fatal(err)
	}
	b.takesIt(t, "the edit undone", s.ID, 4)
	if err := b.store.DeleteSession(ctx, s.ID, 0); err != nil {
		t.Fatal(err)
	}
	b.takesIt(t, "deleted", s.ID, 0)
	if err := b.store.RestoreSession(ctx, s.ID, 0); err != nil {
		t.Fatal(err)
	}
	b.takesIt(t, "restored", s.ID, 4)
	other, _, err := b.store.WaterNamed(ctx, "Alder Bk", "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.store.Merge(ctx, journal.Thing{Kind: journal.ThingWater, ID: b.water.ID}, journal.Thing{Kind: journal.ThingWater, ID: other.ID}); err != nil {
		t.Fatal(err)
	}
	b.takesIt(t, "its water merged into one without a gauge", s.ID, 4)
	if _, err := b.store.Undo(ctx, journal.ID{}); err != nil {
		t.Fatal(err)
	}
	b.takesIt(t, "the merge undone", s.ID, 4)
	sheet := b.outing(t, 5)
	if err := b.store.Add(ctx, journal.Addition{Sessions: []journal.Session{sheet}, Told: "Imported"}, nil); err != nil {
		t.Fatal(err)
	}
	b.takesIt(t, "imported", sheet.ID, 5)

	f, err := b.store.Facts(ctx)
	if err != nil {
		t.Fatal(err)
	}
	flows := map[float64]int{}
	for _, row := range f.Season(2026).Sessions {
		if row.ID != before.ID && (row.FlowPercentile == nil || *row.TempPeakC != 23 || row.Trend6H != gauge.Steady) {
			t.Errorf("facts of %s hold %+v", row.Day, row)
		}
		flows[*cmpOr(row.FlowM3S, new(math.NaN()))]++
	}
	if flows[4.25] != 1 || flows[100+24*3+10] != 1 || flows[100+24*4+10] != 1 {
		t.Errorf("facts hold the flows %v", flows)
	}
}

func cmpOr[T any](v, other *T) *T {
	if v == nil {
		return other
	}
	return v
}

// Ensure that a session without times takes the day's mean, and one with a start alone the middle of what was fished.
func TestSessionsWithoutTimes(t *testing.T) {
	t.Parallel()
	b := newRiver(t)
	b.link(t, invented)
	day := b.outing(t, 2)
	day.Start, day.End = nil, nil
	day = b.store1(t, day)
	if flow, temp := b.takes(t, day.ID); flow != 124+11.5 || temp != 11.5 {
		t.Errorf("of the day it takes %v and %v", flow, temp)
	}
	started := b.outing(t, 2)
	started.End = nil
	started = b.store1(t, started)
	if flow, temp := b.takes(t, started.ID); flow != 134 || temp != 10 {
		t.Errorf("from a start and two hours it takes %v and %v", flow, temp)
	}
}

// Ensure that people read why a session takes nothing: a day's mean is no reading near the hours that were fished.
func TestWhyNothingIsTaken(t *testing.T) {
	t.Parallel()
	b := newRiver(t)
	b.link(t, invented)
	for _, c := range []struct {
		year, day int
		want      string
	}{{2025, 3, "Of that day only the mean is stored"}, {2025, 25, "No readings of that day are stored"}} {
		s := b.outing(t, c.day)
		s.Day.Year, s.Start, s.End = c.year, new(s.Start.AddDate(c.year-2026, 0, 0)), new(s.End.AddDate(c.year-2026, 0, 0))
		s = b.store1(t, s)
		plan, err := b.store.PlanFill(t.Context(), pg.FillAsk{Sessions: []journal.ID{s.ID}})
		if err != nil || len(plan.Without) != 1 || plan.Without[0].Why != c.want {
			t.Errorf("on day %d of %d: %+v, %v; has to say %q", c.day, c.year, plan.Without, err, c.want)
		}
	}
}

// Ensure that a plan tells what filling does and changes nothing, that filling does it and facts are read anew, that a
// second time nothing changes, and that all of it can be cleared.
func TestFillIsPlannedAndDone(t *testing.T) {
	t.Parallel()
	b := newRiver(t)
	ctx := t.Context()
	var ids []journal.ID
	for day := 1; day <= 12; day++ {
		s := b.outing(t, day)
		if day%2 == 0 {
			s.FlowM3S = new(1.5)
		}
		if day == 12 { // the gauge had ended
			s.Start, s.End = nil, nil
		}
		ids = append(ids, b.store1(t, s).ID)
	}
	b.link(t, invented)
	flows := func() (n int) {
		f, err := b.store.Facts(ctx)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range f.Season(2026).Sessions {
			if row.FlowM3S != nil && *row.FlowM3S >= 100 {
				n++
			}
		}
		return n
	}
	if n := flows(); n != 0 {
		t.Fatalf("%d flows before", n)
	}
	ask := pg.FillAsk{}
	plan, err := b.store.PlanFill(ctx, ask)
	if err != nil {
		t.Fatal(err)
	}
	if plan.Sessions != 12 || plan.Changed != 9 || len(plan.Takes) != 2 || plan.Takes[0].Sessions != 9 || plan.Takes[0].Typed != 4 || plan.Takes[1].Typed != 0 || len(plan.Examples) != 9 {
		t.Errorf("the plan is %+v", plan)
	}
	gaps := 0
	for _, g := range plan.Without {
		gaps += g.Sessions
	}
	if gaps != 3 || len(plan.Without) == 0 || plan.Without[0].From.Day != 6 {
		t.Errorf("without are %+v", plan.Without)
	}
	// Each lacks the readings from the midnight before the day before it.
	if len(plan.Lacks) != 2 || plan.Lacks[0].From.Day() != 5 || plan.Lacks[0].To.Day() != 7 || plan.Lacks[1].From.Day() != 10 || plan.Lacks[1].To.Day() != 13 {
		t.Errorf("lacking are %v", plan.Lacks)
	}
	revision, err := b.store.Revision(ctx)
	if err != nil || flows() != 0 {
		t.Fatal("a plan changed something", err)
	}
	done, err := b.store.Fill(ctx, ask)
	if err != nil || !reflect.DeepEqual(done, plan) {
		t.Errorf("done is %+v, %v; planned was %+v", done, err, plan)
	}
	if n := flows(); n != 5 {
		t.Errorf("facts hold %d flows of the gauge", n)
	}
	again, err := b.store.Fill(ctx, ask)
	if now, wrong := b.store.Revision(ctx); err != nil || again.Changed != 0 || now != revision+1 || wrong != nil {
		t.Errorf("again it changed %d, %v; revision %d after %d, %v", again.Changed, err, now, revision, wrong)
	}
	held, err := b.store.SessionByID(ctx, ids[0])
	if err != nil || held.Version != 1 {
		t.Errorf("a filled session is of version %d, %v", held.Version, err)
	}
	first := ask
	first.Sessions = ids[:1]
	if n, err := b.store.ClearFills(ctx, first); err != nil || n != 1 || flows() != 4 {
		t.Errorf("cleared %d, %v", n, err)
	}
	if n, err := b.store.ClearFills(ctx, ask); err != nil || n != 8 || flows() != 0 {
		t.Errorf("cleared %d, %v", n, err)
	}
}

// Ensure that readings that come later reach the sessions logged since their water was linked, and those that took
// something of the gauge before, of every outfit; and no other.
func TestLateReadingsReachSessions(t *testing.T) {
	t.Parallel()
	b := newRiver(t)
	ctx := t.Context()
	old := b.store1(t, b.outing(t, 2))
	b.link(t, invented)
	asked := b.store1(t, b.outing(t, 2))
	late := b.store1(t, b.outing(t, 6))
	b.takesIt(t, "no reading", late.ID, 0)
	from := time.Date(2026, 5, 6, 0, 0, 0, 0, time.UTC)
	keep(t, b.store, found(every(invented, gauge.Flow, from, 24, 60, func(i int) float64 { return 220 + float64(i) }), every(invented, gauge.Temperature, from, 24, 60, func(i int) float64 { return float64(i) })))
	n, err := b.store.FillDue(ctx, invented, from, from.Add(24*time.Hour))
	if err != nil || n != 1 {
		t.Errorf("%d sessions, %v", n, err)
	}
	b.takesIt(t, "the reading came", late.ID, 6)
	keep(t, b.store, found(every(invented, gauge.Flow, time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC), 1, 60, func(int) float64 { return 77 })))
	if n, err := b.store.FillDue(ctx, invented, from.AddDate(0, 0, -4), from.AddDate(0, 0, -4)); err != nil || n != 1 {
		t.Errorf("%d sessions, %v", n, err)
	}
	if flow, _ := b.takes(t, asked.ID); flow != 77 {
		t.Errorf("revised to 77, it takes %v", flow)
	}
	b.takesIt(t, "logged before the link", old.ID, 0)
	if n, err := b.store.FillDue(ctx, invented, from, from); err != nil || n != 0 {
		t.Errorf("with nothing new %d changed, %v", n, err)
	}
}

// Ensure that where one outfit can't be filled the others are, and that it is filled once it can.
func TestOneOutfitThatCannotBeFilled(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	id, err := b.store.AddOutfit(ctx, "Another outfit")
	if err != nil {
		t.Fatal(err)
	}
	day := time.Date(2026, 5, 6, 0, 0, 0, 0, time.UTC)
	for _, store := range []*pg.Store{b.store, b.store.In(id, journal.Keeper())} {
		w, _, err := store.WaterNamed(ctx, "Alder Bk", "")
		if err != nil {
			t.Fatal(err)
		}
		w.Gauges = []gauge.Link{{Site: invented}}
		if err := store.SaveWater(ctx, w); err != nil {
			t.Fatal(err)
		}
		d := journal.Draft{Session: journal.Session{ID: journal.NewID(), WaterID: w.ID, TimeZone: w.TimeZone, Day: journal.DateOf(day), Stints: []journal.Stint{{ID: journal.NewID(), Minutes: new(90.0)}}},
			Confirmed: true, Angler: "Ilse", Rigs: map[int]journal.Rig{0: twoDroppers()}}
		if _, err := store.LogSession(ctx, d); err != nil {
			t.Fatal(err)
		}
	}
	keep(t, b.store, found(every(invented, gauge.Flow, day.AddDate(0, 0, -1), 96, 60, func(int) float64 { return 5 })))
	conn, err := pgx.Connect(ctx, pgtest.AsSuperuser(b.url))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	if _, err := conn.Exec(ctx, `CREATE POLICY refusing ON session_gauge AS RESTRICTIVE USING (outfit_id <> '`+id.String()+`')`); err != nil {
		t.Fatal(err)
	}
	if n, err := b.store.FillDue(ctx, invented, day, day); n != 1 || err == nil || !strings.Contains(err.Error(), "in the outfit "+id.String()) {
		t.Errorf("filled %d, %v", n, err)
	}
	if _, err := conn.Exec(ctx, `DROP POLICY refusing ON session_gauge`); err != nil {
		t.Fatal(err)
	}
	if n, err := b.store.FillDue(ctx, invented, day, day); n != 1 || err != nil {
		t.Errorf("filled %d, %v", n, err)
	}
}

// Ensure that a client's session takes what the gauge says as the client saves it, also of the outfit's own readings, and
// that the client sees and clears what the own sessions take alone.
func TestClientsSessionsTakeReadings(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	ctx := t.Context()
	from := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	if _, err := p.store.KeepOwnReadings(ctx, found(every(invented, gauge.Flow, from, 240, 60, func(int) float64 { return 5 }))); err != nil {
		t.Fatal(err)
	}
	w, err := p.stores[0].WaterByName(ctx, "Water "+secretOf(0))
	if err != nil {
		t.Fatal(err)
	}
	w.Gauges = []gauge.Link{{Site: invented}}
	if err := p.stores[0].SaveWater(ctx, w); err != nil {
		t.Fatal(err)
	}
	s := p.fished[0]
	s.Notes = "Edited"
	if _, err := p.stores[0].SaveSession(ctx, s); err != nil {
		t.Fatal(err)
	}
	for i, want := range []int{1, 0} {
		fills, err := p.stores[i].Fills(ctx, s.ID)
		if err != nil || len(fills[s.ID]) != want || want == 1 && (fills[s.ID][0].Value != 5 || !fills[s.ID][0].WholeDay) {
			t.Errorf("client %d reads %+v, %v", i, fills, err)
		}
	}
	if n, err := p.stores[1].ClearFills(ctx, pg.FillAsk{}); err != nil || n != 0 {
		t.Errorf("another client cleared %d, %v", n, err)
	}
	if n, err := p.stores[0].ClearFills(ctx, pg.FillAsk{}); err != nil || n != 1 {
		t.Errorf("the client cleared %d, %v", n, err)
	}
	if n, err := p.store.FillDue(context.Background(), invented, from, from.AddDate(0, 0, 9)); err != nil || n != 0 {
		t.Errorf("%d sessions were due that were logged before the link, %v", n, err)
	}
}

// Ensure that saving a session fails, and does no worse, where the readings can't be read: here the database refuses before it
// says what it would answer, as when the connection goes in between.
func TestSavingWhereReadingsCannotBeRead(t *testing.T) {
	t.Parallel()
	b := newRiver(t)
	b.link(t, invented)
	conn, err := pgx.Connect(t.Context(), pgtest.AsSuperuser(b.url))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if _, err := conn.Exec(t.Context(), `CREATE FUNCTION refuse() RETURNS boolean LANGUAGE plpgsql IMMUTABLE AS $$ BEGIN RAISE 'refused'; END $$;
		CREATE POLICY refusing ON gauge_block AS RESTRICTIVE USING (refuse())`); err != nil {
		t.Fatal(err)
	}
	if s, err := b.store.SaveSession(t.Context(), b.outing(t, 3)); err == nil {
		t.Errorf("saved as %s", s.ID)
	}
}
