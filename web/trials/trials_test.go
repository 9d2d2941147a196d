package trials_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"html"
	"net/http"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// The pages of trials, with nothing and with the invented one.
func TestTrialPages(t *testing.T) {
	t.Parallel()
	empty := webtest.New(t)
	for template, shows := range map[string][2]string{"trials": {"/trials", "No trial is planned yet"}, "trialnew": {"/trials/new", "What differs"}} {
		got := empty.Get(shows[0])
		if got.Status != http.StatusOK || !strings.Contains(got.Body, shows[1]) {
			t.Errorf("%s (%s): status %d, without %q", shows[0], template, got.Status, shows[1])
		}
		webtest.CheckPage(t, shows[0], got.Body)
	}
	s, trial := webtest.WithTrial(t)
	at := "/trials/" + trial.ID.String()
	for template, shows := range map[string]map[string]string{
		"today":     {"/": "is settled: end it"},
		"trials":    {"/trials": "Settled: more with tag of 8¼ in"},
		"trial":     {at: "2.19 times"},
		"trialunit": {at + "/units/3": "Quill"},
	} {
		for page, want := range shows {
			got := s.Get(page)
			if got.Status != http.StatusOK || !strings.Contains(got.Body, want) {
				t.Errorf("%s (%s): status %d, without %q", page, template, got.Status, want)
			}
			webtest.CheckPage(t, page, got.Body)
			if strings.Contains(got.Body, demo.TrialSecret(demo.TrialSeed)) {
				t.Errorf("%s tells the seed", page)
			}
		}
	}
	s.Wants(at+"/units/49", http.StatusNotFound, "has not been started")
	s.Wants(at+"/units/x", http.StatusNotFound, "")
	if csv := s.Get(at + "/answer.csv"); strings.Count(csv.Body, "\n") != 13 {
		t.Errorf("as CSV:\n%s", csv.Body)
	}
	var list struct{ Trials []struct{ Seed *string } }
	if err := json.Unmarshal([]byte(s.Get("/trials.json").Body), &list); err != nil || len(list.Trials) != 1 || list.Trials[0].Seed != nil {
		t.Errorf("as JSON %+v, %v", list, err)
	}
}

