package pg_test

import (
	"context"
	"os"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

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
	b.rig = b.save(t, journaltest.OneDropper("Blood 165"))
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

// session returns a session of one stint of the bench's rig.
func (b bench) session(t testing.TB, day journal.Date, minutes *float64, events ...journal.Event) journal.Session {
	t.Helper()
	return journal.Session{ID: journaltest.NewID(t), AnglerID: b.angler.ID, WaterID: b.water.ID, BeatID: &b.beat, Day: day, TimeZone: "UTC",
		WaterTempC: new(11.5), FlowM3S: new(4.25), VelocityMS: new(0.7), Storm: true,
		Stints: []journal.Stint{{ID: journaltest.NewID(t), RigID: b.rig.ID, Minutes: minutes, Stroke: "oval", Events: events}}}
}

func (b bench) store1(t testing.TB, s journal.Session) journal.Session {
	t.Helper()
	saved, err := b.store.SaveSession(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	return saved
}

func on(position int, e journal.Event) journal.Event {
	e.Position = &position
	return e
}

func cut(mm float64, minute *int) journal.Event {
	return journal.Event{Kind: journal.EventFlyChange, Count: 1, CutMM: &mm, Minute: minute}
}

func twoDroppers() journal.Rig {
	rig := journaltest.OneDropper("Two droppers")
	rig.Positions = append(rig.Positions, journal.RigPosition{Position: 2, Hang: journal.HangTag, Junction: "figure-eight", TagLengthMM: new(150.0)})
	return rig
}

func strictRules(t testing.TB) journal.RuleSet {
	return journal.RuleSet{ID: journaltest.NewID(t), Name: "Strict", MostFlies: new(2), LeastApartMM: new(500.0), MostLeaderMM: new(7000.0), MostLeaderRods: new(2.0), MostRodMM: new(3660.0),
		NoRings: true, NoSwivels: true, LeastTagMM: new(100.0), MostTagMM: new(200.0), MostBeadMM: new(4.0)}
}
