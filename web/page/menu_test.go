package page_test

import (
	"net/http"
	"testing"

	"rigtally/web/page"
	"rigtally/web/webtest"
)

// The navigation never leads to an address that is not served, says where one
// is, and shows a second row only where there is something to choose.
func TestMenuLeadsToWhatIsServed(t *testing.T) {
	t.Parallel()
	few := page.NewMenu(map[string]bool{"GET /{$}": true, "GET /claims": true})("claims")
	if len(few.Entries) != 2 || few.Entries[1].Href != "/claims" || few.Within != nil || few.Entries[1].Current != "page" {
		t.Errorf("with few pages: %+v", few)
	}
	behind := page.NewMenu(map[string]bool{"GET /{$}": true, "GET /claims": true, "GET /next": true})("bench")
	if at := behind.Within; len(at) != 2 || at[1].Href != "/next" || at[1].Current != "true" || behind.Entries[1].Current != "true" {
		t.Errorf("from a page behind one of two: %+v", behind)
	}
	s := webtest.New(t)
	served := map[string]bool{}
	for _, p := range s.Server.Pages() {
		served["GET "+p] = true
	}
	for _, key := range page.MenuPages() {
		m := page.NewMenu(served)(key)
		for _, entry := range append(m.Entries, m.Within...) {
			if got := s.Get(entry.Href); got.Status != http.StatusOK {
				t.Errorf("%s: the entry %s leads to a page of status %d", key, entry.Text, got.Status)
			}
		}
	}
}
