package logging_test

import (
	"net/http"
	"net/http/httptest"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/logging"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// Whatever stands in the way of a session, the form shows all that was typed again.
func TestNothingTypedIsLost(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	typed := webtest.Fields(b.Get("/log").Body)
	typed.Set("do", "save")
	typed.Set("angler.new", "Odo of the long name")
	typed.Set("notes", "Rain from noon on.")
	typed.Set(logging.StintName(0, "minutes"), "2")
	typed.Set(logging.StintName(0, "at.all.landed"), "3")
	shows := func(what string, got webtest.Answer, status int, says string) {
		t.Helper()
		if got.Status != status || !strings.Contains(got.Body, says) {
			t.Errorf("%s: status %d, want %d saying %q: %s", what, got.Status, status, says, webtest.Complaints(got.Body))
		}
		again := webtest.Fields(got.Body)
		for _, name := range []string{"angler.new", "notes", logging.StintName(0, "minutes"), logging.StintName(0, "at.all.landed"), "id"} {
			if again.Get(name) != typed.Get(name) {
				t.Errorf("%s: %s is %q, not %q", what, name, again.Get(name), typed.Get(name))
			}
		}
	}
	anglers := func() int {
		list, _ := b.Store.Anglers(t.Context())
		return len(list)
	}
	before := anglers()
	shows("doubt", b.Post("/log", typed), http.StatusUnprocessableEntity, "Stint 1 lasts less than 3 minutes. Is that right?")
	if anglers() != before {
		t.Error("a session that was not stored left an angler behind")
	}
	typed.Set("confirmed", "yes")
	if got := b.Post("/log", typed); got.Status != http.StatusSeeOther {
		t.Fatalf("confirmed: status %d: %s", got.Status, webtest.Complaints(got.Body))
	}
	at := "/sessions/" + typed.Get("id")
	edit := webtest.Fields(b.Get(at + "/edit").Body)
	edit.Set("do", "save")
	id, _ := journal.ParseID(typed.Get("id"))
	other, err := b.Store.SessionByID(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	other.Notes = "Sun from noon on."
	if _, err := b.Store.SaveSession(t.Context(), other); err != nil {
		t.Fatal(err)
	}
	typed = edit
	typed.Set("notes", "Hail from noon on.")
	shows("conflict", b.Post(at+"/edit", typed), http.StatusConflict, "version 2, yours started from 1")
	if err := b.Store.DeleteSession(t.Context(), id, 2); err != nil {
		t.Fatal(err)
	}
	shows("deleted", b.Post(at+"/edit", typed), http.StatusConflict, "was deleted in the meantime")
	b.Store.Close()
	shows("no database", b.Post(at+"/edit", typed), http.StatusServiceUnavailable, "save it again in a moment")
}

// Filling the form with a session and reading it gives the same session, in
// both systems of units and with events that no counter can hold.
func TestFormKeepsASession(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	s := b.Session
	start := s.Day.In(webtest.MustZone(t, s.TimeZone)).Add(8*3600e9 + 90e9) // 08:01:30
	s.Start, s.End = new(start.UTC()), new(start.Add(7*3600e9).UTC())
	s.StageM, s.DepthM, s.Clarity, s.Wind, s.Light = new(0.71), new(0.456), "tinged", "light", "low"
	s.Stints[0].Casts, s.Stints[0].Notes = new(140), "two lines\nof notes"
	s.Stints[0].Positions = []journal.StintPosition{{Position: 0, Fly: "egg"}, {Position: 1, TagStartMM: new(160.02), TagEndMM: new(111.1)}}
	for _, sys := range []units.System{units.US, units.Metric} {
		got, faults, err := logging.Refilled(t.Context(), b.Server.Desk.For(b.Store), sys, s, "UTC", nil)
		if err != nil || len(faults) > 0 {
			t.Errorf("%s: %v, %v", sys, faults, err)
		}
		if !reflect.DeepEqual(got.Session, s) || got.Angler+got.Water+got.Beat != "" {
			t.Errorf("%s:\n got %+v\nwant %+v", sys, got.Session, s)
		}
	}
}

// A name that was typed is seen again, wherever the form is shown anew.
func TestTypedNamesAreNotFoldedAway(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	const folded, open = `<details>
<summary>Beat, breaks, someone new, a new water</summary>`, `<details open>
<summary>Beat, breaks, someone new, a new water</summary>`
	form := webtest.Fields(b.Get("/log").Body)
	if page := b.Press("/log", form, "refresh", nil); !strings.Contains(page.Body, folded) {
		t.Error("the fold is open though nothing is in it")
	}
	for _, name := range []string{"angler.new", "water.new"} {
		for _, do := range []string{"refresh", "save"} { // saving without a day is refused
			page := b.Press("/log", webtest.Fields(b.Get("/log").Body), do, map[string]string{name: "Quill", "day": ""})
			if !strings.Contains(page.Body, open) || webtest.Fields(page.Body).Get(name) != "Quill" {
				t.Errorf("%s with a %s: status %d, the fold hides it", do, name, page.Status)
			}
		}
	}
}

// A fly change that cost no tag is written as 0, comes back so, and is said in words.
func TestAFlyChangeThatCostNoTag(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	form := webtest.Fields(b.Get("/log?rig=" + b.One.ID.String()).Body)
	saved := b.Press("/log", form, "save", map[string]string{"day": "2026-05-02", "stint.0.rig": b.One.ID.String(), "stint.0.minutes": "60", "stint.0.at.1.fly-change": "2", "stint.0.at.1.cut": "0"})
	if saved.Status != http.StatusSeeOther {
		t.Fatalf("saving: status %d\n%s", saved.Status, webtest.Complaints(saved.Body))
	}
	s := b.LastLogged(t)
	want := []journal.Event{{Kind: journal.EventFlyChange, Count: 2, Position: new(1), CutMM: new(0.0)}}
	if !reflect.DeepEqual(s.Stints[0].Events, want) {
		t.Fatalf("stored %s", webtest.InJSON(s.Stints[0].Events))
	}
	address := "/sessions/" + s.ID.String()
	if !strings.Contains(b.Get(address).Body, "no tag cut") {
		t.Error("the session does not say that no tag was cut")
	}
	edited := b.Press(address+"/edit", webtest.Fields(b.Get(address+"/edit").Body), "save", map[string]string{"stint.0.minutes": "70"})
	if edited.Status != http.StatusSeeOther {
		t.Fatalf("editing: status %d\n%s", edited.Status, webtest.Complaints(edited.Body))
	}
	if s, err := b.Store.SessionByID(t.Context(), s.ID); err != nil || !reflect.DeepEqual(s.Stints[0].Events, want) || *s.Stints[0].Minutes != 70 {
		t.Errorf("after an edit of the minutes: %s, %v", webtest.InJSON(s.Stints[0]), err)
	}
}

func TestLogThroughTheForm(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	form := webtest.Fields(b.Get("/log").Body)
	if got := form.Get("angler"); got != b.Angler.ID.String() {
		t.Errorf("the angler is %s, not as last time", got)
	}
	page := b.Press("/log", form, "add", map[string]string{
		"day": "2026-05-02", "start": "08:00", "end": "11:30", "temp": "54F", "water.new": "Quill Beck", "beat": "Top Pool",
		"stint.0.rig": b.One.ID.String(), "stint.0.minutes": "1h30", "stint.0.at.all.landed": "2", "stint.0.at.all.foul": "0", "stint.0.at.all.twist": "3", "stint.0.at.all.minutes-lost": "6",
		"stint.0.at.1.end": `5 1/2"`,
	})
	if page.Status != http.StatusOK || !strings.Contains(page.Body, "Stint 2") {
		t.Fatalf("adding a stint: status %d", page.Status)
	}
	form = webtest.Fields(page.Body)
	if form.Get("stint.0.minutes") != "1h30" || form.Get("stint.0.at.all.twist") != "3" || form.Get("stint.1.rig") != b.One.ID.String() {
		t.Errorf("the entry was not kept: %v", form)
	}
	form = webtest.Fields(b.Press("/log", form, "refresh", map[string]string{"stint.1.rig": b.Two.ID.String()}).Body)
	changes := map[string]string{"stint.1.minutes": "45", "stint.1.at.2.foul": "1", "stint.1.at.1.check": "2", "stint.1.at.1.turns": "7", "stint.1.at.0.snag-broke-point-tippet": "1"}
	saved := b.Press("/log", form, "save", changes)
	if saved.Status != http.StatusSeeOther {
		t.Fatalf("saving: status %d\n%s", saved.Status, webtest.Complaints(saved.Body))
	}
	again := b.Press("/log", form, "save", changes)
	if again.Status != http.StatusSeeOther || again.Header.Get("Location") != saved.Header.Get("Location") {
		t.Errorf("sent again: status %d, %s", again.Status, again.Header.Get("Location"))
	}
	id, err := journal.ParseID(form.Get("id"))
	if err != nil {
		t.Fatal(err)
	}
	s, err := b.Store.SessionByID(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	want := [][]journal.Event{{
		{Kind: journal.EventHookup, Count: 2, Hooking: journal.Fair, Ending: journal.Landed},
		{Kind: journal.EventTangle, Count: 3, TangleKind: journal.Twist, MinutesLost: new(6)},
	}, {
		{Kind: journal.EventSnag, Count: 1, Ending: journal.BrokeOff, BreakPlace: journal.BrokePointTippet, Position: new(0)},
		{Kind: journal.EventCheck, Count: 2, Turns: new(7), Position: new(1)},
		{Kind: journal.EventHookup, Count: 1, Hooking: journal.Foul, Position: new(2)},
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
	if body := b.Get(saved.Header.Get("Location")).Body; !strings.Contains(body, "Quill Beck, Top Pool") || !strings.Contains(body, "The session is saved.") {
		t.Error("the page of the session does not say where it was, or that it was saved")
	}
	if _, total, _ := b.Store.SessionLines(t.Context(), journal.SessionFilter{}); total != 2 {
		t.Errorf("%d sessions in the journal, want 2", total)
	}
}

// Editing the notes alone changes nothing else, above all no event.
func TestEditingNotesKeepsEveryEvent(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	page := "/sessions/" + b.Session.ID.String()
	form := webtest.Fields(b.Get(page + "/edit").Body)
	if got := b.Press(page+"/edit", form, "save", map[string]string{"notes": "sun from noon on"}); got.Status != http.StatusSeeOther {
		t.Fatalf("status %d\n%s", got.Status, webtest.Complaints(got.Body))
	}
	got, err := b.Store.SessionByID(t.Context(), b.Session.ID)
	if err != nil {
		t.Fatal(err)
	}
	want := b.Session
	want.Notes, want.Version = "sun from noon on", 2
	if !reflect.DeepEqual(got, want) {
		t.Errorf("\n got %+v\nwant %+v", got, want)
	}
}

// A session keeps the zone of its water then, and its hours, until somebody says that they are of the water's zone now.
func TestEditMovesHoursToTheZoneOfTheWater(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	page := "/sessions/" + b.Session.ID.String()
	if body := b.Get(page + "/edit").Body; strings.Contains(body, `name="moved"`) {
		t.Error("it is asked for where there is one zone")
	}
	waters := webtest.Got(b.Store.Waters(t.Context()))(t)
	waters[0].TimeZone, waters[0].Gauges = "Asia/Tokyo", nil
	if err := b.Store.SaveWater(t.Context(), waters[0]); err != nil {
		t.Fatal(err)
	}
	form := webtest.Fields(b.Get(page + "/edit").Body)
	for _, c := range []struct{ tick, want string }{{"", b.Session.TimeZone}, {"yes", "Asia/Tokyo"}} {
		if got := b.Press(page+"/edit", form, "save", map[string]string{"start": "08:30", "end": "14:00", "moved": c.tick}); got.Status != http.StatusSeeOther {
			t.Fatalf("status %d\n%s", got.Status, webtest.Complaints(got.Body))
		}
		form = webtest.Fields(b.Get(page + "/edit").Body)
		got, err := b.Store.SessionByID(t.Context(), b.Session.ID)
		if err != nil || got.TimeZone != c.want || form.Get("start") != "08:30" || form.Get("end") != "14:00" {
			t.Errorf("with %q: %s, from %q to %q, want %s, %v", c.tick, got.TimeZone, form.Get("start"), form.Get("end"), c.want, err)
		}
	}
}

func TestEditingWhatWasChangedMeanwhile(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	page := "/sessions/" + b.Session.ID.String()
	mine, theirs := webtest.Fields(b.Get(page+"/edit").Body), webtest.Fields(b.Get(page+"/edit").Body)
	if got := b.Press(page+"/edit", theirs, "save", map[string]string{"notes": "theirs"}); got.Status != http.StatusSeeOther {
		t.Fatalf("status %d", got.Status)
	}
	got := b.Press(page+"/edit", mine, "save", map[string]string{"notes": "mine"})
	if got.Status != http.StatusConflict || !strings.Contains(got.Body, "different version") || webtest.Fields(got.Body).Get("notes") != "mine" || !strings.Contains(got.Body, `href="`+page+`"`) {
		t.Errorf("status %d\n%s", got.Status, webtest.Complaints(got.Body))
	}
	saved, err := b.Store.SessionByID(t.Context(), b.Session.ID)
	if err != nil || saved.Notes != "theirs" {
		t.Errorf("notes %q, %v", saved.Notes, err)
	}
	anew := b.Press(page+"/edit", webtest.Fields(got.Body), "save-new", nil)
	if anew.Status != http.StatusSeeOther || anew.Header.Get("Location") == page+"?done=logged" {
		t.Fatalf("saving as a new session: status %d, %s\n%s", anew.Status, anew.Header.Get("Location"), webtest.Complaints(anew.Body))
	}
	if _, total, _ := b.Store.SessionLines(t.Context(), journal.SessionFilter{}); total != 2 {
		t.Errorf("%d sessions, want 2", total)
	}
}

func TestDeletingCanBeUndone(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	page := "/sessions/" + b.Session.ID.String()
	gone := b.Post(page+"/delete", nil)
	if gone.Status != http.StatusSeeOther {
		t.Fatalf("status %d", gone.Status)
	}
	if list := b.Get(gone.Header.Get("Location")).Body; !strings.Contains(list, page+"/restore") {
		t.Error("the list does not offer to undo")
	}
	if got := b.Get(page); got.Status != http.StatusNotFound {
		t.Errorf("the deleted session: status %d", got.Status)
	}
	if got := b.Post(page+"/restore", nil); got.Status != http.StatusSeeOther {
		t.Fatalf("restoring: status %d", got.Status)
	}
	if got, err := b.Store.SessionByID(t.Context(), b.Session.ID); err != nil || !reflect.DeepEqual(got, b.Session) {
		t.Errorf("restored %+v, %v", got, err)
	}
	if got := b.Post(page+"/restore", nil); got.Status != http.StatusNotFound {
		t.Errorf("restoring twice: status %d", got.Status)
	}
}

func TestTakingAStintOut(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	page := "/sessions/" + b.Session.ID.String() + "/edit"
	form := webtest.Fields(b.Press(page, webtest.Fields(b.Get(page).Body), "remove-0", nil).Body)
	if form.Get("stint.0.id") != b.Session.Stints[1].ID.String() || form.Has("stint.1.id") || form.Get("stint.0.at.2.turns") != "5" {
		t.Fatalf("the second stint did not move up: %v", form)
	}
	if got := b.Press(page, form, "save", nil); got.Status != http.StatusSeeOther {
		t.Fatalf("status %d\n%s", got.Status, webtest.Complaints(got.Body))
	}
	got, err := b.Store.SessionByID(t.Context(), b.Session.ID)
	if err != nil || !reflect.DeepEqual(got.Stints, b.Session.Stints[1:]) {
		t.Errorf("%+v, %v", got.Stints, err)
	}
}

func TestFormChangesTheMinuteOfAnEvent(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	e, faults, err := logging.Refilled(t.Context(), b.Server.Desk.For(b.Store), units.US, b.Session, b.Water.TimeZone, map[string]string{
		"stint.0.noted.1.minute": "44", "stint.0.noted.1.note": "at the bridge", "stint.0.at.all.lost": "2"})
	if err != nil || len(faults) > 0 {
		t.Fatalf("%+v, %v", faults, err)
	}
	fish := slices.IndexFunc(e.Session.Stints[0].Events, func(e journal.Event) bool { return e.Species != "" })
	got := e.Session.Stints[0].Events
	if len(got) != 3 || fish < 0 || *got[fish].Minute != 44 || got[fish].Note != "at the bridge" || got[fish].FishLengthMM == nil {
		t.Errorf("%s", webtest.InJSON(got))
	}
}

// Start and end give the minutes that are left blank, breaks taken off; an end
// before its start is the next day's if that makes at most 14 h. Both are said back.
func TestStartAndEndGiveTheMinutes(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for name, c := range map[string]struct {
		start, end, breaks, minutes, second string // of the stints; second "-" is none
		want                                []float64
		says                                []string // back, or what is wrong
	}{
		"start to end":          {"08:00", "11:30", "", "", "-", []float64{210}, []string{"Start and end give the time fished, without any breaks: 3 h 30 min."}},
		"breaks":                {"08:00", "11:30", "45", "", "-", []float64{165}, []string{"2 h 45 min"}},
		"breaks in hours":       {"08:00", "11:30", "1h30", "", "-", []float64{120}, nil},
		"seconds":               {"08:00:10", "08:07:40", "", "", "-", []float64{7.5}, []string{"7 min 30 s"}},
		"minutes go first":      {"08:00", "11:30", "45", "60", "-", []float64{60}, nil},
		"past midnight":         {"21:30", "00:15", "", "", "-", []float64{165}, []string{"ends the next day: 2 h 45 min from start to end."}},
		"past midnight at 14 h": {"19:00", "09:00", "", "", "-", []float64{840}, []string{"the next day: 14 h"}},
		"the rest of two":       {"08:00", "11:00", "", "60", "", []float64{60, 120}, []string{"3 h"}},
		"neither of two":        {"08:00", "11:00", "", "", "", []float64{0, 0}, nil},
		"a slip":                {"19:00", "07:00", "", "", "-", []float64{720}, []string{"the next day: 12 h"}},
		"over 14 h":             {"19:00", "09:01", "", "", "-", nil, []string{"the end 09:01 is not after the start 19:00"}},
		"no time at all":        {"08:00", "08:00", "", "", "-", nil, []string{"is not after the start"}},
		"breaks of it all":      {"08:00", "09:00", "60", "", "-", nil, []string{"leaves no time for this stint"}},
		"breaks of nothing":     {"08:00", "", "60", "", "-", nil, []string{"from start to end"}},
		"breaks of which":       {"08:00", "11:00", "30", "", "", nil, []string{"one stint without minutes"}},
	} {
		page := b.Get("/log?rig=" + b.One.ID.String())
		if c.second != "-" {
			page = b.Press("/log", webtest.Fields(page.Body), "add", nil)
		}
		entry := map[string]string{"day": "2026-05-02", "start": c.start, "end": c.end, "breaks": c.breaks, "stint.0.minutes": c.minutes, "confirmed": "yes"}
		got := b.Press("/log", webtest.Fields(page.Body), "save", entry)
		text := webtest.Complaints(got.Body)
		if len(c.want) > 0 {
			if got.Status != http.StatusSeeOther {
				t.Errorf("%s: status %d: %s", name, got.Status, text)
				continue
			}
			text = b.Get(got.Header.Get("Location")).Body
			s := b.LastLogged(t)
			for i, want := range c.want {
				if m := s.Stints[i].Minutes; m == nil && want != 0 || m != nil && *m != want {
					t.Errorf("%s: stint %d has %s minutes, want %v", name, i+1, webtest.InJSON(m), want)
				}
			}
		} else if got.Status != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d, want a refusal", name, got.Status)
		}
		for _, says := range c.says {
			if !strings.Contains(strings.ToLower(text), strings.ToLower(says)) {
				t.Errorf("%s: it does not say %q: %s", name, says, webtest.Complaints(got.Body))
			}
		}
	}
}

// A stint whose time was not noted stays so when something else is edited, and
// gets its minutes once the times are changed.
func TestEditFillsInMinutesOnlyWithTimes(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	s := b.Session
	start := s.Day.In(webtest.MustZone(t, s.TimeZone)).Add(8 * time.Hour)
	s.ID, s.Version, s.Start, s.End, s.Stints = webtest.NewID(t), 0, &start, new(start.Add(2*time.Hour)), s.Stints[:1]
	s.Stints[0].ID, s.Stints[0].Minutes, s.Stints[0].Events = webtest.NewID(t), nil, nil
	if _, err := b.Store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	address := "/sessions/" + s.ID.String() + "/edit"
	for _, c := range []struct {
		changes map[string]string
		want    *float64
	}{{map[string]string{"notes": "sun"}, nil}, {map[string]string{"end": "11:00"}, new(180.0)}} {
		if got := b.Press(address, webtest.Fields(b.Get(address).Body), "save", c.changes); got.Status != http.StatusSeeOther {
			t.Fatalf("%v: status %d: %s", c.changes, got.Status, webtest.Complaints(got.Body))
		}
		stored, err := b.Store.SessionByID(t.Context(), s.ID)
		if err != nil || !reflect.DeepEqual(stored.Stints[0].Minutes, c.want) {
			t.Errorf("%v: minutes %s, want %s; %v", c.changes, webtest.InJSON(stored.Stints[0].Minutes), webtest.InJSON(c.want), err)
		}
	}
}

func TestSessionsByPage(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for i := range logging.SessionsPerPage + 1 {
		s := journal.Session{ID: webtest.NewID(t), AnglerID: b.Angler.ID, WaterID: b.Water.ID, Day: journal.Date{Year: 2025, Month: 7, Day: 1 + i%30}, TimeZone: "UTC",
			Notes: strconv.Itoa(i), Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: b.One.ID, Minutes: new(60.0)}}}
		if _, err := b.Store.SaveSession(t.Context(), s); err != nil {
			t.Fatal(err)
		}
	}
	first, second := b.Get("/sessions").Body, b.Get("/sessions?page=2").Body
	if n := strings.Count(first, `class="row"`); n != logging.SessionsPerPage {
		t.Errorf("the first page has %d sessions", n)
	}
	if n := strings.Count(second, `class="row"`); n != 2 || !strings.Contains(second, "Page 2 of 2") || !strings.Contains(second, `href="/sessions?page=1"`) {
		t.Errorf("the second page has %d sessions", n)
	}
	year := b.Get("/sessions?season=2025&page=2").Body
	if !strings.Contains(year, "51 sessions") || !strings.Contains(year, "season=2025") {
		t.Error("the filter does not stay with the page")
	}
}

// The week begins on Monday, on the outfit's own calendar: 2026-05-04 01:00 UTC
// is still Sunday in Denver.
func TestThisWeekInShort(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t) // with 90 minutes and two twists on Friday 2026-05-01
	if err := b.Store.SetOutfit(t.Context(), journal.Outfit{Name: "x", Units: "us", TimeZone: "America/Denver"}); err != nil {
		t.Fatal(err)
	}
	for now, want := range map[string]string{"2026-05-04T01:00:00Z": "2 tangles", "2026-05-04T07:00:00Z": "No session this week yet"} {
		at, err := time.Parse(time.RFC3339, now)
		if err != nil {
			t.Fatal(err)
		}
		server, err := web.New(b.Store, web.Options{Now: func() time.Time { return at }})
		if err != nil {
			t.Fatal(err)
		}
		w := httptest.NewRecorder()
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.Host = "localhost"
		server.Handler().ServeHTTP(w, r)
		body := strings.ReplaceAll(w.Body.String(), "\u00a0", " ")
		if !strings.Contains(body, `<dd>`+want) && !strings.Contains(body, want) {
			t.Errorf("at %s the week does not say %q", now, want)
		}
		if !strings.Contains(body, "68 °F") {
			t.Error("the caution is not in the outfit's units")
		}
	}
}

func TestAnUndoneDeletionIsNotOffered(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	list := b.Post("/sessions/"+b.Session.ID.String()+"/delete", nil).Header.Get("Location")
	if !strings.Contains(b.Get(list).Body, "Undo") {
		t.Error("undo is not offered")
	}
	if err := b.Store.RestoreSession(t.Context(), b.Session.ID, 0); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.Get(list).Body, "Undo") {
		t.Error("undo is offered for a session that is there")
	}
}
