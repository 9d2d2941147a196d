package page

import (
	"errors"
	"io"
	"net"
	"net/http"
	"slices"
	"strconv"

	"rigtally/internal/fair"
)

// Busy says that too many pages are being made, and after how many seconds to ask again.
type Busy struct{ Seconds int }

func (e *Busy) Error() string { return "too many pages at once" }

// busySays is what a person reads of it.
func (e *Busy) says() string {
	after := strconv.Itoa(e.Seconds) + " seconds"
	if e.Seconds == 1 {
		after = "a second"
	}
	return "Too many people are asking at once. Nothing is lost. Try again in " + after + "."
}

const (
	unavailableSays = "The journal’s database is not answering right now. Nothing was half saved. Try again in a few seconds."
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

// Unavailable reports whether an error says that too much is asked at once, or that the database can't be
// reached, is starting, or broke off, all of which pass. It knows drivers by what they have in common only.
func Unavailable(err error) bool {
	if asBusy(err) != nil {
		return true
	}
	var state interface{ SQLState() string }
	if errors.As(err, &state) {
		// PostgreSQL's appendix on error codes: shut down by somebody, by a crash, and not yet up.
		return slices.Contains([]string{"57P01", "57P02", "57P03"}, state.SQLState())
	}
	var network *net.OpError
	return errors.As(err, &network) || errors.Is(err, io.ErrUnexpectedEOF)
}

// NoteUnavailable logs the cause, asks the browser to come again, and returns the sentence for people.
func (d *Desk) NoteUnavailable(w http.ResponseWriter, r *http.Request, err error) string {
	d.Log.Warn("not just now", "method", r.Method, "path", r.URL.Path, "error", err)
	after, says := tryAgainAfter, unavailableSays
	if tooMany := asBusy(err); tooMany != nil {
		after, says = strconv.Itoa(tooMany.Seconds), tooMany.says()
	}
	w.Header().Set("Retry-After", after)
	return says
}
