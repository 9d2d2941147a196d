// Package steps serves the pages on which what somebody did can be taken back.
package steps

import (
	"errors"
	"net/http"
	"regexp"
	"time"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pages are the pages of steps.
type pages struct{ *page.Desk }

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	return []page.Route{
		{Pattern: "GET /steps", Act: s.Framed("steps", "What was done", s.list)},
		{Pattern: "GET /steps/{id}", Act: s.of(s.show)},
		{Pattern: "POST /steps/{id}/back", Act: s.of(s.back)},
	}
}

// of makes an action of one on a step.
func (s *pages) of(act func(http.ResponseWriter, *http.Request, page.Frame, journal.Step) error) page.Action {
	return page.Showing(s.Desk, "steps", func(r *http.Request) (journal.Step, error) { return page.At(r, s.Store.StepByID) },
		func(step journal.Step) string { return written(step.What) }, act)
}

type listPage struct {
	page.Frame
	Rows []page.Row
	Days int
}

// most is as many steps as are listed.
const most = 100

// Rows are the latest steps, in short: of some kinds alone where any are given.
func Rows(r *http.Request, d *page.Desk, fr page.Frame, kinds ...journal.StepKind) ([]page.Row, error) {
	list, err := d.Store.Steps(r.Context(), most)
	if err != nil {
		return nil, err
	}
	var rows []page.Row
	for _, step := range list {
		wanted := len(kinds) == 0
		for _, k := range kinds {
			wanted = wanted || step.Kind == k
		}
		if wanted {
			rows = append(rows, page.Row{Href: "/steps/" + step.ID.String(), Title: written(step.What), More: says(step, fr)})
		}
	}
	return rows, nil
}

// says tells when a step was taken and by whom, and whether it was taken back.
func says(step journal.Step, fr page.Frame) string {
	text := at(step.At, fr) + ", by " + by(step)
	if step.UndoneAt != nil {
		text = "Taken back " + at(*step.UndoneAt, fr) + " · done " + text
	}
	return text
}

var dayOf = regexp.MustCompile(`\bsession of \d{4}-\d\d-\d\d\b`)

// written writes the day of a session out, as pages do.
func written(text string) string {
	return dayOf.ReplaceAllStringFunc(text, func(of string) string {
		const before = len("session of ")
		day, err := journal.ParseDate(of[before:])
		if err != nil {
			return of
		}
		return of[:before] + prose.Day(day)
	})
}

func at(t time.Time, fr page.Frame) string {
	loc, err := time.LoadLocation(fr.Outfit.TimeZone)
	if err != nil {
		loc = time.UTC
	}
	return t.In(loc).Format("2 January 2006 15:04")
}

func by(step journal.Step) string {
	switch {
	case step.Mine:
		return "you"
	case step.By != "":
		return step.By
	}
	return "the " + string(step.Role)
}

func (s *pages) list(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	rows, err := Rows(r, s.Desk, fr)
	if err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "steps", listPage{Frame: fr, Rows: rows, Days: journal.UndoDays})
}

type stepPage struct {
	page.Frame
	Step    journal.Step
	Says    string
	Stands  bool            // and is not too old
	Undone  *journal.Undone // just now
	Refused []string        // why it is not taken back
	Days    int
}

func (s *pages) show(w http.ResponseWriter, _ *http.Request, fr page.Frame, step journal.Step) error {
	return s.Render(w, http.StatusOK, "step", s.page(fr, step))
}

func (s *pages) page(fr page.Frame, step journal.Step) stepPage {
	old := s.Now().After(step.At.AddDate(0, 0, journal.UndoDays))
	return stepPage{Frame: fr, Step: step, Says: says(step, fr), Stands: step.UndoneAt == nil && !old, Days: journal.UndoDays}
}

// back takes a step back, and says what was left and why.
func (s *pages) back(w http.ResponseWriter, r *http.Request, fr page.Frame, step journal.Step) error {
	undone, err := s.Store.Undo(r.Context(), step.ID)
	var invalid *journal.Invalid
	if errors.As(err, &invalid) {
		p := s.page(fr, step)
		for _, why := range form.Sentences(invalid) {
			p.Refused = append(p.Refused, written(why))
		}
		return s.Render(w, http.StatusUnprocessableEntity, "step", p)
	}
	if err != nil {
		return err
	}
	for i, left := range undone.Left {
		undone.Left[i] = written(left)
	}
	p := s.page(fr, undone.Step)
	p.Undone = &undone
	return s.Render(w, http.StatusOK, "step", p)
}

// Went says how many sessions went back.
func (p stepPage) Went() string {
	n := p.Undone.Sessions
	if p.Step.Kind == journal.StepImport {
		return "What it wrote of " + prose.Plural(n, "session", "sessions") + " is out of the journal again."
	}
	return prose.Plural(n, "session is", "sessions are") + " as before it."
}
