package browsertest

import (
	"fmt"
	"net/http"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/web/webtest"
)

// What is likelier a slip waits with a question. When the person says that it is so,
// it is sent again and carries that.
func TestBrowserAsksWhetherItIsSo(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	before := b.Sessions(t)
	h, g := openOffline(t, phone), newGate(t, b.Site)
	h.open(g.url + "/after")
	h.chip("30 min")
	for range 11 {
		h.tap(kind("twist"))
	}
	h.tap(`#save`)
	h.wait(`location.pathname === "/waiting"`)
	h.sees("Stint 1 has 11 tangles in 30 min, which is 22 an hour. Is that right?")
	h.sees("The journal has a question first.")
	if n := b.Sessions(t) - before; n != 0 {
		t.Fatalf("%d sessions were stored before it was said", n)
	}
	h.chip("Yes, that is right")
	h.sees("It has arrived")
	if s := b.LastLogged(t); b.Sessions(t)-before != 1 || s.Stints[0].Events[0].Count != 11 {
		t.Errorf("%d sessions, the last %s", b.Sessions(t)-before, webtest.InJSON(s))
	}
}

func padKind(word string) chromedp.CSS {
	return chromedp.CSS(`#counts label:has(input[value="` + word + `"])`)
}

// takesOff opens the control, takes kinds off or puts them back, and closes it.
func (h *thumb) takesOff(kinds ...string) {
	h.t.Helper()
	h.tap(`#counts-open`)
	for _, k := range kinds {
		h.tap(padKind(k))
	}
	h.tap(`#counts [data-close]`)
	h.wait(`!document.querySelector("#counts").open`)
}

// What is on the pad is what is recorded; what is taken off in mid-stint is off for
// all of it, is said plainly, stays off on this device, and can be undone.
func TestBrowserPadSaysWhatIsCounted(t *testing.T) {
	t.Parallel()
	for _, on := range []screen{phone, {320, 568, true}, laptop} {
		b := webtest.NewBook(t)
		h := &thumb{t: t, ctx: openPlain(t, on, false), on: on}
		h.open(b.URL + "/live")
		h.wait(`document.querySelector("#begin:not([hidden]) #pick-angler")`)
		h.tap(`#start`)
		h.fishing()
		h.wait(`document.querySelector("#not-counted").hidden`)
		h.tap(kind("landed"))
		h.wait(`document.querySelector('[data-kind="landed"] .n').textContent === "1"`)
		h.takesOff("snags", "hooking", "tangle-kind")
		h.sees("Not counted in the whole of this stint: fair or foul, snags and kinds of tangle.")
		h.wait(`document.querySelector('[data-kind="snag"]').disabled && document.querySelector('[data-kind="foul"]').disabled && document.querySelector('[data-kind="twist"]').disabled`)
		h.tap(kind("tangle"))
		h.wait(`document.querySelector('[data-kind="tangle"] .n').textContent === "1"`)
		h.takesOff("turns")
		h.wait(`document.querySelector('[data-kind="check"]').disabled`)
		h.tap(`#undo`) // that was a slip
		h.wait(`!document.querySelector('[data-kind="check"]').disabled`)
		h.takesOff("snags") // put back, for the next stint
		h.wait(`document.querySelector('[data-kind="snag"]').disabled`)
		h.tap(`#swap`)
		h.wait(`!document.querySelector('[data-kind="snag"]').disabled`)
		h.tap(`#end-open`)
		h.tap(`#save`)
		h.sees("The session is saved.")
		s := b.LastLogged(t)
		all := journal.AllRecorded()
		first, second := all.Without(journal.KindSnags, journal.KindHooking, journal.KindTangleKind), all.Without(journal.KindHooking, journal.KindTangleKind)
		if len(s.Stints) != 2 || s.Stints[0].Recorded != first || s.Stints[1].Recorded != second {
			t.Fatalf("%d px: stored %s", on.width, webtest.InJSON(s.Stints))
		}
		if got, want := eventsOf(s.Stints[0]), []string{"1 hookup, landed", "1 tangle"}; !slices.Equal(got, want) {
			t.Errorf("%d px: events %q, want %q", on.width, got, want)
		}
		h.open(b.URL + "/after") // the next session begins as this one ended
		h.sees("Not counted: fair or foul and kinds of tangle.")
		h.takesOff("hooking", "tangle-kind", "tangles")
		h.chip("1 h")
		h.tap(kind("lost"))
		h.tap(`#save`)
		h.sees("The session is saved.")
		st := b.LastLogged(t).Stints[0]
		if want := all.Without(journal.KindTangles, journal.KindTangleKind, journal.KindMinutesLost); st.Recorded != want || !slices.Equal(eventsOf(st), []string{"1 fair hookup, lost"}) {
			t.Errorf("%d px: stored %s", on.width, webtest.InJSON(st))
		}
	}
}

