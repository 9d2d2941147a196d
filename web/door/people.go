package door

import (
	"errors"
	"net/http"
	"net/netip"
	"net/url"
	"time"

	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web/page"
)

// People is the door of pages that others reach: who comes in has an account and is signed in.
type People struct {
	door                pg.Door
	passkeys            *ceremonies
	visitor             func(*http.Request) netip.Addr
	now                 func() time.Time
	desk                *page.Desk
	own                 *http.ServeMux // the door's own addresses
	hashes              *hasher
	accounts, addresses *attempts
}

// NewPeople is a door to the outfits of a database, whose pages are reached at an origin. visitor tells from which
// address a request comes.
func NewPeople(store *pg.Store, origin *url.URL, visitor func(*http.Request) netip.Addr, now func() time.Time) (*People, error) {
	const freeOfAccount, freeOfAddress = 5, 30
	p := &People{door: store.Door(), visitor: visitor, now: now, desk: page.NewDesk(nil), hashes: newHasher(),
		accounts: newAttempts(freeOfAccount, now), addresses: newAttempts(freeOfAddress, now)}
	if _, err := readKnown(); err != nil {
		return nil, err
	}
	var err error
	p.passkeys, err = newCeremonies(origin)
	return p, err
}

// Furnish gives the door what its pages are written at.
func (p *People) Furnish(d *page.Desk) {
	p.desk, p.own = d, http.NewServeMux()
	for _, rt := range p.Routes() {
		p.own.Handle(rt.Pattern, d.Handle(rt.Act))
	}
}

// Routes are the door's own addresses. Those of a person's account ask for that person themselves.
func (p *People) Routes() []page.Route {
	routes := []page.Route{
		{Pattern: "GET /sign-in", Act: p.showSignIn},
		{Pattern: "POST /sign-in", Act: p.signIn},
		{Pattern: "POST /sign-out", Act: p.signOut},
		{Pattern: "GET /join/{secret}", Act: p.joining(p.showJoin)},
		{Pattern: "POST /join/{secret}", Act: p.joining(p.join)},
		{Pattern: "POST /join/{secret}/known", Act: p.joining(p.joinKnown)},
		{Pattern: "POST /switch/{outfit}", Act: p.asPerson(p.switchOutfit)},
		{Pattern: "GET /account", Act: p.asPerson(p.showAccount)},
		{Pattern: "POST /account/devices/{id}/sign-out", Act: p.asPerson(p.signOutDevice)},
		{Pattern: "POST /account/devices/sign-out-others", Act: p.asPerson(p.signOutOthers)},
		{Pattern: "POST /account/passphrase", Act: p.asPerson(p.changePassphrase)},
		{Pattern: "POST /account/passkeys/{id}/name", Act: p.asPerson(p.namePasskey)},
		{Pattern: "POST /account/passkeys/{id}/remove", Act: p.asPerson(p.removePasskey)},
	}
	if p.passkeys != nil {
		routes = append(routes,
			page.Route{Pattern: "POST /sign-in/passkey/begin", Act: p.desk.ForPrograms(p.beginSignIn)},
			page.Route{Pattern: "POST /sign-in/passkey", Act: p.desk.ForPrograms(p.signInByPasskey)},
			page.Route{Pattern: "POST /join/{secret}/passkey/begin", Act: p.desk.ForPrograms(p.joining(p.beginJoin))},
			page.Route{Pattern: "POST /join/{secret}/passkey", Act: p.desk.ForPrograms(p.joining(p.joinByPasskey))},
			page.Route{Pattern: "POST /account/passkeys/begin", Act: p.desk.ForPrograms(p.asPerson(p.beginPasskey))},
			page.Route{Pattern: "POST /account/passkeys", Act: p.desk.ForPrograms(p.asPerson(p.addPasskey))})
	}
	return routes
}

// Enter lets in who is signed in and belongs to an outfit at this moment.
func (p *People) Enter(w http.ResponseWriter, r *http.Request) (Visitor, bool) {
	if _, pattern := p.own.Handler(r); pattern != "" {
		p.own.ServeHTTP(w, r)
		return Visitor{}, false
	}
	in, err := p.signedIn(w, r)
	switch {
	case errors.Is(err, journal.ErrNotFound):
		p.askToSignIn(w, r, "")
	case err != nil && forProgram(r):
		p.desk.Handle(p.desk.ForPrograms(func(http.ResponseWriter, *http.Request) error { return err })).ServeHTTP(w, r)
	case err != nil:
		p.desk.Handle(func(http.ResponseWriter, *http.Request) error { return err }).ServeHTTP(w, r)
	case in.Outfit.IsZero():
		p.askToSignIn(w, r, belongsNowhere)
	default:
		return Visitor{Outfit: in.Outfit, Who: in.Who, Device: in.Device.ID}, true
	}
	return Visitor{}, false
}

const belongsNowhere = "You don’t belong to a journal here any more. Its owner can invite you again."

