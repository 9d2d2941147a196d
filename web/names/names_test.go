package names_test

import (
	"html"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// Ensure that two names of one are found, that merging says first what moves, then moves it, and can be taken back.
func TestTwoNamesOfOneAreMerged(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	other := webtest.Got(b.Store.AnglerNamed(t.Context(), "Ilsse"))(t)
	s := b.Session
	s.ID, s.AnglerID, s.Version, s.Day = webtest.NewID(t), other.ID, 0, journal.Date{Year: 2026, Month: 5, Day: 9}
	for i := range s.Stints {
		s.Stints[i].ID = webtest.NewID(t)
	}
	_ = webtest.Got(b.Store.SaveSession(t.Context(), s))(t)
	body := html.UnescapeString(b.Wants("/names", http.StatusOK, "the same angler?"))
	_, link, _ := strings.Cut(body, `<li><a class="row" href="`)
	link, _, _ = strings.Cut(link, `"`)
	at := "/names/anglers/" + other.ID.String()
	if !strings.HasPrefix(link, "/names/anglers/") || !strings.Contains(link, "?into=") {
		t.Fatalf("the pair leads to %s", link)
	}
	into := url.Values{"into": {b.Angler.ID.String()}}
	asked := b.Press(at, into, "merge", nil)
	if asked.Status != http.StatusOK || !strings.Contains(asked.Body, "1 session of “Ilsse” will be of “Ilse”") || len(webtest.Got(b.Store.Anglers(t.Context()))(t)) != 2 {
		t.Fatalf("status %d: %s", asked.Status, asked.Body)
	}
	merged := b.Press(at, into, "merge-now", nil)
	if merged.Status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", merged.Status, webtest.Complaints(merged.Body))
	}
	of := func(id journal.ID) int {
		_, n, err := b.Store.SessionLines(t.Context(), journal.SessionFilter{Angler: &id, Limit: 1})
		b.Must(err)
		return n
	}
	if of(b.Angler.ID) != 2 || len(webtest.Got(b.Store.Anglers(t.Context()))(t)) != 1 {
		t.Errorf("%d sessions of Ilse", of(b.Angler.ID))
	}
	if got := b.Get(at); got.Status != http.StatusNotFound {
		t.Errorf("what is gone is there: status %d", got.Status)
	}
	step := merged.Header.Get("Location")
	back := b.Post(step+"/back", nil)
	if back.Status != http.StatusOK || !strings.Contains(back.Body, "Taken back.") || of(b.Angler.ID) != 1 || of(other.ID) != 1 {
		t.Errorf("status %d, %d and %d sessions: %s", back.Status, of(b.Angler.ID), of(other.ID), webtest.Complaints(back.Body))
	}
	b.Wants(step, http.StatusOK, "Taken back")
	if again := b.Post(step+"/back", nil); again.Status != http.StatusUnprocessableEntity {
		t.Errorf("taken back twice: status %d", again.Status)
	}
}

// Ensure that each revision of a rig leads to where the rig is renamed.
func TestRevisionsLeadToTheirName(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	rig := webtest.Got(b.Store.RigByID(t.Context(), b.One.ID))(t)
	rig.Notes = "Tied anew"
	later := webtest.Got(b.Store.SaveRig(t.Context(), rig))(t)
	if later.ID == rig.ID {
		t.Fatal("it has no second revision")
	}
	for _, id := range []journal.ID{rig.ID, later.ID} {
		at := "/names/rigs/" + id.String()
		b.Wants("/rigs/"+id.String(), http.StatusOK, at)
		b.Wants(at, http.StatusOK, rig.Name, "Rename")
	}
}

// Ensure that everything that has a name can be renamed, that a name that is taken is refused, and so is none.
func TestNamesAreChanged(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	_ = webtest.Got(b.Store.AnglerNamed(t.Context(), "Jonna"))(t)
	for at, to := range map[string]string{"anglers/" + b.Angler.ID.String(): "Ilse M.", "waters/" + b.Water.ID.String(): "Elder Brook", "beats/" + b.Water.Beats[0].ID.String(): "Upper Run",
		"rigs/" + b.Two.ID.String(): "Three in a row", "knots/slip%20loop": "sliding loop"} {
		at = "/names/" + at
		got := b.Press(at, webtest.Fields(b.Get(at).Body), "rename", map[string]string{"name": to})
		if got.Status != http.StatusSeeOther {
			t.Errorf("%s: status %d, %s", at, got.Status, webtest.Complaints(got.Body))
			continue
		}
		b.Wants(got.Header.Get("Location"), http.StatusOK, to, "Take it back")
		b.Wants("/names", http.StatusOK, to)
	}
	at := "/names/anglers/" + b.Angler.ID.String()
	for name, says := range map[string]string{"": "Write the new name", "Jonna": "Jonna"} {
		if got := b.Press(at, url.Values{}, "rename", map[string]string{"name": name}); got.Status != http.StatusUnprocessableEntity || !strings.Contains(webtest.Complaints(got.Body), says) {
			t.Errorf("%q: status %d, %s", name, got.Status, webtest.Complaints(got.Body))
		}
	}
	if got := b.Press(at, url.Values{}, "merge", nil); got.Status != http.StatusUnprocessableEntity {
		t.Errorf("merged into nothing: status %d", got.Status)
	}
	// A knot of an own name can be one of the journal's words.
	if got := b.Press("/names/knots/sliding%20loop", url.Values{"into": {"perfection loop"}}, "merge-now", nil); got.Status != http.StatusSeeOther {
		t.Errorf("a knot into a word: status %d, %s", got.Status, webtest.Complaints(got.Body))
	}
	if got := b.Get("/names/knots/blood"); got.Status != http.StatusNotFound {
		t.Errorf("a word of the journal can be renamed: status %d", got.Status)
	}
}
