// Package web serves the journal as pages: reading, logging and answers, for a
// phone on the bank first. Pages work without JavaScript.
package web

import (
	"cmp"
	"errors"
	"log/slog"
	"maps"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/klauspost/compress/gzhttp"

	"rigtally/journal/pg"
	"rigtally/web/logging"
	"rigtally/web/page"
)

// Options are what a Server may be told; the zero value is ready to use.
type Options struct {
	Logger *slog.Logger     // where causes of failures go; nil discards them
	Now    func() time.Time // the clock; nil is time.Now
	Place  Place            // where visitors find the pages; the zero value is this machine alone
}

// Server answers requests for the pages of one journal.
type Server struct {
	*page.Desk
	assets  *assets
	pages   page.Kept[*madePage]
	limit   limit
	logging *logging.Pages
	place   Place
	build   string // tells builds of the program apart
}

// New makes a server for the pages of a journal. It fails only when the pages
// built into the program are broken.
func New(store *pg.Store, opt Options) (*Server, error) {
	if store == nil {
		return nil, errors.New("the web pages need a journal")
	}
	s := &Server{Desk: page.NewDesk(store), place: opt.Place, build: buildTag(), pages: page.Kept[*madePage]{Most: mostPageBytes, Size: (*madePage).size}}
	s.Log, s.Now = cmp.Or(opt.Logger, s.Log), opt.Now
	if s.Now == nil {
		s.Now = time.Now
	}
	s.logging = logging.New(s.Desk)
	var err error
	if s.assets, err = loadAssets(files); err != nil {
		return nil, err
	}
	if err := s.Load(files, s.assets.url, patterns(s.routes())); err != nil {
		return nil, err
	}
	if err := s.logging.KeepShell(files, s.assets.url, slices.Sorted(maps.Keys(s.assets.byName))); err != nil {
		return nil, err
	}
	return s, nil
}

// Pages lists the patterns of the addresses that can be read, without their method.
func (s *Server) Pages() []string {
	var list []string
	for _, rt := range s.routes() {
		if pattern, ok := strings.CutPrefix(rt.Pattern, "GET "); ok {
			list = append(list, pattern)
		}
	}
	return list
}

// Handler returns the pages behind everything that guards them.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	for _, rt := range s.routes() {
		act := rt.Act
		if rt.Kept {
			act = s.answers(act)
		}
		mux.Handle(rt.Pattern, s.Handle(act))
	}
	mux.Handle("GET /static/{hash}/{path...}", s.assets)
	mux.Handle("/", s.Handle(page.Missing))
	// A page holds no secret beside what an address could put into it, so that its compressed length tells nobody anything.
	return s.guard(gzhttp.GzipHandler(mux))
}
