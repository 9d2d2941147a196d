package browsertest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image/png"
	"net/http"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	qr "github.com/piglig/go-qr"

	"rigtally/journal"
	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// visitor is somebody with a browser of their own.
func (p public) visitor(t *testing.T, on screen) *thumb {
	t.Helper()
	h := &thumb{t: t, browser: p.open(t, on), on: on}
	h.nextPage()
	return h
}

// another is somebody else at the same machine, who shares nothing with whom the browser was opened for.
func (h *thumb) another() *thumb {
	h.t.Helper()
	ctx, cancel := chromedp.NewContext(h.browser, chromedp.WithNewBrowserContext())
	browsers.atClose(h.t, cancel)
	do(h.t, ctx)
	other := &thumb{t: h.t, browser: ctx, on: h.on}
	other.nextPage()
	return other
}

// shows takes a picture of the page at hand, where pictures are taken.
func (h *thumb) shows(name string) {
	h.t.Helper()
	if *picturesTo == "" {
		return
	}
	height := evaluated[int64](h.t, h.ctx, "document.documentElement.scrollHeight")
	do(h.t, h.ctx, chromedp.EmulateViewport(h.on.width, max(height, h.on.height)))
	picture := webtest.Got(chromedp.Run(h.ctx, chromedp.CaptureScreenshot()))(h.t)
	do(h.t, h.ctx, chromedp.EmulateViewport(h.on.width, h.on.height))
	folder := filepath.Join(*picturesTo, "invited")
	webtest.Got(0, os.MkdirAll(folder, 0o755))(h.t)
	webtest.Got(0, os.WriteFile(filepath.Join(folder, name+".png"), picture, 0o644))(h.t)
}

func (h *thumb) types(sel chromedp.CSS, text string) {
	h.t.Helper()
	h.tap(sel)
	do(h.t, h.ctx, chromedp.SendKeys(sel, text))
}

// party is an owner, a client and their phone, and a guide.
type party struct {
	*webtest.Book
	public
	*signal
	owner, client, guide *thumb
}

// invites has the owner invite somebody, and is the link as a camera reads it off the screen.
func (p *party) invites(name string, role journal.Role) string {
	t, h := p.owner.t, p.owner
	t.Helper()
	h.open(p.address + "/people/invite")
	h.types(named("name"), name)
	h.choose(`[name=role]`, string(role))
	h.shows("01-owner-invites-" + string(role))
	h.tap(`main .button-main`)
	h.wait(`document.querySelector(".qr")?.naturalWidth > 0`)
	h.shows("02-link-for-" + string(role))
	seen := webtest.Got(png.Decode(bytes.NewReader(webtest.Got(chromedp.Run(h.ctx, chromedp.Screenshot(chromedp.CSS(".qr"))))(t))))(t)
	link := webtest.Got(qr.Decode(seen))(t)
	if shown := evaluated[string](t, h.ctx, `document.getElementById("link").value`); link != shown || !strings.HasPrefix(link, p.address+"/join/") {
		t.Fatalf("the picture reads as %q beside the link %q", link, shown)
	}
	return link
}

// joins takes up an invitation by a passkey.
func (h *thumb) joins(link string) {
	h.t.Helper()
	withPasskeys(h.t, h.ctx)
	h.open(link)
	h.wait(`!document.querySelector("[data-passkey]").hidden`)
	h.shows("03-joins-" + map[bool]string{true: "phone", false: "desk"}[h.on.touch])
	h.tap(`[data-passkey] button`)
	h.wait(`location.pathname === "/account"`)
}

// loses takes the client's phone out of every network, or brings it back.
func (p *party) loses(lost bool) {
	p.client.t.Helper()
	if !lost {
		p.lose(false)
	}
	p.client.airplane(lost)
	if lost {
		p.lose(true)
	}
}

