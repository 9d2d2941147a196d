package web

import (
	"context"
	"maps"
	"net/http"
	"slices"
	"sync"

	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web/door"
	"rigtally/web/imports"
	"rigtally/web/logging"
	"rigtally/web/page"
	"rigtally/web/rivers"
)

// room is the pages as one person sees them: a store that shows what is theirs, the addresses that are for them, and
// what was made for them before. Nothing that is kept is shared between rooms.
type room struct {
	*page.Desk
	server  *Server
	logging *logging.Pages
	pages   page.Kept[*madePage]
	acts    []http.Handler // in the order of the role's addresses, and what answers elsewhere
	handler http.Handler
}

// rooms keeps those of the people who came last.
type rooms struct {
	mu     sync.Mutex
	kept   map[roomKey]*room
	latest []roomKey // the last used last
}

// roomKey tells rooms apart by all that what they show depends on.
type roomKey struct {
	outfit         journal.ID
	role           journal.Role
	name           string
	person, angler journal.ID
}

const (
	mostRooms     = 512       // people whose pages are kept; whoever comes after that finds none kept
	mostRoomBytes = 256 << 20 // of all their pages
)

func keyOf(v door.Visitor) roomKey {
	k := roomKey{outfit: v.Outfit, role: v.Who.Role, name: v.Who.Name}
	if v.Who.Person != nil {
		k.person = *v.Who.Person
	}
	if v.Who.Angler != nil {
		k.angler = *v.Who.Angler
	}
	return k
}

// roomOf is where a visitor's requests are answered.
func (s *Server) roomOf(v door.Visitor) (*room, error) {
	key := keyOf(v)
	s.rooms.mu.Lock()
	defer s.rooms.mu.Unlock()
	if i := slices.Index(s.rooms.latest, key); i >= 0 {
		s.rooms.latest = append(slices.Delete(s.rooms.latest, i, i+1), key)
		return s.rooms.kept[key], nil
	}
	made, err := s.newRoom(s.store.In(v.Outfit, v.Who))
	if err != nil {
		return nil, err
	}
	if len(s.rooms.latest) >= mostRooms {
		s.rooms.dropFirst()
	}
	s.rooms.kept[key], s.rooms.latest = made, append(s.rooms.latest, key)
	return made, nil
}

// bound drops the rooms that were not used for longest until the pages of those left take no more than they may; the one
// given stays.
func (rs *rooms) bound(but *room) {
	rs.mu.Lock()
	defer rs.mu.Unlock()
	all := 0
	for _, r := range rs.kept {
		all += r.pages.Total()
	}
	for all > mostRoomBytes && rs.kept[rs.latest[0]] != but {
		all -= rs.kept[rs.latest[0]].pages.Total()
		rs.dropFirst()
	}
}

func (rs *rooms) dropFirst() {
	delete(rs.kept, rs.latest[0])
	rs.latest = slices.Delete(rs.latest, 0, 1)
}

// furnishing is what the rooms of a role have in common: the desk's templates, and which address is which of its acts.
type furnishing struct {
	desk *page.Desk
	mux  *http.ServeMux
}

// inRoom is the key of a request's room in its context.
type inRoom struct{}

func (s *Server) furnish(role journal.Role) (*furnishing, error) {
	if f := s.roles[role]; f != nil {
		return f, nil
	}
	f := &furnishing{s.Desk.For(s.store), http.NewServeMux()}
	served := s.routesFor(role)
	if err := f.desk.Load(files, s.assets.url, patterns(served)); err != nil {
		return nil, err
	}
	act := func(i int) http.HandlerFunc {
		return func(w http.ResponseWriter, r *http.Request) {
			r.Context().Value(inRoom{}).(*room).acts[i].ServeHTTP(w, r)
		}
	}
	for i, rt := range served {
		f.mux.Handle(rt.Pattern, act(i))
	}
	f.mux.Handle("/", act(len(served)))
	s.roles[role] = f
	return f, nil
}

// newRoom furnishes a room for whom a store works.
func (s *Server) newRoom(store *pg.Store) (*room, error) {
	role := store.Who().Role
	of, err := s.furnish(role)
	if err != nil {
		return nil, err
	}
	r := &room{Desk: of.desk.For(store), server: s, pages: page.Kept[*madePage]{Most: mostPageBytes, Size: (*madePage).size}}
	if store.OutfitID() != s.store.OutfitID() {
		r.LastBackup = nil // backups are of all outfits: whose they are is who runs the server
	}
	r.logging = logging.New(r.Desk)
	r.logging.KeepShell(files, s.assets.url, slices.Sorted(maps.Keys(s.assets.byName)))
	for _, rt := range routesOf(role, r.Desk, r.logging, s.tray, s.rivers) {
		act := rt.Act
		if rt.Kept {
			act = r.answers(act, rt.Rivers)
		}
		r.acts = append(r.acts, r.Handle(act))
	}
	r.acts = append(r.acts, r.Handle(page.Missing))
	r.handler = r.Theirs(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		of.mux.ServeHTTP(w, req.WithContext(context.WithValue(req.Context(), inRoom{}, r)))
	}))
	return r, nil
}

// routesFor are the addresses for a role. What answers there is not asked.
func (s *Server) routesFor(role journal.Role) []page.Route {
	return routesOf(role, s.Desk, logging.New(s.Desk), s.tray, s.rivers)
}

func routesOf(role journal.Role, d *page.Desk, l *logging.Pages, t *imports.Tray, w *rivers.Works) []page.Route {
	return slices.DeleteFunc(routes(d, l, t, w), func(rt page.Route) bool { return !rt.For.Admits(role) })
}
