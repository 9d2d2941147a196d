package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/door"
	"rigtally/web/page"
	"rigtally/web/webtest"
)

// pair is a site as two people of one outfit ask it.
func pair(t *testing.T) (owner, guide *webtest.Site) {
	t.Helper()
	v := webtest.Visitors{}
	s := webtest.NewWith(t, v)
	v["owner"] = door.Visitor{Outfit: s.Store.OutfitID(), Who: journal.Who{Role: journal.RoleOwner, Name: "Alder", Person: new(webtest.NewID(t))}}
	v["guide"] = door.Visitor{Outfit: s.Store.OutfitID(), Who: journal.Who{Role: journal.RoleGuide, Name: "Wren", Person: new(webtest.NewID(t))}}
	return s.As("owner"), s.As("guide")
}

// What one person's phone kept, or one's page holds, is not taken from another who signed in since.
func TestAnothersIsRefused(t *testing.T) {
	t.Parallel()
	owner, guide := pair(t)
	key := owner.Get("/").Header.Get(page.ForHeader)
	if key == "" || key != owner.Get("/rigs").Header.Get(page.ForHeader) || key == guide.Get("/").Header.Get(page.ForHeader) {
		t.Fatalf("the keys %q do not tell people apart", key)
	}
	for _, method := range []string{http.MethodGet, http.MethodPut} {
		path := map[string]string{http.MethodGet: "/api/known", http.MethodPut: "/api/rigs/" + webtest.NewID(t).String()}[method]
		for who, s := range map[string]*webtest.Site{"owner": owner, "guide": guide} {
			r := s.Request(method, path, strings.NewReader("{}"))
			r.Header.Set(page.ForHeader, key)
			got := s.Do(r)
			if refused := got.Status == http.StatusPreconditionFailed; refused != (who == "guide") || refused && !strings.Contains(got.Body, `"error":"someone-else"`) {
				t.Errorf("%s %s as the %s: status %d, %s", method, path, who, got.Status, got.Body)
			}
		}
	}
	id := webtest.NewID(t)
	form := webtest.Fields(owner.Get("/waters/new").Body)
	if form.Get("for") != key {
		t.Fatalf("the form says that it is for %q", form.Get("for"))
	}
	form.Set("name", "Alder Brook")
	form.Set("kind", "freestone")
	form.Set("do", "save")
	got := guide.Post("/waters/"+id.String(), form)
	if got.Status != http.StatusPreconditionFailed || !strings.Contains(got.Body, "opened by someone else who was signed in here; nothing was saved") {
		t.Errorf("status %d, %s", got.Status, got.Body)
	}
	if waters := webtest.Got(owner.Store.Waters(t.Context()))(t); len(waters) != 0 {
		t.Errorf("stored %s", webtest.InJSON(waters))
	}
	if got := owner.Post("/waters/"+id.String(), form); got.Status != http.StatusSeeOther {
		t.Errorf("one's own: status %d, %s", got.Status, webtest.Complaints(got.Body))
	}
}

// Every form that is posted says who opened it, and a file to hand on says nothing of the kind.
func TestEveryFormSaysWhoseItIs(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for _, path := range []string{"/", "/log", "/settings", "/rigs/new", "/rigs/" + b.One.ID.String(), "/sessions/" + b.Session.ID.String(), "/claims/new", "/trials/new", "/bench/pulls/new", "/recorded/mark"} {
		body := b.Get(path).Body
		if posts, says := strings.Count(body, `method="post"`), strings.Count(body, `<input type="hidden" name="for" value="`); posts != says {
			t.Errorf("%s: %d of %d forms", path, says, posts)
		}
	}
	if body := b.Get("/season.html?" + url.Values{"year": {"2026"}}.Encode()).Body; strings.Contains(body, "data-for") {
		t.Error("a file says for whom it was made")
	}
}
