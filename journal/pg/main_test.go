package pg_test

import (
	"context"
	"os"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

func open(t testing.TB) *pg.Store {
	t.Helper()
	s, err := pg.Open(context.Background(), pgtest.NewDatabase(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

func ptr[T any](v T) *T { return &v }

func newID(t testing.TB) journal.ID {
	t.Helper()
	id, err := journal.NewID()
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// bench is a small invented journal: an angler, a water with a beat, and a rig
// of a point fly and one dropper on a tag.
type bench struct {
	url    string
	store  *pg.Store
	angler journal.Angler
	water  journal.Water
	beat   journal.ID
	rig    journal.Rig
}

func newBench(t testing.TB) bench {
	t.Helper()
	ctx := context.Background()
	b := bench{url: pgtest.NewDatabase(t)}
	var err error
	if b.store, err = pg.Open(ctx, b.url); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.store.Close)
	if b.angler, err = b.store.AnglerNamed(ctx, "Ilse"); err != nil {
		t.Fatal(err)
	}
	var beat *journal.ID
	if b.water, beat, err = b.store.WaterNamed(ctx, "Alder Brook", "Mill Run"); err != nil {
		t.Fatal(err)
	}
	b.beat = *beat
	b.rig = b.save(t, oneDropper("Blood 165"))
	return b
}

func (b bench) save(t testing.TB, rig journal.Rig) journal.Rig {
	t.Helper()
	saved, err := b.store.SaveRig(context.Background(), rig)
	if err != nil {
		t.Fatal(err)
	}
	return saved
}

func oneDropper(name string) journal.Rig {
	return journal.Rig{Name: name, Method: "tight-line nymph", Positions: []journal.RigPosition{
		{Position: 0, TippetMM: ptr(0.127), Bulk: "slim", HookSize: ptr(16)},
		{Position: 1, Hang: journal.HangTag, Junction: "blood", Facing: "down", Prop: "none", TagLengthMM: ptr(165.1), TippetMM: ptr(0.127), Bulk: "hackled", HookSize: ptr(18)},
	}}
}

// session returns a session of one stint of the bench's rig.
func (b bench) session(t testing.TB, day journal.Date, minutes *float64, events ...journal.Event) journal.Session {
	t.Helper()
	return journal.Session{ID: newID(t), AnglerID: b.angler.ID, WaterID: b.water.ID, BeatID: &b.beat, Day: day, TimeZone: "UTC",
		WaterTempC: ptr(11.5), FlowM3S: ptr(4.25), VelocityMS: ptr(0.7), Storm: true,
		Stints: []journal.Stint{{ID: newID(t), RigID: b.rig.ID, Minutes: minutes, Stroke: "oval", Events: events}}}
}

func (b bench) store1(t testing.TB, s journal.Session) journal.Session {
	t.Helper()
	saved, err := b.store.SaveSession(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	return saved
}

var may1 = journal.Date{Year: 2026, Month: time.May, Day: 1}

func hookups(n int, hooking journal.Hooking, ending journal.Ending) journal.Event {
	return journal.Event{Kind: journal.EventHookup, Count: n, Hooking: hooking, Ending: ending}
}

func tangles(n int) journal.Event {
	return journal.Event{Kind: journal.EventTangle, Count: n, TangleKind: journal.Twist}
}

func on(position int, e journal.Event) journal.Event {
	e.Position = &position
	return e
}

func cut(mm float64, minute *int) journal.Event {
	return journal.Event{Kind: journal.EventFlyChange, Count: 1, CutMM: &mm, Minute: minute}
}

func twoDroppers() journal.Rig {
	rig := oneDropper("Two droppers")
	rig.Positions = append(rig.Positions, journal.RigPosition{Position: 2, Hang: journal.HangTag, Junction: "figure-eight", TagLengthMM: ptr(150.0)})
	return rig
}

func strictRules(t testing.TB) journal.RuleSet {
	return journal.RuleSet{ID: newID(t), Name: "Strict", MostFlies: ptr(2), LeastApartMM: ptr(500.0), MostLeaderMM: ptr(7000.0), MostLeaderRods: ptr(2.0), MostRodMM: ptr(3660.0),
		NoRings: true, NoSwivels: true, LeastTagMM: ptr(100.0), MostTagMM: ptr(200.0), MostBeadMM: ptr(4.0)}
}
