package pulls

import (
	"net/http"

	"rigtally/analytics/bench"

	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/questions"
)

// benchWaterPage sets bench and water side by side.
type benchWaterPage struct {
	page.Frame
	Empty    bool
	Problems []string
	By       []form.Option
	Sentence string
	Honest   string
	Figure   *page.Figure
	Head     []string
	Rows     [][]string
	Missing  []string
	Findings string
	JSON     string
	CSV      string
}

// benchWater answers an address such as /bench/water?by=facing.
func (s *pages) benchWater(w http.ResponseWriter, r *http.Request) error {
	f, err := s.Frame(r, "bench", "Bench beside water")
	if err != nil {
		return err
	}
	pulls, err := s.Store.BenchPulls(r.Context())
	if err != nil {
		return err
	}
	q := readBeside(r)
	p := benchWaterPage{Frame: f, Empty: len(pulls) == 0, Honest: prose.BesideHonest, JSON: q.url("/bench/water.json"), CSV: q.url("/bench/water.csv"),
		Findings: questions.Question{Outcome: "junction-break", By: q.By, Where: q.Where}.URL("/findings")}
	for _, factor := range bench.Factors() {
		for _, key := range bench.BesideFactors() {
			if factor.Key == key {
				p.By = append(p.By, form.Option{Value: key, Text: factor.Title, Selected: key == q.By[0]})
			}
		}
	}
	b, err := bench.Beside(r.Context(), s.Store, q.By[0], q.Where, f.Units)
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	if p.Problems == nil {
		p.Sentence, p.Missing = prose.BesideSentence(b), b.Missing
		if len(b.Points) > 0 {
			p.Head, p.Rows = prose.BesideTable(b, f.Units).Texts()
			chart := charts.Beside(b, f.Units)
			p.Figure = s.NewFigure(f, "Strength on the bench, and junction breaks per load on the water", &chart, "bench beside water", q.By[0])
			p.Figure.Says, p.Figure.CSV = p.Sentence+" "+p.Honest, p.CSV
			p.Figure.Spoken = "Each " + q.By[0] + " as a cross of two 95% intervals: to the right its strength on the bench, upward its junction breaks on the water; the table below has the same numbers. " + p.Sentence
			p.Figure.How = "If the bench foretold the water, the crosses would fall from the upper left to the lower right."
		}
	}
	return s.Render(w, page.Status(p.Problems), "benchwater", p)
}

func readBeside(r *http.Request) benchQuestion {
	q, _ := readBenchQuestion(r.URL.Query())
	if len(q.By) == 0 {
		q.By = []string{"junction"}
	}
	q.By = q.By[:1]
	return benchQuestion{By: q.By, Where: q.Where}
}

func (s *pages) askBeside(r *http.Request, sys units.System) (bench.BesideWater, error) {
	q := readBeside(r)
	return bench.Beside(r.Context(), s.Store, q.By[0], q.Where, sys)
}

func besideFile(b bench.BesideWater) string {
	return page.FileName("bench beside water", b.Factor.Key)
}
