package door

import (
	"errors"
	"net/http"
	"unicode"

	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

// joinPage shows an invitation, and asks how its taker wants to sign in.
type joinPage struct {
	page.Frame
	Offer    journal.Joining
	As       string // what the invitation makes of them
	Here     string // this page's address
	Word     string // of the account to be
	Known    string // the account that is signed in here; "" for none
	Passkeys bool
	Wrong    []string
}

// joining makes an action of one for what an invitation offers.
func (p *People) joining(act func(http.ResponseWriter, *http.Request, journal.Joining) error) page.Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		w.Header().Set("Referrer-Policy", "no-referrer") // the address is a secret
		j, err := p.door.Joining(r.Context(), invited(r), p.now())
		if errors.Is(err, journal.ErrNotFound) {
			return page.Refuse(http.StatusNotFound, "This invitation is over", "An invitation is good once, for seven days, and can be withdrawn. Ask whoever sent it for another.")
		}
		if err != nil {
			return err
		}
		return act(w, r, j)
	}
}

// invited is how the invitation of an address is kept.
func invited(r *http.Request) []byte { return journal.HashSecret(r.PathValue("secret")) }

func (p *People) showJoin(w http.ResponseWriter, r *http.Request, j journal.Joining) error {
	return p.renderJoin(w, r, http.StatusOK, j, only(j.Name, unicode.IsLetter, unicode.IsDigit), nil)
}

func (p *People) renderJoin(w http.ResponseWriter, r *http.Request, status int, j journal.Joining, word string, wrong []string) error {
	shown := joinPage{Frame: page.Frame{Title: "Join " + j.OutfitName}, Offer: j, As: roleWords[j.Role], Here: "/join/" + r.PathValue("secret"), Word: word, Passkeys: p.passkeys != nil, Wrong: wrong}
	if j.Person != nil {
		shown.Title = "Come back in"
	} else if in, err := p.signedIn(w, r); err == nil {
		shown.Known = in.Account
	}
	return p.desk.Render(w, status, "join", shown)
}

// roleWords say what an invitation makes of its taker.
var roleWords = map[journal.Role]string{
	journal.RoleOwner:  "its owner, who may do everything",
	journal.RoleGuide:  "a guide, who logs for its anglers and sees its sessions",
	journal.RoleClient: "an angler, who logs and sees their own sessions",
}

// join takes an invitation up with a passphrase.
func (p *People) join(w http.ResponseWriter, r *http.Request, j journal.Joining) error {
	word := r.PostFormValue("word")
	a, err := takeUp(r.Context(), p.door, p.hashes, invited(r), p.now(), j, word, r.PostFormValue("passphrase"))
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		return p.renderJoin(w, r, http.StatusUnprocessableEntity, j, word, form.Sentences(invalid))
	case err != nil:
		return tooMany(w, err)
	}
	if err := p.come(w, r, a); err != nil {
		return err
	}
	return page.See(w, r, joined(j))
}

// joined is where who has joined goes on to.
func joined(j journal.Joining) string {
	if j.Person != nil {
		return "/account?done=back"
	}
	return "/account?done=joined"
}

// joinKnown takes an invitation up for the account that is signed in.
func (p *People) joinKnown(w http.ResponseWriter, r *http.Request, j journal.Joining) error {
	in, err := p.signedIn(w, r)
	if errors.Is(err, journal.ErrNotFound) {
		return page.See(w, r, "/sign-in?to=/join/"+r.PathValue("secret"))
	}
	if err != nil {
		return err
	}
	if j.Person != nil {
		return journal.ErrNotFound // a way back is no invitation
	}
	n := journal.Newcomer{Account: journal.Account{ID: in.Person}, Known: true}
	if err := p.door.Join(r.Context(), invited(r), p.now(), n); err != nil {
		return err
	}
	if err := p.door.Switch(r.Context(), in.Device.ID, j.Outfit); err != nil {
		return err
	}
	return page.See(w, r, "/")
}

// beginJoin begins to take an invitation up with a passkey.
func (p *People) beginJoin(w http.ResponseWriter, r *http.Request, j journal.Joining) error {
	a, err := newAccount(r.Context(), p.door, j, r.PostFormValue("word"))
	if err != nil {
		return err
	}
	return p.passkeys.beginMaking(w, "/join/"+r.PathValue("secret")+"/passkey", a, nil)
}

// joinByPasskey takes an invitation up with a passkey.
func (p *People) joinByPasskey(w http.ResponseWriter, r *http.Request, j journal.Joining) error {
	a, k, err := p.passkeys.made(w, r, p.now())
	if err != nil {
		return err
	}
	if err := p.door.Join(r.Context(), invited(r), p.now(), journal.Newcomer{Account: a, Passkey: &k}); err != nil {
		return err
	}
	if err := p.come(w, r, a); err != nil {
		return err
	}
	return page.SendJSON(w, http.StatusOK, then{joined(j)})
}
