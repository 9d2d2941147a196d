package logging

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

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
		whose := ""
		if !fr.Who.IsClient() {
			whose = k.who(d.AnglerID) + " · "
		}
		p.Sessions = append(p.Sessions, deletedRow{d.ID.String(), prose.Day(d.Day) + ", " + k.where(d.Session),
			whose + units.FormatDuration(minutes) + " · deleted " + prose.Day(journal.DateOf(d.DeletedAt)), d.Version})
	}
	return s.Render(w, http.StatusOK, "deleted", p)
}

const sessionsPerPage = 50

type sessionsPage struct {
	page.Frame
	Undo                           string // id of the session that was just deleted
	Form                           *form.Form
	Anglers, Waters, Rigs, Seasons []form.Option
	Chosen, Filtered               bool // by lists; by these or by words
	Total                          string
	Empty                          bool // there is no session, however chosen
	Months                         []sessionMonth
	Turn                           page.Turn
}

// sessionMonth are the sessions of a month that are on the page.
type sessionMonth struct {
	Title string
	Rows  []sessionRow
}

// sessionRow is a session of the list: what it is found by, and what happened.
type sessionRow struct {
	Href, Day, Where, Who, Rig, Time string
	Happened                         []string // fish, tangles, breaks; or that nothing was counted
}

// byMonth puts sessions, the latest first, under their months.
func byMonth(lines []journal.SessionLine, sys units.System) (months []sessionMonth) {
	for _, l := range lines {
		first := l.Day.In(time.UTC)
		title := first.Format("January 2006")
		if n := len(months); n == 0 || months[n-1].Title != title {
			months = append(months, sessionMonth{Title: title})
		}
		row := sessionRow{Href: "/sessions/" + l.ID.String(), Day: first.Format("Mon 2"), Where: l.Water, Who: l.Angler, Rig: rigsInShort(l.Rigs, sys), Time: page.Unbroken(page.SessionTime(l)),
			Happened: []string{prose.Caught(l.Hookups, l.Landed), prose.Total(l.Tangles, "tangle", "tangles"), prose.Total(l.Breaks, "break", "breaks")}}
		if l.Beat != "" {
			row.Where += ", " + l.Beat
		}
		if l.Hookups.Known() == nil && l.Tangles.Known() == nil && l.Breaks.Known() == nil {
			row.Happened = []string{"not counted"}
		}
		months[len(months)-1].Rows = append(months[len(months)-1].Rows, row)
	}
	return months
}

// rigsInShort names rigs with their tags, the first of many.
func rigsInShort(rigs []journal.Rig, sys units.System) string {
	const most = 2
	var names []string
	for i, r := range rigs {
		if i == most {
			names = append(names, fmt.Sprintf("and %d more", len(rigs)-most))
			break
		}
		name := r.Title()
		for _, d := range r.Droppers() {
			if d.TagLengthMM != nil {
				name += ", " + page.Unbroken(units.FormatLength(*d.TagLengthMM, sys))
			}
		}
		names = append(names, name)
	}
	return strings.Join(names, "; ")
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
	p := sessionsPage{Frame: fr, Total: prose.Plural(total, "session", "sessions"), Months: byMonth(lines, fr.Units), Form: f, Turn: page.NewTurn("sessions", "/sessions", f.Values, at, total, sessionsPerPage)}
	p.Wide = true
	if at > p.Turn.Of {
		return page.Refuse(http.StatusNotFound, "No such page", "The list of sessions has "+prose.Plural(p.Turn.Of, "page", "pages")+"; page "+strconv.Itoa(at)+" is past the end.")
	}
	p.Chosen = filter.Angler != nil || filter.Water != nil || filter.RigName != "" || filter.Season != 0
	p.Filtered = p.Chosen || filter.Text != ""
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
	filter.RigName, filter.Text = f.Text("rig"), clip(f.Text("q"))
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
	rigs, err := s.Store.RigsToLog(r.Context())
	if err != nil {
		return err
	}
	named := slices.DeleteFunc(rigs, func(r journal.Rig) bool { return r.Revision > 1 }) // each name once
	slices.SortFunc(named, func(a, b journal.Rig) int { return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	p.Rigs = form.Offer("Every rig", named, func(r journal.Rig) form.Option { return form.Option{Value: r.Name, Text: r.Name} })
	p.Anglers, p.Waters = form.Offer("Everyone", anglers, form.Angler), form.Offer("Every water", waters, form.Water)
	p.Seasons = form.Offer("Every season", seasons, form.Number)
	return nil
}
