package logging_test

import (
	"net/http"
	"strings"
	"testing"

	"rigtally/web/webtest"
)

// Ensure that a name near a known one is asked about before anything is stored, that either answer is taken, and that
// an answer to one name is none to another.
func TestNamesNearKnownOnesAreAskedAbout(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ field, typed, known string }{{"angler.new", "Ilsse", "Ilse"}, {"water.new", "Alder Brok", "Alder Brook"}, {"beat", "Mil Run", "Mill Run"}} {
		b := webtest.NewBook(t)
		had := b.Sessions(t)
		whole := map[string]string{"day": "2026-05-02", "stint.0.rig": b.One.ID.String(), "stint.0.minutes": "60", c.field: c.typed}
		asked := b.Press("/log", webtest.Fields(b.Get("/log").Body), "save", whole)
		if asked.Status != http.StatusUnprocessableEntity || b.Sessions(t) != had || !strings.Contains(asked.Body, `value="`+c.known+`"`) || !strings.Contains(asked.Body, c.typed+" is new") {
			t.Fatalf("%s: status %d, %d sessions: %s", c.typed, asked.Status, b.Sessions(t), webtest.Complaints(asked.Body))
		}
		// Another name is another question.
		other := b.Press("/log", webtest.Fields(asked.Body), "save", map[string]string{c.field + ".meant": c.typed, c.field: c.known + "s"})
		if other.Status != http.StatusUnprocessableEntity || b.Sessions(t) != had {
			t.Errorf("%s: an answer to another name was taken, status %d", c.known+"s", other.Status)
		}
		if got := b.Press("/log", webtest.Fields(asked.Body), "save", map[string]string{c.field + ".meant": c.known}); got.Status != http.StatusSeeOther {
			t.Fatalf("%s means %s: status %d: %s", c.typed, c.known, got.Status, webtest.Complaints(got.Body))
		}
		if s := b.LastLogged(t); s.AnglerID != b.Angler.ID || s.WaterID != b.Water.ID || c.field == "beat" && s.BeatID == nil {
			t.Errorf("%s did not become %s", c.typed, c.known)
		}
		fresh := b.Press("/log", webtest.Fields(b.Get("/log").Body), "save", whole)
		whole[c.field+".meant"] = c.typed
		if fresh = b.Press("/log", webtest.Fields(fresh.Body), "save", whole); fresh.Status != http.StatusSeeOther {
			t.Fatalf("%s is new: status %d: %s", c.typed, fresh.Status, webtest.Complaints(fresh.Body))
		}
		if !strings.Contains(b.Get("/log").Body, c.typed) {
			t.Errorf("%s was not stored as new", c.typed)
		}
	}
}
