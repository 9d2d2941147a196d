package door

import (
	"bytes"
	"encoding/base64"
	"errors"
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// freshFor is how long after signing in a person may change how they sign in. Later they sign in again first, so
// that who finds a phone lying about can't lock its owner out.
const freshFor = 10 * time.Minute

// accountPage is a person's account: where they are signed in, and by what.
type accountPage struct {
	page.Frame
	Account    string
	Fresh      bool // whether ways to sign in may be changed now
	Passphrase bool // whether there is one
	CanPasskey bool
	Passkeys   []passkeyLine
	Devices    []deviceLine
	Others     bool // whether there are other devices
	Outfits    []outfitLine
	Wrong      []string
}

type passkeyLine struct {
	ID, Name, More string
	Last           bool // the only way in
}

type deviceLine struct {
	ID         journal.ID
	Name, More string
	This       bool
}

type outfitLine struct {
	journal.Membership
	Shown bool
}

func (p *People) showAccount(w http.ResponseWriter, r *http.Request, in journal.SignedIn) error {
	return p.renderAccount(w, r, http.StatusOK, in, nil)
}

func (p *People) renderAccount(w http.ResponseWriter, r *http.Request, status int, in journal.SignedIn, wrong []string) error {
	ctx := r.Context()
	a, err := p.door.AccountOf(ctx, in.Person)
	if err != nil {
		return err
	}
	shown := accountPage{Frame: frame(r, "Your account"), Account: a.Name, Fresh: p.isFresh(in), Passphrase: a.Passphrase != "", CanPasskey: p.passkeys != nil, Wrong: wrong}
	passkeys, err := p.door.Passkeys(ctx, in.Person)
	if err != nil {
		return err
	}
	for _, k := range passkeys {
		more := "Added " + day(k.Since)
		if k.Used != nil {
			more += ", last used " + day(*k.Used)
		}
		shown.Passkeys = append(shown.Passkeys, passkeyLine{base64.RawURLEncoding.EncodeToString(k.ID), k.Name, more, len(passkeys) == 1 && a.Passphrase == ""})
	}
	devices, err := p.door.Devices(ctx, in.Person, p.now())
	if err != nil {
		return err
	}
	for _, d := range devices {
		shown.Devices = append(shown.Devices, deviceLine{d.ID, d.Name, "Since " + day(d.Since) + ", last used " + day(d.Seen), d.ID == in.Device.ID})
	}
	shown.Others = len(devices) > 1
	outfits, err := p.door.Memberships(ctx, in.Person)
	if err != nil {
		return err
	}
	for _, m := range outfits {
		shown.Outfits = append(shown.Outfits, outfitLine{m, m.Outfit == in.Outfit})
	}
	return p.desk.Render(w, status, "account", shown)
}

// day names a day as the pages do. What zone the reader is in, the account does not know.
func day(at time.Time) string { return prose.Day(journal.DateOf(at.UTC())) }

func (p *People) isFresh(in journal.SignedIn) bool { return p.now().Sub(in.SignedIn) < freshFor }

// fresh sends who signed in too long ago to sign in again.
func (p *People) fresh(w http.ResponseWriter, r *http.Request, in journal.SignedIn) bool {
	if p.isFresh(in) {
		return true
	}
	if forProgram(r) {
		keepOut(p.desk, w, r, "sign-in-again", "Sign in again to change how you sign in.")
	} else {
		http.Redirect(w, r, "/sign-in?to=/account", http.StatusSeeOther)
	}
	return false
}

// told shows the account again with what is wrong, or goes on to it with a notice.
func (p *People) told(w http.ResponseWriter, r *http.Request, in journal.SignedIn, err error, done string) error {
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		return p.renderAccount(w, r, http.StatusUnprocessableEntity, in, form.Sentences(invalid))
	case err != nil:
		return tooMany(w, err)
	}
	return page.See(w, r, "/account?done="+done)
}

// tooMany makes of a crowd at the door a page that says when to come again.
func tooMany(w http.ResponseWriter, err error) error {
	var wait *crowded
	if !errors.As(err, &wait) {
		return err
	}
	w.Header().Set("Retry-After", strconv.Itoa(int(math.Ceil(wait.wait.Seconds()))))
	return page.Refuse(http.StatusTooManyRequests, "Too many at once", "Too many people come in at once. Wait "+spell(wait.wait)+", then try again.")
}

