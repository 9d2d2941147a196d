package logging_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/web/logging"
	"rigtally/web/webtest"
)

// What a phone says of what was counted is stored, and so is that it said
// nothing; minutes are kept to the second.
func TestSendingSaysWhatWasCounted(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for _, r := range []journal.Recorded{0, journal.RecordedOf(), journal.RecordedOf(journal.KindTangles, journal.KindHookups), journal.AllRecorded()} {
		sent := sample(b, t)
		sent.Session.Stints[0].Recorded, sent.Session.Stints[0].Minutes = r, new(47.25)
		if got, said := put(b, t, sent); got.Status != http.StatusOK {
			t.Fatalf("%v: status %d: %+v", r.Kinds(), got.Status, said)
		}
		stored, err := b.Store.SessionByID(t.Context(), sent.Session.ID)
		if err != nil {
			t.Fatal(err)
		}
		if st := stored.Stints[0]; st.Recorded != r || *st.Minutes != 47.25 {
			t.Errorf("sent %v, stored %v and %v minutes", r.Kinds(), st.Recorded.Kinds(), *st.Minutes)
		}
	}
}

// Words that are no kind are all named, and nothing is stored.
func TestSendingNamesEveryUnknownKind(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	before, sent := b.Sessions(t), sample(b, t)
	sent.Session.Stints[0].Recorded = journal.RecordedOf(journal.KindSnags)
	text, err := json.Marshal(sent)
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte(`["snags"]`), []byte(`["snags","weather","knots"]`), 1)
	got, said := putText(b, t, sent.Session.ID.String(), text)
	if got.Status != http.StatusBadRequest || said.Error != "unreadable" || len(said.Problems) != 1 {
		t.Fatalf("status %d: %+v", got.Status, said)
	}
	p := said.Problems[0]
	if p.Field != "session.stints.recorded" || slices.ContainsFunc([]string{`"weather"`, `"knots"`, "tangle-kind"}, func(word string) bool { return !strings.Contains(p.Says, word) }) {
		t.Errorf("it says %+v", p)
	}
	if n := b.Sessions(t) - before; n != 0 {
		t.Errorf("%d sessions stored", n)
	}
}

func put(b *webtest.Book, t *testing.T, sent journal.Draft) (webtest.Answer, logging.Refused) {
	t.Helper()
	body, err := json.Marshal(sent)
	if err != nil {
		t.Fatal(err)
	}
	return putText(b, t, sent.Session.ID.String(), body)
}

func putText(b *webtest.Book, t *testing.T, id string, body []byte) (webtest.Answer, logging.Refused) {
	t.Helper()
	r := b.Request(http.MethodPut, "/api/sessions/"+id, bytes.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	got := b.Do(r)
	var said logging.Refused
	if err := json.Unmarshal([]byte(got.Body), &said); err != nil {
		t.Fatalf("not JSON: %s", got.Body)
	}
	return got, said
}

// sample is a session as a phone sends it.
func sample(b *webtest.Book, t *testing.T) journal.Draft {
	t.Helper()
	start := time.Date(2026, 5, 2, 9, 0, 0, 0, webtest.MustZone(t, b.Water.TimeZone))
	end := start.Add(90 * time.Minute)
	return journal.Draft{Session: journal.Session{ID: webtest.NewID(t), AnglerID: b.Angler.ID, WaterID: b.Water.ID, Day: journal.DateOf(start), TimeZone: b.Water.TimeZone, Start: &start, End: &end,
		LoggedAt: time.Date(2026, 5, 2, 12, 0, 0, 0, time.UTC),
		Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: b.One.ID, Minutes: new(90.0), Events: []journal.Event{
			{Kind: journal.EventHookup, Hooking: journal.Fair, Ending: journal.Landed, Count: 1, Minute: new(12)}}}}}}
}

func TestSendingTwiceStoresOnce(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	before := b.Sessions(t)
	sent := sample(b, t)
	sent.Session.AnglerID, sent.Session.WaterID = journal.ID{}, journal.ID{}
	sent.Angler, sent.Water, sent.Beat = "Odo", "Far Beck", "Top"
	for range 2 {
		if got, said := put(b, t, sent); got.Status != http.StatusOK {
			t.Fatalf("status %d: %+v", got.Status, said)
		}
	}
	// Also when a send that was cut off is still at work while the next one comes.
	var wg sync.WaitGroup
	other := sample(b, t)
	for range 4 {
		wg.Go(func() {
			if got, said := put(b, t, other); got.Status != http.StatusOK {
				t.Errorf("at once: status %d: %+v", got.Status, said)
			}
		})
	}
	wg.Wait()
	if n := b.Sessions(t) - before; n != 2 {
		t.Errorf("%d sessions stored, want 2", n)
	}
	stored, err := b.Store.SessionByID(t.Context(), sent.Session.ID)
	if err != nil || !stored.LoggedAt.Equal(sent.Session.LoggedAt) {
		t.Errorf("logged at %s, want the phone's %s; %v", stored.LoggedAt, sent.Session.LoggedAt, err)
	}
	anglers, _ := b.Store.Anglers(t.Context())
	waters, _ := b.Store.Waters(t.Context())
	if len(anglers) != 2 || len(waters) != 2 {
		t.Errorf("%d anglers and %d waters, want 2 and 2", len(anglers), len(waters))
	}
}

