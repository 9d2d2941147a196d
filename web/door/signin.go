package door

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/unicode/norm"

	"rigtally/journal"
	"rigtally/web/page"
)

// signInPage asks who comes.
type signInPage struct {
	page.Frame
	Wrong    string // what is wrong with the last try
	Account  string
	To       string // where to go on to
	Passkeys bool   // whether this address can have any
	Nowhere  bool   // who comes belongs to no journal any more; their phone may hold what was not sent
}

// notices are the sentences that an address of the door may ask to be shown.
var notices = map[string]string{
	"signed-out":      "You are signed out.",
	"joined":          "You are in. Your account is below; note it down if you sign in by a passphrase.",
	"back":            "You are in again. All your other devices are signed out.",
	"passphrase":      "The passphrase is changed. All your other devices are signed out.",
	"device-out":      "The device is signed out.",
	"others-out":      "All your other devices are signed out.",
	"passkey-added":   "The passkey is added.",
	"passkey-named":   "The passkey has its name.",
	"passkey-removed": "The passkey is removed. Remove it on the device that keeps it, too.",
}

func frame(r *http.Request, title string) page.Frame {
	return page.Frame{Title: title, Notice: notices[r.URL.Query().Get("done")]}
}

func (p *People) showSignIn(w http.ResponseWriter, r *http.Request) error {
	return p.renderSignIn(w, http.StatusOK, signInPage{Frame: frame(r, ""), To: localPath(r.URL.Query().Get("to"))})
}

func (p *People) renderSignIn(w http.ResponseWriter, status int, s signInPage) error {
	s.Title, s.Passkeys = "Sign in", p.passkeys != nil
	return p.desk.Render(w, status, "signin", s)
}

// signIn tries an account and a passphrase. Whether it is the account or the passphrase that is wrong, the answer
// and its time are the same.
func (p *People) signIn(w http.ResponseWriter, r *http.Request) error {
	s := signInPage{Account: accountTyped(r.PostFormValue("account")), To: localPath(r.PostFormValue("to"))}
	again := func(status int, says string) error {
		s.Wrong = says
		return p.renderSignIn(w, status, s)
	}
	a, err := p.try(w, r, s.Account, r.PostFormValue("passphrase"))
	var wait *crowded
	switch {
	case errors.As(err, &wait):
		w.Header().Set("Retry-After", strconv.Itoa(int(math.Ceil(wait.wait.Seconds()))))
		return again(http.StatusTooManyRequests, "There were too many tries to sign in. Wait "+spell(wait.wait)+", then try again.")
	case errors.Is(err, journal.ErrNotFound):
		p.refused(r)
		return again(http.StatusUnauthorized, "This account and passphrase don’t go together. Look at both; the account ends in four digits.")
	case err != nil:
		return err
	}
	if err := p.come(w, r, a); err != nil {
		return err
	}
	return page.See(w, r, s.To)
}

// try finds the account that a passphrase is of; none is a journal.ErrNotFound.
func (p *People) try(w http.ResponseWriter, r *http.Request, account, passphrase string) (journal.Account, error) {
	a, err := p.door.AccountNamed(r.Context(), account)
	if err != nil && !errors.Is(err, journal.ErrNotFound) {
		return a, err
	}
	name, address := account, addressName(p.visitor(r))
	if err == nil && isKnown(r, a) { // which neither strangers nor neighbors keep waiting
		name = "known " + account
		address = name
	}
	if wait := p.addresses.begin(address); wait > 0 {
		return a, &crowded{wait}
	}
	if wait := p.accounts.begin(name); wait > 0 {
		return a, &crowded{wait}
	}
	passphrase = plainPassphrase(passphrase)
	if len(passphrase) > 4*mostPassphrase {
		passphrase = "" // nobody's
	}
	right, err := p.hashes.check(r.Context(), passphrase, a.Passphrase)
	if err != nil {
		return a, err
	}
	if !right {
		return a, journal.ErrNotFound
	}
	p.accounts.forget(name)
	p.addresses.giveBack(address) // others' tries from there stay counted: an account of one's own must not wipe them out
	return a, nil
}

// accountTyped is an account as it was typed, without what a keyboard adds.
func accountTyped(text string) string {
	const most = 64
	text = strings.ToLower(norm.NFKC.String(strings.TrimSpace(text)))
	if len(text) > most {
		return ""
	}
	return text
}

// spell says how long to wait.
func spell(wait time.Duration) string {
	n, unit := int(math.Ceil(wait.Seconds())), "second"
	if n > 90 {
		n, unit = int(math.Ceil(wait.Minutes())), "minute"
	}
	if n != 1 {
		unit += "s"
	}
	return fmt.Sprintf("%d %s", n, unit)
}
