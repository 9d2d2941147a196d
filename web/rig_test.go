package web

import (
	"net/http"
	"reflect"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Filling the form with a rig and reading it gives the same rig.
func TestFormKeepsARig(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	for _, rig := range []journal.Rig{b.one, b.two} {
		for _, sys := range []units.System{units.US, units.Metric} {
			f := newForm(sys)
			f.fillRig(rig)
			got := f.readRig()
			got.ID, got.Revision, got.CreatedAt = rig.ID, rig.Revision, rig.CreatedAt
			if !reflect.DeepEqual(got, rig) || len(f.faults) > 0 {
				t.Errorf("%s: %v\n got %+v\nwant %+v", sys, f.faults, got, rig)
			}
		}
	}
}

func TestARigByTheForm(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	page := b.press("/rigs/new", fields(b.get("/rigs/new?then=log").body), "add", map[string]string{"name": "Two tags", "fly.1.tag": `6 1/2"`, "fly.1.junction-name": "slip loop"})
	form := fields(page.body)
	if form.Get("fly.2.position") != "2" || form.Get("fly.1.tag") != `6 1/2"` {
		t.Fatalf("adding a dropper: %v", form)
	}
	saved := b.press("/rigs/new", form, "save", nil)
	rig, err := b.store.LatestRig(t.Context(), "Two tags")
	if err != nil || saved.status != http.StatusSeeOther || saved.header.Get("Location") != "/log?rig="+rig.ID.String() {
		t.Fatalf("status %d, %s, %v, %s", saved.status, saved.header.Get("Location"), err, complaints(saved.body))
	}
	if p := rig.Positions[1]; len(rig.Positions) != 3 || *p.TagLengthMM != 165.1 || p.Junction != journal.JunctionOther || p.JunctionName != "slip loop" {
		t.Errorf("stored %+v", rig)
	}
	if got := fields(b.get(saved.header.Get("Location")).body).Get("stint.0.rig"); got != rig.ID.String() {
		t.Errorf("the log form has rig %s", got)
	}
}

func TestEditingAFishedRigMakesARevision(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	page := "/rigs/" + b.one.ID.String()
	edit := b.get(page + "/edit").body
	if !strings.Contains(edit, "next revision") {
		t.Error("the form does not say that a revision will be made")
	}
	saved := b.press(page+"/edit", fields(edit), "save", map[string]string{"fly.1.tag": "140 mm"})
	if saved.status != http.StatusSeeOther || !strings.Contains(saved.header.Get("Location"), "rig-revised") {
		t.Fatalf("status %d, %s", saved.status, saved.header.Get("Location"))
	}
	latest := b.get(saved.header.Get("Location")).body
	if !strings.Contains(latest, "Dropper 1: tag length 165.1 mm → 140 mm") && !strings.Contains(latest, "Dropper 1: tag length 6 1/2 in → 5.51 in") {
		t.Error("the page does not say what the revision changed")
	}
	if old := b.get(page).body; !strings.Contains(old, "not the latest") {
		t.Error("the page of the old revision does not say so")
	}
	if got, err := b.store.RigByID(t.Context(), b.one.ID); err != nil || !reflect.DeepEqual(got, b.one) {
		t.Errorf("the fished rig is %+v, %v", got, err)
	}
}

func TestARigNotFishedCanBeDeleted(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	spare := b.one
	spare.ID, spare.Name = journal.ID{}, "Spare"
	spare, err := b.store.SaveRig(t.Context(), spare)
	if err != nil {
		t.Fatal(err)
	}
	page := "/rigs/" + spare.ID.String()
	if !strings.Contains(b.get(page).body, page+"/delete") || strings.Contains(b.get("/rigs/"+b.one.ID.String()).body, "/delete") {
		t.Error("deleting is not offered for the spare rig alone")
	}
	if got := b.post(page+"/delete", nil); got.status != http.StatusSeeOther {
		t.Errorf("status %d", got.status)
	}
	if got := b.get(page); got.status != http.StatusNotFound {
		t.Errorf("the deleted rig: status %d", got.status)
	}
}
