package web

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/demo"
)

// withTrial is a site with the invented trial, brought through its sessions.
func withTrial(t testing.TB) (*site, journal.Trial) {
	t.Helper()
	s := newSite(t)
	season := demo.Generate(demo.Seed, 0)
	if err := demo.Load(t.Context(), s.store, season); err != nil {
		t.Fatal(err)
	}
	trial, err := demo.PlayTrial(t.Context(), s.store, season, demo.TrialSeed, demo.TrialSessions)
	if err != nil {
		t.Fatal(err)
	}
	return s, trial
}

func (s *site) held(id journal.ID) journal.Trial {
	s.t.Helper()
	trial, err := s.store.TrialByID(s.t.Context(), id)
	if err != nil {
		s.t.Fatal(err)
	}
	return trial
}

func (s *site) wants(page string, status int, texts ...string) string {
	s.t.Helper()
	got := s.get(page)
	for _, want := range texts {
		if got.status != status || !strings.Contains(got.body, want) {
			s.t.Errorf("%s: status %d, without %q", page, got.status, want)
		}
	}
	return got.body
}

// The pages of trials, with nothing and with the invented one.
func TestTrialPages(t *testing.T) {
	t.Parallel()
	empty := newSite(t)
	for template, shows := range map[string][2]string{"trials": {"/trials", "No trial is planned yet"}, "trialnew": {"/trials/new", "What differs"}} {
		got := empty.get(shows[0])
		if got.status != http.StatusOK || !strings.Contains(got.body, shows[1]) {
			t.Errorf("%s (%s): status %d, without %q", shows[0], template, got.status, shows[1])
		}
		checkPage(t, shows[0], got.body)
	}
	s, trial := withTrial(t)
	at := "/trials/" + trial.ID.String()
	for template, shows := range map[string]map[string]string{
		"today":     {"/": "stint 49 is next"},
		"trials":    {"/trials": "Settled: more with tag of 8 1/4 in"},
		"trial":     {at: "2.19 times"},
		"trialunit": {at + "/units/3": "Quill"},
	} {
		for page, want := range shows {
			got := s.get(page)
			if got.status != http.StatusOK || !strings.Contains(got.body, want) {
				t.Errorf("%s (%s): status %d, without %q", page, template, got.status, want)
			}
			checkPage(t, page, got.body)
			if strings.Contains(got.body, trial.Seed) {
				t.Errorf("%s tells the seed", page)
			}
		}
	}
	s.wants(at+"/units/49", http.StatusNotFound, "has not been started")
	s.wants(at+"/units/x", http.StatusNotFound, "")
	if csv := s.get(at + "/answer.csv"); strings.Count(csv.body, "\n") != 13 {
		t.Errorf("as CSV:\n%s", csv.body)
	}
	var list struct{ Trials []struct{ Seed *string } }
	if err := json.Unmarshal([]byte(s.get("/trials.json").body), &list); err != nil || len(list.Trials) != 1 || list.Trials[0].Seed != nil {
		t.Errorf("as JSON %+v, %v", list, err)
	}
}

