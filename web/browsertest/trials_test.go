package browsertest

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// A trial is planned by thumb or mouse, its first stint started, and the arm told.
func TestBrowserPlansAndStartsATrial(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		on   screen
		dark bool
	}{{"phone", phone, false}, {"desktop", laptop, true}} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			b := webtest.NewBook(t)
			ctx := openPlain(t, tt.on, tt.dark)
			do(t, ctx, chromedp.Navigate(b.URL+"/trials"))
			press(t, ctx, `main a[href="/trials/new"]`)
			do(t, ctx, chromedp.SendKeys(named("name"), "Up or down"), chromedp.SetValue(named("outcome"), "tangles"))
			if _, err := chromedp.Run(ctx, choosing(t, "facing")); err != nil {
				t.Fatal(err)
			}
			do(t, ctx, chromedp.SetValue(named("a"), "up"), chromedp.SetValue(named("b"), "down"))
			press(t, ctx, button("plan"))
			if list, err := b.Store.Trials(t.Context()); err != nil || len(list) != 0 {
				t.Fatalf("sealed before its chance was shown: %+v, %v", list, err)
			}
			do(t, ctx, chromedp.WaitVisible(chromedp.CSS("#chance")))
			press(t, ctx, button("plan"))
			press(t, ctx, chromedp.CSS(`form[action$="/start"] button`))
			list, err := b.Store.Trials(t.Context())
			if err != nil || len(list) != 1 || len(list[0].Units) != 1 {
				t.Fatalf("stored %+v, %v", list, err)
			}
			arm := list[0].Units[0].Arm
			told, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector("#now .tie-arm").innerText`))
			want := "Facing " + list[0].Arms[arm.Index()].Level
			if err != nil || !strings.Contains(told, want) || !strings.Contains(told, string(arm)) {
				t.Errorf("told %q, want %s, %s (%v)", told, arm, want, err)
			}
			press(t, ctx, chromedp.CSS(`form[action$="/back"] button`))
			if got, err := b.Store.TrialByID(t.Context(), list[0].ID); err != nil || len(got.Units) != 0 || got.Undone != 1 {
				t.Errorf("taken back: %+v, %v", got, err)
			}
		})
	}
}

// Without script and by keyboard alone: Tab to the button that starts the next
// stint and press Enter; then set a stint apart with a reason.
func TestBrowserStartsATrialByKeyboard(t *testing.T) {
	t.Parallel()
	s, trial := webtest.WithOpenTrial(t)
	ctx := openPlain(t, phone, true)
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	at := s.URL + "/trials/" + trial.ID.String()
	do(t, ctx, chromedp.Navigate(at), chromedp.Focus(chromedp.CSS(`form[action$="/start"] button`)))
	if _, err := chromedp.Run(ctx, chromedp.WaitEvent(page.LoadEventFired, nil, chromedp.KeyEvent(kb.Enter))); err != nil {
		t.Fatal(err)
	}
	if got := s.Held(trial.ID); len(got.Units) != 13 {
		t.Fatalf("%d are started", len(got.Units))
	}
	do(t, ctx, chromedp.Navigate(at+"/units/13"))
	if _, err := chromedp.Run(ctx, chromedp.WaitEvent(page.LoadEventFired, nil, chromedp.SendKeys(named("why"), "the line froze"+kb.Tab+kb.Enter))); err != nil {
		t.Fatal(err)
	}
	if got := s.Held(trial.ID).Units[12]; got.Status != journal.UnitBroke || got.Reason != "the line froze" {
		t.Errorf("stored %+v", got)
	}
}

// The evidence is drawn, in both looks, and nothing goes sideways or is too small
// for a thumb, on the smallest screens too.
func TestBrowserShowsATrial(t *testing.T) {
	t.Parallel()
	s, trial := webtest.WithTrial(t)
	at := "/trials/" + trial.ID.String()
	for _, tt := range []struct {
		name string
		on   screen
		dark bool
	}{{"small", screen{320, 640, true}, true}, {"phone", phone, false}, {"desktop", laptop, true}} {
		ctx := openPlain(t, tt.on, tt.dark)
		for _, path := range []string{at, at + "/units/3", "/trials", "/trials/new"} {
			do(t, ctx, chromedp.Navigate(s.URL+path), chromedp.Evaluate[chromedp.Void](`for (const d of document.querySelectorAll("details")) d.open = true; 0`))
			list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](small))
			if err != nil {
				t.Fatal(err)
			}
			for _, what := range list {
				t.Errorf("%s, %s: %s", tt.name, path, what)
			}
			if path != at {
				continue
			}
			drawn, err := chromedp.Run(ctx, chromedp.Evaluate[int](`document.querySelectorAll(".chart-frame path, .chart-frame circle").length`))
			if err != nil {
				t.Fatal(err)
			}
			if drawn < 14 {
				t.Errorf("%s: the chart has %d marks", tt.name, drawn)
			}
		}
	}
}

// The arm that a trial was told to tie is what the next session starts with; before that the
// start of fishing leads to where it is told.
func TestBrowserStartsWithTheArmOfATrial(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	plan := webtest.Got(b.Store.PlanTrial(t.Context(), journal.Trial{ID: webtest.NewID(t), Name: "One or three", Outcome: "tangles", Factor: "rig", Unit: journal.BySession, Worth: 1.5, MostHours: 40,
		Arms: [2]journal.TrialArm{{RigID: &b.One.ID}, {RigID: &b.Two.ID}}}))(t)
	h := &thumb{t: t, ctx: openPlain(t, phone, false), on: phone}
	h.open(b.URL + "/live")
	h.sees("Trial One or three: session 1 is next. Start it to see what to tie.")
	rig := b.Two
	for n := 1; rig.ID == b.Two.ID; n++ { // the last session ended with that one
		u := webtest.Got(b.Store.StartTrialUnit(t.Context(), plan.ID, n, time.Now()))(t)
		rig = []journal.Rig{b.One, b.Two}[u.Arm.Index()]
	}
	h.open(b.URL + "/")
	h.knows(`known.trials[0].arm`)
	h.open(b.URL + "/live")
	h.sees("Trial One or three: this one is " + rig.Name + ".")
	h.tap(`#start`)
	h.fishing()
	h.wait(`document.querySelector("#rig-name").textContent === "` + rig.Name + `"`)
}
