package steps_test

import (
	"net/http"
	"os"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// Ensure that what was done is listed with its day written out, is taken back once, and that it is said why something can't be.
func TestADeedIsTakenBack(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	s := webtest.Got(b.Store.SessionByID(t.Context(), b.Session.ID))(t)
	day := prose.Day(s.Day)
	s.Notes = "Wind from the north"
	s = webtest.Got(b.Store.SaveSession(t.Context(), s))(t)
	body := b.Wants("/steps", http.StatusOK, "Changed the session of ", day)
	if strings.Contains(body, s.Day.String()) {
		t.Errorf("a day is not written out: %s", body)
	}
	webtest.CheckPage(t, "/steps", body)
	steps := webtest.Got(b.Store.Steps(t.Context(), 10))(t)
	changed, logged := "/steps/"+steps[0].ID.String(), "/steps/"+steps[len(steps)-1].ID.String()
	b.Wants(changed, http.StatusOK, "Changed the session of ", day, "by ", "Take it back")
	// What was changed since stays.
	left := b.Post(logged+"/back", nil)
	if left.Status != http.StatusUnprocessableEntity || !strings.Contains(left.Body, "Nothing of it can be taken back") || !strings.Contains(left.Body, day) || strings.Contains(left.Body, s.Day.String()) {
		t.Errorf("status %d: %s", left.Status, left.Body)
	}
	back := b.Post(changed+"/back", nil)
	webtest.WantAll(t, changed, back.Body, "Taken back.", "1 session is as before it.")
	if now := webtest.Got(b.Store.SessionByID(t.Context(), s.ID))(t); now.Notes == s.Notes {
		t.Error("the note is there still")
	}
	if again := b.Post(changed+"/back", nil); again.Status != http.StatusUnprocessableEntity {
		t.Errorf("taken back twice: status %d", again.Status)
	}
	if strings.Contains(b.Wants(changed, http.StatusOK, "Taken back"), "Take it back") {
		t.Error("what was taken back can be taken back")
	}
}

// Ensure that guides are told who did what, and that clients neither see nor take back what the outfit did.
func TestWhoseDeedsAreSeen(t *testing.T) {
	t.Parallel()
	people := webtest.Visitors{}
	s := webtest.NewWith(t, people)
	angler := webtest.Got(s.Store.AnglerNamed(t.Context(), "Jonna"))(t)
	for name, role := range map[string]journal.Role{"owner": journal.RoleOwner, "guide": journal.RoleGuide} {
		people[name] = door.Visitor{Outfit: s.Store.OutfitID(), Who: journal.Who{Role: role, Name: name, Person: new(webtest.NewID(t))}}
	}
	people["client"] = door.Visitor{Outfit: s.Store.OutfitID(), Who: journal.Who{Role: journal.RoleClient, Name: "Jonna", Angler: &angler.ID, Person: new(webtest.NewID(t))}}
	of := journal.Thing{Kind: journal.ThingAngler, ID: angler.ID}
	_ = webtest.Got(s.Store.For(people["owner"].Who).Rename(t.Context(), of, "Jonna M."))(t)
	const what = "Renamed the angler Jonna to Jonna M."
	step := "/steps/" + webtest.Got(s.Store.Steps(t.Context(), 1))(t)[0].ID.String()
	s.As("owner").Wants("/steps", http.StatusOK, what, "by you")
	s.As("guide").Wants("/steps", http.StatusOK, what, "by the owner")
	client := s.As("client")
	for _, at := range []string{"/steps", step} {
		if got := client.Get(at); got.Status != http.StatusNotFound {
			t.Errorf("a client sees %s: status %d", at, got.Status)
		}
	}
	if got := client.Post(step+"/back", nil); got.Status != http.StatusNotFound {
		t.Errorf("a client takes back what the owner did: status %d", got.Status)
	}
	if body := s.As("guide").Post(step+"/back", nil).Body; !strings.Contains(body, "Taken back.") {
		t.Errorf("a guide can't take it back: %s", webtest.Complaints(body))
	}
}
