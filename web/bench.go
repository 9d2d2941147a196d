package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"rigtally/analytics/bench"
	"rigtally/charts"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// benchPage compares pulls, as the command does.
type benchPage struct {
	frame
	Empty    bool // nothing was ever pulled
	Problems []string
	Filters  []taken
	Form     benchForm
	Answer   *benchPart
	Pulls    string // how many there are in all
	NoTable  string
	Safety   string
}

// benchPart is an answer of the bench as the page shows it.
type benchPart struct {
	Sentence   string
	Dots       *chartFigure
	Lines      *chartFigure // nil when no group has a line
	Table      table.Page
	InAll      string
	Alike      string
	LeftOut    []string
	Notes      []string
	Relative   bool
	JSON, CSV  string
	SlipsFail  bool
	OtherSlips string // the same with slips taken the other way; "" without any
}

// bench answers an address such as /bench?by=facing&where=junction=figure-eight.
func (s *Server) bench(w http.ResponseWriter, r *http.Request) error {
	q, tidy := readBenchQuestion(r.URL.Query())
	if !tidy {
		http.Redirect(w, r, q.url("/bench"), http.StatusSeeOther)
		return nil
	}
	f, err := s.frame(r, "bench", "Knots on the bench")
	if err != nil {
		return err
	}
	pulls, err := s.store.BenchPulls(r.Context())
	if err != nil {
		return err
	}
	p := benchPage{frame: f, Empty: len(pulls) == 0, Pulls: count(len(pulls), "pull", "pulls"), NoTable: prose.NoKnotTable, Safety: prose.PullSafely}
	if p.Empty {
		return s.render(w, http.StatusOK, "bench", p)
	}
	q = q.orFirst(pulls)
	if p.Form, err = s.benchForm(r.Context(), q, pulls, f.Units); err != nil {
		return err
	}
	p.Filters = takenFilters(p.Form.Where, func(where string) string { return q.without(where).url("/bench") })
	status := http.StatusOK
	a, err := s.benchOf(r.Context(), q.request(f.Units))
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		p.Problems, status = sentences(invalid), http.StatusUnprocessableEntity
	case err != nil:
		return err
	default:
		p.Title = prose.BenchQuestion(a.By)
		p.Answer = s.benchAnswer(f, q, a)
	}
	return s.render(w, status, "bench", p)
}

func (s *Server) benchAnswer(f frame, q benchQuestion, a bench.Answer) *benchPart {
	p := &benchPart{
		Sentence: prose.BenchSentence(a, f.Units), Alike: prose.BenchAlike(a), Relative: a.Relative, SlipsFail: a.SlipsFail,
		InAll: count(a.Pulls, "pull", "pulls") + " in all.", LeftOut: prose.BenchLeftOut(a), Notes: prose.BenchNotes(a, f.Units),
		JSON: q.url("/bench.json"), CSV: q.url("/bench.csv"),
	}
	if len(a.Groups) == 0 {
		return p
	}
	p.Table = prose.BenchTable(a, f.Units).Stack()
	other := q
	other.Slips = bench.SlipsFail
	if a.SlipsFail {
		other.Slips = ""
	}
	for _, g := range a.Groups {
		if g.Slipped > 0 {
			p.OtherSlips = other.url("/bench")
		}
	}
	title := prose.BenchQuestion(a.By)
	scale := "Force at which each pull ended, with the means and their 95% intervals"
	if a.Relative {
		scale = "Strength of each pull as a share of unknotted line, with the means and their 95% intervals"
	}
	dots := charts.Dots(a, f.Units, func(g bench.Group) string { return q.narrowed(a.By, g).url("/bench") })
	p.Dots = s.newChartFigure(f, scale, &dots, title)
	p.Dots.Says, p.Dots.CSV = p.Sentence, p.CSV
	p.Dots.Spoken = "Dot plot of every pull, a row for each group, with means; the table below has the same numbers. " + p.Sentence
	p.Dots.How = "Each dot is a pull. Point at one for how it ended; choose a mean to look only at that."
	if n := charts.Fitted(a); n > 0 {
		lines := charts.WeibullLines(a, f.Units)
		p.Lines = s.newChartFigure(f, "Share of pulls that fail up to a strength: Weibull lines over the pulls", &lines, title, "weibull")
		p.Lines.Says, p.Lines.CSV = p.Sentence, p.CSV
		p.Lines.Spoken = "Weibull lines of each group over its pulls; the table below has the 10% strengths with their intervals."
		p.Lines.How = "Where a line crosses one in ten is the strength that one pull in ten does not reach; its interval stands in the table."
		if lines.Tenths {
			p.Lines.How = "The bar across at one in ten is the 95% interval of the strength that one pull in ten does not reach."
		}
		if lines.Drawn < n {
			p.Lines.How += fmt.Sprintf(" Drawn are the %d groups with most pulls.", lines.Drawn)
		}
	}
	return p
}

// askBench answers the question of an address. refused says what is wrong with it.
func (s *Server) askBench(r *http.Request) (a bench.Answer, refused *journal.Invalid, err error) {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return a, nil, err
	}
	pulls, err := s.store.BenchPulls(r.Context())
	if err != nil {
		return a, nil, err
	}
	q, _ := readBenchQuestion(r.URL.Query())
	a, err = s.benchOf(r.Context(), q.orFirst(pulls).request(units.System(o.Units)))
	if errors.As(err, &refused) {
		return a, refused, nil
	}
	return a, nil, err
}

// benchJSON answers for programs, as the command line does.
func (s *Server) benchJSON(w http.ResponseWriter, r *http.Request) error {
	a, refused, err := s.askBench(r)
	if err != nil {
		return err
	}
	return sendAnswer(w, a, refused)
}

// benchCSV answers for a spreadsheet.
func (s *Server) benchCSV(w http.ResponseWriter, r *http.Request) error {
	a, refused, err := s.askBench(r)
	if err != nil {
		return err
	}
	if refused != nil {
		return refused
	}
	return sendCSV(w, fileName(prose.BenchQuestion(a.By)), prose.BenchTable(a, units.Metric).WriteCSV)
}

// sendAnswer writes an answer as JSON, or what is wrong with its question.
func sendAnswer(w http.ResponseWriter, answer any, refused *journal.Invalid) error {
	status := http.StatusOK
	if refused != nil {
		status, answer = http.StatusUnprocessableEntity, map[string]string{"error": strings.Join(sentences(refused), " ")}
	}
	text, err := json.Marshal(answer)
	if err != nil {
		return fmt.Errorf("write the answer as JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(append(text, '\n')) // a browser that went away is no failure
	return nil
}
