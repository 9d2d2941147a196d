package rigs_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/rigs"
	"rigtally/web/webtest"
)

// What a person typed is never written over, whatever method is chosen after.
func TestUsualNeverWritesOverWhatWasTyped(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	form := webtest.Fields(b.Get("/rigs/new").Body)
	first := webtest.Fields(b.Press("/rigs/new", form, "usual", map[string]string{"method": "tight-line nymph", "fly.1.tag": "5 in"}).Body)
	if first.Get("fly.1.tag") != "5 in" || first.Get("usual.fly.1.tag") != "" {
		t.Errorf("the tag that was typed is %q", first.Get("fly.1.tag"))
	}
	if first.Get("rod") == "" || first.Get("rod") != first.Get("usual.rod") || first.Get("fly.1.junction") != "figure-eight" {
		t.Errorf("not filled in: rod %q, junction %q", first.Get("rod"), first.Get("fly.1.junction"))
	}
	first.Set("rod", "11 ft") // typed over what was filled in
	body := b.Press("/rigs/new", first, "usual", map[string]string{"method": "streamer"}).Body
	second := webtest.Fields(body)
	if second.Get("rod") != "11 ft" || second.Get("fly.1.tag") != "5 in" {
		t.Errorf("another method made the rod %q and the tag %q", second.Get("rod"), second.Get("fly.1.tag"))
	}
	if second.Get("sighter") != "" || second.Get("fly.1.junction") != "double surgeon's" || second.Get("swivel") != "none" {
		t.Errorf("what only was filled in did not follow the method: sighter %q, junction %q, swivel %q", second.Get("sighter"), second.Get("fly.1.junction"), second.Get("swivel"))
	}
	if !strings.Contains(body, "common practice, no source") {
		t.Error("what was filled in is not marked as common practice")
	}
	none := webtest.Fields(b.Press("/rigs/new", second, "usual", map[string]string{"method": ""}).Body)
	if none.Get("rod") != "11 ft" || none.Get("leader") != "" {
		t.Errorf("without a method the rod is %q and the leader %q", none.Get("rod"), none.Get("leader"))
	}
}

func TestUsualFromTheAddress(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	form := webtest.Fields(b.Get("/rigs/new?method=wet").Body)
	if form.Get("method") != "wet" || form.Get("leader") == "" {
		t.Errorf("method %q, leader %q", form.Get("method"), form.Get("leader"))
	}
	more := webtest.Fields(b.Press("/rigs/new", form, "add", nil).Body)
	if more.Get("fly.2.tag") == "" || more.Get("usual.fly.2.tag") != more.Get("fly.2.tag") {
		t.Errorf("a further dropper has the tag %q", more.Get("fly.2.tag"))
	}
	if saved := b.Press("/rigs/new", more, "save", map[string]string{"name": "Wet three"}); saved.Status != http.StatusSeeOther {
		t.Errorf("status %d: %s", saved.Status, webtest.Complaints(saved.Body))
	}
	odd := webtest.Fields(b.Get("/rigs/new?method=" + url.QueryEscape(`x"><b>`)).Body)
	if odd.Get("leader") != "" {
		t.Error("a method nobody knows filled something in")
	}
}

func TestCopyProposesAFreeName(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for _, want := range []string{"Blood 165, copy", "Blood 165, copy 2", "Blood 165, copy 3"} {
		form := webtest.Fields(b.Get("/rigs/" + b.One.ID.String() + "/copy").Body)
		if got := form.Get("name"); got != want {
			t.Fatalf("proposed %q, want %q", got, want)
		}
		if saved := b.Press("/rigs/new", form, "save", nil); saved.Status != http.StatusSeeOther {
			t.Fatalf("status %d: %s", saved.Status, webtest.Complaints(saved.Body))
		}
		rig, err := b.Store.LatestRig(t.Context(), want)
		if err != nil || rig.Revision != 1 || len(rig.Positions) != 2 || *rig.Positions[1].TagLengthMM != 165.1 {
			t.Errorf("stored %+v, %v", rig, err)
		}
	}
	long := strings.Repeat("ö", 60)
	if name := rigs.FreeName(long, nil); len(name) > 120 || !strings.HasSuffix(name, ", copy") {
		t.Errorf("the copy of a long name is %q", name)
	}
	if _, err := b.Store.SaveRig(t.Context(), journal.Rig{Name: rigs.FreeName(long, nil), Positions: []journal.RigPosition{{}}}); err != nil {
		t.Error(err)
	}
}