// A trial is planned, started, taken back, fished, set apart, renamed and ended
// through forms alone; a form sent twice does its work once.
func TestTrialThroughItsForms(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	form := webtest.Fields(b.Get("/trials/new").Body)
	shown := b.Press("/trials/new", form, "show", map[string]string{"name": "Knots", "outcome": "tangles", "factor": "junction"})
	if !strings.Contains(shown.Body, "slip loop") {
		t.Fatalf("the arms can't be chosen:\n%s", webtest.Complaints(shown.Body))
	}
	form = webtest.Fields(shown.Body)
	if got := b.Press("/trials/new", form, "plan", nil); got.Status != http.StatusUnprocessableEntity || !strings.Contains(webtest.Complaints(got.Body), "Choose arm A") {
		t.Errorf("without arms: status %d, %s", got.Status, webtest.Complaints(got.Body))
	}
	shown = b.Press("/trials/new", form, "show", map[string]string{"a": "blood", "b": "uni", "b-note": "Three <turns>"})
	if !strings.Contains(shown.Body, "A test looked at only once") {
		t.Error("the form does not say how long it would take")
	}
	form = webtest.Fields(shown.Body)
	changed := b.Press("/trials/new", webtest.Fields(shown.Body), "plan", map[string]string{"most": "12"})
	if list, err := b.Store.Trials(t.Context()); err != nil || len(list) != 0 || changed.Status != http.StatusOK || !strings.Contains(changed.Body, `id="chance"`) {
		t.Errorf("sealed before its own chance was shown: status %d, %+v, %v", changed.Status, list, err)
	}
	for range 2 {
		if got := b.Press("/trials/new", form, "plan", nil); got.Status != http.StatusSeeOther {
			t.Fatalf("planned: status %d, %s", got.Status, webtest.Complaints(got.Body))
		}
	}
	list, err := b.Store.Trials(t.Context())
	if err != nil || len(list) != 1 || list[0].Arms[1].Note != "Three <turns>" || list[0].Block != journal.UsualBlock {
		t.Fatalf("planned %+v, %v", list, err)
	}
	id := list[0].ID
	at := "/trials/" + id.String()
	start := webtest.Fields(b.Wants(at, http.StatusOK, "what do I tie?", list[0].Commitment))
	for range 2 {
		b.Post(at+"/start", start)
	}
	trial := b.Held(id)
	if len(trial.Units) != 1 {
		t.Fatalf("a start sent twice makes %d", len(trial.Units))
	}
	b.Wants(at, http.StatusOK, "Stint 1: tie", map[journal.Arm]string{"A": "Blood", "B": "Uni"}[trial.Units[0].Arm])
	b.Post(at+"/back", url.Values{"number": {"1"}})
	if got := b.Held(id); len(got.Units) != 0 || got.Undone != 1 {
		t.Errorf("taken back: %+v", got)
	}
	b.Post(at+"/start", url.Values{"number": {"1"}})
	r := b.Request(http.MethodPost, at+"/start", strings.NewReader("number=2"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "application/json")
	if got := b.Do(r); got.Status != http.StatusOK || !strings.Contains(got.Body, `"number":2`) || !strings.Contains(got.Body, `"tie":"`) {
		t.Errorf("started by a program: status %d, %s", got.Status, got.Body)
	}
	unit := at + "/units/1"
	if got := b.Press(unit, url.Values{}, "apart", nil); got.Status != http.StatusUnprocessableEntity || !strings.Contains(webtest.Complaints(got.Body), "Say why it broke the plan") {
		t.Errorf("without a reason: status %d, %s", got.Status, webtest.Complaints(got.Body))
	}
	if got := b.Press(unit, url.Values{}, "attach", nil); got.Status != http.StatusUnprocessableEntity || !strings.Contains(webtest.Complaints(got.Body), "Choose what was fished") {
		t.Errorf("without a choice: status %d, %s", got.Status, webtest.Complaints(got.Body))
	}
	b.Press(unit, url.Values{"why": {"a storm"}}, "apart", nil)
	if got := b.Held(id).Units[0]; got.Status != journal.UnitBroke || got.Reason != "a storm" {
		t.Errorf("set apart: %+v", got)
	}
	b.Press(unit, url.Values{}, "off", nil)
	b.Post(at+"/match", nil)
	b.Post(at+"/rename", url.Values{"name": {"Two knots"}, "notes": {"for <Ilse>"}})
	if got := b.Press(at+"/delete", url.Values{}, "", nil); got.Status != http.StatusUnprocessableEntity {
		t.Errorf("deleting what was started: status %d", got.Status)
	}
	b.Post(at+"/end", url.Values{"why": {"enough"}})
	b.Wants(at, http.StatusOK, "Two knots", "for &lt;Ilse&gt;", "Why it ended: enough", "It holds")
	sealed := regexp.MustCompile(`(?s)<pre class="sealed">(.*?)</pre>`).FindStringSubmatch(b.Get(at).Body)
	if sealed == nil {
		t.Fatal("the seal is not open")
	}
	if sum := sha256.Sum256([]byte(html.UnescapeString(sealed[1]))); hex.EncodeToString(sum[:]) != list[0].Commitment {
		t.Error("what is shown is not what was sealed")
	}
	if got := b.Post(at+"/start", url.Values{"number": {"3"}}); got.Status != http.StatusUnprocessableEntity {
		t.Errorf("started after the end: status %d", got.Status)
	}
	form.Set("id", webtest.NewID(t).String())
	form.Set("name", "Two knots again")
	if got := b.Press("/trials/new", form, "show", map[string]string{"a": "uni", "b": "blood"}); !strings.Contains(got.Body, `The same was asked before, by <a href="`+at+`">Two knots</a>`) {
		t.Error("the trial that asked the same is not named")
	}
}

// A trial brought back from a backup made while it ran ends with what was drawn,
// and says so.
func TestTrialFromABackup(t *testing.T) {
	t.Parallel()
	from, trial := webtest.WithTrial(t)
	var backup bytes.Buffer
	from.Must(exchange.WriteBackup(t.Context(), from.Store, &backup))
	s := webtest.New(t)
	if _, err := exchange.ReadBackup(t.Context(), s.Store, &backup, nil); err != nil {
		t.Fatal(err)
	}
	at := "/trials/" + trial.ID.String()
	page := s.Wants(at, http.StatusOK, "ends with the part that was drawn, 48 stints", "It can’t be checked here", trial.Commitment, "Better than tag of 8¼ in", "End the trial")
	if strings.Contains(page, at+"/start") || strings.Contains(s.Get("/trials").Body, at+"/start") {
		t.Error("a next stint can be started")
	}
	if got := s.Post(at+"/start", url.Values{"number": {"49"}}); got.Status != http.StatusUnprocessableEntity || !strings.Contains(got.Body, "ends with number 48") {
		t.Errorf("started all the same: status %d", got.Status)
	}
	s.Post(at+"/end", url.Values{"why": {"enough"}})
	if page := s.Wants(at, http.StatusOK, "Why it ended: enough"); strings.Contains(page, "rigtally trial order") {
		t.Error("it shows an order that it does not have")
	}
}

// What was fished is chosen on the unit's page, and one of the wrong arm is refused
// as kept.
func TestTrialChoosesWhatWasFished(t *testing.T) {
	t.Parallel()
	s, trial := webtest.WithTrial(t)
	at := "/trials/" + trial.ID.String() + "/units/3"
	page := s.Wants(at, http.StatusOK, "What was fished")
	own := trial.Units[2]
	chosen := own.SessionID.String() + " " + own.StintID.String()
	if !strings.Contains(page, `value="`+chosen+`" checked`) {
		t.Error("what is attached is not chosen")
	}
	s.Press(at, url.Values{}, "off", nil)
	wrong := ""
	for _, u := range trial.Units[:4] {
		if u.Arm != own.Arm {
			wrong = u.SessionID.String() + " " + u.StintID.String()
		}
	}
	if got := s.Press(at, url.Values{"fished": {wrong}}, "attach", nil); got.Status != http.StatusUnprocessableEntity {
		t.Errorf("the wrong arm, attached to another number too: status %d", got.Status)
	}
	s.Press(at, url.Values{"fished": {chosen}}, "attach", nil)
	if got := s.Held(trial.ID).Units[2]; got.Status != journal.UnitKept || *got.StintID != *own.StintID {
		t.Errorf("attached %+v", got)
	}
	s.Press(at, url.Values{"fished": {chosen}, "why": {"tied it wrong"}}, "apart", nil)
	s.Wants("/trials/"+trial.ID.String(), http.StatusOK, "Broke the plan: tied it wrong", "1 stint broke the plan")
}

// The first button of a settled trial ends it, and makes the better way's rig the usual one.
func TestASettledTrialIsEndedAndItsWinnerTied(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	played, err := demo.Fill(t.Context(), s.Store, demo.Generate(demo.Seed, 40))
	s.Must(err)
	at := "/trials/" + played.ID.String()
	body := s.Page(at, 200)
	_, usual, ok := strings.Cut(body, `name="usual" value="`)
	if !ok || strings.Contains(body, "what do I tie?") {
		t.Fatalf("a settled trial does not offer its winner, or asks for more: %s", body)
	}
	usual, _, _ = strings.Cut(usual, `"`)
	_, version, _ := strings.Cut(body, `name="version" value="`)
	version, _, _ = strings.Cut(version, `"`)
	if a := s.Post(at+"/end", url.Values{"version": {version}, "why": {"settled"}, "usual": {usual}}); a.Status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", a.Status, a.Body)
	}
	rig, err := s.Store.UsualRig(t.Context())
	if err != nil || rig == nil || rig.String() != usual {
		t.Errorf("the usual rig is %v, want %s (%v)", rig, usual, err)
	}
	if today := s.Page("/", 200); !strings.Contains(today, `value="`+usual+`" selected`) {
		t.Error("Today does not propose the winner's rig")
	}
}
