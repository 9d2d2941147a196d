package web_test

import (
	"net/url"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// Ensure that no page, file, answer for programs, refusal or line of the log tells
// the seed of a trial that runs, from which its order could be worked out.
func TestNothingTellsTheSeedOfARunningTrial(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	seed := strings.Repeat("5eed", 16)
	trial, err := b.Store.PlanTrial(t.Context(), journal.Trial{ID: webtest.NewID(t), Name: "Up or down", Outcome: "tangles", Factor: "facing",
		Arms: [2]journal.TrialArm{{Level: "up"}, {Level: "down"}}, Unit: journal.ByStint, Worth: 1.5, MostHours: 40, Seed: seed})
	if err != nil {
		t.Fatal(err)
	}
	at := "/trials/" + trial.ID.String()
	told := map[string]string{
		"start":  b.Post(at+"/start", url.Values{"number": {"1"}}).Body,
		"again":  b.Post(at+"/start", url.Values{"number": {"7"}}).Body,
		"stale":  b.Post(at+"/rename", url.Values{"version": {"9"}, "name": {"Other"}}).Body,
		"unit":   b.Post(at+"/units/1", url.Values{"version": {"9"}, "do": {"apart"}, "why": {"a storm"}}).Body,
		"delete": b.Post(at+"/delete", url.Values{"version": {"9"}}).Body,
	}
	shown := 0
	for _, pattern := range b.Server.Patterns() {
		method, path, _ := strings.Cut(pattern, " ")
		if strings.Contains(path, "/trials/") {
			path = strings.NewReplacer("{id}", trial.ID.String(), "{number}", "1").Replace(path)
		}
		if method == "GET" && !strings.Contains(path, "{") {
			told[path] = b.Get(path).Body
		}
		if strings.Contains(told[path], trial.Commitment) {
			shown++
		}
	}
	told["log"] = b.Log.String()
	for what, text := range told {
		if strings.Contains(text, seed) {
			t.Errorf("%s tells the seed", what)
		}
	}
	if shown < 4 {
		t.Errorf("the trial is shown at %d addresses only", shown)
	}
}
