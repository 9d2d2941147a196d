package web

import (
	"maps"
	"net/http"
	"slices"
	"sync"

	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web/door"
	"rigtally/web/logging"
	"rigtally/web/page"
)

// room is the pages as one person sees them: a store that shows what is theirs, the addresses that are for them, and
// what was made for them before. Nothing that is kept is shared between rooms.
type room struct {
	*page.Desk
	server  *Server
	logging *logging.Pages
	pages   page.Kept[*madePage]
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

// mostRooms is how many people's pages are kept; whoever comes after that finds none kept.
const mostRooms = 32

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
		delete(s.rooms.kept, s.rooms.latest[0])
		s.rooms.latest = slices.Delete(s.rooms.latest, 0, 1)
	}
	s.rooms.kept[key], s.rooms.latest = made, append(s.rooms.latest, key)
	return made, nil
}

// newRoom furnishes a room for whom a store works.
func (s *Server) newRoom(store *pg.Store) (*room, error) {
	role := store.Who().Role
	desk, known := s.desks[role]
	if !known {
		desk = s.Desk.For(store)
		if err := desk.Load(files, s.assets.url, patterns(s.routesFor(role))); err != nil {
			return nil, err
		}
		s.desks[role] = desk
	}
	r := &room{Desk: desk.For(store), server: s, pages: page.Kept[*madePage]{Most: mostPageBytes, Size: (*madePage).size}}
	r.logging = logging.New(r.Desk)
	if err := r.logging.KeepShell(files, s.assets.url, slices.Sorted(maps.Keys(s.assets.byName))); err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	for _, rt := range routes(r.Desk, r.logging, s.tray) {
		if !rt.For.Admits(role) {
			continue
		}
		act := rt.Act
		if rt.Kept {
			act = r.answers(act)
		}
		mux.Handle(rt.Pattern, r.Handle(act))
	}
	mux.Handle("/", r.Handle(page.Missing))
	r.handler = r.Theirs(mux)
	return r, nil
}

// routesFor are the addresses for a role. What answers there is not asked.
func (s *Server) routesFor(role journal.Role) []page.Route {
	return slices.DeleteFunc(routes(s.Desk, logging.New(s.Desk), s.tray), func(rt page.Route) bool { return !rt.For.Admits(role) })
}
