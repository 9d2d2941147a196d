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
	"strconv"
	"strings"

	"rigtally/analytics/season"

	"rigtally/charts"
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
	Anglers, Years       []form.Option
	WithoutNames, Blurry bool
	Review               reviewView
	File, JSON           string // addresses of the same review
	Empty                bool   // nothing has been logged yet
}

// query is a review as an address asks for it.
type query struct {
	angler string
	year   int
	season.Sharing
}

// readSeason reads an address; what is no year counts as the last season.
func readSeason(v url.Values) query {
	q := query{angler: strings.TrimSpace(v.Get("angler"))}
	if y, err := strconv.Atoi(v.Get("year")); err == nil && y > 0 && y < 10000 {
		q.year = y
	}
	q.WithoutNames, q.BlurWaters = v.Get("names") == "out", v.Get("waters") == "blurred"
	return q
}

// url writes the query under a path.
func (q query) url(path string) string {
	v := url.Values{}
	if q.angler != "" {
		v.Set("angler", q.angler)
	}
	if q.year != 0 {
		v.Set("year", strconv.Itoa(q.year))
	}
	if q.WithoutNames {
		v.Set("names", "out")
	}
	if q.BlurWaters {
		v.Set("waters", "blurred")
	}
	if len(v) == 0 {
		return path
	}
	return path + "?" + v.Encode()
}

// review answers an address, with what is to be left out left out.
func (s *pages) review(r *http.Request, sys units.System) (query, season.Answer, error) {
	q := readSeason(r.URL.Query())
	a, err := s.seasonOf(r.Context(), season.Request{Angler: q.angler, Year: q.year, Units: sys})
	if errors.Is(err, journal.ErrNotFound) && q.angler != "" {
		return q, a, page.Refuse(http.StatusNotFound, "No such angler", fmt.Sprintf("%s is not in this journal. Choose an angler from the list on the season page.", q.angler))
	}
	q.year = a.Year
	return q, a.Share(q.Sharing), err
}

func (s *pages) season(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	f.Wide = true
	q, a, err := s.review(r, f.Units)
	if err != nil {
		return err
	}
	p := seasonPage{Frame: f, WithoutNames: q.WithoutNames, Blurry: q.BlurWaters, Empty: a.Year == 0,
		Review: newReviewView(a, f.Units), File: q.url("/season.html"), JSON: q.url("/season.json")}
	p.Title = p.Review.Title
	for i := range p.Review.Parts {
		for j := range p.Review.Parts[i].Drawn {
			d := &p.Review.Parts[i].Drawn[j]
			d.SVGFile, d.CSVFile = q.url("/season/figure/"+d.Name+".svg"), q.url("/season/figure/"+d.Name+".csv")
		}
	}
	if err := s.seasonChoices(r, q, a, &p); err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "season", p)
}

// seasonChoices lists the anglers and years to choose from.
func (s *pages) seasonChoices(r *http.Request, q query, a season.Answer, p *seasonPage) error {
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p.Anglers = []form.Option{{Text: "The whole outfit", Selected: q.angler == ""}}
	for _, x := range anglers {
		p.Anglers = append(p.Anglers, form.Option{Value: x.Name, Text: x.Name, Selected: strings.EqualFold(x.Name, q.angler)})
	}
	listed := false
	for _, y := range a.Seasons {
		p.Years = append(p.Years, form.Option{Value: strconv.Itoa(y), Text: strconv.Itoa(y), Selected: y == a.Year})
		listed = listed || y == a.Year
	}
	if !listed && a.Year != 0 {
		year := strconv.Itoa(a.Year)
		p.Years = append([]form.Option{{Value: year, Text: year, Selected: true}}, p.Years...)
	}
	return nil
}

// askSeason answers an address for programs, as the command line does.
func (s *pages) askSeason(r *http.Request, sys units.System) (season.Answer, error) {
	_, a, err := s.review(r, sys)
	return a, err
}

// seasonFile sends the review as one file.
func (s *pages) seasonFile(w http.ResponseWriter, r *http.Request) error {
	a, sys, err := page.Asks[season.Answer](s.askSeason).Answer(s.Desk, r)
	if err != nil {
		return err
	}
	return page.SendFile(w, seasonFileName(a)+".html", "text/html; charset=utf-8", func(out io.Writer) error { return WriteFile(out, s.files, a, sys) })
}

// seasonFigure sends one figure as a picture (.svg) or its numbers (.csv).
func (s *pages) seasonFigure(w http.ResponseWriter, r *http.Request) error {
	a, sys, err := page.Asks[season.Answer](s.askSeason).Answer(s.Desk, r)
	if err != nil {
		return err
	}
	file := r.PathValue("file")
	name, isCSV := strings.CutSuffix(file, ".csv")
	picture, isSVG := strings.CutSuffix(file, ".svg")
	for _, d := range charts.Season(a, sys) {
		switch {
		case isSVG && d.Name == picture:
			return page.SendFile(w, seasonFileName(a)+"-"+file, "image/svg+xml", func(out io.Writer) error {
				_, err := io.WriteString(out, d.File(d.Title, d.Spoken))
				return err
			})
		case isCSV && d.Name == name:
			return page.SendFile(w, seasonFileName(a)+"-"+file, "text/csv; charset=utf-8", func(out io.Writer) error { return a.WriteFigureCSV(out, name) })
		}
	}
	return page.Refuse(http.StatusNotFound, "No such figure", "This season has no figure of that name. Open the season page and choose it there.")
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
		{Pattern: "GET /season", Act: s.Framed("season", "Season", s.season), Kept: true},
		{Pattern: "GET /season.html", Act: s.seasonFile, Kept: true},
		{Pattern: "GET /season.json", Act: page.AsJSON(s.Desk, s.askSeason), Kept: true},
		{Pattern: "GET " + page.Program + "/season", Act: page.AsJSON(s.Desk, s.askSeason), Kept: true},
		{Pattern: "GET /season/figure/{file}", Act: s.seasonFigure, Kept: true},
	}
}
