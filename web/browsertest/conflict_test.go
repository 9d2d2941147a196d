package browsertest

import (
	"slices"
	"testing"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// conflicting logs a session whose send is cut, and has it edited at a desk
// before the phone sends again.
func conflicting(t *testing.T, b *webtest.Book, h *thumb, g *gate) journal.Session {
	t.Helper()
	g.cut.Store(1000)
	h.open(g.url + "/")
	h.tap(`button[value="after"]`)
	h.chip("1 h")
	h.tap(kind("landed"))
	h.tap(`#save`)
	h.wait(`location.pathname === "/waiting"`)
	h.sees("No answer yet")
	s := b.LastLogged(t)
	s.Notes = "Two more fish, written at the desk"
	s.Stints[0].Events[0].Count = 3
	s, err := b.Store.SaveSession(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	g.cut.Store(0)
	h.sendNow()
	h.sees("The journal has another version")
	h.sees("Two more fish, written at the desk") // side by side
	h.sees("1 h: 1 landed")
	h.sees("1 h: 3 landed")
	return s
}

func TestBrowserShowsAConflictAndLetsChoose(t *testing.T) {
	t.Parallel()
	for choice, check := range map[string]func(t *testing.T, b *webtest.Book, s journal.Session, added int){
		"Keep mine, as a new version": func(t *testing.T, b *webtest.Book, s journal.Session, added int) {
			now, err := b.Store.SessionByID(t.Context(), s.ID)
			if err != nil || added != 1 || now.Version != 3 || now.Stints[0].Events[0].Count != 1 || now.Notes != "" {
				t.Errorf("%d sessions, %s, %v", added, webtest.InJSON(now), err)
			}
		},
		"Keep the journal’s": func(t *testing.T, b *webtest.Book, s journal.Session, added int) {
			now, err := b.Store.SessionByID(t.Context(), s.ID)
			if err != nil || added != 1 || now.Version != 2 || now.Stints[0].Events[0].Count != 3 {
				t.Errorf("%d sessions, %s, %v", added, webtest.InJSON(now), err)
			}
		},
		"Keep both": func(t *testing.T, b *webtest.Book, s journal.Session, added int) {
			now, err := b.Store.SessionByID(t.Context(), s.ID)
			other := b.LastLogged(t)
			if err != nil || added != 2 || now.Version != 2 || other.ID == now.ID || other.Version != 1 || other.Stints[0].Events[0].Count != 1 {
				t.Errorf("%d sessions, %s, %s, %v", added, webtest.InJSON(now), webtest.InJSON(other), err)
			}
		},
	} {
		b := webtest.NewBook(t)
		before := b.Sessions(t)
		h, g := openOffline(t, phone), newGate(t, b.Site)
		s := conflicting(t, b, h, g)
		h.chip(choice)
		h.wait(`document.querySelector("p.waiting").hidden && document.querySelector("#waiting-list").children.length === 0`)
		check(t, b, s, b.Sessions(t)-before)
	}
}

// A fly change may cost no tag, also one that was refused for it before and waits.
func TestBrowserNoTagIsCut(t *testing.T) {
	t.Parallel()
	for _, on := range []screen{phone, laptop} {
		b := webtest.NewBook(t)
		before := b.Sessions(t)
		g := newGate(t, b.Site)
		h := openOffline(t, on)
		h.open(g.url + "/")
		h.tap(rigButton(b.One))
		h.tap(`button[value="live"]`)
		h.fishing()
		h.tap(kind("fly-change"))
		h.chip("None")
		h.wait(`document.querySelector("#recent").innerText.includes("no tag cut") && document.querySelector("#tag-now").innerText.includes("165.1")`)
		g.shut.Store(true)
		h.tap(`#end-open`)
		h.tap(`#save`)
		h.sees("No answer yet")
		h.evaluate(`{
			const open = indexedDB.open("rigtally");
			open.onsuccess = () => {
				const t = open.result.transaction("drafts", "readwrite"), s = t.objectStore("drafts");
				s.getAll().onsuccess = (e) => s.put({ ...e.target.result[0], state: "refused", problems: ["A cut of the tag of 0 mm can’t be."] });
				t.oncomplete = () => location.reload();
			};
		}`)
		h.sees("A cut of the tag of 0 mm can’t be.")
		g.shut.Store(false)
		h.sendNow()
		h.sees("It has arrived.")
		s := b.LastLogged(t)
		if e := s.Stints[0].Events; b.Sessions(t)-before != 1 || len(e) != 1 || e[0].Kind != journal.EventFlyChange || e[0].CutMM == nil || *e[0].CutMM != 0 {
			t.Errorf("stored %s", webtest.InJSON(s.Stints))
		}
	}
}

// What the journal refuses waits with its sentence until it is changed; what is
// discarded can be brought back.
func TestBrowserRefusedWaitsAndDiscardedComesBack(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	before := b.Sessions(t)
	h, g := openOffline(t, laptop), newGate(t, b.Site)
	h.open(g.url + "/after")
	h.chip("1 h")
	h.chip("another time")
	h.choose("#from", "10:00")
	h.choose("#to", "10:30")
	h.tap(kind("landed"))
	h.tap(`#save`)
	h.wait(`location.pathname === "/waiting"`)
	h.sees("The stints add up to 60 minutes, but the session lasted 30")
	h.chip("Discard")
	h.sees("Nothing waits")
	h.chip("Bring it back")
	h.wait(`[...document.querySelectorAll("#waiting-list a")].some((a) => a.textContent === "Change it")`)
	h.sees("The stints add up")
	h.tapThe(`[...document.querySelectorAll("#waiting-list a")].find((a) => a.textContent === "Change it")`)
	h.wait(`location.pathname === "/after" && document.querySelector("#after:not([hidden])")`)
	h.chip("30 min")
	h.wait(`document.querySelector("#in-short").textContent.startsWith("30 min")`)
	h.tap(`#save`)
	h.sees("The session is saved.")
	if n := b.Sessions(t) - before; n != 1 {
		t.Errorf("%d sessions, want 1", n)
	}
}

// A page whose session was ended on another one says so, whether it was told or not, counts nothing,
// and names the tap that it could not count. It needs neither a buzz nor a screen that stays on.
func TestBrowserPageOfAnEndedSessionCountsNothing(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	h := openOffline(t, phone)
	plain := `delete Navigator.prototype.vibrate; delete Navigator.prototype.wakeLock;`
	h.before(plain + `delete window.BroadcastChannel;`)
	h.open(b.URL + "/")
	h.tap(`button[value="live"]`)
	h.fishing()
	h.tap(kind("landed"))
	h.wait(`document.querySelector('[data-kind="landed"] .n').textContent === "1"`)
	deaf := *h
	h.closePage = nil
	h.nextPage()
	h.before(plain)
	h.open(b.URL + "/live")
	h.fishing()
	told := *h
	h.closePage = nil
	h.nextPage()
	h.open(b.URL + "/live")
	h.fishing()
	h.tap(`#end-open`)
	h.tap(`#save`)
	h.sees("The session is saved.")
	told.sees("This session has ended")
	told.wait(`!document.querySelector("#live").checkVisibility() && document.querySelector(".tabs").checkVisibility()`)
	deaf.evaluate(`document.querySelector('[data-kind="twist"]').click()`)
	deaf.sees("Your tap on Twist came after that and was not counted")
	deaf.wait(`!document.querySelector("#live").checkVisibility()`)
	s := b.LastLogged(t)
	if got := eventsOf(s.Stints[0]); !slices.Equal(got, []string{"1 fair hookup, landed"}) {
		t.Errorf("stored %q", got)
	}
	deaf.tapThe(`[...document.querySelectorAll("#over-ways a")].find((a) => a.textContent === "Open the session")`)
	deaf.wait(`location.pathname === "/sessions/` + s.ID.String() + `"`)
}
