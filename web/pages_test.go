package web

import (
	"net/http"
	"os"
	"strings"
	"testing"

	"rigtally/journal"
)

func ptr[T any](v T) *T { return &v }

// book is a site with an invented journal: two anglers, a water with a beat, a
// rig with one dropper, one with two, and sessions.
type book struct {
	*site
	angler  journal.Angler
	water   journal.Water
	one     journal.Rig // a point fly and a dropper on a tag
	two     journal.Rig // and another dropper above
	session journal.Session
}

func newID(t testing.TB) journal.ID {
	t.Helper()
	id, err := journal.NewID()
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func newBook(t testing.TB) *book {
	t.Helper()
	b := &book{site: newSite(t)}
	ctx := t.Context()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	var err error
	b.angler, err = b.store.AnglerNamed(ctx, "Ilse")
	must(err)
	var beat *journal.ID
	b.water, beat, err = b.store.WaterNamed(ctx, "Alder Brook", "Mill Run")
	must(err)
	point := journal.RigPosition{Position: 0, TippetMM: ptr(0.127), Fly: "jig nymph", HookSize: ptr(16), BeadMM: ptr(2.8), Bulk: "slim"}
	dropper := journal.RigPosition{Position: 1, Hang: journal.HangTag, Junction: "blood", Facing: "down", Prop: "none", TagLengthMM: ptr(165.1), DistanceMM: ptr(508.0),
		TippetMM: ptr(0.127), Fly: "soft hackle", HookSize: ptr(18), Bulk: "hackled"}
	upper := journal.RigPosition{Position: 2, Hang: journal.HangTag, Junction: journal.JunctionOther, JunctionName: "slip loop", TagLengthMM: ptr(120.0), DistanceMM: ptr(500.0)}
	b.one, err = b.store.SaveRig(ctx, journal.Rig{Name: "Blood 165", Method: "tight-line nymph", RodLengthMM: ptr(3048.0), LeaderLengthMM: ptr(6096.0),
		SighterLengthMM: ptr(508.0), Swivel: "tippet ring", TippetLengthMM: ptr(1828.8), Positions: []journal.RigPosition{point, dropper}})
	must(err)
	b.two, err = b.store.SaveRig(ctx, journal.Rig{Name: "Three flies", Positions: []journal.RigPosition{point, dropper, upper}})
	must(err)
	b.session, err = b.store.SaveSession(ctx, journal.Session{ID: newID(t), AnglerID: b.angler.ID, WaterID: b.water.ID, BeatID: beat,
		Day: journal.Date{Year: 2026, Month: 5, Day: 1}, TimeZone: b.water.TimeZone, WaterTempC: ptr(11.5), FlowM3S: ptr(4.25), FromGauge: []string{"flow_m3s"}, Notes: "Rain <at> noon",
		Stints: []journal.Stint{
			{ID: newID(t), RigID: b.one.ID, Minutes: ptr(90.0), Stroke: "oval", Events: []journal.Event{
				{Kind: journal.EventTangle, Count: 2, TangleKind: journal.Twist, MinutesLost: ptr(7)},
				{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.Landed, Species: "brown trout", FishLengthMM: ptr(310.0), Minute: ptr(12)},
			}},
			{ID: newID(t), RigID: b.two.ID, Events: []journal.Event{{Kind: journal.EventCheck, Count: 2, Turns: ptr(5), Position: ptr(2)}}},
		}})
	must(err)
	return b
}

// Every page is asked for with something to show, and every template is used.
func TestEveryPageIsShown(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	gone := b.session
	gone.ID, gone.Version = newID(t), 0
	for i := range gone.Stints {
		gone.Stints[i].ID = newID(t)
	}
	if _, err := b.store.SaveSession(t.Context(), gone); err != nil {
		t.Fatal(err)
	}
	if err := b.store.DeleteSession(t.Context(), gone.ID, 0); err != nil {
		t.Fatal(err)
	}
	session, rig := "/sessions/"+b.session.ID.String(), "/rigs/"+b.one.ID.String()
	for template, pages := range map[string]map[string]string{
		"today":        {"/": "Start fishing now"},
		"live":         {"/live": "Broke off"},
		"after":        {"/after": "The plain form"},
		"waiting":      {"/waiting": "as soon as there is signal"},
		"offline":      {"/offline": "kept on this phone"},
		"log":          {"/log": "Stint 1", session + "/edit": "brown trout", "/log?rig=" + b.two.ID.String(): "On dropper 2 only"},
		"sessions":     {"/sessions": "Alder Brook", "/sessions?season=2026&angler=" + b.angler.ID.String(): "Mill Run", "/sessions?season=1999": "No session", "/sessions?undo=" + gone.ID.String(): "Undo"},
		"deleted":      {"/sessions/deleted": "Restore"},
		"session":      {session: "Rain &lt;at&gt; noon", session + "?done=logged": "The session is saved."},
		"recorded":     {"/recorded": "Nobody said what was counted"},
		"recordedmark": {"/recorded/mark": "No count was kept of", "/recorded/mark?not=tangles&from=2026-05-01&to=2026-05-31&angler=" + b.angler.ID.String(): "2 stints in 1 session"},
		"rigs":         {"/rigs": "Blood 165"},
		"rules":        {"/rigs/rules": "Examples to check against the rules in force"},
		"ruleset":      {"/rigs/rules/new": "Leave blank what there is no rule about"},
		"rig":          {rig: "Tippet ring", "/rigs/" + b.two.ID.String(): "slip loop"},
		"rigform":      {"/rigs/new": "Dropper 1", rig + "/edit": "was fished"},
		"anglers":      {"/anglers": "Ilse"},
		"angler":       {"/anglers/new": "Add an angler", "/anglers/" + b.angler.ID.String(): "Ilse"},
		"waters":       {"/waters": "Mill Run"},
		"water":        {"/waters/new": "Add a water", "/waters/" + b.water.ID.String(): "Mill Run"},
		"planner":      {"/planner": "Your numbers"},
		"season":       {"/season": "Ilse"},
		"life":         {"/life": "Ask of lives"},
		"settings":     {"/settings": "Time zone"},
	} {
		for page, want := range pages {
			got := b.get(page)
			if got.status != http.StatusOK || !strings.Contains(got.body, want) {
				t.Errorf("%s (%s): status %d, without %q", page, template, got.status, want)
			}
			checkPage(t, page, got.body)
		}
	}
	if b.log.Len() > 0 {
		t.Errorf("the log holds: %s", b.log)
	}
}

// checkPage looks for what no page may hold.
func checkPage(t *testing.T, page, body string) {
	t.Helper()
	for _, bad := range []string{"<style", " style=", "onclick", "<no value>", "ZgotmplZ", "%!", "NaN", "goroutine"} {
		if strings.Contains(body, bad) {
			t.Errorf("%s holds %q", page, bad)
		}
	}
	if !strings.Contains(body, "</html>") {
		t.Errorf("%s is cut short", page)
	}
}

// A template that no page uses would be shown by no test.
func TestEveryTemplateIsNamedInATest(t *testing.T) {
	t.Parallel()
	entries, err := os.ReadDir("templates")
	if err != nil {
		t.Fatal(err)
	}
	tests := ""
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if strings.HasSuffix(f.Name(), "_test.go") {
			text, err := os.ReadFile(f.Name())
			if err != nil {
				t.Fatal(err)
			}
			tests += string(text)
		}
	}
	for _, e := range entries {
		name := strings.TrimSuffix(e.Name(), ".html")
		if !e.IsDir() && name != "problem" && !strings.Contains(tests, `"`+name+`"`) {
			t.Errorf("no test shows the template %s", name)
		}
	}
}
