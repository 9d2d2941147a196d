package browsertest

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/webauthn"
	"github.com/chromedp/chromedp"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// house is a journal's pages behind the door for people, at a name that browsers trust without a certificate
// (W3C, Secure Contexts, "is origin potentially trustworthy": localhost).
func house(t *testing.T) (at string, store *pg.Store) {
	t.Helper()
	store = webtest.Got(pg.Open(t.Context(), pgtest.NewDatabase(t)))(t)
	t.Cleanup(store.Close)
	ts := httptest.NewServer(nil)
	t.Cleanup(ts.Close)
	at = strings.Replace(ts.URL, "127.0.0.1", "localhost", 1)
	visitor := func(*http.Request) netip.Addr { return netip.MustParseAddr("192.0.2.1") }
	people := webtest.Got(door.NewPeople(store, webtest.Got(url.Parse(at))(t), visitor, time.Now))(t)
	ts.Config.Handler = webtest.Got(web.New(store, web.Options{Door: people}))(t).Handler()
	return at, store
}

func invited(t *testing.T, at string, store *pg.Store, name string, role journal.Role) string {
	t.Helper()
	return at + "/join/" + webtest.Got(store.Invite(t.Context(), journal.Invitation{Name: name, Role: role}))(t)
}

// withPasskeys gives a browser what a phone has that unlocks by a finger or a face.
func withPasskeys(t *testing.T, ctx context.Context) webauthn.AuthenticatorID {
	t.Helper()
	_, err := chromedp.Call(ctx, webauthn.Enable, webauthn.EnableParams{})
	if err != nil {
		t.Fatal(err)
	}
	added, err := chromedp.Call(ctx, webauthn.AddVirtualAuthenticator, webauthn.AddVirtualAuthenticatorParams{Options: &webauthn.VirtualAuthenticatorOptions{
		Protocol: webauthn.AuthenticatorProtocolCtap2, Ctap2version: webauthn.Ctap2versionCtap21, Transport: webauthn.AuthenticatorTransportInternal,
		HasResidentKey: true, HasUserVerification: true, IsUserVerified: true, AutomaticPresenceSimulation: true}})
	if err != nil {
		t.Fatal(err)
	}
	return added.AuthenticatorID
}

// pictured writes a picture of the page where somebody looks at them.
func pictured(t *testing.T, ctx context.Context, name string, on screen) {
	t.Helper()
	if dir := os.Getenv("LOOK"); dir != "" {
		do(t, ctx, chromedp.EmulateViewport(on.width, on.height))
		picture := webtest.Got(chromedp.Run(ctx, chromedp.FullScreenshot(100)))(t)
		webtest.Got(0, os.WriteFile(dir+"/"+name+".png", picture, 0o644))(t)
	}
}

// Somebody is invited, joins with a passkey, signs out, and signs in by it alone, without typing an account.
func TestBrowserJoinsAndSignsInByPasskey(t *testing.T) {
	t.Parallel()
	at, store := house(t)
	link := invited(t, at, store, "Tamsin", journal.RoleGuide)
	ctx := startBrowser(t, phone, false)
	failOnPageErrors(t, ctx, true) // who is signed out, or shows a passkey that is unknown, is refused
	authenticator := withPasskeys(t, ctx)
	do(t, ctx, chromedp.Navigate(link))
	pictured(t, ctx, "join-phone", phone)
	do(t, ctx, chromedp.Click(`[data-passkey] button`))
	waitFor(ctx, t, "the account", `location.pathname === "/account" && document.body.innerText.includes("note it down")`)
	pictured(t, ctx, "account-phone", phone)
	kept := webtest.Got(chromedp.Call(ctx, webauthn.GetCredentials, webauthn.GetCredentialsParams{AuthenticatorID: authenticator}))(t)
	if len(kept.Credentials) != 1 || !kept.Credentials[0].IsResidentCredential || kept.Credentials[0].RpID != "localhost" {
		t.Fatalf("the phone keeps %+v", kept.Credentials)
	}
	account := evaluated[string](t, ctx, `document.querySelector(".lead strong").textContent`)
	do(t, ctx, chromedp.Navigate(at+"/sessions"))
	// The worker fetches its pages before the person is signed out.
	webtest.Got(chromedp.Run(ctx, chromedp.Evaluate[bool](`navigator.serviceWorker.ready.then(() => true)`, chromedp.EvalAwaitPromise)))(t)
	if got := evaluated[string](t, ctx, `location.pathname`); got != "/sessions" {
		t.Errorf("who has joined is at %s", got)
	}
	do(t, ctx, chromedp.Navigate(at+"/account"))
	press(t, ctx, `form[action="/sign-out"] button`)
	waitFor(ctx, t, "the sign-in", `location.pathname === "/sign-in"`)
	do(t, ctx, chromedp.Navigate(at+"/sessions?season=2026"))
	waitFor(ctx, t, "the sign-in", `location.pathname === "/sign-in" && !document.querySelector("[data-passkey]").hidden`)
	pictured(t, ctx, "sign-in-phone", phone)
	do(t, ctx, chromedp.Click(`[data-passkey] button`))
	waitFor(ctx, t, "the page that was wanted", `location.pathname + location.search === "/sessions?season=2026"`)
	a := webtest.Got(store.Door().AccountNamed(t.Context(), account))(t)
	used := webtest.Got(store.Door().Passkeys(t.Context(), a.ID))(t)
	if len(used) != 1 || used[0].Used == nil || a.Passphrase != "" {
		t.Errorf("the journal keeps %+v of %+v", used, a)
	}
	// Only who unlocks the phone is let in, and a passkey that the journal does not know lets nobody in.
	webtest.Got(chromedp.Call(ctx, webauthn.SetUserVerified, webauthn.SetUserVerifiedParams{AuthenticatorID: authenticator, IsUserVerified: false}))(t)
	do(t, ctx, chromedp.Navigate(at+"/sign-in"))
	do(t, ctx, chromedp.Click(`[data-passkey] button`))
	waitFor(ctx, t, "what went wrong", `document.querySelector("[data-passkey] [role=alert]").innerText.includes("not finished")`)
}

