package door

import (
	"net/http"
	"strings"

	"rigtally/web/page"
)

// Furnished is a door with pages of its own, which stand outside every outfit's. It is given the desk that they are
// written at before anyone comes.
type Furnished interface {
	Door
	Furnish(*page.Desk)
}

// forProgram reports whether a program asks, or a script of a page: it is told in JSON, and never sent to another page.
func forProgram(r *http.Request) bool {
	accept := r.Header.Get("Accept")
	return strings.HasPrefix(r.URL.Path, "/api/") || strings.Contains(accept, "application/json") && !strings.Contains(accept, "text/html")
}

// navigates reports whether a person opens a page, so that another may be shown in its place.
func navigates(r *http.Request) bool {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		return false
	}
	mode := r.Header.Get("Sec-Fetch-Mode")
	return mode == "navigate" || mode == "" && strings.Contains(r.Header.Get("Accept"), "text/html")
}

// keepOut tells a program that it is not let in, and why; word is for it.
func keepOut(d *page.Desk, w http.ResponseWriter, r *http.Request, word, says string) {
	d.Handle(d.ForPrograms(func(http.ResponseWriter, *http.Request) error {
		return &page.ProblemError{Problem: page.NewProblem(http.StatusUnauthorized, word, page.Wrongs(says))}
	})).ServeHTTP(w, r)
}
