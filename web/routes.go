package web

import "net/http"

// action answers one request, or returns the error that the person is to see
// as a page. It must not write before it knows that it will succeed.
type action func(w http.ResponseWriter, r *http.Request) error

type route struct {
	pattern string
	act     action
}

// routes is the table of every page and every write.
func (s *Server) routes() []route {
	return []route{
		{"GET /{$}", s.today},
	}
}
