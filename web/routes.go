package web

import (
	"fmt"
	"net/http"
	"slices"

	"rigtally/web/claims"
	"rigtally/web/outfit"
	"rigtally/web/page"
	"rigtally/web/people"
	"rigtally/web/pulls"
	"rigtally/web/questions"
	"rigtally/web/rigs"
	"rigtally/web/seasons"
	"rigtally/web/trials"
)

// routes is the table of every page and every write.
func (s *Server) routes() []page.Route {
	return slices.Concat([]page.Route{
		{Pattern: "GET /icon-192.png", Act: s.icon("icon-192.png")},
		{Pattern: "GET /icon-512.png", Act: s.icon("icon-512.png")},
		{Pattern: "GET " + page.Program + "/openapi.yaml", Act: describe},
	},
		s.logging.Routes(), rigs.Routes(s.Desk), questions.Routes(s.Desk), claims.Routes(s.Desk), trials.Routes(s.Desk),
		seasons.Routes(s.Desk, files), pulls.Routes(s.Desk), outfit.Routes(s.Desk), people.Routes(s.Desk))
}

// describe hands out the description of what programs may ask.
func describe(w http.ResponseWriter, _ *http.Request) error {
	text, err := files.ReadFile("openapi.yaml")
	if err != nil {
		return fmt.Errorf("read the description for programs: %w", err)
	}
	w.Header().Set("Content-Type", "application/yaml")
	_, _ = w.Write(text) // a program that went away is no failure
	return nil
}

// patterns are the addresses that the routes serve, each with its method.
func patterns(routes []page.Route) map[string]bool {
	served := map[string]bool{}
	for _, r := range routes {
		served[r.Pattern] = true
	}
	return served
}
