package web

import (
	"net/http"
	"testing"
)

// The navigation never leads to an address that is not served, says where one
// is, and shows a second row only where there is something to choose.
func TestMenuLeadsToWhatIsServed(t *testing.T) {
	t.Parallel()
	few := newMenu(map[string]bool{"GET /{$}": true, "GET /claims": true, "GET /bench": true})("claims")
	if len(few.Entries) != 3 || few.Entries[1].Href != "/claims" || few.Within != nil || few.Entries[1].Current != "page" || few.Entries[2].Href != "/bench" {
		t.Errorf("with three pages: %+v", few)
	}
	s := newSite(t)
	for _, g := range groups {
		for _, p := range g.pages {
			m := newMenu(patterns(s.server.routes()))(p.Key)
			for _, entry := range append(m.Entries, m.Within...) {
				if got := s.get(entry.Href); got.status != http.StatusOK {
					t.Errorf("%s: the entry %s leads to a page of status %d", p.Key, entry.Text, got.status)
				}
			}
		}
	}
}
