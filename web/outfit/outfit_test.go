package outfit_test

import (
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

func TestPeopleWatersAndSettings(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	save := func(page, action string, changes map[string]string) {
		t.Helper()
		if got := b.Press(action, webtest.Fields(b.Get(page).Body), "save", changes); got.Status != http.StatusSeeOther {
			t.Errorf("%s: status %d, %s", page, got.Status, webtest.Complaints(got.Body))
		}
	}
	anglerPage, waterPage := "/anglers/"+b.Angler.ID.String(), "/waters/"+b.Water.ID.String()
	save(anglerPage, anglerPage, map[string]string{"kind": "guide"})
	save("/anglers/new", "/anglers/"+webtest.NewID(t).String(), map[string]string{"name": "Odo", "active": "yes"})
	save(waterPage, waterPage, map[string]string{"zone": "Europe/Vienna", "beat.0.name": "Mill Pool", "beat.1.name": "The Weir"})
	save("/settings", "/settings", map[string]string{"units": "metric", "name": "Odo's book"})

	anglers, err := b.Store.Anglers(t.Context())
	if err != nil || len(anglers) != 2 || anglers[0].Kind != "guide" || !anglers[1].Active {
		t.Errorf("anglers %+v, %v", anglers, err)
	}
	waters, err := b.Store.Waters(t.Context())
	if err != nil || len(waters) != 1 || waters[0].TimeZone != "Europe/Vienna" || len(waters[0].Beats) != 2 || waters[0].Beats[0].Name != "Mill Pool" {
		t.Errorf("waters %+v, %v", waters, err)
	}
	if body := b.Get("/rigs/" + b.One.ID.String()).Body; !strings.Contains(body, "165.1 mm") || !strings.Contains(body, "Odo&#39;s book") {
		t.Error("the settings do not show on a page")
	}
}

// The prior of best bets is a setting with what it expects in words; what it can't be is refused, and empty is the usual one.
func TestThePriorIsASetting(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	body := b.Get("/settings").Body
	webtest.WantAll(t, "/settings", body, `value="0.35"`, "half of true ratios lie within 0.79 to 1.27")
	for text, status := range map[string]int{"5": http.StatusUnprocessableEntity, "0": http.StatusUnprocessableEntity, "wide": http.StatusUnprocessableEntity, "": http.StatusSeeOther} {
		got := b.Press("/settings", webtest.Fields(body), "save", map[string]string{"prior": text})
		if got.Status != status || status != http.StatusSeeOther && !strings.Contains(got.Body, "Write a number from 0.05 to 2, such as 0.35") {
			t.Errorf("%q: status %d, %s", text, got.Status, webtest.Complaints(got.Body))
		}
	}
	if o, err := b.Store.Outfit(t.Context()); err != nil || o.PriorSD != journal.PriorSD {
		t.Errorf("%+v, %v", o, err)
	}
	if got := b.Press("/settings", webtest.Fields(body), "save", map[string]string{"prior": "1"}); got.Status != http.StatusSeeOther {
		t.Error(webtest.Complaints(got.Body))
	}
	webtest.WantAll(t, "/settings", b.Get("/settings").Body, `value="1"`, "half of true ratios lie within 0.51 to 1.96")
	if err := b.Store.SetOutfit(t.Context(), journal.Outfit{Name: "x", Units: "us", TimeZone: "UTC", PriorSD: 3}); !journal.IsInvalid(err) {
		t.Error(err)
	}
}

// Ensure that an owner is told when the last backup was made, and that one failed, and another outfit's owner nothing.
func TestTheLastBackup(t *testing.T) {
	t.Parallel()
	at, failed := time.Time{}, ""
	who := door.Open{Who: journal.Keeper()}
	s := webtest.ServeWith(t, func(store *pg.Store) web.Options {
		who.Outfit = store.OutfitID()
		return web.Options{Door: &who, LastBackup: func() (time.Time, string) { return at, failed }}
	})
	s.Must(s.Store.SetOutfit(t.Context(), journal.Outfit{Name: "Of a test", Units: "us", TimeZone: "America/Denver", PriorSD: journal.PriorSD}))
	webtest.WantAll(t, "none", s.Get("/settings").Body, "There is no backup of the journal yet.")
	at, failed = time.Date(2026, 11, 29, 17, 23, 0, 0, time.UTC), "2026-11-29 18:23: the disk is full"
	webtest.WantAll(t, "failed", s.Get("/settings").Body, "The newest backup of the journal is of 29 November 2026, 10:23.", "The last backup failed", "2026-11-29 18:23: the disk is full.")
	who.Outfit = webtest.Got(s.Store.AddOutfit(t.Context(), "Another"))(t)
	if got := s.Get("/settings"); got.Status != http.StatusOK || strings.Contains(got.Body, "backup") {
		t.Errorf("another outfit is told of the backups: status %d", got.Status)
	}
}

// Ensure that a new angler or water near a known one is asked about, and that a new name on one's own page is a renaming
// that can be taken back.
func TestNamesOnOwnPages(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for kind, c := range map[string]struct{ at, known, near, kind string }{
		"anglers": {"/anglers/" + b.Angler.ID.String(), b.Angler.Name, "Ilsse", "client"},
		"waters":  {"/waters/" + b.Water.ID.String(), b.Water.Name, "Adler Brook", "freestone"},
	} {
		form, fresh := webtest.Fields(b.Get("/"+kind+"/new").Body), "/"+kind+"/"+webtest.NewID(t).String()
		asked := b.Press(fresh, form, "save", map[string]string{"name": c.near})
		if asked.Status != http.StatusUnprocessableEntity || !strings.Contains(asked.Body, c.near+" is new") || !strings.Contains(webtest.Complaints(asked.Body), c.known) {
			t.Errorf("%s: status %d, %s", c.near, asked.Status, webtest.Complaints(asked.Body))
		}
		meant := b.Press(fresh, form, "save", map[string]string{"name": c.near, "name.meant": c.known})
		if meant.Status != http.StatusSeeOther || meant.Header.Get("Location") != c.at {
			t.Errorf("%s is meant: status %d, to %s", c.known, meant.Status, meant.Header.Get("Location"))
		}
		if got := b.Get(fresh); got.Status != http.StatusNotFound {
			t.Errorf("%s was added: status %d", c.near, got.Status)
		}
		if added := b.Press(fresh, form, "save", map[string]string{"name": c.near, "name.meant": c.near, "kind": c.kind}); added.Status != http.StatusSeeOther {
			t.Errorf("%s is new: status %d, %s", c.near, added.Status, webtest.Complaints(added.Body))
		}
		b.Wants(fresh, http.StatusOK, c.near)
		// Under another name it is the same one.
		if got := b.Press(c.at, webtest.Fields(b.Get(c.at).Body), "save", map[string]string{"name": "Quite Another"}); got.Status != http.StatusSeeOther {
			t.Errorf("renamed: status %d, %s", got.Status, webtest.Complaints(got.Body))
		}
		step := webtest.Got(b.Store.Steps(t.Context(), 1))(t)[0]
		if step.Kind != journal.StepRename || !strings.Contains(step.What, c.known+" to Quite Another") {
			t.Errorf("the last step is %s", step.What)
		}
		if back := b.Post("/steps/"+step.ID.String()+"/back", nil); back.Status != http.StatusOK {
			t.Errorf("taken back: status %d", back.Status)
		}
		b.Wants(c.at, http.StatusOK, c.known)
	}
}
