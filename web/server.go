// Package web serves the journal as pages: reading, logging and answers, for a
// phone on the bank first. Pages work without JavaScript.
package web

import (
	"cmp"
	"context"
	"errors"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/klauspost/compress/gzhttp"

	"rigtally/gauges"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/journal/words"
	"rigtally/web/door"
	"rigtally/web/imports"
	"rigtally/web/logging"
	"rigtally/web/page"
	"rigtally/web/watch"
)

// Options are what a Server may be told; the zero value is ready to use.
type Options struct {
	Logger *slog.Logger     // where causes of failures go; nil discards them
	Now    func() time.Time // the clock; nil is time.Now
	Door   door.Door        // who comes in; nil lets everybody in as the store's own
	Place  Place            // where visitors find the pages; the zero value is this machine alone

	Words *words.Table // what words of sheets mean; nil is the built-in ones

	Trouble      func() error                              // why the database is away, to be shown to whoever asks; nil tells nothing
	BeforeImport func(ctx context.Context, rows int) error // is asked before so many rows of sheets are written; nil: nobody

	LastBackup func() (at time.Time, failed string) // of the journal, told to owners of the store's outfit; nil tells nothing

	Address string // where others reach the pages, without a slash at the end; "" for this machine alone

	Watch       *watch.Watch // who is told how requests were answered; nil for nobody
	LogRequests bool         // each request is in the log, too

	Gauges *gauges.Keeper // asks the agencies that run river gauges; nil asks none
}

// Server answers requests for the pages of a journal, each in the room of who asks.
type Server struct {
	*page.Desk // of whoever is not in a room
	store      *pg.Store
	door       door.Door
	place      Place
	assets     *assets
	limit      *limit
	build      string // tells builds of the program apart
	answerIn   time.Duration
	worker     page.Action
	rooms      rooms
	tray       *imports.Tray // files that wait to be brought in
	roles      map[journal.Role]*furnishing

	watch       *watch.Watch
	logRequests bool
}

// New makes a server for the pages of a journal. It fails only when the pages
// built into the program are broken.
func New(store *pg.Store, opt Options) (*Server, error) {
	if store == nil {
		return nil, errors.New("the web pages need a journal")
	}
	if opt.Door == nil && !opt.Place.Alone() {
		return nil, errors.New("pages that others reach need a door that tells who comes in")
	}
	s := &Server{Desk: page.NewDesk(nil), store: store, door: opt.Door, place: opt.Place, build: buildTag(), tray: imports.NewTray(opt.Words), rooms: rooms{kept: map[roomKey]*room{}}, roles: map[journal.Role]*furnishing{}, limit: newLimit(), answerIn: answerIn,
		watch: opt.Watch, logRequests: opt.LogRequests}
	if s.door == nil {
		s.door = door.Open{Outfit: store.OutfitID(), Who: store.Who()}
	}
	s.Log, s.Now, s.Address, s.Trouble, s.LastBackup = cmp.Or(opt.Logger, s.Log), opt.Now, opt.Address, opt.Trouble, opt.LastBackup
	if s.Now == nil {
		s.Now = time.Now
	}
	var err error
	if s.assets, err = loadAssets(files); err != nil {
		return nil, err
	}
	if err := s.Load(files, s.assets.url, nil); err != nil {
		return nil, err
	}
	s.tray.Before = opt.BeforeImport
	if d, ok := s.door.(door.Furnished); ok {
		d.Furnish(s.Desk)
	}
	// Of the store's own, so that what is broken in a page is found here.
	own, err := s.newRoom(store)
	if err != nil {
		return nil, err
	}
	if err := own.logging.CheckShell(); err != nil {
		return nil, err
	}
	s.worker = own.logging.ServiceWorker
	return s, nil
}

// Pages lists the patterns of the addresses that an owner can read, without their method.
func (s *Server) Pages() []string {
	var list []string
	for _, rt := range s.routesFor(journal.RoleOwner) {
		if pattern, ok := strings.CutPrefix(rt.Pattern, "GET "); ok {
			list = append(list, pattern)
		}
	}
	return list
}

// Addresses lists every pattern that is served to anybody but static files, with its method.
func (s *Server) Addresses() []string {
	all := []string{"GET /icon-192.png", "GET /icon-512.png", "GET /shared/{secret}", "GET /sw.js"}
	for _, rt := range routes(s.Desk, logging.New(s.Desk), s.tray) {
		all = append(all, rt.Pattern)
	}
	slices.Sort(all)
	return all
}

// Handler returns the pages behind everything that guards them.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /static/{hash}/{path...}", page.Noted(s.assets))
	for _, name := range []string{"icon-192.png", "icon-512.png"} {
		mux.Handle("GET /"+name, s.Handle(s.icon(name)))
	}
	mux.Handle("GET /shared/{secret}", page.Noted(http.HandlerFunc(s.shared)))
	mux.Handle("GET /sw.js", s.Handle(s.worker))
	mux.Handle("/", s.Handle(func(w http.ResponseWriter, r *http.Request) error {
		visitor, ok := s.door.Enter(w, r)
		if !ok {
			return nil
		}
		room, err := s.roomOf(visitor)
		if err != nil {
			return err
		}
		w.Header().Add("Vary", "Cookie")
		room.handler.ServeHTTP(w, r)
		return nil
	}))
	// A page holds no secret beside what an address could put into it, so that its compressed length tells nobody anything.
	return s.traced(s.guard(gzhttp.GzipHandler(mux)))
}
