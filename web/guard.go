package web

import (
	"context"
	"net/http"

	"rigtally/web/imports"
	"rigtally/web/page"
	"rigtally/web/rivers"
)

// maxBody is more than any form of the journal needs, in bytes.
const maxBody = 1 << 20

const contentPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; " +
	"form-action 'self'; frame-ancestors 'none'; base-uri 'none'; manifest-src 'self'"

// guard puts what protects every page in front of them: headers, the Host
// check, the check that a write comes from our own pages, and a limit of size.
func (s *Server) guard(next http.Handler) http.Handler {
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(s.refusal(http.StatusForbidden, "Sent from another site", "The form came from a page outside this journal, so nothing was saved. Open the journal and enter it there."))
	next = s.limited(next)
	next = origin.Handler(next)
	next = s.onlyOurPlace(next)
	return s.secureHeaders(next)
}

// limited limits what is sent, to what a form can be, and how long its answer takes; to more where files are taken.
func (s *Server) limited(next http.Handler) http.Handler {
	form, files, readings := http.MaxBytesHandler(s.inTime(next), maxBody), http.MaxBytesHandler(next, imports.MostBody), http.MaxBytesHandler(next, rivers.MostBody)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case r.URL.Path == imports.Path:
			files.ServeHTTP(w, r)
		case rivers.TakesFile(r.URL.Path):
			readings.ServeHTTP(w, r)
		default:
			form.ServeHTTP(w, r)
		}
	})
}

// inTime ends what a request waits for, such as a COMMIT for a copy that is away, while its answer can still be sent.
func (s *Server) inTime(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx, cancel := context.WithTimeout(r.Context(), s.answerIn)
		defer cancel()
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

func (s *Server) secureHeaders(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", contentPolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store") // static files say otherwise
		if s.place.Strict {
			h.Set("Strict-Transport-Security", "max-age=31536000") // a year; browsers heed it over https alone
		}
		next.ServeHTTP(w, r)
	})
}

// onlyOurPlace refuses names that another site could have pointed at this
// machine to read the journal from a browser (DNS rebinding), and leads
// visitors who came by plain http to a public address to https.
func (s *Server) onlyOurPlace(next http.Handler) http.Handler {
	elsewhere := s.refusal(http.StatusMisdirectedRequest, "Not this address", "The journal answers only on this machine, at localhost or 127.0.0.1 with its own port. Open the address shown when it started.")
	if !s.place.Alone() {
		elsewhere = s.refusal(http.StatusMisdirectedRequest, "Not this address", "The journal does not answer under this name. Open the address that you were given.")
	}
	silent := s.refusal(http.StatusBadRequest, "The proxy leaves something out", "The proxy in front of the journal does not say whether you came by https. Let it send the header X-Forwarded-Proto.")
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r = s.place.asSent(r)
		_, https := s.place.Visitor(r)
		switch {
		case !s.place.answers(r):
			elsewhere.ServeHTTP(w, r)
		case s.place.Alone() || https:
			next.ServeHTTP(w, r)
		case s.place.fromProxy(r) && r.Header.Get("X-Forwarded-Proto") == "":
			silent.ServeHTTP(w, r)
		default:
			http.Redirect(w, r, s.place.Origin+r.URL.RequestURI(), http.StatusPermanentRedirect)
		}
	})
}

func (s *Server) refusal(status int, title, text string) http.Handler {
	return s.Handle(func(http.ResponseWriter, *http.Request) error { return page.Refuse(status, title, text) })
}
