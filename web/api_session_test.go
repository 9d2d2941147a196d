package web

import (
	"bytes"
	"encoding/json"
	"net/http"
	"slices"
	"sync"
	"testing"
	"time"

	"rigtally/journal"
)

func (b *book) put(t *testing.T, sent journal.Draft) (answer, refused) {
	t.Helper()
	body, err := json.Marshal(sent)
	if err != nil {
		t.Fatal(err)
	}
	return b.putText(t, sent.Session.ID.String(), body)
}

func (b *book) putText(t *testing.T, id string, body []byte) (answer, refused) {
	t.Helper()
	r := b.request(http.MethodPut, "/api/sessions/"+id, bytes.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	got := b.do(r)
	var said refused
	if err := json.Unmarshal([]byte(got.body), &said); err != nil {
		t.Fatalf("not JSON: %s", got.body)
	}
	return got, said
}

// sample is a session as a phone sends it.
func (b *book) sample(t *testing.T) journal.Draft {
	t.Helper()
	start := time.Date(2026, 5, 2, 9, 0, 0, 0, mustZone(t, b.water.TimeZone))
	end := start.Add(90 * time.Minute)
	return journal.Draft{Session: journal.Session{ID: newID(t), AnglerID: b.angler.ID, WaterID: b.water.ID, Day: journal.DateOf(start), TimeZone: b.water.TimeZone, Start: &start, End: &end,
		LoggedAt: time.Date(2026, 5, 2, 12, 0, 0, 0, time.UTC),
		Stints: []journal.Stint{{ID: newID(t), RigID: b.one.ID, Minutes: ptr(90.0), Events: []journal.Event{
			{Kind: journal.EventHookup, Hooking: journal.Fair, Ending: journal.Landed, Count: 1, Minute: ptr(12)}}}}}}
}

func (b *book) sessions(t *testing.T) int {
	t.Helper()
	_, n, err := b.store.SessionLines(t.Context(), journal.SessionFilter{})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestSendingTwiceStoresOnce(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	before := b.sessions(t)
	sent := b.sample(t)
	sent.Session.AnglerID, sent.Session.WaterID = journal.ID{}, journal.ID{}
	sent.Angler, sent.Water, sent.Beat = "Odo", "Far Beck", "Top"
	for range 2 {
		if got, said := b.put(t, sent); got.status != http.StatusOK {
			t.Fatalf("status %d: %+v", got.status, said)
		}
	}
	// Also when a send that was cut off is still at work while the next one comes.
	var wg sync.WaitGroup
	other := b.sample(t)
	for range 4 {
		wg.Go(func() {
			if got, said := b.put(t, other); got.status != http.StatusOK {
				t.Errorf("at once: status %d: %+v", got.status, said)
			}
		})
	}
	wg.Wait()
	if n := b.sessions(t) - before; n != 2 {
		t.Errorf("%d sessions stored, want 2", n)
	}
	stored, err := b.store.SessionByID(t.Context(), sent.Session.ID)
	if err != nil || !stored.LoggedAt.Equal(sent.Session.LoggedAt) {
		t.Errorf("logged at %s, want the phone's %s; %v", stored.LoggedAt, sent.Session.LoggedAt, err)
	}
	anglers, _ := b.store.Anglers(t.Context())
	waters, _ := b.store.Waters(t.Context())
	if len(anglers) != 2 || len(waters) != 2 {
		t.Errorf("%d anglers and %d waters, want 2 and 2", len(anglers), len(waters))
	}
}

func TestSendingIsRefusedWithWhatIsWrong(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	before := b.sessions(t)
	whole := b.sample(t)
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
			s.Session.Stints = []journal.Stint{{ID: newID(t), RigID: b.one.ID, Minutes: ptr(9999.0)}}
		}, status: http.StatusUnprocessableEntity, error: "invalid", field: "session.stints[0].minutes", value: 9999.0},
		"a late event": {id: id, change: func(s *journal.Draft) {
			s.Session.Stints = []journal.Stint{{ID: newID(t), RigID: b.one.ID, Minutes: ptr(30.0), Events: []journal.Event{
				{Kind: journal.EventSnag, Count: 1}, {Kind: journal.EventSnag, Count: 1, Minute: ptr(31)}}}}
		}, status: http.StatusUnprocessableEntity, error: "invalid", field: "session.stints[0].events[1].minute", value: 31.0},
		"hot water":       {id: id, change: func(s *journal.Draft) { s.Session.WaterTempC = ptr(68.0) }, status: http.StatusUnprocessableEntity, error: "invalid", field: "session.water_temp_c", value: 68.0},
		"no angler":       {id: id, change: func(s *journal.Draft) { s.Session.AnglerID = journal.ID{} }, status: http.StatusUnprocessableEntity, error: "invalid"},
		"no stint":        {id: id, change: func(s *journal.Draft) { s.Session.Stints = nil }, status: http.StatusUnprocessableEntity, error: "invalid"},
		"another id":      {id: newID(t).String(), status: http.StatusBadRequest, error: "unreadable"},
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
		got, said := b.putText(t, c.id, body)
		if got.status != c.status || said.Error != c.error || len(said.Problems) == 0 || said.Problems[0].Says == "" {
			t.Errorf("%s: status %d, %s", name, got.status, got.body)
		}
		if c.field != "" && !slices.ContainsFunc(said.Problems, func(p problem) bool { return p.Field == c.field && p.Value == c.value }) {
			t.Errorf("%s: %+v, want it of %s, %v", name, said.Problems, c.field, c.value)
		}
	}
	if b.sessions(t) != before {
		t.Error("something was stored")
	}
}

