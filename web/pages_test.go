package web_test

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// Every page is asked for with something to show, and every template is used.
func TestEveryPageIsShown(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	gone := b.Session
	gone.ID, gone.Version = webtest.NewID(t), 0
	for i := range gone.Stints {
		gone.Stints[i].ID = webtest.NewID(t)
	}
	if _, err := b.Store.SaveSession(t.Context(), gone); err != nil {
		t.Fatal(err)
	}
	if err := b.Store.DeleteSession(t.Context(), gone.ID, 0); err != nil {
		t.Fatal(err)
	}
	sheet := "date,angler,water,minutes,tangles\n2026-05-09,Ilse,Alder Brook,60,1\n"
	waits := b.Upload("/import", nil, webtest.File{Name: "waits.csv", Text: sheet}).Header.Get("Location")
	renamed := webtest.Got(b.Store.Rename(t.Context(), journal.Thing{Kind: journal.ThingRig, ID: b.Two.ID}, "Three flies in a row"))(t)
	session, rig := "/sessions/"+b.Session.ID.String(), "/rigs/"+b.One.ID.String()
	for template, pages := range map[string]map[string]string{
		"today":        {"/": "Start fishing now"},
		"live":         {"/live": "Broke off"},
		"after":        {"/after": "The plain form"},
		"waiting":      {"/waiting": "as soon as there is signal"},
		"offline":      {"/offline": "stays on this phone"},
		"expired":      {"/expired": "Your sign-in on this phone has ended"},
		"log":          {"/log": "Stint 1", session + "/edit": "brown trout", "/log?rig=" + b.Two.ID.String(): "On dropper 2 only"},
		"sessions":     {"/sessions": "Alder Brook", "/sessions?season=2026&angler=" + b.Angler.ID.String(): "Mill Run", "/sessions?season=1999": "No session", "/sessions?undo=" + gone.ID.String(): "Undo"},
		"deleted":      {"/sessions/deleted": "Restore"},
		"session":      {session: "Rain &lt;at&gt; noon", session + "?done=logged": "The session is saved."},
		"recorded":     {"/recorded": "Nobody said what was counted"},
		"recordedmark": {"/recorded/mark": "Not counted", "/recorded/mark?not=tangles&from=2026-05-01&to=2026-05-31&angler=" + b.Angler.ID.String(): "2 stints in 1 session"},
		"rigs":         {"/rigs": "Blood 165"},
		"rules":        {"/rigs/rules": "Examples to check against the rules in force"},
		"ruleset":      {"/rigs/rules/new": "Leave blank anything without a rule"},
		"rig":          {rig: "Tippet ring", "/rigs/" + b.Two.ID.String(): "slip loop"},
		"rigform":      {"/rigs/new": "Dropper 1", rig + "/edit": "was fished"},
		"anglers":      {"/anglers": "Ilse"},
		"angler":       {"/anglers/new": "Add an angler", "/anglers/" + b.Angler.ID.String(): "Ilse"},
		"waters":       {"/waters": "Mill Run"},
		"water":        {"/waters/new": "Add a water", "/waters/" + b.Water.ID.String(): "Mill Run"},
		"planner":      {"/planner": "Your numbers"},
		"season":       {"/season": "Ilse"},
		"life":         {"/life": "Ask about knot life"},
		"next":         {"/next": "Settle it"},
		"clients":      {"/clients": "Ilse"},
		"junction":     {"/junction": "How long a junction lasts"},
		"settings":     {"/settings": "Time zone"},
		"import":       {"/import": "Nothing is written before you say so"},
		"importread":   {waits: "Write 1 session"},
		"names":        {"/names": "slip loop"},
		"name":         {"/names/anglers/" + b.Angler.ID.String(): "1 session", "/names/beats/" + b.Water.Beats[0].ID.String(): "Mill Run", "/names/knots/slip%20loop": "Merge into", "/names/rigs/" + b.Two.ID.String(): "Three flies in a row"},
		"steps":        {"/steps": "can be taken back"},
		"step":         {"/steps/" + renamed.Step.String(): "Take it back"},
	} {
		for page, want := range pages {
			got := b.Get(page)
			if got.Status != http.StatusOK || !strings.Contains(got.Body, want) {
				t.Errorf("%s (%s): status %d, without %q", page, template, got.Status, want)
			}
			webtest.CheckPage(t, page, got.Body)
		}
	}
	if b.Log.Len() > 0 {
		t.Errorf("the log holds: %s", b.Log)
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
	files, err := filepath.Glob("*_test.go")
	if err != nil {
		t.Fatal(err)
	}
	below, err := filepath.Glob("*/*_test.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range append(files, below...) {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		tests += string(text)
	}
	for _, e := range entries {
		name := strings.TrimSuffix(e.Name(), ".html")
		if !e.IsDir() && name != "problem" && !strings.Contains(tests, `"`+name+`"`) {
			t.Errorf("no test shows the template %s", name)
		}
	}
}
