package main

import (
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
)

// Two tags with a blood junction, of which one breaks after an hour and a half, its one
// load, and one with a uni that does not: worked out by hand.
func TestLifeForms(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	log := func(more ...string) {
		mustRun(t, url, append([]string{"log", "--angler", "Maud", "--water", "Tessel", "--fly-changes", "0", "--re-ties", "0"}, more...)...)
	}
	log("--date", "2026-05-03", "--junction", "blood", "--tag", "6 in", "--minutes", "3h", "--hookups", "1", "--broke-off", "junction=1", "--snags", "0")
	log("--date", "2026-05-04", "--junction", "blood", "--tag", "6 in", "--minutes", "2h", "--hookups", "0", "--broke-off", "0", "--snags", "0")
	log("--date", "2026-05-05", "--junction", "uni", "--tag", "6 in", "--minutes", "4h", "--hookups", "0", "--broke-off", "0", "--snags", "2")
	text := mustRun(t, url, "life")
	for _, want := range []string{"1 of 4 tags broke", "Still followed after", "Log-rank"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	var answer struct {
		In     string
		Groups []struct {
			Level        string
			Ties, Breaks int
			Total        float64
			Steps        []struct{ At, Share float64 }
		}
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "life", "--format", "json")), &answer); err != nil {
		t.Fatal(err)
	}
	blood := answer.Groups[0]
	if answer.In != "hours" || len(answer.Groups) != 2 || blood.Level != "blood" || blood.Ties != 3 || blood.Breaks != 1 || blood.Total != 5 || blood.Steps[0].At != 1.5 {
		t.Errorf("%+v", answer)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, "life", "--in", "loads", "--format", "csv"))).ReadAll()
	if err != nil || len(rows) != 2 || rows[1][0] != "blood" || rows[1][1] != "1" {
		t.Errorf("%v (%v)", rows, err)
	}
}