// An owner invites a client, who scans the link, signs in by a passkey, logs without signal and sees their own; a guide
// logs for the client; and once the owner has withdrawn the client, the phone is refused, and keeps what was not sent.
func TestInvitedClient(t *testing.T) {
	t.Parallel()
	const name, water, guide, second = "Tamsin Orrery", "Invented Beck", "Wren Sallow", "Fell Brook"
	p := &party{Book: webtest.NewBook(t)}
	p.public = servePublic(t, p.Site, "journal.example.org", func(at web.Place) door.Door {
		from := func(r *http.Request) netip.Addr { ip, _ := at.Visitor(r); return ip }
		return webtest.Got(door.NewPeople(p.Store, webtest.Got(url.Parse(at.Origin))(t), from, time.Now))(t)
	})
	p.signal = signalOf(t, p.public.port)
	p.owner = p.visitor(t, laptop)
	p.owner.joins(p.address + "/join/" + webtest.Got(p.Store.Invite(t.Context(), journal.Invitation{Name: "Oda", Role: journal.RoleOwner}))(t))
	outfit := webtest.Got(p.Store.Outfit(t.Context()))(t)
	outfit.Name = "Invented Outfit"
	p.Must(p.Store.SetOutfit(t.Context(), outfit))
	before := p.Sessions(t)

	// Invited, in, out and in again.
	link := p.invites(name, journal.RoleClient)
	phoned := p.public
	phoned.rules = leading("journal.example.org", p.signal.port)
	p.client = phoned.visitor(t, phone)
	files := downloads(p.client.browser, t)
	c := p.client
	c.joins(link)
	c.shows("04-client-has-joined")
	c.chip("Sign out here")
	c.wait(`location.pathname === "/sign-in" && !document.querySelector("[data-passkey]").hidden`)
	c.shows("05-client-signs-in")
	c.tap(`[data-passkey] button`)
	c.wait(`location.pathname === "/" && document.body.dataset.for`)
	c.installed()
	c.wait(`(caches.match("/after").then((page) => { window.keeps = Boolean(page); }), window.keeps)`)
	c.knows(`known.self`)
	c.shows("06-client-begins")

	// Logged without signal, and arrived.
	p.loses(true)
	c.open(p.address + "/after")
	c.types("#pick-water-new", water)
	c.chip("New rig")
	c.tap(`#new-rig label:has([name="junction"][value="blood"])`)
	c.chip("Save the rig")
	c.chip("1 h")
	c.tap(kind("tangle"))
	c.shows("07-client-logs-without-signal")
	c.tap("#save")
	c.sees("Waits for signal")
	c.shows("08-it-waits")
	if n := p.Sessions(t); n != before {
		t.Fatalf("%d sessions arrived without signal", n-before)
	}
	p.loses(false)
	p.client.holds(p.Site, before+1)
	c.wait(`document.querySelector("#nothing-waits").checkVisibility()`)
	members := webtest.Got(p.Store.Members(t.Context()))(t)
	member := members[slices.IndexFunc(members, func(m journal.Member) bool { return m.Name == name })]
	own := p.LastLogged(t)
	deeds := webtest.Got(p.Store.SessionHistory(t.Context(), own.ID))(t)
	if own.AnglerID != *member.Angler || len(deeds) != 1 || *deeds[0].Person != member.Person || !slices.Equal(eventsOf(own.Stints[0]), []string{"1 tangle"}) {
		t.Errorf("stored %s by %s", webtest.InJSON(own), webtest.InJSON(deeds))
	}
	c.open(p.address + "/season")
	c.sees(water)
	c.shows("09-client-sees-the-season")
	c.open(p.address + "/")
	c.sees("Latest sessions")
	c.wait(`document.querySelector("#pick-water")`) // what the journal knows by now
	c.shows("10-client-sees-today")

	// A guide logs for the client.
	p.guide = p.owner.another()
	p.guide.joins(p.invites(guide, journal.RoleGuide))
	p.guide.open(p.address + "/log")
	p.guide.choose(`[name=angler]`, own.AnglerID.String())
	p.guide.choose(`[name=water]`, p.Water.ID.String())
	p.guide.types(named("stint.0.minutes"), "1h30")
	p.guide.tap(`[name="stint.0.at.all.landed"] + .step`)
	p.guide.tap(`[name="stint.0.at.all.twist"] + .step`)
	p.guide.shows("11-guide-logs-for-the-client")
	press(t, p.guide.ctx, button("save"))
	p.guide.wait(`location.search.includes("done=logged")`)
	p.guide.holds(p.Site, before+2)
	led := p.LastLogged(t)
	deeds = webtest.Got(p.Store.SessionHistory(t.Context(), led.ID))(t)
	if led.AnglerID != own.AnglerID || deeds[0].Role != journal.RoleGuide || deeds[0].Name != guide {
		t.Errorf("stored %s by %s", webtest.InJSON(led), webtest.InJSON(deeds))
	}
	p.guide.shows("12-guide-has-logged")
	c.open(p.address + "/sessions")
	c.wait(`document.querySelectorAll(".session-rows a").length === 2`)
	c.shows("13-client-sees-both")
	c.tap(chromedp.CSS(fmt.Sprintf(`a[href="/sessions/%s"]`, led.ID)))
	c.sees("Logged by")
	c.shows("14-client-sees-what-the-guide-logged")
	text := evaluated[string](t, c.ctx, `document.documentElement.outerHTML`)
	if by := evaluated[string](t, c.ctx, `[...document.querySelectorAll("dt")].find((e) => e.textContent === "Logged by").nextElementSibling.textContent`); by != "the guide" || strings.Contains(text, guide) {
		t.Errorf("logged by %q, and the guide is named: %t", by, strings.Contains(text, guide))
	}

	// Withdrawn while the phone is without signal.
	p.loses(true)
	c.open(p.address + "/after")
	c.choose("#pick-water", "new")
	c.types("#pick-water-new", second)
	c.chip("2 h")
	c.tap(kind("landed"))
	c.tap("#save")
	c.sees("Waits for signal")
	o := p.owner
	o.open(p.address + "/people")
	o.shows("15-owner-sees-the-people")
	o.tap(chromedp.CSS(fmt.Sprintf(`main a[href="/people/%s"]`, member.Person)))
	o.tap(`main a[href$="/remove"]`)
	o.tap(`label:has([name="how"][value="keep"])`)
	o.shows("16-owner-removes-the-client")
	o.tap(`main .button-main`)
	o.wait(`location.pathname === "/people"`)
	o.shows("17-client-is-removed")
	p.loses(false)
	c.sees("You don’t belong to a journal here any more.")
	c.open(p.address + "/")
	c.sees("You don’t belong to a journal here any more.")
	c.shows("18-phone-is-refused")
	c.tap(`main a[href="/waiting"]`)
	c.wait(`document.querySelector("#waiting-list")?.children.length === 1 && document.querySelector("#take-along").checkVisibility()`)
	c.shows("19-phone-keeps-what-is-unsent")
	if got := evaluated[int](t, c.ctx, `fetch("/api/known").then((a) => a.status)`, chromedp.EvalAwaitPromise); got != http.StatusUnauthorized {
		t.Errorf("status %d for who was removed", got)
	}
	c.tap("#save-file")
	var kept struct {
		Sessions []struct {
			Session journal.Session
			Water   string
		}
	}
	file := saved(t, files, "rigtally-unsent.json")
	if err := json.Unmarshal(file, &kept); err != nil || len(kept.Sessions) != 1 {
		t.Fatalf("the file holds %s, %v", file, err)
	}
	if unsent := kept.Sessions[0]; unsent.Water != second || unsent.Session.AnglerID != own.AnglerID || unsent.Session.Stints[0].RigID != own.Stints[0].RigID ||
		*unsent.Session.Stints[0].Minutes != 120 || !slices.Equal(eventsOf(unsent.Session.Stints[0]), []string{"1 fair hookup, landed"}) {
		t.Errorf("the file holds %s", file)
	}
	waters := webtest.Got(p.Store.Waters(t.Context()))(t)
	if n := p.Sessions(t) - before; n != 2 || slices.ContainsFunc(waters, func(w journal.Water) bool { return w.Name == second }) {
		t.Errorf("%d sessions, and waters %s", n, webtest.InJSON(waters))
	}
}
