package web

import (
	"fmt"
	"net/http"
	"slices"

	"rigtally/web/along"
	"rigtally/web/claims"
	"rigtally/web/compare"
	"rigtally/web/imports"
	"rigtally/web/logging"
	"rigtally/web/names"
	"rigtally/web/outfit"
	"rigtally/web/page"
	"rigtally/web/people"
	"rigtally/web/pulls"
	"rigtally/web/questions"
	"rigtally/web/rigs"
	"rigtally/web/rivers"
	"rigtally/web/seasons"
	"rigtally/web/steps"
	"rigtally/web/trials"
)

// routes is the table of every page and every write at somebody's desk, and of who may ask for it.
func routes(d *page.Desk, l *logging.Pages, t *imports.Tray, w *rivers.Works) []page.Route {
	return slices.Concat([]page.Route{
		{Pattern: "GET " + page.Program + "/openapi.yaml", Act: describe, For: page.ForAll},
	},
		l.Routes(), rigs.Routes(d), questions.Routes(d), claims.Routes(d), trials.Routes(d),
		seasons.Routes(d, files), pulls.Routes(d), outfit.Routes(d), rivers.Routes(d, w), people.Routes(d), compare.Routes(d), along.Routes(d), imports.Routes(d, t), names.Routes(d), steps.Routes(d))
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