func TestSendingFindsAConflict(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	sent := b.sample(t)
	b.put(t, sent)
	edited, err := b.store.SessionByID(t.Context(), sent.Session.ID)
	if err != nil {
		t.Fatal(err)
	}
	edited.Notes = "edited at the desk"
	if _, err := b.store.SaveSession(t.Context(), edited); err != nil {
		t.Fatal(err)
	}
	sent.Session.Notes = "edited on the phone"
	got, said := b.put(t, sent)
	if got.status != http.StatusConflict || said.Error != "conflict" || said.Stored == nil || said.Stored.Version != 2 || said.Stored.Notes != edited.Notes {
		t.Fatalf("status %d, %+v", got.status, said)
	}
	sent.Session.Version = said.Stored.Version
	if got, _ := b.put(t, sent); got.status != http.StatusOK {
		t.Fatalf("on top of what was shown: status %d %s", got.status, got.body)
	}
	if err := b.store.DeleteSession(t.Context(), sent.Session.ID, 0); err != nil {
		t.Fatal(err)
	}
	if got, said := b.put(t, sent); got.status != http.StatusConflict || !said.Deleted || said.Stored == nil {
		t.Errorf("deleted meanwhile: status %d, %s", got.status, got.body)
	}
}

func TestSendingComesFromOurPages(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	body, _ := json.Marshal(b.sample(t))
	for _, h := range []struct{ name, value string }{{"Sec-Fetch-Site", "cross-site"}, {"Origin", "https://elsewhere.example"}} {
		r := b.request(http.MethodPut, "/api/sessions/"+b.session.ID.String(), bytes.NewReader(body))
		r.Header.Set(h.name, h.value)
		if got := b.do(r); got.status != http.StatusForbidden {
			t.Errorf("%s %s: status %d", h.name, h.value, got.status)
		}
	}
	r := b.request(http.MethodPut, "/api/sessions/"+b.session.ID.String(), bytes.NewReader(body))
	r.Host = "journal.example"
	if got := b.do(r); got.status != http.StatusMisdirectedRequest {
		t.Errorf("another host: status %d", got.status)
	}
}

func TestKnownHoldsTheLists(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	var k knownAnswer
	if err := json.Unmarshal([]byte(b.get("/api/known").body), &k); err != nil {
		t.Fatal(err)
	}
	if len(k.Anglers) != 1 || len(k.Waters) != 1 || len(k.Waters[0].Beats) != 1 || len(k.Rigs) != 2 || k.Rigs[0].Line == "" || k.Last == nil || k.Last.ID != b.session.ID {
		t.Errorf("%+v", k)
	}
}