// The part that the script asks for holds the drawing of what the form holds.
func TestDrawingOfAForm(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	form := webtest.Fields(b.Get("/rigs/" + b.One.ID.String() + "/edit").Body)
	form.Set("fly.1.tag", "140 mm")
	got := b.Post("/rigs/draw", form)
	if got.Status != http.StatusOK || !strings.Contains(got.Body, `data-mm="140"`) || strings.Contains(got.Body, "<html") {
		t.Errorf("status %d: %s", got.Status, got.Body)
	}
	form.Set("fly.1.tag", "long")
	form.Set("waste", "a bit")
	got = b.Post("/rigs/draw", form)
	if got.Status != http.StatusOK || !strings.Contains(got.Body, "rig-faults") || !strings.Contains(got.Body, "not noted") {
		t.Errorf("nonsense: status %d: %s", got.Status, got.Body)
	}
	if got := b.Post("/rigs/draw", url.Values{"fly.0.position": {"99"}, "of": {"nobody"}}); got.Status != http.StatusOK {
		t.Errorf("an odd form: status %d", got.Status)
	}
	if got := b.Post("/rigs/draw", url.Values{}); got.Status != http.StatusOK {
		t.Errorf("an empty form: status %d", got.Status)
	}
}

// The rig's page counts fly changes from what the last stint left of the tag:
// 165.1 mm less 30.1 is 135, and (135 − 100)/10 = 3.
func TestBudgetOnTheRigPage(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	o, err := b.Store.Outfit(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	o.Units = "metric"
	b.Must(b.Store.SetOutfit(t.Context(), o))
	_, err = b.Store.SaveSession(t.Context(), journal.Session{ID: webtest.NewID(t), AnglerID: b.Angler.ID, WaterID: b.Water.ID, Day: journal.Date{Year: 2026, Month: 6, Day: 1}, TimeZone: "UTC",
		Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: b.One.ID, Minutes: new(60.0), Events: []journal.Event{{Kind: journal.EventFlyChange, Count: 1, CutMM: new(30.1), Position: new(1)}}}}})
	b.Must(err)
	page := b.Get("/rigs/" + b.One.ID.String() + "?waste=10&least=100&retie=400&keep=1000").Body
	for _, want := range []string{"Dropper 1, 135 mm at the end of its last stint", "3 fly changes left, at 10 mm each down to 100 mm", "Tippet, 1.829 m: 2 re-ties left"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	webtest.CheckPage(t, "the rig", page)
	if odd := b.Get("/rigs/" + b.One.ID.String() + "?waste=0.1&least=x&rules=none"); odd.Status != http.StatusOK || !strings.Contains(odd.Body, "rig-faults") {
		t.Errorf("odd costs: status %d", odd.Status)
	}
}

// A rig that was revised shows what each revision did, and an honest verdict.
func TestRevisionsAndWhatTheyDid(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	next := b.One
	next.Positions = append([]journal.RigPosition{}, b.One.Positions...)
	next.Positions[1].TagLengthMM = new(140.0)
	next, err := b.Store.SaveRig(t.Context(), next)
	b.Must(err)
	_, err = b.Store.SaveSession(t.Context(), journal.Session{ID: webtest.NewID(t), AnglerID: b.Angler.ID, WaterID: b.Water.ID, Day: journal.Date{Year: 2026, Month: 6, Day: 1}, TimeZone: "UTC",
		Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: next.ID, Minutes: new(120.0), Events: []journal.Event{{Kind: journal.EventTangle, Count: 1}}}}})
	b.Must(err)
	page := b.Get("/rigs/" + next.ID.String()).Body
	// By hand: 2 tangles in 1.5 hours, then 1 in 2.
	for _, want := range []string{"tag length 6 1/2 in → 5.51 in", "1.33 per hour", "0.500 per hour", "in 1.5 hours", "in 2 hours", "Can&#39;t tell one rig from another like for like: 2 sessions are too few."} {
		if !strings.Contains(page, want) && !strings.Contains(page, strings.NewReplacer("6 1/2 in", "165.1 mm", "5.51 in", "140 mm").Replace(want)) {
			t.Errorf("the page does not say %q", want)
		}
	}
	webtest.CheckPage(t, "the rig", page)
}
