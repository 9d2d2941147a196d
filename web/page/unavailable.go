package page

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"rigtally/internal/fair"
	"rigtally/journal"
	"rigtally/web/form"
)

// Busy says that too many pages are being made, and after how many seconds to ask again.
type Busy struct{ Seconds int }

func (e *Busy) Error() string { return "too many pages at once" }

// says is what a person reads of it.
func (e *Busy) says() string {
	after := strconv.Itoa(e.Seconds) + " seconds"
	if e.Seconds == 1 {
		after = "a second"
	}
	return "Too many people are asking at once. Nothing is lost. Try again in " + after + "."
}

const (
	unavailableSays = "The journal’s database is not answering right now. Nothing was half saved. Try again in a few seconds."
	unsureSays      = "The journal’s database broke off before it said whether this is saved. It is saved or not, and never in part: look before you send it again."
	tryAgainAfter   = "3" // seconds
)

// asBusy is an error that says that too much is asked at once; nil for any other.
func asBusy(err error) *Busy {
	var tooMany *Busy
	if errors.As(err, &tooMany) {
		return tooMany
	}
	if errors.Is(err, fair.ErrFull) { // at the database
		return &Busy{Seconds: 3}
	}
	return nil
}

// Unavailable reports whether an error says that too much is asked at once, or that the database can't work, can't be
// reached, is starting, broke off, or took too long, all of which pass. It knows drivers by what they have in common only.
func Unavailable(err error) bool {
	if asBusy(err) != nil || errors.Is(err, journal.ErrAway) || errors.Is(err, journal.ErrUnsure) || errors.Is(err, context.DeadlineExceeded) {
		return true
	}
	var hindered *journal.Hindered
	if errors.As(err, &hindered) {
		return true
	}
	var state interface{ SQLState() string }
	if errors.As(err, &state) {
		// PostgreSQL's appendix on error codes: shut down by somebody, by a crash, and not yet up.
		return slices.Contains([]string{"57P01", "57P02", "57P03"}, state.SQLState())
	}
	var unsent interface{ SafeToRetry() bool } // nothing was sent, such as by a connection that had broken before
	if errors.As(err, &unsent) && unsent.SafeToRetry() {
		return true
	}
	var network *net.OpError
	return errors.As(err, &network) || errors.Is(err, io.ErrUnexpectedEOF)
}

// NoteUnavailable logs the cause, asks the browser to come again, and returns the sentence for people.
func (d *Desk) NoteUnavailable(w http.ResponseWriter, r *http.Request, err error) string {
	d.Log.Warn("not just now", "reference", Reference(r.Context()), "address", r.Pattern, "error", err)
	after, tooMany := tryAgainAfter, asBusy(err)
	if tooMany != nil {
		after = strconv.Itoa(tooMany.Seconds)
	}
	w.Header().Set("Retry-After", after)
	if tooMany == nil && d.Trouble != nil {
		if trouble := d.Trouble(); trouble != nil {
			return form.Sentence(trouble.Error())
		}
	}
	return WhyUnavailable(err)
}

// WhyUnavailable is the sentence for people of an error that is Unavailable.
func WhyUnavailable(err error) string {
	var hindered *journal.Hindered
	if tooMany := asBusy(err); tooMany != nil {
		return tooMany.says()
	}
	switch {
	case errors.As(err, &hindered):
		return form.Sentence(hindered.Says)
	case errors.Is(err, journal.ErrUnsure):
		return unsureSays
	}
	return unavailableSays
}

// typed are the fields of a form that was sent, ready to be sent again; nil where none was, or where it held a passphrase,
// which goes into no page.
func typed(r *http.Request) url.Values {
	if r.Method != http.MethodPost || r.ParseForm() != nil || r.PostForm.Has("passphrase") || len(r.PostForm) == 0 {
		return nil
	}
	return r.PostForm
}
