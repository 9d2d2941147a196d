package page

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"regexp"

	"rigtally/web/form"
)

// ForHeader says, in a request, for whom a phone asks, and in an answer, for whom it is: a Desk's Key.
const ForHeader = "Rigtally-For"

// Key tells what a browser keeps for one person and outfit from what it keeps for others. It is no secret, and
// names nobody. A desk outside every outfit has none.
func (d *Desk) Key() string {
	if d.Store == nil {
		return ""
	}
	who := "keeper"
	if person := d.Store.Who().Person; person != nil {
		who = person.String()
	}
	sum := sha256.Sum256([]byte(d.Store.OutfitID().String() + " " + who))
	return hex.EncodeToString(sum[:8])
}

// Theirs lets through only what was opened by, or is kept for, the person of the desk: in one browser someone else may
// have signed in since. Each answer says whose it is.
func (d *Desk) Theirs(next http.Handler) http.Handler {
	key := d.Key()
	phone := d.Handle(d.ForPrograms(func(http.ResponseWriter, *http.Request) error {
		return &ProblemError{NewProblem(http.StatusPreconditionFailed, "someone-else", Wrongs("Someone else is signed in here now. Nothing was done; it waits on this phone for whom it belongs to."))}
	}))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set(ForHeader, key)
		if of := r.Header.Get(ForHeader); of != "" && of != key {
			phone.ServeHTTP(w, r)
			return
		}
		if r.Method == http.MethodPost {
			if err := d.openedForm(r); err != nil {
				d.Handle(func(http.ResponseWriter, *http.Request) error { return err }).ServeHTTP(w, r)
				return
			}
		}
		next.ServeHTTP(w, r)
	})
}

// openedForm is an error for a form that was opened by somebody else. A form with files is read by whoever takes the files.
func (d *Desk) openedForm(r *http.Request) error {
	f, err := form.Read(r, "")
	if err != nil {
		return err
	}
	of := f.Text(ForField)
	f.Values.Del(ForField)
	return d.Opened(of)
}

// Opened is an error for a form whose ForField says that somebody else opened it.
func (d *Desk) Opened(of string) error {
	if of != "" && of != d.Key() {
		return Refuse(http.StatusPreconditionFailed, "Not yours to send", "This form was opened by someone else who was signed in here; nothing was saved. Open the page again and enter it there.")
	}
	return nil
}

// ForField is in every form that is posted, and says who opened it.
const ForField = "for"

var postForm = regexp.MustCompile(`<form\b[^>]*\bmethod="post"[^>]*>`)

// signed says on a whole page for whom it is, and in each form. What is handed on as a file or by a link has another frame
// and says nothing.
func (d *Desk) signed(part string, html []byte) []byte {
	key := d.Key()
	if key == "" {
		return html
	}
	alone := ""
	if d.Store.Who().Person == nil {
		alone = " data-alone"
	}
	if part == "layout" {
		html = bytes.Replace(html, []byte("<body>"), fmt.Appendf(nil, `<body data-for="%s"%s>`, key, alone), 1)
	}
	return postForm.ReplaceAll(html, fmt.Appendf(nil, `$0<input type="hidden" name="%s" value="%s">`, ForField, key))
}
