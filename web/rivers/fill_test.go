package rivers_test

import (
	"net/http"
	"net/url"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/web/webtest"
)

// fished logs sessions at noon UTC of some days, the first with a flow that was typed.
func fished(t *testing.T, s *webtest.Site, days ...time.Time) []journal.ID {
	t.Helper()
	var ids []journal.ID
	angler := webtest.Got(s.Store.AnglerNamed(t.Context(), "Ilse"))(t)
	water := webtest.Got(s.Store.Waters(t.Context()))(t)[0]
	rig := webtest.Got(s.Store.SaveRig(t.Context(), journal.Rig{Name: "One fly", Positions: []journal.RigPosition{{Position: 0}}}))(t)
	for i, day := range days {
		start := day.Truncate(24 * time.Hour).Add(11 * time.Hour)
		x := journal.Session{ID: webtest.NewID(t), AnglerID: angler.ID, WaterID: water.ID, Day: journal.DateOf(day), TimeZone: "UTC", Start: &start, End: new(start.Add(2 * time.Hour)),
			Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: rig.ID, Minutes: new(90.0)}}}
		if i == 0 {
			x.FlowM3S = new(9.0)
		}
		ids = append(ids, webtest.Got(s.Store.SaveSession(t.Context(), x))(t).ID)
	}
	return ids
}

// Ensure that past sessions are filled after it was seen what that does, that what was typed stays, that older readings come in the
// background, and that all can be taken out again. The template "gaugefill".
func TestPastSessionsAreFilled(t *testing.T) {
	t.Parallel()
	s, a, at := book(t)
	get(s, at+"/fill").holds(t, http.StatusOK, "No gauge is linked")
	ids := fished(t, s, webtest.GaugedAt.AddDate(0, 0, -1), webtest.GaugedAt.AddDate(0, 0, -2), webtest.GaugedAt.AddDate(-1, 0, 0))
	post(s, at, site(webtest.Mill().Site, "link")).holds(t, http.StatusOK, "Linked.")
	get(s, at+"/fill").holds(t, http.StatusOK, "2 of 3 sessions on Alder Brook find what the gauge read", "Flow: 2 sessions. What somebody typed stays in 1 of them", "Fill in 2 sessions", "1 session, Fri 20 June 2025", "Fetch older readings first",
		"10 m³/s", "12 °C", "12:00")
	post(s, at+"/fill", url.Values{"do": {"fill"}}).holds(t, http.StatusOK, "Filled in: 2 sessions", "Nothing is left to fill in", "Take out again")
	first := webtest.Got(s.Store.SessionByID(t.Context(), ids[0]))(t)
	if first.FlowM3S == nil || *first.FlowM3S != 9 {
		t.Errorf("what was typed is %v", first.FlowM3S)
	}

	a.Hold = make(chan struct{})
	begun := s.Post(at+"/fill", url.Values{"do": {"older"}})
	if begun.Status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", begun.Status, begun.Body)
	}
	get(s, at+"/fill").holds(t, http.StatusOK, "Older readings are on their way", "The invented agency, number 09000001", "Stop")
	post(s, at+"/fill", url.Values{"do": {"older"}}).holds(t, http.StatusConflict, "on their way already")
	until(t, s, at+"/fill", "1 of 2 parts")
	if got := s.Post(at+"/fill", url.Values{"do": {"stop"}}); got.Status != http.StatusSeeOther {
		t.Errorf("stopping: status %d", got.Status)
	}
	until(t, s, at+"/fill", "Stopped. What had come stays.")
	close(a.Hold)
	if got := s.Post(at+"/fill", url.Values{"do": {"older"}}); got.Status != http.StatusSeeOther {
		t.Fatalf("again: status %d", got.Status)
	}
	until(t, s, at+"/fill", "The older readings have come.")
	get(s, at+"/fill").holds(t, http.StatusOK, "The invented agency has no stage.", "Fill in 1 session<", "above 56% of years")
	post(s, at+"/fill", url.Values{"do": {"fill"}}).holds(t, http.StatusOK, "All 3 sessions on Alder Brook have what the gauge read")
	fills := webtest.Got(s.Store.Fills(t.Context(), ids...))(t)
	if len(fills) != 3 || fills[ids[2]][0].Quantity != gauge.Flow || fills[ids[2]][0].Value != 10 {
		t.Errorf("%+v", fills)
	}
	post(s, at, site(webtest.Mill().Site, "unlink")).holds(t, http.StatusOK, "What sessions took from it stays")
	get(s, at+"/fill").holds(t, http.StatusOK, "No gauge is linked", "Sessions keep what they took", "10 m³/s")
	post(s, at+"/fill", url.Values{"do": {"clear"}}).holds(t, http.StatusOK, "Taken out of 3 sessions")
	if fills := webtest.Got(s.Store.Fills(t.Context(), ids...))(t); len(fills) > 0 {
		t.Errorf("%+v is left", fills)
	}
}

// until waits until the page of what is being fetched says something.
func until(t *testing.T, s *webtest.Site, at, text string) {
	t.Helper()
	for t.Context().Err() == nil {
		got := get(s, at)
		if got.Status != http.StatusOK {
			t.Fatalf("%s: status %d", at, got.Status)
		}
		if contains(got.Body, text) {
			return
		}
		if !contains(got.Body, "are on their way") {
			t.Fatalf("%s does not say %q: %s", at, text, got.Body)
		}
	}
	t.Fatalf("%s never says %q", at, text)
}
