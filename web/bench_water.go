package web

import (
	"errors"
	"net/http"

	"rigtally/analytics/bench"
	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// benchWaterPage sets bench and water side by side.
type benchWaterPage struct {
	frame
	Empty    bool
	Problems []string
	By       []option
	Sentence string
	Honest   string
	Figure   *chartFigure
	Head     []string
	Rows     [][]string
	Missing  []string
	Findings string
	JSON     string
	CSV      string
}

// benchWater answers an address such as /bench/water?by=facing.
func (s *Server) benchWater(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r, "bench", "Bench beside water")
	if err != nil {
		return err
	}
	pulls, err := s.store.BenchPulls(r.Context())
	if err != nil {
		return err
	}
	q := readBeside(r)
	p := benchWaterPage{frame: f, Empty: len(pulls) == 0, Honest: prose.BesideHonest, JSON: q.url("/bench/water.json"), CSV: q.url("/bench/water.csv"),
		Findings: question{Outcome: "junction-break", By: q.By, Where: q.Where}.url("/findings")}
	for _, factor := range bench.Factors() {
		for _, key := range bench.BesideFactors() {
			if factor.Key == key {
				p.By = append(p.By, option{Value: key, Text: factor.Title, Selected: key == q.By[0]})
			}
		}
	}
	status := http.StatusOK
	b, err := bench.Beside(r.Context(), s.store, q.By[0], q.Where, f.Units)
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		p.Problems, status = sentences(invalid), http.StatusUnprocessableEntity
	case err != nil:
		return err
	default:
		p.Sentence, p.Missing = prose.BesideSentence(b), b.Missing
		if len(b.Points) > 0 {
			p.Head, p.Rows = prose.BesideTable(b, f.Units).Texts()
			chart := charts.Beside(b, f.Units)
			p.Figure = s.newChartFigure(f, "Strength on the bench, and junction breaks per load on the water", &chart, "bench beside water", q.By[0])
			p.Figure.Says, p.Figure.CSV = p.Sentence+" "+p.Honest, p.CSV
			p.Figure.Spoken = "Each " + q.By[0] + " as a cross of two 95% intervals: to the right its strength on the bench, upward its junction breaks on the water; the table below has the same numbers. " + p.Sentence
			p.Figure.How = "If the bench foretold the water, the crosses would fall from the upper left to the lower right."
		}
	}
	return s.render(w, status, "benchwater", p)
}

func readBeside(r *http.Request) benchQuestion {
	q, _ := readBenchQuestion(r.URL.Query())
	if len(q.By) == 0 {
		q.By = []string{"junction"}
	}
	q.By = q.By[:1]
	return benchQuestion{By: q.By, Where: q.Where}
}

func (s *Server) askBeside(r *http.Request) (b bench.BesideWater, refused *journal.Invalid, err error) {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return b, nil, err
	}
	q := readBeside(r)
	b, err = bench.Beside(r.Context(), s.store, q.By[0], q.Where, units.System(o.Units))
	if errors.As(err, &refused) {
		return b, refused, nil
	}
	return b, nil, err
}

// benchWaterJSON answers for programs.
func (s *Server) benchWaterJSON(w http.ResponseWriter, r *http.Request) error {
	b, refused, err := s.askBeside(r)
	if err != nil {
		return err
	}
	return sendAnswer(w, b, refused)
}

// benchWaterCSV answers for a spreadsheet.
func (s *Server) benchWaterCSV(w http.ResponseWriter, r *http.Request) error {
	b, refused, err := s.askBeside(r)
	if err != nil {
		return err
	}
	if refused != nil {
		return refused
	}
	return sendCSV(w, fileName("bench beside water", b.Factor.Key), prose.BesideTable(b, units.Metric).WriteCSV)
}
