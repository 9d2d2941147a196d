package analytics_test

import (
	"context"
	"encoding/json"
	"os"
	"rigtally/journal"
	"rigtally/journal/pg"
	"testing"
	"time"
)

// tally is a session of an angler: minutes fished and what happened.
type tally struct {
	angler  string
	day     journal.Date
	minutes int
	events  []journal.Event
}

// keep stores sessions with one rig on one water.
func keep(t testing.TB, s *pg.Store, all []tally) {
	t.Helper()
	ctx := context.Background()
	water, _, err := s.WaterNamed(ctx, "Alder Brook", "")
	if err != nil {
		t.Fatal(err)
	}
	rig := journal.Rig{ID: id(t), Name: "Rig", Revision: 1, CreatedAt: time.Now(), Positions: []journal.RigPosition{{Position: 1, Hang: journal.HangTag, Junction: "blood"}}}
	add := journal.Addition{Rigs: []journal.Rig{rig}}
	anglers := map[string]journal.ID{}
	for _, o := range all {
		if _, ok := anglers[o.angler]; !ok {
			anglers[o.angler] = id(t)
			add.Anglers = append(add.Anglers, journal.Angler{ID: anglers[o.angler], Name: o.angler, Kind: "client", Active: true})
		}
		day := o.day
		if day.IsZero() {
			day = journal.Date{Year: 2026, Month: time.May, Day: 1}
		}
		add.Sessions = append(add.Sessions, journal.Session{ID: id(t), AnglerID: anglers[o.angler], WaterID: water.ID, Day: day, TimeZone: "UTC", Version: 1,
			LoggedAt: time.Now(), Stints: []journal.Stint{{ID: id(t), RigID: rig.ID, Minutes: new(float64(o.minutes)), Events: o.events}}})
	}
	if err := s.Add(ctx, add, nil); err != nil {
		t.Fatal(err)
	}
}

// bayesCase is a published case of rates or shares drawn together.
type bayesCase struct {
	ID       string
	Data     struct{ Events, Exposure, Trials []float64 }
	Expected struct{ Mean []float64 }
}

// bayesCases reads the published cases by their ids.
func bayesCases(t *testing.T) map[string]bayesCase {
	t.Helper()
	raw := reference(t, "empirical-bayes.json")
	var file struct{ Cases []bayesCase }
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	cases := map[string]bayesCase{}
	for _, c := range file.Cases {
		cases[c.ID] = c
	}
	return cases
}

// angler is a short name for each number.
func angler(i int) string { return string(rune('A'+i/26)) + string(rune('a'+i%26)) }

// reference reads a file of testdata/reference, wherever in the project the test runs.
func reference(t *testing.T, file string) []byte {
	t.Helper()
	up := ""
	for range 5 {
		if raw, err := os.ReadFile(up + "testdata/reference/" + file); err == nil {
			return raw
		}
		up += "../"
	}
	t.Fatalf("testdata/reference has no %s", file)
	return nil
}
