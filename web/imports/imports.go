// Package imports serves the pages on which people bring their sheets in: each column is shown as it was understood, can
// be chosen otherwise, and nothing is written before it was seen.
package imports

import (
	"fmt"
	"net/http"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/pending"
	"rigtally/web/steps"
)

// pages are the pages of imports.
type pages struct {
	*page.Desk
	tray *Tray
}

// Path is where files are chosen, and sent.
const Path = "/import"

// Routes are the addresses of these pages.
func Routes(d *page.Desk, t *Tray) []page.Route {
	s := &pages{d, t}
	return []page.Route{
		{Pattern: "GET " + Path, Act: s.Framed("import", title, s.choose)},
		{Pattern: "POST " + Path, Act: s.Framed("import", title, s.take)},
		{Pattern: "GET " + Path + "/{id}", Act: s.of(s.show)},
		{Pattern: "POST " + Path + "/{id}", Act: s.of(s.answer)},
		{Pattern: "GET " + Path + "/{id}/rejects.csv", Act: s.of(s.rejects)},
	}
}

const title = "Bring in a sheet"

// choosePage is where files are chosen.
type choosePage struct {
	page.Frame
	Form   *form.Form
	Waits  []page.Row // what was chosen and not written
	Limits string
	Steps  []page.Row // what was brought in before
}

func (s *pages) choose(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	return s.showChoose(w, r, http.StatusOK, fr, form.New(fr.Units))
}

func (s *pages) showChoose(w http.ResponseWriter, r *http.Request, status int, fr page.Frame, f *form.Form) error {
	p := choosePage{Frame: fr, Form: f, Limits: fmt.Sprintf("Up to %d files at once, each up to %d MB.", mostFiles, mostFile>>20)}
	var err error
	if p.Steps, err = steps.Rows(r, s.Desk, fr, journal.StepImport); err != nil {
		return err
	}
	for _, u := range s.tray.Own(pending.OwnerOf(s.Desk)) {
		p.Waits = append(p.Waits, page.Row{Href: u.address(), Title: u.names(), More: u.state()})
	}
	return s.Render(w, status, "import", p)
}

func (u *upload) address() string { return Path + "/" + u.ID.String() }

// names are those of the files, in short.
func (u *upload) names() string {
	if more := len(u.Files()) - 1; more > 0 {
		return u.Files()[0].Name + " and " + prose.Plural(more, "more", "more")
	}
	return u.Files()[0].Name
}

// state says how far an upload is.
func (u *upload) state() string {
	_, j := u.said()
	switch {
	case j == nil:
		return "Nothing is written yet"
	case !j.Over():
		return "Being written now"
	}
	if _, failed := j.Result(); len(failed) > 0 {
		return "Not all of it was written"
	}
	return "Written"
}

// take takes the files that were sent.
func (s *pages) take(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	files, refused, err := receive(w, r, s.Desk)
	if err != nil {
		return err
	}
	f := form.New(fr.Units)
	if refused != "" {
		f.Fault("file", refused)
		return s.showChoose(w, r, http.StatusUnprocessableEntity, fr, f)
	}
	u := &upload{Upload: pending.NewUpload(files...)}
	if !s.tray.Put(pending.OwnerOf(s.Desk), u) {
		f.Fault("file", "so many files wait here just now that there is no room for these; try again in some minutes")
		return s.showChoose(w, r, http.StatusServiceUnavailable, fr, f)
	}
	if err := s.remembered(r.Context(), u); err != nil {
		return err
	}
	return page.See(w, r, u.address())
}

// of makes an action of one on an upload of whoever asks.
func (s *pages) of(act func(http.ResponseWriter, *http.Request, page.Frame, *upload) error) page.Action {
	return page.Showing(s.Desk, "import", func(r *http.Request) (*upload, error) {
		id, err := journal.ParseID(r.PathValue("id"))
		u, ok := s.tray.Find(pending.OwnerOf(s.Desk), id)
		if err != nil || !ok {
			return nil, page.Refuse(http.StatusNotFound, "These files are not here any more", "Files wait for an hour at most, and no longer than the program runs. Nothing of them was written that you were not told of. Choose them again under Sessions, Bring in a sheet.")
		}
		return u, nil
	}, (*upload).names, act)
}

// show shows an upload as far as it is.
func (s *pages) show(w http.ResponseWriter, r *http.Request, fr page.Frame, u *upload) error {
	choices, j := u.said()
	switch {
	case j == nil:
		return s.showRead(w, r, http.StatusOK, fr, u, choices, "")
	case !j.Over():
		return s.Render(w, http.StatusOK, "importwriting", newWritingPage(fr, u, j))
	}
	return s.Render(w, http.StatusOK, "importdone", newDonePage(fr, u, j))
}

// answer does what a button of an upload's page asks for.
func (s *pages) answer(w http.ResponseWriter, r *http.Request, fr page.Frame, u *upload) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	choices, j := u.said()
	switch do := f.Text("do"); {
	case do == "stop" && j != nil:
		j.Stop()
	case do == "drop" && !u.Busy():
		s.tray.Drop(u)
		return page.See(w, r, Path)
	case do == "again":
		u.again()
	case j != nil: // is written, or was
	case do == "anew":
		u.Choose(nil)
	case do == "write":
		now := chosen(f.Values, len(u.Files()))
		if u.Choose(now); !same(now, choices) {
			return s.showRead(w, r, http.StatusConflict, fr, u, now, "You changed how it is read, so nothing is written yet. This is how it is read now: look at it, then write it.")
		}
		return s.write(w, r, fr, u, now)
	default:
		u.Choose(chosen(f.Values, len(u.Files())))
	}
	return page.See(w, r, u.address())
}