// Afterwards start and end give the minutes, past midnight too, breaks taken off;
// the session's page says it back. What can't be is not kept.
func TestBrowserStartAndEndGiveTheMinutes(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	h := &thumb{t: t, ctx: openPlain(t, phone, false), on: phone}
	h.open(b.URL + "/after")
	h.chip("another time")
	enter := func(id, value string) {
		// What is taken is drawn anew, all fields with it, so that the next is typed into the new ones.
		h.wait(fmt.Sprintf(`document.querySelector("#%s") && (document.querySelector("#%[1]s").dataset.old = "yes")`, id))
		h.choose("#"+id, value)
		h.wait(fmt.Sprintf(`document.querySelector("#%s:not([data-old])")?.value === %q`, id, value))
	}
	enter("day", "2026-06-01")
	enter("from", "21:30")
	h.choose("#to", "21:00")
	h.sees("as the next day’s it would make 23 h 30")
	h.tap(`#save`)
	h.wait(`document.querySelector("#after-wrong .wrong")`)
	enter("to", "00:15")
	h.sees("Ends the next day: 2 h 45.")
	enter("breaks", "20")
	h.sees("Start and end give the time fished, without the breaks: 2 h 25.")
	h.tap(`#save`)
	h.sees("It ends the next day: 2 h 45 min from start to end.")
	h.sees("2 h 25 min.")
	s := b.LastLogged(t)
	if s.Day.String() != "2026-06-01" || *s.Stints[0].Minutes != 145 || s.End.Sub(*s.Start).Minutes() != 165 {
		t.Errorf("stored %s", webtest.InJSON(s))
	}
}

// A blank counter of the form becomes 0 with one press of −, and blank again with the next.
func TestBrowserFormTellsNoneFromBlank(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	h := &thumb{t: t, ctx: openPlain(t, phone, false), on: phone}
	h.open(b.URL + "/log?rig=" + b.One.ID.String())
	less := chromedp.CSS(`.counter:has([name="stint.0.at.all.landed"]) .step`)
	for _, want := range []string{"0", "", "0"} {
		h.tap(less)
		h.wait(fmt.Sprintf(`document.querySelector('[name="stint.0.at.all.landed"]').value === %q`, want))
	}
	press(t, h.ctx, button("save"))
	if st := b.LastLogged(t).Stints[0]; st.Recorded != journal.RecordedOf(journal.KindLanded) || len(st.Events) != 0 {
		t.Errorf("stored %s", webtest.InJSON(st))
	}
	if got := b.Get("/sessions/" + b.LastLogged(t).ID.String()); got.Status != http.StatusOK {
		t.Errorf("its page: status %d", got.Status)
	}
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
			s := webtest.New(t)
			if err := demo.Load(t.Context(), s.Store, demo.Generate(demo.Seed, demo.Sessions)); err != nil {
				t.Fatal(err)
			}
			ctx := openPlain(t, tt.on, tt.dark)
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
			do(t, ctx, chromedp.Navigate(s.URL+"/sessions"))
			look("sessions")
			press(t, ctx, `main a[href="/recorded"]`)
			look("recorded")
			press(t, ctx, `main .rows a[href^="/recorded/mark?"]`)
			look("asked")
			press(t, ctx, `form[method="post"] .button-main`)
			look("marked")
			if left := s.RunsLeft(t); len(left) != 0 {
				t.Errorf("after marking: %+v", left)
			}
			press(t, ctx, `form.notice button`)
			if left := s.RunsLeft(t); len(left) != 1 {
				t.Errorf("taken back: %+v", left)
			}
			said, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector(".notice").textContent`))
			if err != nil || !strings.Contains(said, "Undone") {
				t.Errorf("%q, %v", said, err)
			}
		})
	}
}
