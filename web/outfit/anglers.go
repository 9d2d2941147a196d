package outfit

import (
	"net/http"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// angler is the form of an angler.
func (s *pages) angler() page.Editor[journal.Angler] {
	return page.Editor[journal.Angler]{
		Desk: s.Desk, Template: "angler", Add: "Add an angler", Change: "Change an angler",
		Fresh: func(id journal.ID, _ journal.Outfit) journal.Angler {
			return journal.Angler{ID: id, Kind: journal.Client, Active: true}
		},
		Held: func(r *http.Request) (journal.Angler, error) {
			return page.Of(r, s.Store.Anglers, func(a journal.Angler) journal.ID { return a.ID })
		},
		Fill: func(f *form.Form, a journal.Angler) {
			f.Set("name", a.Name)
			f.Set("kind", string(a.Kind))
			f.Check("active", a.Active)
		},
		Read: func(f *form.Form, id journal.ID) journal.Angler {
			return journal.Angler{ID: id, Name: f.Text("name"), Kind: journal.AnglerKind(f.Text("kind")), Active: f.Checked("active")}
		},
		Store: s.Store.SaveAngler,
		Known: page.Links(s.Store.Anglers, func(a journal.Angler) page.Link {
			return page.Link{Href: "/anglers/" + a.ID.String(), Text: a.Name}
		}),
		Then: "/anglers?done=angler-saved",
	}
}

type listPage struct {
	page.Frame
	Rows []page.Row
}

// anglers lists everyone, those who no longer come last.
func (s *pages) anglers(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	list, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p := listPage{Frame: fr}
	for _, active := range []bool{true, false} {
		for _, a := range list {
			if a.Active != active {
				continue
			}
			more := prose.Capital(string(a.Kind))
			if !active {
				more += " · not offered when logging"
			}
			p.Rows = append(p.Rows, page.Row{Href: "/anglers/" + a.ID.String(), Title: a.Name, More: more})
		}
	}
	return s.Render(w, http.StatusOK, "anglers", p)
}
