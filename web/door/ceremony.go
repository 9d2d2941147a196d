package door

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/netip"
	"net/url"
	"time"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"
	"github.com/jellydator/ttlcache/v3"

	"rigtally/journal"
	"rigtally/web/page"
)

// ceremonies are how browsers prove that they keep a passkey, or make one: each is begun and ended within minutes.
type ceremonies struct {
	relying *webauthn.WebAuthn
	begun   *ttlcache.Cache[string, ceremony]
}

// ceremony is one that was begun: by whom, for what, and what it has to be ended with.
type ceremony struct {
	path    string // where it ends
	session webauthn.SessionData
	account journal.Account
}

const (
	ceremonyLasts  = 5 * time.Minute
	mostCeremonies = 4096 // at a time; of more the oldest is forgotten
)

// newCeremonies is for an origin that can have passkeys: a name, by https. Else there are none.
func newCeremonies(origin *url.URL) (*ceremonies, error) {
	name := origin.Hostname()
	if _, err := netip.ParseAddr(name); err == nil || name == "" || origin.Scheme != "https" && name != "localhost" {
		return nil, nil
	}
	timeout := webauthn.TimeoutConfig{Enforce: true, Timeout: ceremonyLasts, TimeoutUVD: ceremonyLasts}
	relying, err := webauthn.New(&webauthn.Config{RPID: name, RPDisplayName: "rigtally", RPOrigins: []string{origin.Scheme + "://" + origin.Host},
		// A passkey is the only factor: it names its person by itself, and asks for a finger, a face or a PIN.
		AuthenticatorSelection: protocol.AuthenticatorSelection{ResidentKey: protocol.ResidentKeyRequirementRequired, RequireResidentKey: protocol.ResidentKeyRequired(), UserVerification: protocol.VerificationRequired},
		AttestationPreference:  protocol.PreferNoAttestation,
		Timeouts:               webauthn.TimeoutsConfig{Login: timeout, Registration: timeout}})
	if err != nil {
		return nil, fmt.Errorf("prepare passkeys for %s: %w", origin, err)
	}
	return &ceremonies{relying, ttlcache.New(ttlcache.WithCapacity[string, ceremony](mostCeremonies), ttlcache.WithTTL[string, ceremony](ceremonyLasts), ttlcache.WithDisableTouchOnHit[string, ceremony]())}, nil
}

// holder is a person as the library knows them.
type holder struct {
	account  journal.Account
	passkeys []webauthn.Credential
}

func (h holder) WebAuthnID() []byte                         { return h.account.ID[:] }
func (h holder) WebAuthnName() string                       { return h.account.Name }
func (h holder) WebAuthnDisplayName() string                { return h.account.Name }
func (h holder) WebAuthnCredentials() []webauthn.Credential { return h.passkeys }

func credentials(list []journal.Passkey) ([]webauthn.Credential, error) {
	all := make([]webauthn.Credential, len(list))
	for i, k := range list {
		if err := json.Unmarshal(k.Credential, &all[i]); err != nil {
			return nil, fmt.Errorf("read a passkey: %w", err)
		}
	}
	return all, nil
}

// begin answers with what the browser needs, and remembers what the ceremony has to be ended with at a path.
func (c *ceremonies) begin(w http.ResponseWriter, begun ceremony, options any) error {
	secret := journal.NewSecret()
	c.begun.Set(string(journal.HashSecret(secret)), begun, ttlcache.DefaultTTL)
	setCookie(w, ceremonyCookie, secret, ceremonyLasts)
	return page.SendJSON(w, http.StatusOK, options)
}

// end finds the ceremony that a request ends, which is over by that.
func (c *ceremonies) end(w http.ResponseWriter, r *http.Request) (ceremony, error) {
	dropCookie(w, ceremonyCookie)
	item, found := c.begun.GetAndDelete(string(journal.HashSecret(cookieOf(r, ceremonyCookie))))
	if !found || item.Value().path != r.URL.Path {
		return ceremony{}, errPasskey
	}
	return item.Value(), nil
}

