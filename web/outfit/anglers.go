package outfit

import (
	"net/http"
	"net/url"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

type anglerPage struct {
	page.Frame
	Problems form.Problems
	Action   string
	Sessions string // address of the angler's sessions, "" for a new one
	Season   string // address of the review of the angler's last season, likewise
	Name     form.Field
	Kind     form.Choice
	Active   form.Tick
}

// anglerNew shows an empty form under an id of its own.
func (s *pages) anglerNew(w http.ResponseWriter, r *http.Request) error {
	return s.showAngler(w, r, http.StatusOK, nil, journal.Angler{ID: journal.NewID(), Kind: journal.Client, Active: true}, true)
}

// angler shows the form with an angler of the journal.
func (s *pages) angler(w http.ResponseWriter, r *http.Request) error {
	a, err := page.Of(r, s.Store.Anglers, func(a journal.Angler) journal.ID { return a.ID })
	if err != nil {
		return err
	}
	return s.showAngler(w, r, http.StatusOK, nil, a, false)
}

// anglerSave takes the form of a new angler or of one in the journal.
func (s *pages) anglerSave(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	f, err := form.Read(r, "")
	if err != nil {
		return err
	}
	a := journal.Angler{ID: id, Name: f.Text("name"), Kind: journal.AnglerKind(f.Text("kind")), Active: f.Checked("active")}
	return page.Saving{
		Form:  f,
		Store: func() (string, error) { return "/anglers?done=angler-saved", s.Store.SaveAngler(r.Context(), a) },
		Again: func(status int) error { return s.showAngler(w, r, status, f, a, f.Checked("new")) },
	}.Do(w, r)
}

func (s *pages) showAngler(w http.ResponseWriter, r *http.Request, status int, f *form.Form, a journal.Angler, isNew bool) error {
	title := "Add an angler"
	if !isNew {
		title = "Change an angler"
	}
	fr, err := s.Frame(r, "", title)
	if err != nil {
		return err
	}
	if f == nil {
		f = form.New(fr.Units)
		f.Set("name", a.Name)
		f.Set("kind", string(a.Kind))
		if a.Active {
			f.Set("active", "yes")
		}
	}
	p := anglerPage{Frame: fr, Problems: f.Problems("Not saved yet. Please look at:"), Action: "/anglers/" + a.ID.String(),
		Name: f.Input("name", "Name", ""), Kind: f.Choose("kind", "Is", "", form.Vocabulary(journal.AnglerKinds(), "")), Active: f.Tick("active", "Offer when logging a session")}
	if !isNew {
		p.Sessions = "/sessions?angler=" + a.ID.String()
	}
	if !isNew && status == http.StatusOK { // under the name that is stored
		p.Season = "/season?angler=" + url.QueryEscape(a.Name)
	}
	return s.Render(w, status, "angler", p)
}

type anglersPage struct {
	page.Frame
	Anglers []page.Row
}

// anglers lists everyone, those who no longer come last.
func (s *pages) anglers(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	list, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p := anglersPage{Frame: fr}
	for _, active := range []bool{true, false} {
		for _, a := range list {
			if a.Active != active {
				continue
			}
			more := prose.Capital(string(a.Kind))
			if !active {
				more += " · not offered when logging"
			}
			p.Anglers = append(p.Anglers, page.Row{Href: "/anglers/" + a.ID.String(), Title: a.Name, More: more})
		}
	}
	return s.Render(w, http.StatusOK, "anglers", p)
}