// askToSignIn answers who is not let in: with the page for that, or, where that would do harm, with a refusal.
func (p *People) askToSignIn(w http.ResponseWriter, r *http.Request, says string) {
	if says == "" && p.withdrawn(r) {
		says = belongsNowhere
	}
	switch {
	case forProgram(r):
		word := "signed-out"
		if says != "" {
			word = "withdrawn"
		} else {
			says = "You are not signed in, so nothing was done. Sign in and send it again."
		}
		keepOut(p.desk, w, r, word, says)
	case says == "" && navigates(r):
		http.Redirect(w, r, "/sign-in?to="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
	default:
		if says == "" && r.Method != http.MethodGet && r.Method != http.MethodHead {
			says = "You were signed out meanwhile, so what you sent is not saved. Sign in here, go back, and send it again."
		}
		p.desk.Handle(func(w http.ResponseWriter, r *http.Request) error {
			return p.renderSignIn(w, http.StatusUnauthorized, signInPage{Wrong: says, Nowhere: says == belongsNowhere})
		}).ServeHTTP(w, r)
	}
}

// signedIn finds who is signed in in this browser; nobody is a journal.ErrNotFound. Once a day it notes that the
// browser is used, and keeps it signed in from then on, until the sign-in is a year old.
func (p *People) signedIn(w http.ResponseWriter, r *http.Request) (journal.SignedIn, error) {
	secret := cookieOf(r, deviceCookie)
	if secret == "" {
		return journal.SignedIn{}, journal.ErrNotFound
	}
	in, err := p.door.SignedIn(r.Context(), journal.HashSecret(secret), p.now())
	if err == nil && p.now().Sub(in.Seen) >= 24*time.Hour {
		lasts := min(signedInFor, in.SignedIn.Add(signInLasts).Sub(p.now()))
		if err := p.door.Seen(r.Context(), in.Device.ID, p.now(), p.now().Add(lasts)); err != nil {
			return in, err
		}
		setCookie(w, deviceCookie, secret, lasts)
	}
	return in, err
}

// withdrawn reports whether a browser was that of somebody who was removed since. Who can't be told is asked to sign in.
func (p *People) withdrawn(r *http.Request) bool {
	secret := cookieOf(r, deviceCookie)
	if secret == "" {
		return false
	}
	is, err := p.door.Withdrawn(r.Context(), journal.HashSecret(secret), p.now())
	return err == nil && is
}

// asPerson makes an action of one for who is signed in, be it to any outfit or none.
func (p *People) asPerson(act func(http.ResponseWriter, *http.Request, journal.SignedIn) error) page.Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		in, err := p.signedIn(w, r)
		if errors.Is(err, journal.ErrNotFound) {
			p.askToSignIn(w, r, "")
			return nil
		}
		if err != nil {
			return err
		}
		return act(w, r, in)
	}
}

// come signs a person in in this browser, by a new secret: one that somebody may have planted or seen is no good any more.
func (p *People) come(w http.ResponseWriter, r *http.Request, a journal.Account) error {
	secret, now := journal.NewSecret(), p.now()
	var before []byte
	if had := cookieOf(r, deviceCookie); had != "" {
		before = journal.HashSecret(had)
	}
	in := journal.Device{ID: journal.NewID(), Person: a.ID, Name: deviceName(r.UserAgent()), SignedIn: now, Expires: now.Add(signedInFor)}
	if err := p.door.SignIn(r.Context(), in, journal.HashSecret(secret), before); err != nil {
		return err
	}
	p.desk.Log.Info("somebody signed in", "person", a.ID, "from", p.visitor(r))
	setCookie(w, deviceCookie, secret, signedInFor)
	if a.Passphrase != "" {
		setCookie(w, knownCookie, knownMark(a), knownFor)
	}
	return nil
}

// refused notes that somebody was not let in. What they typed is not noted: it may be a passphrase in the wrong field.
func (p *People) refused(r *http.Request) {
	p.desk.Log.Warn("a sign-in was refused", "from", p.visitor(r))
}

// signOut ends this browser's device.
func (p *People) signOut(w http.ResponseWriter, r *http.Request) error {
	in, err := p.signedIn(w, r)
	if err == nil {
		err = p.door.SignOut(r.Context(), in.Person, in.Device.ID)
	}
	if err != nil && !errors.Is(err, journal.ErrNotFound) {
		return err
	}
	dropCookie(w, deviceCookie)
	return page.See(w, r, "/sign-in?done=signed-out")
}

// switchOutfit shows the pages of another outfit of the person from now on.
func (p *People) switchOutfit(w http.ResponseWriter, r *http.Request, in journal.SignedIn) error {
	outfit, err := journal.ParseID(r.PathValue("outfit"))
	if err != nil {
		return journal.ErrNotFound
	}
	if err := p.door.Switch(r.Context(), in.Device.ID, outfit); err != nil {
		return err
	}
	return page.See(w, r, "/")
}

// localPath is where to go on to: an address of ours, or else the first page.
func localPath(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.Host != "" || u.Scheme != "" || len(to) == 0 || to[0] != '/' || len(to) > 1 && (to[1] == '/' || to[1] == '\\') {
		return "/"
	}
	return to
}