func TestSendingIsRefusedWithWhatIsWrong(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	before := b.Sessions(t)
	whole := sample(b, t)
	text, _ := json.Marshal(whole)
	id := whole.Session.ID.String()
	for name, c := range map[string]struct {
		id     string
		change func(*journal.Draft)
		text   []byte
		status int
		error  string
		field  string
		value  any
	}{
		"too long a stint": {id: id, change: func(s *journal.Draft) {
			s.Session.Stints = []journal.Stint{{ID: webtest.NewID(t), RigID: b.One.ID, Minutes: new(9999.0)}}
		}, status: http.StatusUnprocessableEntity, error: "invalid", field: "session.stints[0].minutes", value: 9999.0},
		"a late event": {id: id, change: func(s *journal.Draft) {
			s.Session.Stints = []journal.Stint{{ID: webtest.NewID(t), RigID: b.One.ID, Minutes: new(30.0), Events: []journal.Event{
				{Kind: journal.EventSnag, Count: 1}, {Kind: journal.EventSnag, Count: 1, Minute: new(31)}}}}
		}, status: http.StatusUnprocessableEntity, error: "invalid", field: "session.stints[0].events[1].minute", value: 31.0},
		"hot water":       {id: id, change: func(s *journal.Draft) { s.Session.WaterTempC = new(68.0) }, status: http.StatusUnprocessableEntity, error: "invalid", field: "session.water_temp_c", value: 68.0},
		"no angler":       {id: id, change: func(s *journal.Draft) { s.Session.AnglerID = journal.ID{} }, status: http.StatusUnprocessableEntity, error: "invalid"},
		"no stint":        {id: id, change: func(s *journal.Draft) { s.Session.Stints = nil }, status: http.StatusUnprocessableEntity, error: "invalid"},
		"another id":      {id: webtest.NewID(t).String(), status: http.StatusBadRequest, error: "unreadable"},
		"no id":           {id: "x", status: http.StatusBadRequest, error: "unreadable"},
		"no JSON":         {id: id, text: []byte("day=1"), status: http.StatusBadRequest, error: "unreadable"},
		"an unknown name": {id: id, text: bytes.Replace(text, []byte(`"minutes":90`), []byte(`"hours":1.5`), 1), status: http.StatusBadRequest, error: "unreadable"},
		"a wrong type":    {id: id, text: bytes.Replace(text, []byte(`"minutes":90`), []byte(`"minutes":"long"`), 1), status: http.StatusBadRequest, error: "unreadable"},
		"a later version": {id: id, change: func(s *journal.Draft) { s.Session.Version = 3 }, status: http.StatusNotFound, error: "missing"},
	} {
		sent := whole
		if c.change != nil {
			c.change(&sent)
		}
		body := c.text
		if body == nil {
			body, _ = json.Marshal(sent)
		}
		got, said := putText(b, t, c.id, body)
		if got.Status != c.status || said.Error != c.error || len(said.Problems) == 0 || said.Problems[0].Says == "" {
			t.Errorf("%s: status %d, %s", name, got.Status, got.Body)
		}
		if c.field != "" && !slices.ContainsFunc(said.Problems, func(p logging.Problem) bool { return p.Field == c.field && p.Value == c.value }) {
			t.Errorf("%s: %+v, want it of %s, %v", name, said.Problems, c.field, c.value)
		}
	}
	if b.Sessions(t) != before {
		t.Error("something was stored")
	}
}

func TestSendingFindsAConflict(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	sent := sample(b, t)
	put(b, t, sent)
	edited, err := b.Store.SessionByID(t.Context(), sent.Session.ID)
	if err != nil {
		t.Fatal(err)
	}
	edited.Notes = "edited at the desk"
	if _, err := b.Store.SaveSession(t.Context(), edited); err != nil {
		t.Fatal(err)
	}
	sent.Session.Notes = "edited on the phone"
	got, said := put(b, t, sent)
	if got.Status != http.StatusConflict || said.Error != "conflict" || said.Stored == nil || said.Stored.Version != 2 || said.Stored.Notes != edited.Notes {
		t.Fatalf("status %d, %+v", got.Status, said)
	}
	sent.Session.Version = said.Stored.Version
	if got, _ := put(b, t, sent); got.Status != http.StatusOK {
		t.Fatalf("on top of what was shown: status %d %s", got.Status, got.Body)
	}
	if err := b.Store.DeleteSession(t.Context(), sent.Session.ID, 0); err != nil {
		t.Fatal(err)
	}
	if got, said := put(b, t, sent); got.Status != http.StatusConflict || !said.Deleted || said.Stored == nil {
		t.Errorf("deleted meanwhile: status %d, %s", got.Status, got.Body)
	}
}

