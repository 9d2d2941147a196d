package main

import (
	"encoding/json"
	"strings"
	"testing"
)

func TestRigsCheckFromTheCommandLine(t *testing.T) {
	t.Parallel()
	url := smallJournal(t)
	text := mustRun(t, url, "rigs", "check")
	for _, want := range []string{"International competition, an example", "can't be checked", "examples to check against the rules in force"} {
		if !strings.Contains(text, want) {
			t.Errorf("without %q:\n%s", want, text)
		}
	}
	var got struct {
		Rules struct {
			Name    string `json:"name"`
			Example bool   `json:"example"`
		} `json:"rules"`
		Rigs []struct {
			Name   string `json:"name"`
			Checks []struct {
				Rule    string   `json:"rule"`
				Verdict string   `json:"verdict"`
				Limit   *float64 `json:"limit"`
			} `json:"checks"`
		} `json:"rigs"`
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "rigs", "check", "--format", "json", "--rules", "international COMPETITION, an example")), &got); err != nil {
		t.Fatal(err)
	}
	if !got.Rules.Example || len(got.Rigs) == 0 || len(got.Rigs[0].Checks) != 5 || got.Rigs[0].Checks[1].Rule != "distance between flies" || *got.Rigs[0].Checks[1].Limit != 500 {
		t.Errorf("got %+v", got)
	}
	one := mustRun(t, url, "rigs", "check", got.Rigs[0].Name)
	if !strings.HasPrefix(one, got.Rigs[0].Name) {
		t.Errorf("one rig: %s", one)
	}
}
