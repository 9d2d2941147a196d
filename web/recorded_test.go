package web

import (
	"fmt"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"rigtally/analytics/quality"
	"rigtally/journal"
	"rigtally/journal/demo"
)

// runsLeft are the runs of which no count seems to have been kept.
func (s *site) runsLeft(t *testing.T) []quality.UncountedRun {
	t.Helper()
	c, err := quality.WhatWasCounted(t.Context(), s.store)
	if err != nil {
		t.Fatal(err)
	}
	return c.Runs
}

// A run is marked by thumb and by mouse: the page asks once, and what was done is taken back.
func TestBrowserMarksARunAndTakesItBack(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		on   screen
		dark bool
	}{{"phone", phone, false}, {"desktop", laptop, true}} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := newSite(t)
			if err := demo.Load(t.Context(), s.store, demo.Generate(demo.Seed, demo.Sessions)); err != nil {
				t.Fatal(err)
			}
			ctx := openBrowser(t, tt.on, tt.dark)
			look := func(step string) {
				t.Helper()
				wide, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.documentElement.scrollWidth > innerWidth`))
				if err != nil || wide {
					t.Errorf("%s is wider than the screen, %v", step, err)
				}
				if dir := os.Getenv("LOOK"); dir != "" {
					png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
					if err != nil {
						t.Fatal(err)
					}
					_ = os.WriteFile(fmt.Sprintf("%s/%s-%s.png", dir, step, tt.name), png, 0o644)
				}
			}
			do(t, ctx, chromedp.Navigate(s.url+"/sessions"))
			look("sessions")
			press(t, ctx, `main a[href="/recorded"]`)
			look("recorded")
			press(t, ctx, `main .rows a[href^="/recorded/mark?"]`)
			look("asked")
			press(t, ctx, `form[method="post"] .button-main`)
			look("marked")
			if left := s.runsLeft(t); len(left) != 0 {
				t.Errorf("after marking: %+v", left)
			}
			press(t, ctx, `form.notice button`)
			if left := s.runsLeft(t); len(left) != 1 {
				t.Errorf("taken back: %+v", left)
			}
			said, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector(".notice").textContent`))
			if err != nil || !strings.Contains(said, "Taken back") {
				t.Errorf("%q, %v", said, err)
			}
		})
	}
}

// Whose stints, which days and which kinds are asked for, and nothing is marked before.
func TestMarkingAsksFirst(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	days := url.Values{"angler": {b.angler.ID.String()}, "from": {"2026-05-01"}, "to": {"2026-05-31"}, "not": {"snags"}}
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
		{without("not"), "Tick at least one."},
		{without("not", "knots"), "is not known"},
		{without("to", "2026-05-01", "x"), ""},
		{url.Values{"angler": days["angler"], "from": {"1999-01-01"}, "to": {"1999-12-31"}, "not": {"snags"}}, "No session of that angler"},
	} {
		got := b.get("/recorded/mark?" + tt.form.Encode())
		if want := http.StatusUnprocessableEntity; tt.want != "" && (got.status != want || !strings.Contains(got.body, tt.want)) {
			t.Errorf("%v: status %d, without %q", tt.form, got.status, tt.want)
		}
		checkPage(t, "/recorded/mark", got.body)
	}
	kept := func() journal.Session {
		t.Helper()
		s, err := b.store.SessionByID(t.Context(), b.session.ID)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	if s := kept(); s.Version != 1 {
		t.Errorf("asking stored version %d", s.Version)
	}
	got := b.post("/recorded/mark", days)
	to := got.header.Get("Location")
	if s := kept(); got.status != http.StatusSeeOther || s.Version != 2 || s.Stints[0].Recorded.Has(journal.KindSnags) || !strings.Contains(to, "forget=yes") {
		t.Fatalf("status %d to %s, stored %+v", got.status, to, s)
	}
	if page := b.get(to); !strings.Contains(page.body, "Undo") {
		t.Error("no way to take it back")
	}
	if page := b.get(strings.Replace(to, b.angler.ID.String(), newID(t).String(), 1)); page.status != http.StatusOK || strings.Contains(page.body, "Undo") {
		t.Errorf("for nobody it offers to undo, status %d", page.status)
	}
	if page := b.get("/sessions/" + b.session.ID.String()); !strings.Contains(page.body, "Not counted: snags.") || !strings.Contains(page.body, "<td class=\"number\">not recorded</td>") {
		t.Error("the session shows a zero where nothing was counted")
	}
	edit := "/sessions/" + b.session.ID.String() + "/edit"
	b.press(edit, fields(b.get(edit).body), "save", map[string]string{"notes": "sun"})
	if s := kept(); s.Version != 3 || s.Notes != "sun" || s.Stints[0].Recorded.Has(journal.KindSnags) {
		t.Errorf("after an edit: %+v", s)
	}
	b.post("/recorded/mark", url.Values{"angler": days["angler"], "from": days["from"], "to": days["to"], "forget": {"yes"}})
	if s := kept(); s.Version != 4 || !s.Stints[0].Recorded.Assumed() {
		t.Errorf("taken back: %+v", s)
	}
	if got := b.post("/recorded/mark", without("not")); got.status != http.StatusUnprocessableEntity {
		t.Errorf("marking nothing: status %d", got.status)
	}
}

// Lists and the week show no zero where no count was kept.
func TestNoZeroWithoutACount(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	s := b.session
	s.ID, s.Version, s.Day = newID(t), 0, b.server.today("UTC")
	s.Stints = []journal.Stint{
		{ID: newID(t), RigID: b.one.ID, Minutes: ptr(60.0), Recorded: journal.RecordedOf(journal.KindHookups), Events: []journal.Event{{Kind: journal.EventHookup, Count: 3}}},
		{ID: newID(t), RigID: b.two.ID, Minutes: ptr(60.0), Recorded: journal.AllRecorded().Without(journal.KindHookups, journal.KindTangles)},
	}
	if _, err := b.store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	plain := func(page string) string { return strings.ReplaceAll(b.get(page).body, "\u00a0", " ") }
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
	if body := plain("/rigs/" + b.two.ID.String()); !strings.Contains(body, "not recorded") {
		t.Error("a rig shows nothing of what was not counted")
	}
}
