package logging

import (
	"net/http"
	"strconv"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

type deletedPage struct {
	page.Frame
	Days     int // for which a session can be brought back
	Sessions []deletedRow
}

type deletedRow struct {
	ID, Title, More string
	Version         int
}

// sessionsDeleted lists what can still be brought back.
func (s *Pages) sessionsDeleted(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	list, err := s.Store.DeletedSessions(r.Context())
	if err != nil {
		return err
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	p := deletedPage{Frame: fr, Days: journal.UndoDays}
	for _, d := range list {
		minutes := 0.0
		for _, st := range d.Stints {
			if st.Minutes != nil {
				minutes += *st.Minutes
			}
		}
		p.Sessions = append(p.Sessions, deletedRow{d.ID.String(), prose.Day(d.Day) + ", " + k.where(d.Session),
			k.who(d.AnglerID) + " · " + units.FormatDuration(minutes) + " · deleted " + prose.Day(journal.DateOf(d.DeletedAt)), d.Version})
	}
	return s.Render(w, http.StatusOK, "deleted", p)
}

const sessionsPerPage = 50

type sessionsPage struct {
	page.Frame
	Undo                     string // id of the session that was just deleted
	Form                     *form.Form
	Anglers, Waters, Seasons []form.Option
	Filtered                 bool
	Total                    string
	Empty                    bool // there is no session, however chosen
	Sessions                 []page.Row
	Turn                     page.Turn
}

// sessions lists sessions, the latest first, by page and filter.
func (s *Pages) sessions(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	f := form.Of(r.URL.Query(), fr.Units)
	at, filter, err := sessionFilter(f)
	if err != nil {
		return err
	}
	lines, total, err := s.Store.SessionLines(r.Context(), filter)
	if err != nil {
		return err
	}
	p := sessionsPage{Frame: fr, Total: prose.Plural(total, "session", "sessions"), Sessions: page.SessionRows(lines), Form: f, Turn: page.NewTurn("sessions", "/sessions", f.Values, at, total, sessionsPerPage)}
	if at > p.Turn.Of {
		return page.Refuse(http.StatusNotFound, "No such page", "The list of sessions has "+prose.Plural(p.Turn.Of, "page", "pages")+"; page "+strconv.Itoa(at)+" is past the end.")
	}
	p.Filtered = filter.Angler != nil || filter.Water != nil || filter.Season != 0
	p.Empty = total == 0 && !p.Filtered
	if p.Undo, err = s.undo(r, f.ID("undo")); err != nil {
		return err
	}
	if err := s.sessionChoices(r, f, &p); err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "sessions", p)
}

// undo returns the id of a session that was just deleted, as long as it can be brought back.
func (s *Pages) undo(r *http.Request, id *journal.ID) (string, error) {
	if id == nil {
		return "", nil
	}
	list, err := s.Store.DeletedSessions(r.Context())
	for _, d := range list {
		if d.ID == *id {
			return id.String(), nil
		}
	}
	return "", err
}

// sessionFilter reads what the address asks for.
func sessionFilter(f *form.Form) (at int, filter journal.SessionFilter, err error) {
	const furthest = 100_000
	at = form.Or(f.Whole("page", furthest), 1)
	filter.Angler, filter.Water = f.ID("angler"), f.ID("water")
	filter.Season = form.Or0(f.Whole("season", 2200))
	if at < 1 {
		f.Fault("page", "pages are counted from 1")
	}
	if len(f.Faults) > 0 {
		return 0, filter, page.Refuse(http.StatusUnprocessableEntity, "That list can’t be shown", "The address asks for "+f.Faults[0].Field+" “"+clip(f.Text(f.Faults[0].Field))+"”: "+f.Faults[0].Text)
	}
	filter.Limit, filter.Offset = sessionsPerPage, (at-1)*sessionsPerPage
	return at, filter, nil
}

// sessionChoices fills the lists to filter by.
func (s *Pages) sessionChoices(r *http.Request, f *form.Form, p *sessionsPage) error {
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	waters, err := s.Store.Waters(r.Context())
	if err != nil {
		return err
	}
	seasons, err := s.Store.Seasons(r.Context())
	if err != nil {
		return err
	}
	p.Anglers, p.Waters = form.Offer("Everyone", anglers, form.Angler), form.Offer("Every water", waters, form.Water)
	p.Seasons = form.Offer("Every season", seasons, form.Number)
	return nil
}
