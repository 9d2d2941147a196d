package web

import (
	"net"
	"net/http"
	"slices"

	"rigtally/web/page"
)

// maxBody is more than any form of the journal needs, in bytes.
const maxBody = 1 << 20

const contentPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; " +
	"form-action 'self'; frame-ancestors 'none'; base-uri 'none'; manifest-src 'self'"

// guard puts what protects every page in front of them: headers, the Host
// check, the check that a write comes from our own pages, and a limit of size.
func (s *Server) guard(next http.Handler) http.Handler {
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(s.Handle(func(http.ResponseWriter, *http.Request) error {
		return page.Refuse(http.StatusForbidden, "Sent from another site", "The form came from a page outside this journal, so nothing was saved. Open the journal and enter it there.")
	}))
	next = http.MaxBytesHandler(next, maxBody)
	next = origin.Handler(next)
	next = s.onlyOurHost(next)
	return secureHeaders(next)
}

func secureHeaders(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", contentPolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store") // static files say otherwise
		next.ServeHTTP(w, r)
	})
}

// onlyOurHost refuses names that another site could have pointed at this
// machine to read the journal from a browser (DNS rebinding).
func (s *Server) onlyOurHost(next http.Handler) http.Handler {
	refuse := s.Handle(func(http.ResponseWriter, *http.Request) error {
		return page.Refuse(http.StatusMisdirectedRequest, "Not this address", "The journal answers only on this machine, at localhost or 127.0.0.1 with its own port. Open the address shown when it started.")
	})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !ourHost(r) {
			refuse.ServeHTTP(w, r)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// ourHost reports whether the request names this machine and, as far as the
// connection tells it, the port it came in by.
func ourHost(r *http.Request) bool {
	host, port, err := net.SplitHostPort(r.Host)
	if err != nil {
		host, port = r.Host, "80"
	}
	if !slices.Contains([]string{"127.0.0.1", "localhost", "::1", "[::1]"}, host) {
		return false
	}
	local, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	if !ok {
		return true // not from a connection: a handler called directly
	}
	_, ours, err := net.SplitHostPort(local.String())
	return err == nil && port == ours
}
