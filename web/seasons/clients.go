package seasons

import (
	"net/http"
	"slices"
	"time"

	"rigtally/inquiry"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// clientsPage leads to the review of each person's season.
type clientsPage struct {
	page.Frame
	Year            int
	Clients, Others []page.Row
	Whole           string // address of the whole outfit's season; empty without one
}

// clients lists who fished in the latest season, clients first, the one with most hours first.
func (s *pages) clients(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	years, err := s.Store.Seasons(r.Context())
	if err != nil {
		return err
	}
	p := clientsPage{Frame: f}
	if len(years) == 0 {
		return s.Render(w, http.StatusOK, "clients", p)
	}
	p.Year, p.Whole = years[0], "/season"
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	fished, err := s.Store.TotalsByAngler(r.Context(), journal.Date{Year: p.Year, Month: time.January, Day: 1}, journal.Date{Year: p.Year, Month: time.December, Day: 31})
	if err != nil {
		return err
	}
	slices.SortStableFunc(anglers, func(a, b journal.Angler) int {
		return int(fished[b.ID].Minutes - fished[a.ID].Minutes)
	})
	for _, a := range anglers {
		t, ok := fished[a.ID]
		if !ok {
			continue
		}
		q, _ := inquiry.Read(params(), map[string][]string{"angler": {a.Name}})
		row := page.Row{Href: q.URL("/season"), Title: a.Name, More: prose.Plural(t.Sessions, "session", "sessions") + " · " + units.FormatDuration(60*float64(int(t.Minutes/60+0.5))) +
			" · " + prose.CountFact(t.Landed, "fish", "fish") + " · " + prose.CountFact(t.Tangles, "tangle", "tangles")}
		if a.Kind == journal.Client {
			p.Clients = append(p.Clients, row)
		} else {
			p.Others = append(p.Others, row)
		}
	}
	return s.Render(w, http.StatusOK, "clients", p)
}
