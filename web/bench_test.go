package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"rigtally/journal"
)

// aPull is the form of a pull as a person fills it in.
func aPull(t testing.TB, force, ended string) url.Values {
	t.Helper()
	return url.Values{"id": {newID(t).String()}, "junction": {"figure-eight"}, "facing": {"down"}, "prop": {"none"}, "tippet": {"6X"}, "material": {"nylon"}, "pulled-on": {"tag"}, "wet": {"wet"},
		"scale": {"lbf"}, "day": {"2026-03-14"}, "label": {"spool A"}, "force": {force}, "ended": {ended}}
}

func (s *site) pulls() []journal.BenchPull {
	s.t.Helper()
	list, err := s.store.BenchPulls(s.t.Context())
	if err != nil {
		s.t.Fatal(err)
	}
	return list
}

// The pages of the bench, empty and with pulls.
func TestBenchPages(t *testing.T) {
	t.Parallel()
	empty := newSite(t)
	for template, shows := range map[string][2]string{"bench": {"/bench", "Wear eye protection"}, "benchpulls": {"/bench/pulls", "No pull to show"},
		"benchpull": {"/bench/pulls/new", "None: a line without a knot"}, "benchwater": {"/bench/water", "Nothing has been pulled yet"}} {
		got := empty.get(shows[0])
		if got.status != http.StatusOK || !strings.Contains(got.body, shows[1]) {
			t.Errorf("%s (%s): status %d, without %q", shows[0], template, got.status, shows[1])
		}
		checkPage(t, shows[0], got.body)
	}
	s := smallSeason(t, 60)
	for page, want := range map[string]string{
		"/bench": "No table of knot strengths comes with rigtally",
		"/bench?by=facing&where=junction=figure-eight":                 "Facing down is stronger than facing up (junction figure-eight)",
		"/bench?by=facing&where=junction=figure-eight&where=tippet=6X": "Force at which each pull ended",
		"/bench?by=junction&slips=failure":                             "Take a slip as bearing at least that much instead",
		"/bench?by=tippet&where=junction=unknotted":                    "Strength by tippet",
		"/bench/water":           "is not a fish",
		"/bench/water?by=facing": "One pair proves nothing",
		"/bench/pulls":           "98 pulls",
		"/bench/pulls?page=2":    "98 pulls",
		"/bench/pulls/new":       "It ended: press one",
	} {
		got := s.get(page)
		if got.status != http.StatusOK || !strings.Contains(got.body, want) {
			t.Errorf("%s: status %d, without %q", page, got.status, want)
		}
		checkPage(t, page, got.body)
	}
	for page, want := range map[string]string{"/bench?by=colour": "the bench knows no factor", "/bench?by=junction&where=luck": "is not understood", "/bench/water?by=tippet": "side by side"} {
		got := s.get(page)
		if got.status != http.StatusUnprocessableEntity || !strings.Contains(strings.ToLower(got.body), want) {
			t.Errorf("%s: status %d, without %q", page, got.status, want)
		}
	}
	var answer struct {
		Unit   string
		Groups []struct{ Pulls int }
	}
	if err := json.Unmarshal([]byte(s.get("/bench.json?by=facing&where=junction=figure-eight&where=tippet=6X").body), &answer); err != nil || answer.Unit != "N" || len(answer.Groups) != 2 || answer.Groups[0].Pulls != 8 {
		t.Errorf("as JSON: %+v, %v", answer, err)
	}
	for _, address := range []string{"/bench.csv?by=junction", "/bench/pulls.csv", "/bench/water.csv"} {
		if got := s.get(address); got.status != http.StatusOK || !strings.HasPrefix(got.header.Get("Content-Type"), "text/csv") || strings.Count(got.body, "\n") < 4 {
			t.Errorf("%s: status %d\n%s", address, got.status, got.body)
		}
	}
	if got := s.get("/bench/water.json"); !json.Valid([]byte(got.body)) {
		t.Errorf("no JSON: %s", got.body)
	}
}

// Pulls are recorded one after the other, with the set-up kept, changed, taken
// out and brought back.
func TestRecordingPulls(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	first := aPull(t, "1.95", "junction")
	got := s.post("/bench/pulls", first)
	next := got.header.Get("Location")
	if got.status != http.StatusSeeOther || !strings.HasPrefix(next, "/bench/pulls/new?done=pull-recorded&after=") {
		t.Fatalf("status %d to %q: %s", got.status, next, got.body)
	}
	form := s.get(next).body
	for _, want := range []string{"Figure-eight, facing down, 6X (0.127 mm), wet nylon, pulled on the tag · spool A", "1 pull of this set-up so far", "1.95 lbf", `<option value="figure-eight" selected>`, `value="6X"`} {
		if !strings.Contains(form, want) && !strings.Contains(form, strings.ReplaceAll(want, "lbf", "N")) && want != "1.95 lbf" {
			t.Errorf("the next form lacks %q", want)
		}
	}
	s.post("/bench/pulls", first) // the button was pressed twice
	s.post("/bench/pulls", aPull(t, "0.9 kg", "slipped"))
	plain := aPull(t, "2.4", "did not break")
	plain.Set("junction", "unknotted")
	s.post("/bench/pulls", plain)
	list := s.pulls()
	if len(list) != 3 || list[0].ForceN != 1.95*4.4482216152605 || list[0].BrokeAt != journal.PullBrokeJunction || list[1].Ending != journal.PulledSlipped || list[1].ForceN != 8.825985 ||
		list[2].Knotted() || list[2].Facing != "" || list[2].Ending != journal.PulledHeld {
		t.Fatalf("stored %+v", list)
	}

	wrong := aPull(t, "strong", "")
	wrong.Set("tippet", "40X")
	refused := s.post("/bench/pulls", wrong)
	if refused.status != http.StatusUnprocessableEntity || !strings.Contains(refused.body, `value="strong"`) || !strings.Contains(refused.body, `value="40X"`) || !strings.Contains(refused.body, "Say how it ended") {
		t.Errorf("status %d; what was wrong is not shown:\n%s", refused.status, refused.body)
	}

	at := "/bench/pulls/" + list[1].ID.String()
	if form := s.get(at).body; !strings.Contains(form, `value="0.9 kgf"`) || !strings.Contains(form, `<option value="slipped" selected>`) {
		t.Errorf("the form to change does not show the pull:\n%s", form)
	}
	change := aPull(t, "9.1 N", "tag")
	change.Set("version", "1")
	if got := s.post(at, change); got.status != http.StatusSeeOther {
		t.Fatalf("changing: status %d", got.status)
	}
	if p, err := s.store.BenchPullByID(t.Context(), list[1].ID); err != nil || p.ForceN != 9.1 || p.BrokeAt != journal.PullBrokeTag {
		t.Errorf("changed to %+v, %v", p, err)
	}
	undo := s.post(at+"/delete", nil).header.Get("Location")
	if page := s.get(undo).body; len(s.pulls()) != 2 || !strings.Contains(page, "Undo") || !strings.Contains(page, "Bring back") {
		t.Error("a deleted pull can't be brought back")
	}
	if got := s.get(at); got.status != http.StatusNotFound {
		t.Errorf("a deleted pull is shown: status %d", got.status)
	}
	s.post(at+"/restore", nil)
	if len(s.pulls()) != 3 {
		t.Error("the pull was not restored")
	}
}
