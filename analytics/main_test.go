package analytics_test

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

// open opens an empty journal.
func open(t testing.TB) *pg.Store {
	t.Helper()
	s, err := pg.Open(context.Background(), pgtest.NewDatabase(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

// id makes an id.
func id(t testing.TB) journal.ID {
	t.Helper()
	id, err := journal.NewID()
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// outings are sessions of one stint each with one junction: minutes fished and
// what happened in each.
type outings struct {
	junction journal.Junction
	minutes  []int
	events   func(outing int) []journal.Event
}

// fish stores outings of one invented angler on one water.
func fish(t testing.TB, s *pg.Store, all ...outings) {
	t.Helper()
	ctx := context.Background()
	angler, err := s.AnglerNamed(ctx, "Ilse")
	if err != nil {
		t.Fatal(err)
	}
	water, _, err := s.WaterNamed(ctx, "Alder Brook", "")
	if err != nil {
		t.Fatal(err)
	}
	var add journal.Addition
	for i, o := range all {
		rig := journal.Rig{ID: id(t), Name: fmt.Sprintf("Rig %d with %s", i+1, o.junction), Revision: 1, CreatedAt: time.Now(), Positions: []journal.RigPosition{
			{Position: 1, Hang: journal.HangTag, Junction: o.junction, TagLengthMM: new(150.0 + 10*float64(i))}}}
		add.Rigs = append(add.Rigs, rig)
		for n, minutes := range o.minutes {
			add.Sessions = append(add.Sessions, journal.Session{ID: id(t), AnglerID: angler.ID, WaterID: water.ID, Day: journal.Date{Year: 2026, Month: 5, Day: 1},
				TimeZone: "UTC", Version: 1, LoggedAt: time.Now(), WaterTempC: new(4 + float64(n%12)), Stints: []journal.Stint{{ID: id(t), RigID: rig.ID, Minutes: new(float64(minutes)), Events: o.events(n)}}})
		}
	}
	if err := s.Add(ctx, add, nil); err != nil {
		t.Fatal(err)
	}
}

// spread shares hours over outings of 20 hours and a rest.
func spread(hours int) []int {
	var minutes []int
	for ; hours > 0; hours -= 20 {
		minutes = append(minutes, 60*min(hours, 20))
	}
	return minutes
}

// one gives the first n outings a single event each.
func one(n int, e journal.Event) func(int) []journal.Event {
	e.Count = 1
	return func(outing int) []journal.Event {
		if outing < n {
			return []journal.Event{e}
		}
		return nil
	}
}

// season is a journal of the demo.
func season(t *testing.T, seed uint64, sessions int) *pg.Store {
	t.Helper()
	s := open(t)
	if err := demo.Load(context.Background(), s, demo.Generate(seed, sessions)); err != nil {
		t.Fatal(err)
	}
	return s
}

// close reports whether two numbers agree to nine digits.
func close(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(math.Abs(a), math.Abs(b)) }
