package web

import (
	"net/http"
	"reflect"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Filling the form with a session and reading it gives the same session, in
// both systems of units and with events that no counter can hold.
func TestFormKeepsASession(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	s := b.session
	start := s.Day.In(mustZone(t, s.TimeZone)).Add(8*3600e9 + 90e9) // 08:01:30
	s.Start, s.End = ptr(start.UTC()), ptr(start.Add(7*3600e9).UTC())
	s.StageM, s.DepthM, s.Clarity, s.Wind, s.Light = ptr(0.71), ptr(0.456), "tinged", "light", "low"
	s.Stints[0].Casts, s.Stints[0].Notes = ptr(140), "two lines\nof notes"
	s.Stints[0].Positions = []journal.StintPosition{{Position: 0, Fly: "egg"}, {Position: 1, TagStartMM: ptr(160.02), TagEndMM: ptr(111.1)}}
	k, err := New(b.store, Options{})
	if err != nil {
		t.Fatal(err)
	}
	lists, err := k.known(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, sys := range []units.System{units.US, units.Metric} {
		f := newEntry(sys)
		f.fillSession(s, lists)
		got := f.readSession(lists, s, "UTC")
		if len(f.faults) > 0 {
			t.Errorf("%s: %v", sys, f.faults)
		}
		if !reflect.DeepEqual(got.Session, s) || got.Angler+got.Water+got.Beat != "" {
			t.Errorf("%s:\n got %+v\nwant %+v", sys, got.Session, s)
		}
	}
}

// A name that was typed is seen again, wherever the form is shown anew.
func TestTypedNamesAreNotFoldedAway(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	const folded, open = `<details>
<summary>Someone new, or a new water</summary>`, `<details open>
<summary>Someone new, or a new water</summary>`
	form := fields(b.get("/log").body)
	if page := b.press("/log", form, "refresh", nil); !strings.Contains(page.body, folded) {
		t.Error("the fold is open though nothing is in it")
	}
	for _, name := range []string{"angler.new", "water.new"} {
		for _, do := range []string{"refresh", "save"} { // saving without a day is refused
			page := b.press("/log", fields(b.get("/log").body), do, map[string]string{name: "Quill", "day": ""})
			if !strings.Contains(page.body, open) || fields(page.body).Get(name) != "Quill" {
				t.Errorf("%s with a %s: status %d, the fold hides it", do, name, page.status)
			}
		}
	}
}

// A fly change that cost no tag is written as 0, comes back so, and is said in words.
func TestAFlyChangeThatCostNoTag(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	form := fields(b.get("/log?rig=" + b.one.ID.String()).body)
	saved := b.press("/log", form, "save", map[string]string{"day": "2026-05-02", "stint.0.rig": b.one.ID.String(), "stint.0.minutes": "60", "stint.0.at.1.fly-change": "2", "stint.0.at.1.cut": "0"})
	if saved.status != http.StatusSeeOther {
		t.Fatalf("saving: status %d\n%s", saved.status, complaints(saved.body))
	}
	s := b.lastLogged(t)
	want := []journal.Event{{Kind: journal.EventFlyChange, Count: 2, Position: ptr(1), CutMM: ptr(0.0)}}
	if !reflect.DeepEqual(s.Stints[0].Events, want) {
		t.Fatalf("stored %s", inJSON(s.Stints[0].Events))
	}
	address := "/sessions/" + s.ID.String()
	if !strings.Contains(b.get(address).body, "no tag cut") {
		t.Error("the session does not say that no tag was cut")
	}
	edited := b.press(address+"/edit", fields(b.get(address+"/edit").body), "save", map[string]string{"stint.0.minutes": "70"})
	if edited.status != http.StatusSeeOther {
		t.Fatalf("editing: status %d\n%s", edited.status, complaints(edited.body))
	}
	if s, err := b.store.SessionByID(t.Context(), s.ID); err != nil || !reflect.DeepEqual(s.Stints[0].Events, want) || *s.Stints[0].Minutes != 70 {
		t.Errorf("after an edit of the minutes: %s, %v", inJSON(s.Stints[0]), err)
	}
}

func TestLogThroughTheForm(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	form := fields(b.get("/log").body)
	if got := form.Get("angler"); got != b.angler.ID.String() {
		t.Errorf("the angler is %s, not as last time", got)
	}
	page := b.press("/log", form, "add", map[string]string{
		"day": "2026-05-02", "start": "08:00", "end": "11:30", "temp": "54F", "water.new": "Quill Beck", "beat": "Top Pool",
		"stint.0.rig": b.one.ID.String(), "stint.0.minutes": "1h30", "stint.0.at.all.landed": "2", "stint.0.at.all.foul": "0", "stint.0.at.all.twist": "3", "stint.0.at.all.minutes-lost": "6",
		"stint.0.at.1.end": `5 1/2"`,
	})
	if page.status != http.StatusOK || !strings.Contains(page.body, "Stint 2") {
		t.Fatalf("adding a stint: status %d", page.status)
	}
	form = fields(page.body)
	if form.Get("stint.0.minutes") != "1h30" || form.Get("stint.0.at.all.twist") != "3" || form.Get("stint.1.rig") != b.one.ID.String() {
		t.Errorf("the entry was not kept: %v", form)
	}
	form = fields(b.press("/log", form, "refresh", map[string]string{"stint.1.rig": b.two.ID.String()}).body)
	changes := map[string]string{"stint.1.minutes": "45", "stint.1.at.2.foul": "1", "stint.1.at.1.check": "2", "stint.1.at.1.turns": "7", "stint.1.at.0.snag-broke-point-tippet": "1"}
	saved := b.press("/log", form, "save", changes)
	if saved.status != http.StatusSeeOther {
		t.Fatalf("saving: status %d\n%s", saved.status, complaints(saved.body))
	}
	again := b.press("/log", form, "save", changes)
	if again.status != http.StatusSeeOther || again.header.Get("Location") != saved.header.Get("Location") {
		t.Errorf("sent again: status %d, %s", again.status, again.header.Get("Location"))
	}
	id, err := journal.ParseID(form.Get("id"))
	if err != nil {
		t.Fatal(err)
	}
	s, err := b.store.SessionByID(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	want := [][]journal.Event{{
		{Kind: journal.EventHookup, Count: 2, Hooking: journal.Fair, Ending: journal.Landed},
		{Kind: journal.EventTangle, Count: 3, TangleKind: journal.Twist, MinutesLost: ptr(6)},
	}, {
		{Kind: journal.EventSnag, Count: 1, Ending: journal.BrokeOff, BreakPlace: journal.BrokePointTippet, Position: ptr(0)},
		{Kind: journal.EventCheck, Count: 2, Turns: ptr(7), Position: ptr(1)},
		{Kind: journal.EventHookup, Count: 1, Hooking: journal.Foul, Position: ptr(2)},
	}}
	counted := []journal.Recorded{
		journal.RecordedOf(journal.KindLanded, journal.KindHooking, journal.KindTangles, journal.KindTangleKind, journal.KindMinutesLost),
		journal.RecordedOf(journal.KindHooking, journal.KindTurns, journal.KindSnags),
	}
	for i, st := range s.Stints {
		if !reflect.DeepEqual(st.Events, want[i]) || st.Recorded != counted[i] {
			t.Errorf("stint %d:\n got %+v, counted %v\nwant %+v, counted %v", i+1, st.Events, st.Recorded.Kinds(), want[i], counted[i].Kinds())
		}
	}
	// 54 °F is 110/9 °C by °C = (°F − 32)/1.8 (NIST SP 811, App. B.8); 5 1/2 in is 139.7 mm.
	if s.WaterTempC == nil || *s.WaterTempC != 110.0/9 || *s.Stints[0].Minutes != 90 || *s.Stints[0].Positions[0].TagEndMM != 139.7 {
		t.Errorf("measures: %v, %+v", s.WaterTempC, s.Stints[0])
	}
	if body := b.get(saved.header.Get("Location")).body; !strings.Contains(body, "Quill Beck, Top Pool") || !strings.Contains(body, "The session is saved.") {
		t.Error("the page of the session does not say where it was, or that it was saved")
	}
	if _, total, _ := b.store.SessionLines(t.Context(), journal.SessionFilter{}); total != 2 {
		t.Errorf("%d sessions in the journal, want 2", total)
	}
}

// Editing the notes alone changes nothing else, above all no event.
func TestEditingNotesKeepsEveryEvent(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	page := "/sessions/" + b.session.ID.String()
	form := fields(b.get(page + "/edit").body)
	if got := b.press(page+"/edit", form, "save", map[string]string{"notes": "sun from noon on"}); got.status != http.StatusSeeOther {
		t.Fatalf("status %d\n%s", got.status, complaints(got.body))
	}
	got, err := b.store.SessionByID(t.Context(), b.session.ID)
	if err != nil {
		t.Fatal(err)
	}
	want := b.session
	want.Notes, want.Version = "sun from noon on", 2
	if !reflect.DeepEqual(got, want) {
		t.Errorf("\n got %+v\nwant %+v", got, want)
	}
}

func TestEditingWhatWasChangedMeanwhile(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	page := "/sessions/" + b.session.ID.String()
	mine, theirs := fields(b.get(page+"/edit").body), fields(b.get(page+"/edit").body)
	if got := b.press(page+"/edit", theirs, "save", map[string]string{"notes": "theirs"}); got.status != http.StatusSeeOther {
		t.Fatalf("status %d", got.status)
	}
	got := b.press(page+"/edit", mine, "save", map[string]string{"notes": "mine"})
	if got.status != http.StatusConflict || !strings.Contains(got.body, "different version") || fields(got.body).Get("notes") != "mine" || !strings.Contains(got.body, `href="`+page+`"`) {
		t.Errorf("status %d\n%s", got.status, complaints(got.body))
	}
	saved, err := b.store.SessionByID(t.Context(), b.session.ID)
	if err != nil || saved.Notes != "theirs" {
		t.Errorf("notes %q, %v", saved.Notes, err)
	}
	anew := b.press(page+"/edit", fields(got.body), "save-new", nil)
	if anew.status != http.StatusSeeOther || anew.header.Get("Location") == page+"?done=logged" {
		t.Fatalf("saving as a new session: status %d, %s\n%s", anew.status, anew.header.Get("Location"), complaints(anew.body))
	}
	if _, total, _ := b.store.SessionLines(t.Context(), journal.SessionFilter{}); total != 2 {
		t.Errorf("%d sessions, want 2", total)
	}
}

func TestDeletingCanBeUndone(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	page := "/sessions/" + b.session.ID.String()
	gone := b.post(page+"/delete", nil)
	if gone.status != http.StatusSeeOther {
		t.Fatalf("status %d", gone.status)
	}
	if list := b.get(gone.header.Get("Location")).body; !strings.Contains(list, page+"/restore") {
		t.Error("the list does not offer to undo")
	}
	if got := b.get(page); got.status != http.StatusNotFound {
		t.Errorf("the deleted session: status %d", got.status)
	}
	if got := b.post(page+"/restore", nil); got.status != http.StatusSeeOther {
		t.Fatalf("restoring: status %d", got.status)
	}
	if got, err := b.store.SessionByID(t.Context(), b.session.ID); err != nil || !reflect.DeepEqual(got, b.session) {
		t.Errorf("restored %+v, %v", got, err)
	}
	if got := b.post(page+"/restore", nil); got.status != http.StatusNotFound {
		t.Errorf("restoring twice: status %d", got.status)
	}
}

func TestTakingAStintOut(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	page := "/sessions/" + b.session.ID.String() + "/edit"
	form := fields(b.press(page, fields(b.get(page).body), "remove-0", nil).body)
	if form.Get("stint.0.id") != b.session.Stints[1].ID.String() || form.Has("stint.1.id") || form.Get("stint.0.at.2.turns") != "5" {
		t.Fatalf("the second stint did not move up: %v", form)
	}
	if got := b.press(page, form, "save", nil); got.status != http.StatusSeeOther {
		t.Fatalf("status %d\n%s", got.status, complaints(got.body))
	}
	got, err := b.store.SessionByID(t.Context(), b.session.ID)
	if err != nil || !reflect.DeepEqual(got.Stints, b.session.Stints[1:]) {
		t.Errorf("%+v, %v", got.Stints, err)
	}
}
