package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rigtally/analytics/season"
	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
)

// seasonPage is the review of a season.
type seasonPage struct {
	frame
	Anglers, Years       []option
	WithoutNames, Blurry bool
	Review               reviewView
	File, JSON           string // addresses of the same review
	Empty                bool   // nothing has been logged yet
}

// seasonQuery is a review as an address asks for it.
type seasonQuery struct {
	angler string
	year   int
	season.Sharing
}

// readSeason reads an address; what is no year counts as the last season.
func readSeason(v url.Values) seasonQuery {
	q := seasonQuery{angler: strings.TrimSpace(v.Get("angler"))}
	if y, err := strconv.Atoi(v.Get("year")); err == nil && y > 0 && y < 10000 {
		q.year = y
	}
	q.WithoutNames, q.BlurWaters = v.Get("names") == "out", v.Get("waters") == "blurred"
	return q
}

// url writes the query under a path.
func (q seasonQuery) url(path string) string {
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
func (s *Server) review(r *http.Request, sys units.System) (seasonQuery, season.Answer, error) {
	q := readSeason(r.URL.Query())
	a, err := s.seasonOf(r.Context(), season.Request{Angler: q.angler, Year: q.year, Units: sys})
	if errors.Is(err, journal.ErrNotFound) && q.angler != "" {
		return q, a, &refusal{http.StatusNotFound, "No such angler", fmt.Sprintf("%s is not in this journal. Choose an angler from the list on the season page.", q.angler)}
	}
	q.year = a.Year
	return q, a.Share(q.Sharing), err
}

func (s *Server) season(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r, "season", "Season")
	if err != nil {
		return err
	}
	f.Wide = true
	q, a, err := s.review(r, f.Units)
	if err != nil {
		return err
	}
	p := seasonPage{frame: f, WithoutNames: q.WithoutNames, Blurry: q.BlurWaters, Empty: a.Year == 0,
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
	return s.render(w, http.StatusOK, "season", p)
}

// seasonChoices lists the anglers and years to choose from.
func (s *Server) seasonChoices(r *http.Request, q seasonQuery, a season.Answer, p *seasonPage) error {
	anglers, err := s.store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p.Anglers = []option{{Text: "The whole outfit", Selected: q.angler == ""}}
	for _, x := range anglers {
		p.Anglers = append(p.Anglers, option{Value: x.Name, Text: x.Name, Selected: strings.EqualFold(x.Name, q.angler)})
	}
	listed := false
	for _, y := range a.Seasons {
		p.Years = append(p.Years, option{Value: strconv.Itoa(y), Text: strconv.Itoa(y), Selected: y == a.Year})
		listed = listed || y == a.Year
	}
	if !listed && a.Year != 0 {
		year := strconv.Itoa(a.Year)
		p.Years = append([]option{{Value: year, Text: year, Selected: true}}, p.Years...)
	}
	return nil
}

// seasonFile sends the review as one file.
func (s *Server) seasonFile(w http.ResponseWriter, r *http.Request) error {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return err
	}
	_, a, err := s.review(r, units.System(o.Units))
	if err != nil {
		return err
	}
	var body bytes.Buffer
	if err := WriteSeason(&body, a, units.System(o.Units)); err != nil {
		return err
	}
	return send(w, seasonFileName(a)+".html", "text/html; charset=utf-8", body.Bytes())
}

// seasonJSON answers for programs, as the command line does.
func (s *Server) seasonJSON(w http.ResponseWriter, r *http.Request) error {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return err
	}
	_, a, err := s.review(r, units.System(o.Units))
	if err != nil {
		return err
	}
	text, err := json.Marshal(a)
	if err != nil {
		return fmt.Errorf("write the season as JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(append(text, '\n')) // a browser that went away is no failure
	return nil
}

// seasonFigure sends one figure as a picture (.svg) or its numbers (.csv).
func (s *Server) seasonFigure(w http.ResponseWriter, r *http.Request) error {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return err
	}
	_, a, err := s.review(r, units.System(o.Units))
	if err != nil {
		return err
	}
	file := r.PathValue("file")
	name, isCSV := strings.CutSuffix(file, ".csv")
	picture, isSVG := strings.CutSuffix(file, ".svg")
	for _, d := range charts.Season(a, units.System(o.Units)) {
		switch {
		case isSVG && d.Name == picture:
			return send(w, seasonFileName(a)+"-"+file, "image/svg+xml", []byte(d.File(d.Title, d.Spoken)))
		case isCSV && d.Name == name:
			var body bytes.Buffer
			if err := a.WriteFigureCSV(&body, name); err != nil {
				return err
			}
			return send(w, seasonFileName(a)+"-"+file, "text/csv; charset=utf-8", body.Bytes())
		}
	}
	return &refusal{http.StatusNotFound, "No such figure", "This season has no figure of that name. Open the season's page and take it from there."}
}

// seasonFileName names a file after the season; after nobody where names are left out.
func seasonFileName(a season.Answer) string {
	if a.Angler == "" || a.Shared.WithoutNames {
		return fmt.Sprintf("season-%d", a.Year)
	}
	return fileName("season", strconv.Itoa(a.Year), a.Angler)
}

// send offers a file for keeping.
func send(w http.ResponseWriter, name, contentType string, body []byte) error {
	w.Header().Set("Content-Type", contentType)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, _ = w.Write(body) // a browser that went away is no failure
	return nil
}
