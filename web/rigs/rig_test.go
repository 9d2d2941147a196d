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
	if old := b.Get(page).Body; !strings.Contains(old, "not the latest") {
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