// A trial is planned, started, taken back, fished, set apart, renamed and ended
// through forms alone; a form sent twice does its work once.
func TestTrialThroughItsForms(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	form := fields(b.get("/trials/new").body)
	shown := b.press("/trials/new", form, "show", map[string]string{"name": "Knots", "outcome": "tangles", "factor": "junction"})
	if !strings.Contains(shown.body, "slip loop") {
		t.Fatalf("the arms can't be chosen:\n%s", complaints(shown.body))
	}
	form = fields(shown.body)
	if got := b.press("/trials/new", form, "plan", nil); got.status != http.StatusUnprocessableEntity || !strings.Contains(complaints(got.body), "Choose arm A") {
		t.Errorf("without arms: status %d, %s", got.status, complaints(got.body))
	}
	shown = b.press("/trials/new", form, "show", map[string]string{"a": "blood", "b": "uni", "b-note": "Three <turns>"})
	if !strings.Contains(shown.body, "A test that may be looked at only once") {
		t.Error("the form does not say how long it would take")
	}
	form = fields(shown.body)
	for range 2 {
		if got := b.press("/trials/new", form, "plan", nil); got.status != http.StatusSeeOther {
			t.Fatalf("planned: status %d, %s", got.status, complaints(got.body))
		}
	}
	list, err := b.store.Trials(t.Context())
	if err != nil || len(list) != 1 || list[0].Arms[1].Note != "Three <turns>" {
		t.Fatalf("planned %+v, %v", list, err)
	}
	id := list[0].ID
	at := "/trials/" + id.String()
	start := fields(b.wants(at, http.StatusOK, "what do I tie?", list[0].Commitment))
	for range 2 {
		b.post(at+"/start", start)
	}
	trial := b.held(id)
	if len(trial.Units) != 1 {
		t.Fatalf("a start sent twice makes %d", len(trial.Units))
	}
	b.wants(at, http.StatusOK, "Stint 1: tie", map[journal.Arm]string{"A": "Blood", "B": "Uni"}[trial.Units[0].Arm])
	b.post(at+"/back", url.Values{"number": {"1"}})
	if got := b.held(id); len(got.Units) != 0 || got.Undone != 1 {
		t.Errorf("taken back: %+v", got)
	}
	b.post(at+"/start", url.Values{"number": {"1"}})
	r := b.request(http.MethodPost, at+"/start", strings.NewReader("number=2"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "application/json")
	if got := b.do(r); got.status != http.StatusOK || !strings.Contains(got.body, `"number":2`) || !strings.Contains(got.body, `"tie":"`) {
		t.Errorf("started by a program: status %d, %s", got.status, got.body)
	}
	unit := at + "/units/1"
	if got := b.press(unit, url.Values{}, "apart", nil); got.status != http.StatusUnprocessableEntity || !strings.Contains(complaints(got.body), "Say why it broke the plan") {
		t.Errorf("without a reason: status %d, %s", got.status, complaints(got.body))
	}
	if got := b.press(unit, url.Values{}, "attach", nil); got.status != http.StatusUnprocessableEntity || !strings.Contains(complaints(got.body), "Choose what was fished") {
		t.Errorf("without a choice: status %d, %s", got.status, complaints(got.body))
	}
	b.press(unit, url.Values{"why": {"a storm"}}, "apart", nil)
	if got := b.held(id).Units[0]; got.Status != journal.UnitBroke || got.Reason != "a storm" {
		t.Errorf("set apart: %+v", got)
	}
	b.press(unit, url.Values{}, "off", nil)
	b.post(at+"/match", nil)
	b.post(at+"/rename", url.Values{"name": {"Two knots"}, "notes": {"for <Ilse>"}})
	if got := b.press(at+"/delete", url.Values{}, "", nil); got.status != http.StatusUnprocessableEntity {
		t.Errorf("deleting what was started: status %d", got.status)
	}
	b.post(at+"/end", url.Values{"why": {"enough"}})
	b.wants(at, http.StatusOK, "Two knots", "for &lt;Ilse&gt;", "Why it ended: enough", "It holds")
	sealed := regexp.MustCompile(`(?s)<pre class="sealed">(.*?)</pre>`).FindStringSubmatch(b.get(at).body)
	if sealed == nil {
		t.Fatal("the seal is not open")
	}
	if sum := sha256.Sum256([]byte(html.UnescapeString(sealed[1]))); hex.EncodeToString(sum[:]) != list[0].Commitment {
		t.Error("what is shown is not what was sealed")
	}
	if got := b.post(at+"/start", url.Values{"number": {"3"}}); got.status != http.StatusUnprocessableEntity {
		t.Errorf("started after the end: status %d", got.status)
	}
}

// What was fished is chosen on the unit's page, and one of the wrong arm is refused
// as kept.
func TestTrialChoosesWhatWasFished(t *testing.T) {
	t.Parallel()
	s, trial := withTrial(t)
	at := "/trials/" + trial.ID.String() + "/units/3"
	page := s.wants(at, http.StatusOK, "What was fished")
	own := trial.Units[2]
	chosen := own.SessionID.String() + " " + own.StintID.String()
	if !strings.Contains(page, `value="`+chosen+`" checked`) {
		t.Error("what is attached is not chosen")
	}
	s.press(at, url.Values{}, "off", nil)
	wrong := ""
	for _, u := range trial.Units[:4] {
		if u.Arm != own.Arm {
			wrong = u.SessionID.String() + " " + u.StintID.String()
		}
	}
	if got := s.press(at, url.Values{"fished": {wrong}}, "attach", nil); got.status != http.StatusUnprocessableEntity {
		t.Errorf("the wrong arm, attached to another number too: status %d", got.status)
	}
	s.press(at, url.Values{"fished": {chosen}}, "attach", nil)
	if got := s.held(trial.ID).Units[2]; got.Status != journal.UnitKept || *got.StintID != *own.StintID {
		t.Errorf("attached %+v", got)
	}
	s.press(at, url.Values{"fished": {chosen}, "why": {"tied it wrong"}}, "apart", nil)
	s.wants("/trials/"+trial.ID.String(), http.StatusOK, "Broke the plan: tied it wrong", "1 stint broke the plan")
}
