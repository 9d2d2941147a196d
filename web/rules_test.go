package web

import (
	"net/http"
	"strings"
	"testing"

	"rigtally/journal"
)

func TestRulesByTheForm(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	form := fields(b.get("/rigs/rules/new").body)
	action := "/rigs/rules/set/" + newID(t).String()
	entry := map[string]string{"name": "Club <day>", "flies": "2", "apart": "20 in", "leader": "18 ft", "leader-rods": "2", "rod": "11 ft", "tag-least": "100 mm", "bead": "3.5", "no-swivels": "yes", "as-of": "2026-03-01", "source": "the club's sheet"}
	if got := b.press(action, form, "save", entry); got.status != http.StatusSeeOther {
		t.Fatalf("status %d, %s", got.status, complaints(got.body))
	}
	list, err := b.store.RuleSets(t.Context())
	if err != nil || len(list) != 2 {
		t.Fatalf("%d rule sets, %v", len(list), err)
	}
	set := list[0]
	if set.Name != "Club <day>" || *set.MostFlies != 2 || *set.LeastApartMM != 508 || *set.MostLeaderMM != 5486.4 || *set.MostLeaderRods != 2 || *set.MostRodMM != 3352.8 ||
		*set.LeastTagMM != 100 || set.MostTagMM != nil || *set.MostBeadMM != 3.5 || !set.NoSwivels || set.NoRings || set.AsOf.String() != "2026-03-01" {
		t.Errorf("stored %+v", set)
	}
	again := fields(b.get(action).body)
	if got := b.press(action, again, "save", nil); got.status != http.StatusSeeOther {
		t.Fatalf("saving it unchanged: %s", complaints(got.body))
	}
	if kept, err := b.store.RuleSetByID(t.Context(), set.ID); err != nil || !kept.Equal(set) {
		t.Errorf("saved unchanged it is %+v", kept)
	}
	if rig := b.get("/rigs/" + b.one.ID.String()).body; !strings.Contains(rig, "Club &lt;day&gt;") || !strings.Contains(rig, "Shorten the leader by") {
		t.Error("the rig's page does not hold it against the new rules")
	}
	wrong := b.press(action, again, "save", map[string]string{"name": "", "flies": "many"})
	if wrong.status != http.StatusUnprocessableEntity || !strings.Contains(wrong.body, "Give the rules a name") || !strings.Contains(wrong.body, "whole number") {
		t.Errorf("status %d, %s", wrong.status, complaints(wrong.body))
	}
}

func TestRulesAreDeletedAndPutBack(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	id := journal.StartingRules()[0].ID
	at := "/rigs/rules/set/" + id.String()
	list := b.post(at+"/delete", nil).header.Get("Location")
	page := b.get(list).body
	if !strings.Contains(page, "Undo") || !strings.Contains(page, at+"/restore") {
		t.Error("undo is not offered")
	}
	if rig := b.get("/rigs/" + b.one.ID.String()).body; !strings.Contains(rig, "Held against no rules") {
		t.Error("the rig is held against deleted rules")
	}
	if !strings.Contains(b.get("/rigs/rules").body, "Put back") {
		t.Error("a deleted set can't be put back later")
	}
	if got := b.post(at+"/restore", nil); got.status != http.StatusSeeOther {
		t.Errorf("status %d", got.status)
	}
	if set, err := b.store.RuleSetByID(t.Context(), id); err != nil || set.Deleted() {
		t.Errorf("put back: %+v, %v", set, err)
	}
	if got := b.post("/rigs/rules/set/"+newID(t).String()+"/delete", nil); got.status != http.StatusNotFound {
		t.Errorf("deleting what is not there: status %d", got.status)
	}
}