func (p *People) signOutDevice(w http.ResponseWriter, r *http.Request, in journal.SignedIn) error {
	device, err := page.ID(r)
	if err != nil {
		return err
	}
	if device == in.Device.ID {
		return p.signOut(w, r)
	}
	return p.told(w, r, in, p.door.SignOut(r.Context(), in.Person, device), "device-out")
}

func (p *People) signOutOthers(w http.ResponseWriter, r *http.Request, in journal.SignedIn) error {
	return p.told(w, r, in, p.door.SignOutOthers(r.Context(), in.Person, in.Device.ID), "others-out")
}

// changePassphrase sets a passphrase. Whoever was signed in by the one before is signed out.
func (p *People) changePassphrase(w http.ResponseWriter, r *http.Request, in journal.SignedIn) error {
	if !p.fresh(w, r, in) {
		return nil
	}
	passphrase := plainPassphrase(r.PostFormValue("passphrase"))
	outfits, err := p.door.Memberships(r.Context(), in.Person)
	if err == nil {
		mine := []string{in.Account, in.Who.Name, "rigtally"}
		for _, m := range outfits {
			mine = append(mine, m.Name)
		}
		err = checkPassphrase(passphrase, mine...)
	}
	var hashed string
	if err == nil {
		hashed, err = p.hashes.make(r.Context(), passphrase)
	}
	if err == nil {
		err = p.door.SetPassphrase(r.Context(), in.Person, in.Device.ID, hashed)
	}
	if err == nil {
		setCookie(w, knownCookie, knownMark(journal.Account{ID: in.Person, Passphrase: hashed}), knownFor)
	}
	return p.told(w, r, in, err, "passphrase")
}

// passkeyAt is the passkey of an address.
func passkeyAt(r *http.Request) ([]byte, error) {
	id, err := base64.RawURLEncoding.DecodeString(r.PathValue("id"))
	if err != nil || len(bytes.TrimSpace(id)) == 0 {
		return nil, journal.ErrNotFound
	}
	return id, nil
}

func (p *People) namePasskey(w http.ResponseWriter, r *http.Request, in journal.SignedIn) error {
	const longest = 60
	id, err := passkeyAt(r)
	if err != nil {
		return err
	}
	name := strings.TrimSpace(r.PostFormValue("name"))
	if name == "" || utf8.RuneCountInString(name) > longest {
		err = refuse("the name of a passkey must have 1 to %d characters", longest)
	} else {
		err = p.door.NamePasskey(r.Context(), in.Person, id, name)
	}
	return p.told(w, r, in, err, "passkey-named")
}

func (p *People) removePasskey(w http.ResponseWriter, r *http.Request, in journal.SignedIn) error {
	if !p.fresh(w, r, in) {
		return nil
	}
	id, err := passkeyAt(r)
	if err != nil {
		return err
	}
	return p.told(w, r, in, p.door.RemovePasskey(r.Context(), in.Person, id), "passkey-removed")
}

// beginPasskey begins to add a passkey to the account.
func (p *People) beginPasskey(w http.ResponseWriter, r *http.Request, in journal.SignedIn) error {
	if !p.fresh(w, r, in) {
		return nil
	}
	has, err := p.door.Passkeys(r.Context(), in.Person)
	if err != nil {
		return err
	}
	return p.passkeys.beginMaking(w, "/account/passkeys", journal.Account{ID: in.Person, Name: in.Account}, has)
}

func (p *People) addPasskey(w http.ResponseWriter, r *http.Request, in journal.SignedIn) error {
	if !p.fresh(w, r, in) {
		return nil
	}
	a, k, err := p.passkeys.made(w, r, p.now())
	if err != nil {
		return err
	}
	if a.ID != in.Person {
		return errPasskey
	}
	if err := p.door.AddPasskey(r.Context(), in.Person, k); err != nil {
		return err
	}
	return page.SendJSON(w, http.StatusOK, then{"/account?done=passkey-added"})
}