// A passkey is added beside a passphrase, named and removed; the last way in stays.
func TestBrowserKeepsALastWayIn(t *testing.T) {
	t.Parallel()
	at, store := house(t)
	ctx := startBrowser(t, laptop, false)
	failOnPageErrors(t, ctx, true) // who is signed out, or shows a passkey that is unknown, is refused
	authenticator := withPasskeys(t, ctx)
	do(t, ctx, chromedp.Navigate(invited(t, at, store, "Orrin", journal.RoleOwner)))
	pictured(t, ctx, "join-laptop", laptop)
	do(t, ctx, chromedp.Click(`[data-show]`))
	do(t, ctx, chromedp.SendKeys(named("passphrase"), "gravel kettle borrowed moonlight"))
	if got := evaluated[string](t, ctx, `document.getElementById("passphrase").type`); got != "text" {
		t.Errorf("what is typed is shown as %q", got)
	}
	do(t, ctx, chromedp.Click(`#join > .actions button:not([data-show])`))
	waitFor(ctx, t, "the account", `location.pathname === "/account" && document.readyState === "complete"`)
	do(t, ctx, chromedp.Click(`[data-passkey] button`))
	waitFor(ctx, t, "the passkey", `document.body.innerText.includes("The passkey is added")`)
	do(t, ctx, chromedp.Click(`[data-passkey] button`))
	waitFor(ctx, t, "that there is one", `document.querySelector("[data-passkey] [role=alert]").innerText.includes("already")`)
	do(t, ctx, chromedp.Click(`details > summary`))
	pictured(t, ctx, "account-laptop", laptop)
	do(t, ctx, chromedp.SetValue(named("name"), "My old phone"))
	press(t, ctx, `form[action$="/name"] button`)
	waitFor(ctx, t, "its name", `document.querySelector("details .row-title").textContent === "My old phone"`)
	do(t, ctx, chromedp.Click(`details > summary`))
	press(t, ctx, `form[action$="/remove"] button`)
	waitFor(ctx, t, "that it is removed", `document.body.innerText.includes("The passkey is removed")`)
	// The phone keeps it all the same; the journal knows it no more.
	do(t, ctx, chromedp.Navigate(at+"/sign-in"))
	do(t, ctx, chromedp.Click(`[data-passkey] button`))
	waitFor(ctx, t, "what went wrong", `document.querySelector("[data-passkey] [role=alert]").innerText.includes("was not accepted")`)
	webtest.Got(chromedp.Call(ctx, webauthn.ClearCredentials, webauthn.ClearCredentialsParams{AuthenticatorID: authenticator}))(t)
	do(t, ctx, chromedp.Navigate(at+"/account"))
	do(t, ctx, chromedp.Click(`[data-passkey] button`))
	waitFor(ctx, t, "the passkey", `document.body.innerText.includes("The passkey is added")`)
	// Without a passphrase it is the only way in.
	account := evaluated[string](t, ctx, `document.querySelector(".lead strong").textContent`)
	a := webtest.Got(store.Door().AccountNamed(t.Context(), account))(t)
	keys := webtest.Got(store.Door().Passkeys(t.Context(), a.ID))(t)
	webtest.Got(0, store.Door().SetPassphrase(t.Context(), a.ID, journal.ID{}, ""))(t)
	if err := store.Door().RemovePasskey(t.Context(), a.ID, keys[0].ID); !journal.IsInvalid(err) {
		t.Errorf("the last way in is taken away: %v", err)
	}
}

// Pages of the door fit the smallest phone, and axe-core finds nothing wrong with them.
func TestBrowserAxeAtTheDoor(t *testing.T) {
	t.Parallel()
	source := axe(t)
	at, store := house(t)
	ctx := openPlain(t, phone, false)
	withPasskeys(t, ctx)
	link := invited(t, at, store, "Tamsin", journal.RoleOwner)
	for _, address := range []string{"/sign-in", strings.TrimPrefix(link, at)} {
		lookAt(t, ctx, at, address, source, len(looks))
	}
	do(t, ctx, chromedp.Navigate(link))
	do(t, ctx, chromedp.Click(`[data-passkey] button`))
	waitFor(ctx, t, "the account", `location.pathname === "/account" && document.readyState === "complete"`)
	lookAt(t, ctx, at, "/account", source, len(looks))
}
