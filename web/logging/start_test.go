package logging_test

import (
	"net/url"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// Without script, too, a journal is set up in one go, anew as often as one likes until something is
// logged, and a refusal leaves nothing behind.
func TestSettingUp(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	form := webtest.Fields(s.Page("/", 200))
	answers := map[string]string{"name": "Wren", "water-name": "Alder Brook", "zone": "America/Boise", "units": "us", "tags": "1", "junction": "blood", "tag": "7 in", "facing": "up"}
	for name, value := range answers {
		form.Set(name, value)
	}
	for field, wrong := range map[string]string{"name": "", "water-name": " ", "zone": "Boise", "tag": "long", "units": "cubits"} {
		bad := url.Values{}
		for name := range form {
			bad.Set(name, form.Get(name))
		}
		bad.Set(field, wrong)
		if a := s.Post("/start", bad); a.Status != 422 || !strings.Contains(a.Body, "Not saved yet") {
			t.Errorf("%s %q: status %d", field, wrong, a.Status)
		}
	}
	if anglers := webtest.Got(s.Store.Anglers(t.Context()))(t); len(anglers) != 0 {
		t.Errorf("refused, and %d anglers are kept", len(anglers))
	}
	a := s.Post("/start", form)
	if at := a.Header.Get("Location"); a.Status != 303 || !strings.HasPrefix(at, "/log?") {
		t.Fatalf("status %d, leads to %s", a.Status, at)
	}
	webtest.WantAll(t, "log", s.Page(a.Header.Get("Location"), 200), "Blood 7 in: blood, 7 in, up")
	again := webtest.Fields(s.Page("/start", 200))
	for name, value := range map[string]string{"name": "Wren", "water-name": "Alder Brook", "zone": "America/Boise", "tag": "7 in", "rig": form.Get("rig")} {
		if again.Get(name) != value {
			t.Errorf("%s is asked again with %q, not %q", name, again.Get(name), value)
		}
	}
	again.Set("name", "Wrenna")
	again.Set("junction", "") // another one
	if a := s.Post("/start", again); a.Status != 303 {
		t.Fatalf("another knot: status %d:\n%s", a.Status, a.Body)
	}
	again.Set("tags", "0")
	for range 2 { // sent twice
		if a := s.Post("/start", again); a.Status != 303 {
			t.Fatalf("status %d:\n%s", a.Status, a.Body)
		}
	}
	anglers, rigs := webtest.Got(s.Store.Anglers(t.Context()))(t), webtest.Got(s.Store.Rigs(t.Context()))(t)
	waters := webtest.Got(s.Store.Waters(t.Context()))(t)
	if len(anglers) != 1 || anglers[0].Name != "Wrenna" || len(waters) != 1 || len(rigs) != 1 || rigs[0].Name != "Single fly" || len(rigs[0].Droppers()) != 0 {
		t.Errorf("said again: %+v, %+v, %+v", anglers, waters, rigs)
	}
	session := webtest.Got(s.Store.SaveSession(t.Context(), journal.Session{ID: webtest.NewID(t), AnglerID: anglers[0].ID, WaterID: waters[0].ID, TimeZone: "America/Boise",
		Day: journal.Date{Year: 2026, Month: 5, Day: 1}, Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: rigs[0].ID, Minutes: new(60.0)}}}))(t)
	s.Must(s.Store.DeleteSession(t.Context(), session.ID, 0)) // it can be brought back, with the rig that it was fished with
	again.Set("tags", "2")
	if a := s.Post("/start", again); a.Status != 422 || !strings.Contains(a.Body, "A session is logged already") {
		t.Errorf("after a session: status %d", a.Status)
	}
	if a := s.Get("/start"); a.Status != 303 || a.Header.Get("Location") != "/settings" {
		t.Errorf("after a session /start answers %d", a.Status)
	}
}
