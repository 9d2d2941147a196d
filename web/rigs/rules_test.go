package rigs_test

import (
	"net/http"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/webtest"
)

func TestRulesByTheForm(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	form := webtest.Fields(b.Get("/rigs/rules/new").Body)
	action := "/rigs/rules/set/" + webtest.NewID(t).String()
	entry := map[string]string{"name": "Club <day>", "flies": "2", "apart": "20 in", "leader": "18 ft", "leader-rods": "2", "rod": "11 ft", "tag-least": "100 mm", "bead": "3.5", "no-swivels": "yes", "as-of": "2026-03-01", "source": "the club's sheet"}
	if got := b.Press(action, form, "save", entry); got.Status != http.StatusSeeOther {
		t.Fatalf("status %d, %s", got.Status, webtest.Complaints(got.Body))
	}
	list, err := b.Store.RuleSets(t.Context())
	if err != nil || len(list) != 2 {
		t.Fatalf("%d rule sets, %v", len(list), err)
	}
	set := list[0]
	if set.Name != "Club <day>" || *set.MostFlies != 2 || *set.LeastApartMM != 508 || *set.MostLeaderMM != 5486.4 || *set.MostLeaderRods != 2 || *set.MostRodMM != 3352.8 ||
		*set.LeastTagMM != 100 || set.MostTagMM != nil || *set.MostBeadMM != 3.5 || !set.NoSwivels || set.NoRings || set.AsOf.String() != "2026-03-01" {
		t.Errorf("stored %+v", set)
	}
	again := webtest.Fields(b.Get(action).Body)
	if got := b.Press(action, again, "save", nil); got.Status != http.StatusSeeOther {
		t.Fatalf("saving it unchanged: %s", webtest.Complaints(got.Body))
	}
	if kept, err := b.Store.RuleSetByID(t.Context(), set.ID); err != nil || !kept.Equal(set) {
		t.Errorf("saved unchanged it is %+v", kept)
	}
	if rig := b.Get("/rigs/" + b.One.ID.String()).Body; !strings.Contains(rig, "Club &lt;day&gt;") || !strings.Contains(rig, "Shorten the leader by") {
		t.Error("the rig's page does not hold it against the new rules")
	}
	wrong := b.Press(action, again, "save", map[string]string{"name": "", "flies": "many"})
	if wrong.Status != http.StatusUnprocessableEntity || !strings.Contains(wrong.Body, "Give the rules a name") || !strings.Contains(wrong.Body, "whole number") {
		t.Errorf("status %d, %s", wrong.Status, webtest.Complaints(wrong.Body))
	}
}

func TestRulesAreDeletedAndPutBack(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	id := journal.StartingRules()[0].ID
	at := "/rigs/rules/set/" + id.String()
	list := b.Post(at+"/delete", nil).Header.Get("Location")
	page := b.Get(list).Body
	if !strings.Contains(page, "Undo") || !strings.Contains(page, at+"/restore") {
		t.Error("undo is not offered")
	}
	if rig := b.Get("/rigs/" + b.One.ID.String()).Body; !strings.Contains(rig, "Held against no rules") {
		t.Error("the rig is held against deleted rules")
	}
	if !strings.Contains(b.Get("/rigs/rules").Body, "Put back") {
		t.Error("a deleted set can't be put back later")
	}
	if got := b.Post(at+"/restore", nil); got.Status != http.StatusSeeOther {
		t.Errorf("status %d", got.Status)
	}
	if set, err := b.Store.RuleSetByID(t.Context(), id); err != nil || set.Deleted() {
		t.Errorf("put back: %+v, %v", set, err)
	}
	if got := b.Post("/rigs/rules/set/"+webtest.NewID(t).String()+"/delete", nil); got.Status != http.StatusNotFound {
		t.Errorf("deleting what is not there: status %d", got.Status)
	}
}
