package web

import (
	"net/http"
	"strconv"

	"rigtally/journal"
	"rigtally/prose"
)

const sessionsPerPage = 50

type sessionsPage struct {
	frame
	Undo                  string // id of the session that was just deleted
	Angler, Water, Season choice
	Filtered              bool
	Total                 string
	Empty                 bool // there is no session, however chosen
	Sessions              []sessionRow
	Page, Pages           int
	Earlier, Later        string // addresses of the neighbouring pages, "" at the end
}

// sessions lists sessions, the latest first, by page and filter.
func (s *Server) sessions(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "sessions", "Sessions")
	if err != nil {
		return err
	}
	f := formOf(r.URL.Query(), fr.Units)
	page, filter, err := sessionFilter(f)
	if err != nil {
		return err
	}
	lines, total, err := s.store.SessionLines(r.Context(), filter)
	if err != nil {
		return err
	}
	p := sessionsPage{frame: fr, Total: prose.Plural(total, "session", "sessions"), Sessions: sessionRows(lines), Page: page, Pages: max(1, (total+sessionsPerPage-1)/sessionsPerPage)}
	if page > p.Pages {
		return refuse(http.StatusNotFound, "No such page", "The list of sessions has "+prose.Plural(p.Pages, "page", "pages")+"; page "+strconv.Itoa(page)+" is past its end.")
	}
	p.Filtered = filter.Angler != nil || filter.Water != nil || filter.Season != 0
	p.Empty = total == 0 && !p.Filtered
	if p.Undo, err = s.undo(r, f.id("undo")); err != nil {
		return err
	}
	if page > 1 {
		p.Later = turned("/sessions", f.values, page-1)
	}
	if page < p.Pages {
		p.Earlier = turned("/sessions", f.values, page+1)
	}
	if err := s.sessionChoices(r, f, &p); err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "sessions", p)
}

// undo returns the id of a session that was just deleted, as long as it can be brought back.
func (s *Server) undo(r *http.Request, id *journal.ID) (string, error) {
	if id == nil {
		return "", nil
	}
	list, err := s.store.DeletedSessions(r.Context())
	for _, d := range list {
		if d.ID == *id {
			return id.String(), nil
		}
	}
	return "", err
}

// sessionFilter reads what the address asks for.
func sessionFilter(f *form) (page int, filter journal.SessionFilter, err error) {
	const furthest = 100_000
	page = 1
	if n := f.whole("page", furthest); n != nil {
		page = *n
	}
	filter.Angler, filter.Water = f.id("angler"), f.id("water")
	if n := f.whole("season", 2200); n != nil {
		filter.Season = *n
	}
	if page < 1 {
		f.fault("page", "pages are counted from 1")
	}
	if len(f.faults) > 0 {
		return 0, filter, refuse(http.StatusUnprocessableEntity, "That list can’t be shown", "The address asks for "+f.faults[0].Field+" “"+clip(f.text(f.faults[0].Field))+"”: "+f.faults[0].Text)
	}
	filter.Limit, filter.Offset = sessionsPerPage, (page-1)*sessionsPerPage
	return page, filter, nil
}

// sessionChoices fills the lists to filter by.
func (s *Server) sessionChoices(r *http.Request, f *form, p *sessionsPage) error {
	anglers, err := s.store.Anglers(r.Context())
	if err != nil {
		return err
	}
	waters, err := s.store.Waters(r.Context())
	if err != nil {
		return err
	}
	seasons, err := s.store.Seasons(r.Context())
	if err != nil {
		return err
	}
	byAngler, byWater, bySeason := []option{{Text: "Everyone"}}, []option{{Text: "Every water"}}, []option{{Text: "Every season"}}
	for _, a := range anglers {
		byAngler = append(byAngler, option{Value: a.ID.String(), Text: a.Name})
	}
	for _, w := range waters {
		byWater = append(byWater, option{Value: w.ID.String(), Text: w.Name})
	}
	for _, y := range seasons {
		bySeason = append(bySeason, option{Value: strconv.Itoa(y), Text: strconv.Itoa(y)})
	}
	p.Angler, p.Water, p.Season = f.choose("angler", "Angler", "", byAngler), f.choose("water", "Water", "", byWater), f.choose("season", "Season", "", bySeason)
	return nil
}
