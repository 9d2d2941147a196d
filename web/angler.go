package web

import (
	"net/http"
	"net/url"

	"rigtally/journal"
)

type anglerPage struct {
	frame
	Problems problems
	Action   string
	Sessions string // address of the angler's sessions, "" for a new one
	Season   string // address of the review of the angler's last season, likewise
	Name     field
	Kind     choice
	Active   tick
}

// anglerNew shows an empty form under an id of its own.
func (s *Server) anglerNew(w http.ResponseWriter, r *http.Request) error {
	id, err := journal.NewID()
	if err != nil {
		return err
	}
	return s.showAngler(w, r, http.StatusOK, nil, journal.Angler{ID: id, Kind: journal.Client, Active: true}, true)
}

// angler shows the form with an angler of the journal.
func (s *Server) angler(w http.ResponseWriter, r *http.Request) error {
	a, err := s.anglerAt(r)
	if err != nil {
		return err
	}
	return s.showAngler(w, r, http.StatusOK, nil, a, false)
}

func (s *Server) anglerAt(r *http.Request) (journal.Angler, error) {
	id, err := pathID(r)
	if err != nil {
		return journal.Angler{}, err
	}
	list, err := s.store.Anglers(r.Context())
	if err != nil {
		return journal.Angler{}, err
	}
	for _, a := range list {
		if a.ID == id {
			return a, nil
		}
	}
	return journal.Angler{}, journal.ErrNotFound
}

// anglerSave takes the form of a new angler or of one in the journal.
func (s *Server) anglerSave(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	f, err := readForm(r, "")
	if err != nil {
		return err
	}
	a := journal.Angler{ID: id, Name: f.text("name"), Kind: journal.AnglerKind(f.text("kind")), Active: f.checked("active")}
	return saving{
		form:  f,
		store: func() (string, error) { return "/anglers?done=angler-saved", s.store.SaveAngler(r.Context(), a) },
		again: func(status int) error { return s.showAngler(w, r, status, f, a, f.checked("new")) },
	}.do(w, r)
}

func (s *Server) showAngler(w http.ResponseWriter, r *http.Request, status int, f *form, a journal.Angler, isNew bool) error {
	title := "Add an angler"
	if !isNew {
		title = "Change an angler"
	}
	fr, err := s.frame(r, "", title)
	if err != nil {
		return err
	}
	if f == nil {
		f = newForm(fr.Units)
		f.set("name", a.Name)
		f.set("kind", string(a.Kind))
		if a.Active {
			f.set("active", "yes")
		}
	}
	p := anglerPage{frame: fr, Problems: f.problems("Not saved yet. Please look at:"), Action: "/anglers/" + a.ID.String(),
		Name: f.input("name", "Name", ""), Kind: f.choose("kind", "Is", "", vocabulary(journal.AnglerKinds(), "")), Active: f.tick("active", "Offer when logging a session")}
	if !isNew {
		p.Sessions = "/sessions?angler=" + a.ID.String()
	}
	if !isNew && status == http.StatusOK { // under the name that is stored
		p.Season = "/season?angler=" + url.QueryEscape(a.Name)
	}
	return s.render(w, status, "angler", p)
}
