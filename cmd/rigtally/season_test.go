package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestSeasonFromTheCommandLine(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	text := mustRun(t, url, "season")
	for _, want := range []string{"Season 20", "Where the time went", "How far to trust this"} {
		if !strings.Contains(text, want) {
			t.Errorf("the review is without %q:\n%s", want, text)
		}
	}
	var review struct {
		Angler *string `json:"angler"`
		Season int     `json:"season"`
		Totals struct {
			Sessions int     `json:"sessions"`
			Hours    float64 `json:"hours"`
		} `json:"totals"`
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "season", "--format", "json")), &review); err != nil {
		t.Fatal(err)
	}
	if review.Angler != nil || review.Season == 0 || review.Totals.Sessions == 0 || review.Totals.Hours == 0 {
		t.Errorf("%+v", review)
	}
	file := filepath.Join(t.TempDir(), "review.json")
	if said := mustRun(t, url, "season", "--to", file); said != "Wrote "+file+".\n" {
		t.Errorf("it says %q", said)
	}
	page := filepath.Join(t.TempDir(), "review.html")
	mustRun(t, url, "season", "--angler", "maud", "--year", "2026", "--to", page, "--without-names", "--blur-waters")
	if body, err := os.ReadFile(page); err != nil || !strings.Contains(string(body), "Season 2026: the angler") || strings.Contains(string(body), "Maud") || strings.Contains(string(body), "Tessel") {
		t.Errorf("%v: %s", err, body)
	}
	if got := runIn(t, url, "season", "--to", page); got.status != 1 || !strings.Contains(got.errors, "replace it with --force") {
		t.Errorf("status %d, %s", got.status, got.errors)
	}
	if body, err := os.ReadFile(file); err != nil || !json.Valid(body) {
		t.Errorf("%v: %s", err, body)
	}
}

func TestSeasonErrors(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"nobody", []string{"season", "--angler", "Nobody At All"}, `angler "Nobody At All" is not in the journal; there are: `},
		{"no year", []string{"season", "--year", "26"}, "--year 26 is no season; write a year such as 2026"},
		{"no form", []string{"season", "--to", "review.pdf"}, "end it in .html, .json or .txt"},
		{"unknown form", []string{"season", "--format", "pdf"}, "write text, json or html"},
		{"a word too much", []string{"season", "2026"}, `"2026" is not expected here`},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := runIn(t, url, c.args...)
			if got.status != 2 || !strings.Contains(got.errors, c.want) || got.out != "" {
				t.Errorf("status %d; want %q in:\n%s%s", got.status, c.want, got.errors, got.out)
			}
		})
	}
}
