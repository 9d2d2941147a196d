package main

import (
	"encoding/csv"
	"encoding/json"
	"strconv"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
)

// smallJournal logs two hours with a blood junction and three with a figure-eight.
func smallJournal(t *testing.T) string {
	t.Helper()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "Maud", "--water", "Tessel", "--date", "2026-05-03",
		"--stint", "junction=blood, tag=6 1/2 in, minutes=120, tangles=1", "--stint", "junction=figure-eight, tag=16 cm, minutes=180, tangles=6")
	return url
}

// Ensure that the three forms tell the same, and that json and csv round nothing.
// The limits for 1 event in 2 hours are the exact Poisson ones: 0.0253 and 5.57
// events (tabulated in many textbooks; from memory) over 2 hours.
func TestRatesForms(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	var answer struct {
		Outcome string   `json:"outcome"`
		By      []string `json:"by"`
		Groups  []struct {
			Level                  map[string]string `json:"level"`
			Stints                 int               `json:"stints"`
			Exposure, Events, Rate float64
			Low, High              float64
		} `json:"groups"`
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "rates", "tangles", "--by", "junction", "--format", "json")), &answer); err != nil {
		t.Fatal(err)
	}
	if answer.Outcome != "tangles" || len(answer.Groups) != 2 {
		t.Fatalf("answered %+v", answer)
	}
	blood := answer.Groups[1]
	if blood.Level["junction"] != "blood" || blood.Stints != 1 || blood.Exposure != 2 || blood.Events != 1 || blood.Rate != 0.5 {
		t.Errorf("blood is %+v", blood)
	}
	const tol = 5e-3
	if low, high := blood.Low*2, blood.High*2; low < 0.0253-tol || low > 0.0253+tol || high < 5.57-tol || high > 5.57+tol {
		t.Errorf("the limits are %g and %g events, want 0.0253 and 5.57", low, high)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, "rates", "tangles", "--by", "junction", "--format", "csv"))).ReadAll()
	if err != nil || len(rows) != 3 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for i, name := range rows[0] {
		if name != "low" {
			continue
		}
		if v, err := strconv.ParseFloat(rows[2][i], 64); err != nil || v != blood.Low {
			t.Errorf("csv says low is %s, json %v", rows[2][i], blood.Low)
		}
	}
	if text := mustRun(t, url, "rates", "tangles", "--by", "junction"); !strings.Contains(text, "2 stints, 5 hours, 7 tangles in all") {
		t.Errorf("text says\n%s", text)
	}
	if text := mustRun(t, url, "rates", "tangles", "--by", "tag-length", "--units", "us", "--where", "junction=blood"); !strings.Contains(text, "6 1/2 in") {
		t.Errorf("text says\n%s", text)
	}
}

// Ensure that a question that can't be asked says what could be.
func TestRatesErrors(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"no outcome", []string{"rates"}, "the outcome is missing"},
		{"unknown outcome", []string{"rates", "tangls", "--by", "junction"}, `outcome "tangls" is not known; ask for one of: tangles, twists`},
		{"unknown factor", []string{"rates", "tangles", "--by", "knot"}, `factor "knot" is not known`},
		{"three factors", []string{"rates", "tangles", "--by", "junction,facing,prop"}, "two factors at most"},
		{"filter without a value", []string{"rates", "tangles", "--where", "junction"}, "write FACTOR=VALUE"},
		{"filter backwards", []string{"rates", "tangles", "--where", "tag-length=180mm..150mm"}, "runs backwards"},
		{"word not known", []string{"rates", "tangles", "--where", "facing=left"}, "write one of: down, up, side"},
		{"band of words", []string{"rates", "tangles", "--by", "junction:3"}, "has no bands"},
		{"band too narrow", []string{"rates", "tangles", "--by", "tag-length:0.001mm"}, "too narrow"},
		{"level not there", []string{"rates", "tangles", "--by", "junction", "--versus", "bowline"}, "bowline"},
		{"unknown form", []string{"rates", "tangles", "--by", "junction", "--format", "xml"}, "write text, json or csv"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got := runIn(t, url, c.args...)
			if got.status != 2 || !strings.Contains(got.errors, c.want) || got.out != "" {
				t.Errorf("status %d; want %q in:\n%s%s", got.status, c.want, got.errors, got.out)
			}
		})
	}
}
