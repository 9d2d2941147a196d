package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/charts"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// findingsPage asks one question and answers it.
type findingsPage struct {
	frame
	Form     questionForm
	Problems []string // why the question has no answer
	Empty    bool     // nothing has been logged yet
	Filters  []taken  // filters in force, each with the page without it
	Answer   *answerPart
	Correct  string // the same question, corrected for the usual suspects; empty when corrected already
	Bars     string // the same question drawn the other way: as bars,
	Heat     string // or as a heat map; at most one is not empty
	Next     []link // the same question by other factors
}

// link is a place to go.
type link struct{ Href, Text string }

// taken is a filter in force, with the address of the question without it.
type taken struct{ Text, Without string }

// answerPart is an answer as the pages show it: sentence, chart, table, and
// what must be known about them.
type answerPart struct {
	Outcome  journal.Outcome
	Share    bool   // the outcome is a share of trials
	Amount   bool   // the outcome is an amount, not a count
	Given    string // what the comparisons are corrected for; empty when they are plain
	Sentence string
	Best     string // which group did best so far; may be empty
	Measure  string // what the rates are
	Figure   *chartFigure
	Table    table.Page
	InAll    string
	LeftOut  []string
	Notes    []string
	JSON     string // addresses of the same numbers
	CSV      string
}

func (s *Server) findings(w http.ResponseWriter, r *http.Request) error {
	q, tidy := readQuestion(r.URL.Query())
	if !tidy {
		http.Redirect(w, r, q.url("/findings"), http.StatusSeeOther)
		return nil
	}
	q = q.orFirst()
	f, err := s.frame(r, "findings", "Findings")
	if err != nil {
		return err
	}
	p := findingsPage{frame: f}
	if p.Form, err = s.questionForm(r.Context(), q, f.Units); err != nil {
		return err
	}
	p.Filters = takenFilters(p.Form.Where, func(where string) string { return q.without(where).url("/findings") })
	status := http.StatusOK
	a, err := s.ratesOf(r.Context(), q.request(f.Units))
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		p.Problems, status = sentences(invalid), http.StatusUnprocessableEntity
	case err != nil:
		return err
	case nothingLogged(a):
		p.Empty = true
	default:
		p.Title = prose.Question(a.Outcome, a.By)
		p.Next = q.otherFactors(f.Units)
		p.Correct = q.corrected()
		narrow := func(g analytics.Group) string { return q.narrowed(a.By, g, f.Units).url("/findings") }
		p.Answer = newAnswer(a, f.Units, narrow)
		numbers := q
		numbers.As = ""
		p.Answer.JSON, p.Answer.CSV = numbers.url("/findings.json"), numbers.url("/findings.csv")
		if len(a.Groups) > 0 && len(a.By) > 0 {
			p.Answer.Figure = s.answerFigure(f, drawRates(a, q.As, f.Units, narrow), p.Answer, a)
			p.Bars, p.Heat = q.otherForm(a)
		}
	}
	return s.render(w, status, "findings", p)
}

// orFirst makes an address without a question ask the first one.
func (q question) orFirst() question {
	if q.Outcome == "" {
		q.Outcome = "tangles"
	}
	if len(q.By) == 0 {
		q.By = []string{"junction"}
	}
	return q
}

// corrected is the same question with who fished and where taken account of, or
// nothing when something is already.
func (q question) corrected() string {
	if len(q.Given) > 0 {
		return ""
	}
	q.Given = []string{"angler", "water"}
	for _, by := range q.By {
		q = q.notGiven(factorOf(by))
	}
	for _, w := range q.Where {
		key, _, _ := strings.Cut(w, "=")
		q = q.notGiven(key)
	}
	if len(q.Given) == 0 {
		return ""
	}
	return q.url("/findings")
}

// otherForm gives the address of two factors drawn the other way.
func (q question) otherForm(a analytics.RateAnswer) (bars, heat string) {
	if len(a.By) < 2 {
		return "", ""
	}
	if q.As == asBars {
		q.As = ""
		return "", q.url("/findings")
	}
	q.As = asBars
	return q.url("/findings"), ""
}

// drawRates draws two factors as a heat map, one as rates, or as ratios when the
// comparisons are corrected.
func drawRates(a analytics.RateAnswer, as string, sys units.System, narrow charts.Link) charts.Chart {
	if len(a.By) == 2 && as != asBars {
		return charts.Heat(a, sys, narrow)
	}
	if len(a.Given) > 0 && a.Reference >= 0 && len(a.Groups) > 1 {
		return charts.Ratios(a, sys, narrow)
	}
	return charts.Rates(a, sys, narrow)
}

// nothingLogged reports whether the journal holds nothing at all on a question
// that no filter narrows.
func nothingLogged(a analytics.RateAnswer) bool {
	return len(a.Groups) == 0 && len(a.Where) == 0 && len(a.LeftOut) == 0
}

func takenFilters(where []option, without func(string) string) []taken {
	var list []taken
	for _, o := range where {
		list = append(list, taken{o.Text, without(o.Value)})
	}
	return list
}

// otherFactors asks the same question by each factor that is not held fixed.
func (q question) otherFactors(sys units.System) []link {
	var list []link
	for _, f := range journal.Factors() {
		by := slices.ContainsFunc(q.By, func(by string) bool { return factorOf(by) == f.Key })
		held := slices.ContainsFunc(q.Where, func(w string) bool { return strings.HasPrefix(w, f.Key+"=") })
		if !by && !held {
			other := q
			other.By, other.Versus, other.As = []string{asked(f.Key, sys)}, "", ""
			other = other.notGiven(f.Key)
			list = append(list, link{other.url("/findings"), f.Title})
		}
	}
	return list
}

// findingsJSON answers a question for programs, as the command line does.
func (s *Server) findingsJSON(w http.ResponseWriter, r *http.Request) error {
	a, refused, err := s.askFor(r)
	if err != nil {
		return err
	}
	status, body := http.StatusOK, any(a)
	if refused != nil {
		status, body = http.StatusUnprocessableEntity, map[string]string{"error": strings.Join(sentences(refused), " ")}
	}
	text, err := json.Marshal(body)
	if err != nil {
		return fmt.Errorf("write the answer as JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(append(text, '\n')) // a browser that went away is no failure
	return nil
}

// findingsCSV answers a question for a spreadsheet.
func (s *Server) findingsCSV(w http.ResponseWriter, r *http.Request) error {
	a, refused, err := s.askFor(r)
	if err != nil {
		return err
	}
	if refused != nil {
		return refused
	}
	return sendCSV(w, fileName(prose.Question(a.Outcome, a.By)), prose.RatesTable(a, units.Metric).WriteCSV)
}

// askFor answers the question of an address. refused says what is wrong with the question.
func (s *Server) askFor(r *http.Request) (a analytics.RateAnswer, refused *journal.Invalid, err error) {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return a, nil, err
	}
	q, _ := readQuestion(r.URL.Query())
	a, err = s.ratesOf(r.Context(), q.orFirst().request(units.System(o.Units)))
	if errors.As(err, &refused) {
		return a, refused, nil
	}
	return a, nil, err
}
