package logging_test

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/logging"
	"rigtally/web/webtest"
)

// Whose stints, which days and which kinds are asked for, and nothing is marked before.
func TestMarkingAsksFirst(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	days := url.Values{"angler": {b.Angler.ID.String()}, "from": {"2026-05-01"}, "to": {"2026-05-31"}, "not": {"snags"}}
	without := func(name string, instead ...string) url.Values {
		v := url.Values{}
		for key, values := range days {
			v[key] = values
		}
		v[name] = instead
		return v
	}
	for _, tt := range []struct {
		form url.Values
		want string
	}{
		{without("angler"), "Choose whose stints."},
		{without("from", "May"), "is not a day of the calendar"},
		{without("from", "2026-06-30"), "swap them"},
		{without("not"), "Check at least one."},
		{without("not", "knots"), "is not known"},
		{without("to", "2026-05-01", "x"), ""},
		{url.Values{"angler": days["angler"], "from": {"1999-01-01"}, "to": {"1999-12-31"}, "not": {"snags"}}, "No session of that angler"},
	} {
		got := b.Get("/recorded/mark?" + tt.form.Encode())
		if want := http.StatusUnprocessableEntity; tt.want != "" && (got.Status != want || !strings.Contains(got.Body, tt.want)) {
			t.Errorf("%v: status %d, without %q", tt.form, got.Status, tt.want)
		}
		webtest.CheckPage(t, "/recorded/mark", got.Body)
	}
	kept := func() journal.Session {
		t.Helper()
		s, err := b.Store.SessionByID(t.Context(), b.Session.ID)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	if s := kept(); s.Version != 1 {
		t.Errorf("asking stored version %d", s.Version)
	}
	got := b.Post("/recorded/mark", days)
	to := got.Header.Get("Location")
	if s := kept(); got.Status != http.StatusSeeOther || s.Version != 2 || s.Stints[0].Recorded.Has(journal.KindSnags) || !strings.Contains(to, "forget=yes") {
		t.Fatalf("status %d to %s, stored %+v", got.Status, to, s)
	}
	if page := b.Get(to); !strings.Contains(page.Body, "Undo") {
		t.Error("no way to take it back")
	}
	if page := b.Get(strings.Replace(to, b.Angler.ID.String(), webtest.NewID(t).String(), 1)); page.Status != http.StatusOK || strings.Contains(page.Body, "Undo") {
		t.Errorf("for nobody it offers to undo, status %d", page.Status)
	}
	if page := b.Get("/sessions/" + b.Session.ID.String()); !strings.Contains(page.Body, "Not counted: snags.") || !strings.Contains(page.Body, "<td class=\"number\">not recorded</td>") {
		t.Error("the session shows a zero where nothing was counted")
	}
	edit := "/sessions/" + b.Session.ID.String() + "/edit"
	b.Press(edit, webtest.Fields(b.Get(edit).Body), "save", map[string]string{"notes": "sun"})
	if s := kept(); s.Version != 3 || s.Notes != "sun" || s.Stints[0].Recorded.Has(journal.KindSnags) {
		t.Errorf("after an edit: %+v", s)
	}
	b.Post("/recorded/mark", url.Values{"angler": days["angler"], "from": days["from"], "to": days["to"], "forget": {"yes"}})
	if s := kept(); s.Version != 4 || !s.Stints[0].Recorded.Assumed() {
		t.Errorf("taken back: %+v", s)
	}
	if got := b.Post("/recorded/mark", without("not")); got.Status != http.StatusUnprocessableEntity {
		t.Errorf("marking nothing: status %d", got.Status)
	}
}

// Lists and the week show no zero where no count was kept.
func TestNoZeroWithoutACount(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	s := b.Session
	s.ID, s.Version, s.Day = webtest.NewID(t), 0, b.Server.Today("UTC")
	s.Stints = []journal.Stint{
		{ID: webtest.NewID(t), RigID: b.One.ID, Minutes: new(60.0), Recorded: journal.RecordedOf(journal.KindHookups), Events: []journal.Event{{Kind: journal.EventHookup, Count: 3}}},
		{ID: webtest.NewID(t), RigID: b.Two.ID, Minutes: new(60.0), Recorded: journal.AllRecorded().Without(journal.KindHookups, journal.KindTangles)},
	}
	if _, err := b.Store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	plain := func(page string) string { return strings.ReplaceAll(b.Get(page).Body, "\u00a0", " ") }
	for _, want := range []string{"at least 3 hookups, none landed where recorded", "tangles not recorded"} {
		if body := plain("/sessions"); !strings.Contains(body, want) {
			t.Errorf("the list lacks %q", want)
		}
	}
	for _, want := range []string{"at least 3 hookups", "no count of tangles"} {
		if body := plain("/"); !strings.Contains(body, want) {
			t.Errorf("the week lacks %q", want)
		}
	}
	if body := plain("/rigs/" + b.Two.ID.String()); !strings.Contains(body, "not recorded") {
		t.Error("a rig shows nothing of what was not counted")
	}
}

// The page of a session says what was counted in it, once where its stints agree.
func TestSessionSaysWhatWasCounted(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	some := journal.RecordedOf(journal.KindHookups, journal.KindTangles)
	const said = "Counted: hookups, tangles. Not counted: fish landed, fish lost, fish broken off, fair or foul, where it broke, snags, kinds of tangle, turns around the line, fly changes and re-ties, minutes lost."
	for _, c := range []struct {
		first, second journal.Recorded
		want          []string
	}{
		{0, 0, []string{"Nobody said what was counted, so everything is assumed counted."}},
		{journal.AllRecorded(), journal.AllRecorded(), []string{"Everything was counted."}},
		{some, some, []string{said}},
		{some, journal.RecordedOf(), []string{"Stint 1. " + said, "Stint 2. Nothing was counted."}},
	} {
		s := b.Session
		s.ID, s.Version, s.Stints = webtest.NewID(t), 0, append([]journal.Stint(nil), s.Stints...)
		for i, r := range []journal.Recorded{c.first, c.second} {
			s.Stints[i].ID, s.Stints[i].Recorded = webtest.NewID(t), r
		}
		if _, err := b.Store.SaveSession(t.Context(), s); err != nil {
			t.Fatal(err)
		}
		body := b.Get("/sessions/" + s.ID.String()).Body
		for _, line := range c.want {
			if strings.Count(body, `<p class="small">`+line+`</p>`) != 1 {
				t.Errorf("the page does not say once: %s", line)
			}
		}
	}
}

// A session shows the cautions of its conditions with who decides and the source,
// and none says that anything is safe.
func TestSessionShowsItsCautions(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	path := "/sessions/" + b.Session.ID.String()
	if got := b.Get(path); strings.Contains(got.Body, "aside") {
		t.Error("cool water has a caution")
	}
	s := b.Session
	s.WaterTempC, s.DepthM, s.VelocityMS, s.Storm = new(20.5), new(1.0), new(1.2), true
	if _, err := b.Store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	got := b.Get(path)
	for _, want := range []string{"caution-stop", "Water at", "30 minutes after the last thunder", "rule of thumb", "DAERA", "fish and wildlife agency", "licensed guide"} {
		if got.Status != http.StatusOK || !strings.Contains(got.Body, want) {
			t.Errorf("the session's page lacks %q", want)
		}
	}
	for _, c := range logging.NewCautionLimits(units.Metric).Each {
		text := strings.ToLower(c.Title + c.Text)
		if !strings.Contains(text, "decide") && !strings.Contains(text, "come before") {
			t.Errorf("%s, %s does not say who decides", c.Kind, c.Level)
		}
		if slices.ContainsFunc([]string{"safe to", "you can wade", "go ahead", "no danger"}, func(words string) bool { return strings.Contains(text, words) }) {
			t.Errorf("%s, %s says that something is safe", c.Kind, c.Level)
		}
	}
}