func TestSendingComesFromOurPages(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	body, _ := json.Marshal(sample(b, t))
	for _, h := range []struct{ name, value string }{{"Sec-Fetch-Site", "cross-site"}, {"Origin", "https://elsewhere.example"}} {
		r := b.Request(http.MethodPut, "/api/sessions/"+b.Session.ID.String(), bytes.NewReader(body))
		r.Header.Set(h.name, h.value)
		if got := b.Do(r); got.Status != http.StatusForbidden {
			t.Errorf("%s %s: status %d", h.name, h.value, got.Status)
		}
	}
	r := b.Request(http.MethodPut, "/api/sessions/"+b.Session.ID.String(), bytes.NewReader(body))
	r.Host = "journal.example"
	if got := b.Do(r); got.Status != http.StatusMisdirectedRequest {
		t.Errorf("another host: status %d", got.Status)
	}
}

func TestKnownHoldsTheLists(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	var k logging.KnownAnswer
	if err := json.Unmarshal([]byte(b.Get("/api/known").Body), &k); err != nil {
		t.Fatal(err)
	}
	if len(k.Anglers) != 1 || len(k.Waters) != 1 || len(k.Waters[0].Beats) != 1 || len(k.Rigs) != 2 || k.Rigs[0].Line == "" || k.Last == nil || k.Last.ID != b.Session.ID {
		t.Errorf("%+v", k)
	}
}

// How long a knot lasts is told once the journal knows it: half of them broke by the fourth pull.
func TestKnownHoldsHowLongKnotsLast(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	lives := func() (k logging.KnownAnswer) {
		t.Helper()
		if err := json.Unmarshal([]byte(b.Get("/api/known").Body), &k); err != nil {
			t.Fatal(err)
		}
		return k
	}
	if k := lives(); len(k.Lives) != 0 {
		t.Errorf("of one session: %+v", k.Lives)
	}
	b.WearOut()
	for end := time.Now().Add(time.Minute); len(lives().Lives) == 0 && time.Now().Before(end); { // what takes long is known the next time
		time.Sleep(50 * time.Millisecond)
	}
	if k := lives(); len(k.Lives) != 1 || k.Lives[0].Junction != "blood" || k.Lives[0].Pulls != 4 {
		t.Errorf("%+v", k.Lives)
	}
}

// Of a trial only what a start has told is handed out: its rig is what the next session
// is proposed with, until it was fished.
func TestKnownTellsAnArmOnceItIsStarted(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	plan := journal.Trial{ID: webtest.NewID(t), Name: "One or three", Outcome: "tangles", Factor: "rig", Unit: journal.BySession, Worth: 1.5, MostHours: 40,
		Arms: [2]journal.TrialArm{{RigID: &b.One.ID}, {RigID: &b.Two.ID}}}
	plan = webtest.Got(b.Store.PlanTrial(t.Context(), plan))(t)
	known := func() logging.KnownTrial {
		t.Helper()
		var k logging.KnownAnswer
		if err := json.Unmarshal([]byte(b.Get("/api/known").Body), &k); err != nil || len(k.Trials) != 1 {
			t.Fatal(k.Trials, err)
		}
		return k.Trials[0]
	}
	if k := known(); k.Number != 1 || k.Arm != "" || k.RigID != nil || k.StartedAt != nil {
		t.Errorf("not started: %+v", k)
	}
	webtest.WantAll(t, "Today", b.Page("/", http.StatusOK), "One or three, session 1 is next")
	u := webtest.Got(b.Store.StartTrialUnit(t.Context(), plan.ID, 1, time.Now()))(t)
	rig := []journal.Rig{b.One, b.Two}[u.Arm.Index()]
	if k := known(); k.Number != 1 || k.Arm != rig.Name || k.RigID == nil || *k.RigID != rig.ID || k.StartedAt == nil {
		t.Errorf("started: %+v", k)
	}
	webtest.WantAll(t, "Today", b.Page("/", http.StatusOK), "One or three, this session is "+rig.Name, `<option value="`+rig.ID.String()+`" selected>`)
	webtest.Got(b.Store.SaveSession(t.Context(), journal.Session{ID: webtest.NewID(t), AnglerID: b.Angler.ID, WaterID: b.Water.ID, Day: journal.DateOf(time.Now()), TimeZone: b.Water.TimeZone,
		Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: rig.ID, Minutes: new(60.0)}}}))(t)
	if k := known(); k.Number != 2 || k.Arm != "" {
		t.Errorf("fished: %+v", k)
	}
}
