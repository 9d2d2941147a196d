package imports

import (
	"net/http"
	"net/url"

	"rigtally/journal/sheet"
	"rigtally/web/form"
)

// comingView is what writing a file would do.
type comingView struct {
	Says []string
}

func (s *pages) coming(r *http.Request, f *form.Form, said url.Values, i int, sh *sheet.Sheet) (*comingView, int, error) {
	return &comingView{}, sh.Sessions, nil
}
