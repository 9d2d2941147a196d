package main

import (
	"context"
	"encoding/json"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

// demoAt fills a journal with an invented season and returns its address.
func demoAt(t *testing.T, sessions int) string {
	t.Helper()
	url := pgtest.NewDatabase(t)
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if err := demo.Load(t.Context(), store, demo.Generate(demo.Seed, sessions)); err != nil {
		t.Fatal(err)
	}
	return url
}

func execAt(t *testing.T, url, sql string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(t.Context()))
	if tag, err := conn.Exec(t.Context(), sql); err != nil || tag.RowsAffected() == 0 {
		t.Fatalf("%s: %v, %v", sql, tag, err)
	}
}

func TestCheckOfASoundJournal(t *testing.T) {
	t.Parallel()
	url := demoAt(t, demo.Sessions)
	out := mustRun(t, url, "check")
	t.Log("\n" + out)
	for _, want := range []string{"Counted again: the counts of", "logged more than a week late", "no minutes noted", "How the journal is kept:"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is missing in\n%s", want, out)
		}
	}
	var report struct {
		Defects  bool
		Sessions int
		Counts   struct{ Stints, Wrong, Uncounted, Differences int }
		Heaping  []struct {
			Measure, Unit string
			Share, P      float64
		}
		Quiet map[string]any `json:"without_a_bad_event"`
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "check", "--format", "json")), &report); err != nil {
		t.Fatal(err)
	}
	if report.Defects || report.Sessions != demo.Sessions || report.Counts.Stints == 0 || report.Counts.Wrong != 0 || len(report.Heaping) < 2 || report.Quiet["expected"] == nil {
		t.Errorf("%+v", report)
	}
}

// Ensure that wrong counts fail the command, that --repair puts them right, and
// that other programs are told the same.
func TestCheckFindsAndRepairsWrongCounts(t *testing.T) {
	t.Parallel()
	url := demoAt(t, 20)
	before := mustRun(t, url, "rates", "tangles", "--format", "json")
	execAt(t, url, `UPDATE stint SET tangles = tangles + 100 WHERE id = (SELECT id FROM stint ORDER BY id LIMIT 1)`)
	got := runIn(t, url, "check")
	if got.status != 1 || !strings.Contains(got.errors, "some counts are wrong") || !strings.Contains(got.out, "1 of") || !strings.Contains(got.out, "whole rig  tangles") {
		t.Errorf("status %d, %s\n%s", got.status, got.errors, got.out)
	}
	asJSON := runIn(t, url, "check", "--format", "json")
	if asJSON.status != 1 || !json.Valid([]byte(asJSON.out)) || !strings.Contains(asJSON.out, `"defects": true`) {
		t.Errorf("status %d\n%s", asJSON.status, asJSON.out)
	}
	if out := mustRun(t, url, "check", "--repair"); !strings.Contains(out, "written anew") {
		t.Errorf("repaired:\n%s", out)
	}
	mustRun(t, url, "check")
	if after := mustRun(t, url, "rates", "tangles", "--format", "json"); after != before {
		t.Error("after the repair the answer differs")
	}
	execAt(t, url, `UPDATE event SET cut_mm = 1500 WHERE cut_mm IS NOT NULL`)
	got = runIn(t, url, "check", "--repair")
	if got.status != 1 || !strings.Contains(got.out, "the cuts take more off the tag") || !strings.Contains(got.errors, "can't be counted") {
		t.Errorf("status %d, %s\n%s", got.status, got.errors, got.out)
	}
}

func TestCheckOfAnEmptyJournal(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	if out := mustRun(t, url, "check"); !strings.Contains(out, "holds no stint yet") {
		t.Error(out)
	}
	if out := mustRun(t, url, "check", "--format", "json"); !json.Valid([]byte(out)) || strings.Contains(out, "NaN") {
		t.Error(out)
	}
	if got := runIn(t, url, "check", "--format", "csv"); got.status != 2 {
		t.Errorf("csv: status %d", got.status)
	}
}
