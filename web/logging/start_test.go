package logging_test

import (
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/prose"
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

// A saved session's counts are stepped in place, each step with the version that was seen, and taken
// back; what was not counted has no step.
func TestSteppingCounts(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	s := b.Session
	s.ID, s.Version, s.Stints = webtest.NewID(t), 0, []journal.Stint{{ID: webtest.NewID(t), RigID: b.One.ID, Minutes: new(60.0),
		Recorded: journal.RecordedOf(journal.KindTangles, journal.KindTangleKind, journal.KindLanded),
		Events: []journal.Event{
			{Kind: journal.EventHookup, Count: 1, Ending: journal.Landed, Minute: new(12), Species: "brown trout"},
			{Kind: journal.EventTangle, Count: 1, TangleKind: journal.Twist},
		}}}
	s = webtest.Got(b.Store.SaveSession(t.Context(), s))(t)
	at := "/sessions/" + s.ID.String()
	version := 1
	step := func(name, value string, status int) webtest.Answer {
		t.Helper()
		a := b.Post(at+"/count", url.Values{"version": {strconv.Itoa(version)}, name: {value}})
		if a.Status != status {
			t.Fatalf("%s %s: status %d, want %d:\n%s", name, value, a.Status, status, a.Body)
		}
		if status == 303 {
			version++
		}
		return a
	}
	events := func() (list []string) {
		for _, e := range webtest.Got(b.Store.SessionByID(t.Context(), s.ID))(t).Stints[0].Events {
			list = append(list, prose.Event(e, "metric"))
		}
		return list
	}
	wants := func(want ...string) {
		t.Helper()
		if got := events(); !slices.Equal(got, want) {
			t.Errorf("events %q, want %q", got, want)
		}
	}
	page := b.Page(at, 200)
	if strings.Contains(page, "0 snag more") || !strings.Contains(page, "0 twist more") || !strings.Contains(page, "One nest more") {
		t.Error("a step for snags, which were not counted, or none for twists or nests, which were")
	}
	trout := "Hookup, landed, minute 12, brown trout"
	step("do", "0 twist more", 303)
	wants(trout, "2 × twist")
	step("do", "0 landed more", 303)
	wants(trout, "2 × twist", "Hookup, landed")
	step("do", "0 landed less", 303) // the one of which nothing is known goes first
	wants(trout, "2 × twist")
	a := step("do", "0 landed less", 303)
	wants("2 × twist")
	undo := webtest.Got(url.Parse(a.Header.Get("Location")))(t)
	webtest.WantAll(t, "undo", b.Page(undo.Path+"?"+undo.RawQuery, 200), "One less landed fish. Saved.")
	step("undo", undo.Query().Get("undo"), 303)
	wants(trout, "2 × twist")
	step("undo", `{"stint":0,"at":9}`, 422)
	step("do", "0 snag more", 422)
	step("do", "1 twist more", 422)
	step("do", "0 nest less", 422)
	version--
	step("do", "0 twist more", 409)
	step("undo", undo.Query().Get("undo"), 409) // taken back already
	wants(trout, "2 × twist")
}
