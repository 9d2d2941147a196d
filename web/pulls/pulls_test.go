package pulls_test

import (
	"encoding/json"
	"net/http"
	"os"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// The pages of the bench, empty and with pulls.
func TestBenchPages(t *testing.T) {
	t.Parallel()
	empty := webtest.New(t)
	for template, shows := range map[string][2]string{"bench": {"/bench", "Wear eye protection"}, "benchpulls": {"/bench/pulls", "No pulls to show"},
		"benchpull": {"/bench/pulls/new", "None: a line without a knot"}, "benchwater": {"/bench/water", "Nothing has been pulled yet"}} {
		got := empty.Get(shows[0])
		if got.Status != http.StatusOK || !strings.Contains(got.Body, shows[1]) {
			t.Errorf("%s (%s): status %d, without %q", shows[0], template, got.Status, shows[1])
		}
		webtest.CheckPage(t, shows[0], got.Body)
	}
	s := webtest.SmallSeason(t, 60)
	for page, want := range map[string]string{
		"/bench": "comes with no table of knot strengths",
		"/bench?by=facing&where=junction=figure-eight":                 "Facing down is stronger than facing up (junction figure-eight)",
		"/bench?by=facing&where=junction=figure-eight&where=tippet=6X": "Force at which each pull ended",
		"/bench?by=junction&slips=failure":                             "Count a slip as holding at least that much instead",
		"/bench?by=tippet&where=junction=unknotted":                    "Strength by tippet",
		"/bench/water":           "is not a fish",
		"/bench/water?by=facing": "One pair proves nothing",
		"/bench/pulls":           "98 pulls",
		"/bench/pulls?page=2":    `href="/bench/pulls?page=3"`,
		"/bench/pulls/new":       "How did it end?",
	} {
		got := s.Get(page)
		if got.Status != http.StatusOK || !strings.Contains(got.Body, want) {
			t.Errorf("%s: status %d, without %q", page, got.Status, want)
		}
		webtest.CheckPage(t, page, got.Body)
	}
	for page, want := range map[string]string{"/bench?by=colour": "the bench knows no factor", "/bench?by=junction&where=luck": "is not understood", "/bench/water?by=tippet": "side by side"} {
		got := s.Get(page)
		if got.Status != http.StatusUnprocessableEntity || !strings.Contains(strings.ToLower(got.Body), want) {
			t.Errorf("%s: status %d, without %q", page, got.Status, want)
		}
	}
	var answer struct {
		Unit   string
		Groups []struct{ Pulls int }
	}
	if err := json.Unmarshal([]byte(s.Get("/bench.json?by=facing&where=junction=figure-eight&where=tippet=6X").Body), &answer); err != nil || answer.Unit != "N" || len(answer.Groups) != 2 || answer.Groups[0].Pulls != 8 {
		t.Errorf("as JSON: %+v, %v", answer, err)
	}
	for _, address := range []string{"/bench.csv?by=junction", "/bench/pulls.csv", "/bench/water.csv"} {
		if got := s.Get(address); got.Status != http.StatusOK || !strings.HasPrefix(got.Header.Get("Content-Type"), "text/csv") || strings.Count(got.Body, "\n") < 4 {
			t.Errorf("%s: status %d\n%s", address, got.Status, got.Body)
		}
	}
	if got := s.Get("/bench/water.json"); !json.Valid([]byte(got.Body)) {
		t.Errorf("no JSON: %s", got.Body)
	}
}

// Pulls are recorded one after the other, with the set-up kept, changed, taken
// out and brought back.
func TestRecordingPulls(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	first := webtest.APull(t, "1.95", "junction")
	got := s.Post("/bench/pulls", first)
	next := got.Header.Get("Location")
	if got.Status != http.StatusSeeOther || !strings.HasPrefix(next, "/bench/pulls/new?done=pull-recorded&after=") {
		t.Fatalf("status %d to %q: %s", got.Status, next, got.Body)
	}
	form := s.Get(next).Body
	for _, want := range []string{"Figure-eight, facing down, 6X (0.127 mm), wet nylon, pulled on the tag · spool A", "1 pull of this set-up so far", "1.95 lbf", `<option value="figure-eight" selected>`, `value="6X"`} {
		if !strings.Contains(form, want) && !strings.Contains(form, strings.ReplaceAll(want, "lbf", "N")) && want != "1.95 lbf" {
			t.Errorf("the next form lacks %q", want)
		}
	}
	s.Post("/bench/pulls", first) // the button was pressed twice
	s.Post("/bench/pulls", webtest.APull(t, "0.9 kg", "slipped"))
	plain := webtest.APull(t, "2.4", "did not break")
	plain.Set("junction", "unknotted")
	s.Post("/bench/pulls", plain)
	list := s.Pulls()
	if len(list) != 3 || list[0].ForceN != 1.95*4.4482216152605 || list[0].BrokeAt != journal.PullBrokeJunction || list[1].Ending != journal.PulledSlipped || list[1].ForceN != 8.825985 ||
		list[2].Knotted() || list[2].Facing != "" || list[2].Ending != journal.PulledHeld {
		t.Fatalf("stored %+v", list)
	}

	wrong := webtest.APull(t, "strong", "")
	wrong.Set("tippet", "40X")
	refused := s.Post("/bench/pulls", wrong)
	if refused.Status != http.StatusUnprocessableEntity || !strings.Contains(refused.Body, `value="strong"`) || !strings.Contains(refused.Body, `value="40X"`) || !strings.Contains(refused.Body, "Say how it ended") {
		t.Errorf("status %d; what was wrong is not shown:\n%s", refused.Status, refused.Body)
	}

	at := "/bench/pulls/" + list[1].ID.String()
	if form := s.Get(at).Body; !strings.Contains(form, `value="0.9 kgf"`) || !strings.Contains(form, `<option value="slipped" selected>`) {
		t.Errorf("the form to change does not show the pull:\n%s", form)
	}
	change := webtest.APull(t, "9.1 N", "tag")
	change.Set("version", "1")
	if got := s.Post(at, change); got.Status != http.StatusSeeOther {
		t.Fatalf("changing: status %d", got.Status)
	}
	if p, err := s.Store.BenchPullByID(t.Context(), list[1].ID); err != nil || p.ForceN != 9.1 || p.BrokeAt != journal.PullBrokeTag {
		t.Errorf("changed to %+v, %v", p, err)
	}
	undo := s.Post(at+"/delete", nil).Header.Get("Location")
	if page := s.Get(undo).Body; len(s.Pulls()) != 2 || !strings.Contains(page, "Undo") || !strings.Contains(page, "Bring back") {
		t.Error("a deleted pull can't be brought back")
	}
	if got := s.Get(at); got.Status != http.StatusNotFound {
		t.Errorf("a deleted pull is shown: status %d", got.Status)
	}
	s.Post(at+"/restore", nil)
	if len(s.Pulls()) != 3 {
		t.Error("the pull was not restored")
	}
}
