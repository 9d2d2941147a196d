package outing

import (
	"strings"
	"testing"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// What a session took of a gauge stands under it in the water's own time, and so do the cautions that follow from it.
func TestSessionTellsOfItsGauge(t *testing.T) {
	t.Parallel()
	rig := journal.Rig{ID: journal.NewID(), Name: "Blood", Revision: 1, Positions: []journal.RigPosition{{Position: 0}}}
	water := journal.Water{ID: journal.NewID(), Name: "Oxbow", TimeZone: "America/Denver"}
	angler := journal.Angler{ID: journal.NewID(), Name: "Ilse"}
	s := journal.Session{AnglerID: angler.ID, WaterID: water.ID, Day: journal.Date{Year: 2026, Month: time.May, Day: 9}, TimeZone: water.TimeZone, Stints: []journal.Stint{{RigID: rig.ID}}}
	known := In(journal.Contents{Anglers: []journal.Angler{angler}, Waters: []journal.Water{water}, Rigs: []journal.Rig{rig}})
	fill := gauge.Fill{Quantity: gauge.Flow, Site: gauge.NewSite("invented", "0012"), Value: 12, At: time.Date(2026, time.May, 9, 16, 0, 0, 0, time.UTC), Flags: gauge.Provisional, Change6H: new(0.2)}
	text, err := Session(s, []gauge.Fill{fill}, known, units.Metric)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"By the gauge. A gauge is not where you stand.", "Flow 12 m³/s at 10:00, invented:0012, provisional; up 20% in 6 hours.", "Caution: ", "rising"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	if text, err := Session(s, nil, known, units.Metric); err != nil || strings.Contains(text, "gauge") {
		t.Errorf("without a gauge (%v):\n%s", err, text)
	}
}
