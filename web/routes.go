package web

import (
	"slices"

	"rigtally/web/claims"
	"rigtally/web/outfit"
	"rigtally/web/page"
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
	},
		s.logging.Routes(), rigs.Routes(s.Desk), questions.Routes(s.Desk), claims.Routes(s.Desk), trials.Routes(s.Desk),
		seasons.Routes(s.Desk, files), pulls.Routes(s.Desk), outfit.Routes(s.Desk))
}

// patterns are the addresses that the routes serve, each with its method.
func patterns(routes []page.Route) map[string]bool {
	served := map[string]bool{}
	for _, r := range routes {
		served[r.Pattern] = true
	}
	return served
}
