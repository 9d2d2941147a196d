package web_test

import (
	"html"
	"maps"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/webtest"
)

var outfitCell = regexp.MustCompile(`<th scope="row">([^<]*)</th><td class="number">.*?</td><td class="number">(.*?)</td>`)

// Ensure that the outfit's numbers are the same to every client, hold for the week whoever fishes on, and name nobody.
func TestTheComparisonIsTheSameForEveryClient(t *testing.T) {
	t.Parallel()
	o := newOuting(t, 400)
	told := func(client string) map[string]string {
		rows := map[string]string{}
		for _, m := range outfitCell.FindAllStringSubmatch(o.As(client).Wants("/compare", http.StatusOK), -1) {
			if !strings.Contains(m[2], "not enough others") {
				rows[html.UnescapeString(m[1])] = m[2]
			}
		}
		return rows
	}
	first, other := told("client"), told("other")
	if len(first) < 4 {
		t.Fatalf("told are %v", first)
	}
	for what, number := range first {
		if also, is := other[what]; is && also != number {
			t.Errorf("of %s one client is told %s, another %s", what, number, also)
		}
	}
	// The rates are those that answers have, rounded to two digits.
	rates := webtest.Got(analytics.Rates(t.Context(), o.Store, analytics.Request{Outcome: "tangles", By: []string{"junction"}}))(t)
	for _, g := range rates.Groups {
		if got, is := first[prose.Capital(g.Level[0].Word)]; is && got != prose.TwoDigits(g.Rate) {
			t.Errorf("%s: told is %s, counted %g", g.Level[0].Word, got, g.Rate)
		}
	}
	self := o.clients["client"]
	store := o.Store.For(journal.Who{Role: journal.RoleClient, Angler: &self.ID})
	session := webtest.Got(store.LastSession(t.Context()))(t)
	session.ID, session.Version = journal.NewID(), 0
	for i := range session.Stints {
		session.Stints[i].ID, session.Stints[i].Events = journal.NewID(), []journal.Event{{Kind: journal.EventTangle, Count: 90}}
	}
	if _, err := store.SaveSession(t.Context(), session); err != nil {
		t.Fatal(err)
	}
	if again := told("other"); !maps.Equal(again, other) {
		t.Errorf("within a week it went from %v to %v", other, again)
	}
}
