package demo_test

import (
	"context"
	"os"
	"reflect"
	"testing"
	"time"

	"github.com/google/uuid"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

func TestSameSeedSameSeason(t *testing.T) {
	t.Parallel()
	a, b := demo.Generate(7, 80), demo.Generate(7, 80)
	if !reflect.DeepEqual(a, b) {
		t.Error("two seasons of one seed differ")
	}
	if c := demo.Generate(8, 80); reflect.DeepEqual(a.Sessions[0], c.Sessions[0]) {
		t.Error("two seeds give the same season")
	}
	if n := len(demo.Generate(7, 0).Sessions); n != 0 {
		t.Errorf("a season of no sessions has %d", n)
	}
}

func rigsByID(s demo.Season) map[journal.ID]journal.Rig {
	rigs := map[journal.ID]journal.Rig{}
	for _, r := range s.Rigs {
		rigs[r.ID] = r
	}
	return rigs
}

func TestEverythingIsValid(t *testing.T) {
	t.Parallel()
	for seed := range uint64(6) {
		s := demo.Generate(seed, 150)
		if err := s.Outfit.Validate(); err != nil {
			t.Error(err)
		}
		for _, a := range s.Anglers {
			if err := a.Validate(); err != nil {
				t.Error(err)
			}
		}
		for _, w := range s.Waters {
			if err := w.Validate(); err != nil {
				t.Error(err)
			}
		}
		for _, r := range s.Rigs {
			if err := r.Validate(); err != nil {
				t.Errorf("%s: %v", r.Title(), err)
			}
		}
		rigs := rigsByID(s)
		for _, session := range s.Sessions {
			if err := session.Validate(rigs); err != nil {
				t.Errorf("seed %d, %s: %v", seed, session.Day, err)
			}
		}
	}
}

func TestSeasonsAndTimes(t *testing.T) {
	t.Parallel()
	s := demo.Generate(demo.Seed, demo.Sessions)
	rigs := rigsByID(s)
	last := journal.Date{Year: 2026, Month: time.November, Day: 8}
	years := map[int]int{}
	for i, session := range s.Sessions {
		years[session.Day.Year]++
		if session.Day.Month < time.March || session.Day.Month > time.November {
			t.Errorf("fished in winter: %s", session.Day)
		}
		if session.Day.In(time.UTC).After(last.In(time.UTC)) {
			t.Errorf("fished after %s: %s", last, session.Day)
		}
		if n := len(session.Stints); n < 1 || n > 4 {
			t.Errorf("%s has %d stints", session.Day, n)
		}
		if session.End != nil && session.LoggedAt.Before(*session.End) {
			t.Errorf("%s was logged before its end", session.Day)
		}
		if session.Start != nil && idTime(t, session.ID) != session.Start.UnixMilli() {
			t.Errorf("the id of %s is not of its start", session.Day)
		}
		for _, st := range session.Stints {
			if rig := rigs[st.RigID]; rig.CreatedAt.UnixMilli() > idTime(t, session.ID) {
				t.Errorf("%s was fished with %s before that was tied", session.Day, rig.Title())
			}
		}
		if i > 0 && idTime(t, s.Sessions[i-1].ID) > idTime(t, session.ID) {
			t.Errorf("session %d comes before the one ahead of it", i)
		}
	}
	for year := 2024; year <= 2026; year++ {
		if years[year] < 80 {
			t.Errorf("%d has %d sessions only", year, years[year])
		}
	}
}

// idTime is the time in a UUIDv7, in milliseconds (RFC 9562, section 5.7).
func idTime(t *testing.T, id journal.ID) int64 {
	u := uuid.UUID(id)
	if u.Version() != 7 || u.Variant() != uuid.RFC4122 {
		t.Fatalf("%s is not a UUIDv7", u)
	}
	return int64(u[0])<<40 | int64(u[1])<<32 | int64(u[2])<<24 | int64(u[3])<<16 | int64(u[4])<<8 | int64(u[5])
}

func TestNoIDTwice(t *testing.T) {
	t.Parallel()
	s := demo.Generate(3, 2000)
	seen := map[journal.ID]bool{}
	add := func(id journal.ID) {
		if seen[id] {
			t.Errorf("%s twice", id)
		}
		seen[id] = true
	}
	for _, a := range s.Anglers {
		add(a.ID)
	}
	for _, w := range s.Waters {
		add(w.ID)
		for _, b := range w.Beats {
			add(b.ID)
		}
	}
	for _, r := range s.Rigs {
		add(r.ID)
	}
	for _, session := range s.Sessions {
		add(session.ID)
		for _, st := range session.Stints {
			add(st.ID)
		}
	}
}

func TestLargeSeason(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("a season of 25,000 sessions takes seconds")
	}
	s := demo.Generate(1, 25000)
	rigs := rigsByID(s)
	stints := 0
	for i, session := range s.Sessions {
		stints += len(session.Stints)
		if i%100 != 0 {
			continue
		}
		if err := session.Validate(rigs); err != nil {
			t.Errorf("%s: %v", session.Day, err)
		}
	}
	if stints < 50000 {
		t.Errorf("25,000 sessions have %d stints only", stints)
	}
}

// TestLoad reads every session back as it was generated.
func TestLoad(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	store, err := pg.Open(ctx, pgtest.NewDatabase(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	s := demo.Generate(2, 60)
	if err := demo.Load(ctx, store, s); err != nil {
		t.Fatal(err)
	}
	for _, want := range s.Sessions {
		got, err := store.SessionByID(ctx, want.ID)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("stored\n%+v\ngenerated\n%+v", got, want)
		}
	}
	for _, want := range s.Rigs {
		got, err := store.RigByID(ctx, want.ID)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("stored\n%+v\ngenerated\n%+v", got, want)
		}
	}
	if err := demo.Load(ctx, store, s); !journal.IsInvalid(err) {
		t.Errorf("loading it twice gives %v", err)
	}
}

func BenchmarkGenerate(b *testing.B) {
	for b.Loop() {
		demo.Generate(demo.Seed, demo.Sessions)
	}
}
