package web

import (
	"errors"
	"io"
	"net"
	"net/http"
	"slices"
)

const (
	unavailableSays = "The journal’s database does not answer just now. Nothing was half saved. Try again in a few seconds."
	tryAgainAfter   = "3" // seconds
)

// unavailable reports whether an error says that the database can't be reached, is starting, or broke off, all of
// which pass. It knows drivers by what they have in common only.
func unavailable(err error) bool {
	var state interface{ SQLState() string }
	if errors.As(err, &state) {
		// PostgreSQL's appendix on error codes: shut down by somebody, by a crash, and not yet up.
		return slices.Contains([]string{"57P01", "57P02", "57P03"}, state.SQLState())
	}
	var network *net.OpError
	return errors.As(err, &network) || errors.Is(err, io.ErrUnexpectedEOF)
}

// noteUnavailable logs the cause, and asks the browser to come again.
func (s *Server) noteUnavailable(w http.ResponseWriter, r *http.Request, err error) {
	s.log.Warn("the database does not answer", "method", r.Method, "path", r.URL.Path, "error", err)
	w.Header().Set("Retry-After", tryAgainAfter)
}
