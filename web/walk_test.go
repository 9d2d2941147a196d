package web_test

import (
	"testing"

	"rigtally/web/webtest"
)

// Links lead to every row of the routes that answers GET, so that none can be
// left out of what is checked page by page.
func TestLinksLeadToEveryPage(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("asks for hundreds of pages, one after the other")
	}
	_, missing := webtest.Walk(webtest.SmallSeason(t, 60))
	for _, p := range missing {
		t.Errorf("no link of any page leads to %s", p)
	}
}
