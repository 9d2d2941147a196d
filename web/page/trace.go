package page

import (
	"context"
	"net/http"
	"regexp"

	"rigtally/journal"
)

// Trace is what may be told of a request without telling what it was about.
type Trace struct {
	ID      string // ties its answer to its entries in the log
	Pattern string // of the address that answered, such as "GET /sessions/{id}"; "" if none did
}

type traceKey struct{}

// Traced begins to trace a request. Its ID is its own, or what a proxy that is believed has given it.
func Traced(r *http.Request, given string) (*http.Request, *Trace) {
	t := &Trace{ID: given}
	if !plainID.MatchString(given) {
		t.ID = newID()
	}
	return r.WithContext(context.WithValue(r.Context(), traceKey{}, t)), t
}

// plainID keeps what others wrote from being more than a word in a log.
var plainID = regexp.MustCompile(`^[0-9A-Za-z-]{6,64}$`)

// newID is the end of an id, 48 random bits.
func newID() string {
	text := journal.NewID().String()
	return text[len(text)-12:]
}

// Noted makes a handler one that notes the pattern it answers for.
func Noted(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if t, ok := r.Context().Value(traceKey{}).(*Trace); ok && r.Pattern != "/" {
			t.Pattern = r.Pattern
		}
		next.ServeHTTP(w, r)
	})
}

// Reference is a word that ties what a person sees of a failure to the log: the ID of the request that is traced.
func Reference(ctx context.Context) string {
	if t, ok := ctx.Value(traceKey{}).(*Trace); ok {
		return t.ID
	}
	return newID()
}
