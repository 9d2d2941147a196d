package web

import (
	"errors"
	"io"
	"net"
	"net/http"
	"slices"
	"strconv"
)

const (
	unavailableSays = "The journal’s database does not answer just now. Nothing was half saved. Try again in a few seconds."
	tryAgainAfter   = "3" // seconds
)

// unavailable reports whether an error says that too much is asked at once, or that the database can't be
// reached, is starting, or broke off, all of which pass. It knows drivers by what they have in common only.
func unavailable(err error) bool {
	var tooMany *busy
	if errors.As(err, &tooMany) {
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

// noteUnavailable logs the cause, asks the browser to come again, and returns the sentence for people.
func (d *desk) noteUnavailable(w http.ResponseWriter, r *http.Request, err error) string {
	d.log.Warn("not just now", "method", r.Method, "path", r.URL.Path, "error", err)
	after, says := tryAgainAfter, unavailableSays
	var tooMany *busy
	if errors.As(err, &tooMany) {
		after, says = strconv.Itoa(tooMany.seconds), tooMany.says()
	}
	w.Header().Set("Retry-After", after)
	return says
}
