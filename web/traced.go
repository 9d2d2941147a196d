package web

import (
	"net/http"
	"time"

	"rigtally/web/page"
)

// traced gives each request an ID, which its answer carries, and tells the watch and the log of it when it is done. Neither
// is told the address, which may hold ids or the secret of a link, but its pattern alone.
func (s *Server) traced(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		given := ""
		if s.place.fromProxy(r) {
			given = r.Header.Get("X-Request-Id")
		}
		r, trace := page.Traced(r, given)
		w.Header().Set("X-Request-Id", trace.ID)
		begin, answered, end := time.Now(), &answered{ResponseWriter: w}, s.watch.Begin()
		defer func() {
			took := time.Since(begin)
			end(trace.Pattern, answered.status, took)
			if s.logRequests {
				s.Log.Info("answered", "reference", trace.ID, "address", trace.Pattern, "status", answered.status, "ms", float64(took.Microseconds())/1000, "bytes", answered.bytes)
			}
		}()
		next.ServeHTTP(answered, r)
	})
}

// answered notes how a request was answered.
type answered struct {
	http.ResponseWriter
	status int
	bytes  int64
}

func (a *answered) WriteHeader(status int) {
	if a.status == 0 {
		a.status = status
	}
	a.ResponseWriter.WriteHeader(status)
}

func (a *answered) Write(b []byte) (int, error) {
	if a.status == 0 {
		a.status = http.StatusOK
	}
	n, err := a.ResponseWriter.Write(b)
	a.bytes += int64(n)
	return n, err
}

// Unwrap is for http.ResponseController.
func (a *answered) Unwrap() http.ResponseWriter { return a.ResponseWriter }
