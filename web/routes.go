package web

import (
	"net/http"
	"slices"
)

// action answers one request, or returns the error that the person is to see
// as a page. It must not write before it knows that it will succeed.
type action func(w http.ResponseWriter, r *http.Request) error

// route is an address that is served, with what answers there.
type route struct {
	pattern string // method and address, as http.ServeMux has them
	act     action
	kept    bool // the answer follows from the address, the journal and the day alone, so that it is kept
}

// routes is the table of every page and every write.
func (s *Server) routes() []route {
	return slices.Concat([]route{
		{pattern: "GET /icon-192.png", act: iconPNG(192)},
		{pattern: "GET /icon-512.png", act: iconPNG(512)},
	}, s.loggingRoutes(), s.rigsRoutes(), s.questionsRoutes(), s.claimsRoutes(), s.trialsRoutes(), s.seasonsRoutes(), s.pullsRoutes(), s.outfitRoutes())
}

// patterns are the addresses that the routes serve, each with its method.
func patterns(routes []route) map[string]bool {
	served := map[string]bool{}
	for _, r := range routes {
		served[r.pattern] = true
	}
	return served
}
