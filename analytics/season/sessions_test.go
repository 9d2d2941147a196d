package season

import (
	"context"
	"encoding/json"
	"testing"
	"time"

	"rigtally/analytics/fixture"
	"rigtally/analytics/stat/published"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// outing is a session of an angler: minutes fished and what happened.
type outing struct {
	Angler  string
	Day     journal.Date
	Minutes int
	Events  []journal.Event
}

// keep stores sessions with one rig on one water.
func keep(t testing.TB, s *pg.Store, all []outing) {
	t.Helper()
	ctx := context.Background()
	water, _, err := s.WaterNamed(ctx, "Alder Brook", "")
	if err != nil {
		t.Fatal(err)
	}
	rig := journal.Rig{ID: fixture.ID(t), Name: "Rig", Revision: 1, CreatedAt: time.Now(), Positions: []journal.RigPosition{{Position: 1, Hang: journal.HangTag, Junction: "blood"}}}
	add := journal.Addition{Rigs: []journal.Rig{rig}}
	anglers := map[string]journal.ID{}
	for _, o := range all {
		if _, ok := anglers[o.Angler]; !ok {
			anglers[o.Angler] = fixture.ID(t)
			add.Anglers = append(add.Anglers, journal.Angler{ID: anglers[o.Angler], Name: o.Angler, Kind: "client", Active: true})
		}
		day := o.Day
		if day.IsZero() {
			day = journal.Date{Year: 2026, Month: time.May, Day: 1}
		}
		add.Sessions = append(add.Sessions, journal.Session{ID: fixture.ID(t), AnglerID: anglers[o.Angler], WaterID: water.ID, Day: day, TimeZone: "UTC", Version: 1,
			LoggedAt: time.Now(), Stints: []journal.Stint{{ID: fixture.ID(t), RigID: rig.ID, Minutes: new(float64(o.Minutes)), Events: o.Events}}})
	}
	if err := s.Add(ctx, add, nil); err != nil {
		t.Fatal(err)
	}
}

// shrunkCase is a published case of rates or shares drawn together.
type shrunkCase struct {
	ID       string
	Data     struct{ Events, Exposure, Trials []float64 }
	Expected struct{ Mean []float64 }
}

// shrunkCases reads the published cases by their ids.
func shrunkCases(t *testing.T) map[string]shrunkCase {
	t.Helper()
	raw := published.File(t, "empirical-bayes.json")
	var file struct{ Cases []shrunkCase }
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	cases := map[string]shrunkCase{}
	for _, c := range file.Cases {
		cases[c.ID] = c
	}
	return cases
}

// anglerName is a short name for each number.
func anglerName(i int) string { return string(rune('A'+i/26)) + string(rune('a'+i%26)) }
