package main

import (
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"
)

// By hand as in the tests of package analytics: 120 mm loses 7.4048 minutes an hour.
func TestPlanForms(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	ask := []string{"plan", "--units", "metric", "--tangles", "100mm=1, 130mm=4", "--breaks", "0.5", "--waste", "1 cm", "--changes", "1",
		"--tangle-minutes", "2", "--retie-minutes", "6", "--break-minutes", "4", "--tippet", "2 m", "--retie-cost", "30 cm"}
	text := mustRun(t, url, ask...)
	for _, want := range []string{"Tie it at 120 mm", "7.4 min of each hour", "2 fly changes", "From 110 to 130 mm", "3 re-ties", "8 fly changes", "150–180 mm", "common practice, no source", "typed in", "120 mm, the best"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	var answer struct {
		Best struct {
			LengthMM float64 `json:"length_mm"`
			Loss     float64
			Low      *float64
		}
		Inputs []struct {
			Key, From string
			Value     float64
		}
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, append(ask, "--format", "json")...)), &answer); err != nil {
		t.Fatal(err)
	}
	if b := answer.Best; b.LengthMM != 120 || b.Loss < 7.4048 || b.Loss > 7.4049 || b.Low != nil || len(answer.Inputs) != 8 || answer.Inputs[0].Value != 10 {
		t.Errorf("%+v", answer)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, append(ask, "--format", "csv")...))).ReadAll()
	if err != nil || len(rows) != 8 || rows[1][0] != "100" || rows[1][5] != "10" {
		t.Errorf("%v (%v)", rows, err)
	}
	if text := mustRun(t, url, "plan"); !strings.Contains(text, "can’t say yet how often tags of each length tangle") {
		t.Errorf("two stints say %s", text)
	}
}
