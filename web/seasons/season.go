// Package seasons serves the review of a season, as a page and as a file.
package seasons

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"rigtally/analytics/season"
	"rigtally/inquiry"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pages are the pages of seasons.
type pages struct {
	*page.Desk
	files fs.FS // templates and styles
}

func (s *pages) seasonOf(ctx context.Context, r season.Request) (season.Answer, error) {
	r.Angler = strings.ToLower(r.Angler)
	return page.Ask(ctx, s.Desk, r, func(ctx context.Context) (season.Answer, error) { return season.Review(ctx, s.Store, r) })
}

// seasonPage is the review of a season.
type seasonPage struct {
	page.Frame
	Anglers, Years []form.Option
	Shared         season.Sharing
	Review         reviewView
	File, JSON     string // addresses of the same review
	Empty          bool   // nothing has been logged yet
	Of             string // whose it is, where it can be shared as a link
	Question       string // what is shared then
	Days           []form.Option
	Rivers         *page.Figure // the days on what gauges measured; nil where none did
}

// params are what an address asks of a review.
func params() []inquiry.Param {
	word := func(w string) func() []string { return func() []string { return []string{w} } }
	return []inquiry.Param{{Key: "angler"}, {Key: "names", Kind: inquiry.Yes, Words: word("out")}, {Key: "waters", Kind: inquiry.Yes, Words: word("blurred")}, {Key: "year"}, {Key: "note"}}
}

// review answers an address, with what is to be left out left out; what is no year counts as the last season.
func (s *pages) review(ctx context.Context, asked url.Values, sys units.System) (inquiry.Query, season.Answer, error) {
	q, _ := inquiry.Read(params(), asked)
	year, err := strconv.Atoi(q.Get("year"))
	if err != nil || year < 0 || year >= 10000 {
		year = 0
	}
	if s.Store.Who().IsClient() {
		if q, err = s.ownSeason(ctx, q); err != nil {
			return q, season.Answer{}, err
		}
	}
	a, err := s.seasonOf(ctx, season.Request{Angler: q.Get("angler"), Year: year, Alone: s.Store.Who().IsClient(), Units: sys})
	if errors.Is(err, journal.ErrNotFound) && q.Get("angler") != "" {
		return q, a, page.Refuse(http.StatusNotFound, "No such angler", fmt.Sprintf("%s is not in this journal. Choose an angler from the list on the season page.", q.Get("angler")))
	}
	q = q.With("year")
	if a.Year != 0 {
		q = q.With("year", strconv.Itoa(a.Year))
	}
	return q, a.Share(season.Sharing{WithoutNames: q.Get("names") != "", BlurWaters: q.Get("waters") != ""}), err
}

// ownSeason makes a question a client's about themselves, who is the one angler that they see.
func (s *pages) ownSeason(ctx context.Context, q inquiry.Query) (inquiry.Query, error) {
	self, err := s.Store.Anglers(ctx)
	if err == nil && len(self) != 1 {
		err = journal.ErrNotFound
	}
	if err != nil {
		return q, err
	}
	return q.With("angler", self[0].Name), nil
}

func (s *pages) season(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	f.Wide = true
	q, a, err := s.review(r.Context(), r.URL.Query(), f.Units)
	if err != nil {
		return err
	}
	p := seasonPage{Frame: f, Shared: a.Shared, Empty: a.Year == 0, Review: newReviewView(a, f.Units, q.Get("note")), File: q.URL("/season.html"), JSON: q.URL("/season.json")}
	p.Title = p.Review.Title
	if s.Store.Who().Role != journal.RoleClient && a.Angler != "" && !p.Empty {
		p.Of, p.Question, p.Days = a.Angler, strings.TrimPrefix(q.URL(""), "?"), shareDays()
	}
	if p.Rivers, err = s.rivers(r.Context(), f, a); err != nil {
		return err
	}
	if err := s.seasonChoices(r, q, a, &p); err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "season", p)
}

// seasonChoices lists the anglers and years to choose from.
func (s *pages) seasonChoices(r *http.Request, q inquiry.Query, a season.Answer, p *seasonPage) error {
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p.Anglers = form.Offer("The whole outfit", anglers, func(x journal.Angler) form.Option {
		return form.Option{Value: x.Name, Text: x.Name, Selected: strings.EqualFold(x.Name, q.Get("angler"))}
	})
	p.Anglers[0].Selected = q.Get("angler") == ""
	years := a.Seasons
	if a.Year != 0 && !slices.Contains(years, a.Year) {
		years = append([]int{a.Year}, years...)
	}
	p.Years = form.Select(form.Offer("", years, form.Number), strconv.Itoa(a.Year))
	return nil
}

// askSeason answers an address for programs, as the command line does.
func (s *pages) askSeason(r *http.Request, sys units.System) (season.Answer, error) {
	_, a, err := s.review(r.Context(), r.URL.Query(), sys)
	return a, err
}

// seasonFile sends the review as one file.
func (s *pages) seasonFile(w http.ResponseWriter, r *http.Request) error {
	a, sys, err := page.Asks[season.Answer](s.askSeason).Answer(s.Desk, r)
	if err != nil {
		return err
	}
	return page.SendFile(w, seasonFileName(a)+".html", "text/html; charset=utf-8", func(out io.Writer) error { return WriteFile(out, s.files, a, sys, r.URL.Query().Get("note")) })
}

// seasonFileName names a file after the season; after nobody where names are left out.
func seasonFileName(a season.Answer) string {
	if a.Angler == "" || a.Shared.WithoutNames {
		return fmt.Sprintf("season-%d", a.Year)
	}
	return page.FileName("season", strconv.Itoa(a.Year), a.Angler)
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk, files fs.FS) []page.Route {
	s := &pages{d, files}
	return []page.Route{
		{Pattern: "GET /clients", Act: s.Framed("clients", "Clients", s.clients), Kept: true},
		{Pattern: "GET /shares", Act: s.Framed("season", "Shared seasons", s.shares)},
		{Pattern: "POST /shares", Act: s.Framed("season", "Shared seasons", s.share)},
		{Pattern: "POST /shares/{id}/withdraw", Act: page.Doing(func(ctx context.Context, id journal.ID, _ int) error { return s.Store.WithdrawShare(ctx, id) }, "/shares?done=share-withdrawn")},
		{Pattern: "GET /season", Act: s.Framed("season", "Season", s.season), Kept: true, Rivers: true, For: page.ForAll},
		{Pattern: "GET /season.html", Act: s.seasonFile, Kept: true, For: page.ForAll},
		{Pattern: "GET /season.json", Act: page.AsJSON(s.Desk, s.askSeason), Kept: true, For: page.ForAll},
		{Pattern: "GET " + page.Program + "/season", Act: page.AsJSON(s.Desk, s.askSeason), Kept: true, For: page.ForAll},
	}
}