// beginMaking begins to make a passkey for an account, on no device that keeps one of it already.
func (c *ceremonies) beginMaking(w http.ResponseWriter, path string, a journal.Account, has []journal.Passkey) error {
	known, err := credentials(has)
	if err != nil {
		return err
	}
	options, session, err := c.relying.BeginRegistration(holder{a, known}, webauthn.WithExclusions(webauthn.Credentials(known).CredentialDescriptors()))
	if err != nil {
		return fmt.Errorf("begin to make a passkey: %w", err)
	}
	return c.begin(w, ceremony{path, *session, a}, options)
}

// made ends the making of a passkey.
func (c *ceremonies) made(w http.ResponseWriter, r *http.Request, now time.Time) (journal.Account, journal.Passkey, error) {
	begun, err := c.end(w, r)
	if err != nil {
		return begun.account, journal.Passkey{}, err
	}
	credential, err := c.relying.FinishRegistration(holder{account: begun.account}, begun.session, r)
	if err != nil {
		return begun.account, journal.Passkey{}, errPasskey
	}
	text, err := json.Marshal(credential)
	return begun.account, journal.Passkey{ID: credential.ID, Name: "Passkey of " + deviceName(r.UserAgent()), Credential: text, Since: now}, err
}

// errPasskey is all that is told of a passkey that is not accepted.
var errPasskey = page.Refuse(http.StatusUnauthorized, "That passkey was not accepted", "The passkey was not accepted, or it took too long. Try again, or use your passphrase.")

// beginSignIn begins a sign-in by whichever passkey the person chooses.
func (p *People) beginSignIn(w http.ResponseWriter, _ *http.Request) error {
	options, session, err := p.passkeys.relying.BeginDiscoverableLogin()
	if err != nil {
		return fmt.Errorf("begin to sign in by a passkey: %w", err)
	}
	return p.passkeys.begin(w, ceremony{path: "/sign-in/passkey", session: *session}, options)
}

// signInByPasskey ends it.
func (p *People) signInByPasskey(w http.ResponseWriter, r *http.Request) error {
	address := addressName(p.visitor(r))
	if wait := p.addresses.begin(address); wait > 0 {
		w.Header().Set("Retry-After", fmt.Sprint(int(wait.Seconds())+1))
		return page.Refuse(http.StatusTooManyRequests, "Too many tries", "There were too many tries to sign in. Wait "+spell(wait)+", then try again.")
	}
	begun, err := p.passkeys.end(w, r)
	if err != nil {
		return err
	}
	var a journal.Account
	var failed error // of the journal, which is not the person's fault
	find := func(_, handle []byte) (webauthn.User, error) {
		if len(handle) != len(a.ID) {
			return nil, errPasskey
		}
		var has []journal.Passkey
		if a, failed = p.door.AccountOf(r.Context(), journal.ID(handle)); failed == nil {
			has, failed = p.door.Passkeys(r.Context(), a.ID)
		}
		known, err := credentials(has)
		return holder{a, known}, errors.Join(failed, err)
	}
	_, credential, err := p.passkeys.relying.FinishPasskeyLogin(find, begun.session, r)
	switch {
	case failed != nil && !errors.Is(failed, journal.ErrNotFound):
		return failed
	case err != nil || credential.Authenticator.CloneWarning: // whose counter went back: there are two of it
		p.refused(r)
		return errPasskey
	}
	text, err := json.Marshal(credential)
	if err != nil {
		return fmt.Errorf("keep a passkey: %w", err)
	}
	if err := p.door.UsedPasskey(r.Context(), a.ID, journal.Passkey{ID: credential.ID, Credential: text}, p.now()); err != nil {
		return err
	}
	p.addresses.giveBack(address)
	if err := p.come(w, r, a); err != nil {
		return err
	}
	return page.SendJSON(w, http.StatusOK, then{localPath(r.URL.Query().Get("to"))})
}

// then tells a script where to go on to.
type then struct {
	Then string `json:"then"`
}
