package rigs_test

import (
	"net/http"
	"os"
	"reflect"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web/form"
	"rigtally/web/rigs"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// Filling the form with a rig and reading it gives the same rig.
func TestFormKeepsARig(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for _, rig := range []journal.Rig{b.One, b.Two} {
		for _, sys := range []units.System{units.US, units.Metric} {
			f := form.New(sys)
			rigs.FillRig(f, rig)
			got := rigs.ReadRig(f)
			got.ID, got.Revision, got.CreatedAt = rig.ID, rig.Revision, rig.CreatedAt
			if !reflect.DeepEqual(got, rig) || len(f.Faults) > 0 {
				t.Errorf("%s: %v\n got %+v\nwant %+v", sys, f.Faults, got, rig)
			}
		}
	}
}

func TestARigByTheForm(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	page := b.Press("/rigs/new", webtest.Fields(b.Get("/rigs/new?then=log").Body), "add", map[string]string{"name": "Two tags", "fly.1.tag": `6 1/2"`, "fly.1.junction-name": "slip loop"})
	form := webtest.Fields(page.Body)
	if form.Get("fly.2.position") != "2" || form.Get("fly.1.tag") != `6 1/2"` {
		t.Fatalf("adding a dropper: %v", form)
	}
	saved := b.Press("/rigs/new", form, "save", nil)
	rig, err := b.Store.LatestRig(t.Context(), "Two tags")
	if err != nil || saved.Status != http.StatusSeeOther || saved.Header.Get("Location") != "/log?rig="+rig.ID.String() {
		t.Fatalf("status %d, %s, %v, %s", saved.Status, saved.Header.Get("Location"), err, webtest.Complaints(saved.Body))
	}
	if p := rig.Positions[1]; len(rig.Positions) != 3 || *p.TagLengthMM != 165.1 || p.Junction != journal.JunctionOther || p.JunctionName != "slip loop" {
		t.Errorf("stored %+v", rig)
	}
	if got := webtest.Fields(b.Get(saved.Header.Get("Location")).Body).Get("stint.0.rig"); got != rig.ID.String() {
		t.Errorf("the log form has rig %s", got)
	}
}

func TestEditingAFishedRigMakesARevision(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	page := "/rigs/" + b.One.ID.String()
	edit := b.Get(page + "/edit").Body
	if !strings.Contains(edit, "next revision") {
		t.Error("the form does not say that a revision will be made")
	}
	saved := b.Press(page+"/edit", webtest.Fields(edit), "save", map[string]string{"fly.1.tag": "140 mm"})
	if saved.Status != http.StatusSeeOther || !strings.Contains(saved.Header.Get("Location"), "rig-revised") {
		t.Fatalf("status %d, %s", saved.Status, saved.Header.Get("Location"))
	}
	latest := b.Get(saved.Header.Get("Location")).Body
	if !strings.Contains(latest, "Dropper 1: tag length 165.1 mm → 140 mm") && !strings.Contains(latest, "Dropper 1: tag length 6 1/2 in → 5.51 in") {
		t.Error("the page does not say what the revision changed")
	}
	if old := b.Get(page).Body; !strings.Contains(old, "A later revision") {
		t.Error("the page of the old revision does not say so")
	}
	if got, err := b.Store.RigByID(t.Context(), b.One.ID); err != nil || !reflect.DeepEqual(got, b.One) {
		t.Errorf("the fished rig is %+v, %v", got, err)
	}
}

func TestARigNotFishedCanBeDeleted(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	spare := b.One
	spare.ID, spare.Name = journal.ID{}, "Spare"
	spare, err := b.Store.SaveRig(t.Context(), spare)
	if err != nil {
		t.Fatal(err)
	}
	page := "/rigs/" + spare.ID.String()
	if !strings.Contains(b.Get(page).Body, page+"/delete") || strings.Contains(b.Get("/rigs/"+b.One.ID.String()).Body, "/delete") {
		t.Error("deleting is not offered for the spare rig alone")
	}
	if got := b.Post(page+"/delete", nil); got.Status != http.StatusSeeOther {
		t.Errorf("status %d", got.Status)
	}
	if got := b.Get(page); got.Status != http.StatusNotFound {
		t.Errorf("the deleted rig: status %d", got.Status)
	}
}

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
	if rig := b.Get("/rigs/" + b.One.ID.String()).Body; !strings.Contains(rig, "Checked against no rules") {
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

// Ensure that a knot's name near a word of the journal, or near a knot named before, is asked about before it is stored.
func TestKnotsNearKnownOnesAreAskedAbout(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	const name = "fly.1.junction-name"
	for typed, want := range map[string]journal.RigPosition{"figure eigt": {Junction: "figure-eight"}, "Slip loops": {Junction: journal.JunctionOther, JunctionName: "slip loop"}} {
		rig := map[string]string{"name": "With a " + typed, "fly.1.junction": "", name: typed, "fly.1.tag-length": "120 mm"}
		asked := b.Press("/rigs/new", webtest.Fields(b.Get("/rigs/new").Body), "save", rig)
		means := want.JunctionName
		if means == "" {
			means = string(want.Junction)
		}
		if asked.Status != http.StatusUnprocessableEntity || !strings.Contains(asked.Body, `value="`+means+`"`) {
			t.Fatalf("%s: status %d, %s", typed, asked.Status, webtest.Complaints(asked.Body))
		}
		rig[name+".meant"] = means
		if got := b.Press("/rigs/new", webtest.Fields(asked.Body), "save", rig); got.Status != http.StatusSeeOther {
			t.Fatalf("%s: status %d, %s", typed, got.Status, webtest.Complaints(got.Body))
		}
		saved := webtest.Got(b.Store.LatestRig(t.Context(), rig["name"]))(t)
		if p, _ := saved.At(1); p.Junction != want.Junction || p.JunctionName != want.JunctionName {
			t.Errorf("%s became %s %q", typed, p.Junction, p.JunctionName)
		}
	}
}
