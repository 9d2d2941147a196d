package pulls

import (
	"net/http"
	"slices"

	"rigtally/inquiry"

	"rigtally/analytics/bench"

	"rigtally/charts"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/questions"
)

// benchWaterPage sets bench and water side by side.
type benchWaterPage struct {
	page.Frame
	Said      prose.Said
	Empty     bool
	Problems  []string
	By        []form.Option
	Honest    string
	Figure    *page.Figure
	Missing   []string
	Findings  string
	JSON, CSV string
}

// benchWater answers an address such as /bench/water?by=facing.
func (s *pages) benchWater(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	pulls, err := s.Store.BenchPulls(r.Context())
	if err != nil {
		return err
	}
	q, _ := inquiry.Read(inquiry.Beside().Params, r.URL.Query())
	by := q.Get("by")
	p := benchWaterPage{Frame: f, Empty: len(pulls) == 0, Honest: prose.BesideHonest, JSON: q.URL("/bench/water.json"), CSV: q.URL("/bench/water.csv"),
		Findings: questions.RatesURL(map[string][]string{"outcome": {"junction-break"}, "by": {by}, "where": q.All("where")})}
	factors := slices.DeleteFunc(bench.Factors(), func(f journal.Factor) bool { return !slices.Contains(bench.BesideFactors(), f.Key) })
	p.By = form.Select(form.Offer("", factors, form.Factor), by)
	b, err := inquiry.Beside().Ask(r.Context(), s.Asking(f.Outfit), q)
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	if p.Problems == nil {
		p.Said, p.Missing = prose.SayBeside(b, f.Units), b.Missing
		if len(b.Points) > 0 {
			chart := charts.Beside(b, f.Units)
			p.Figure = s.NewFigure(f, "Strength on the bench, and breaks at the knot on the water", &chart, "bench beside water", by)
			p.Figure.Says, p.Figure.CSV = p.Said.Sentence+" "+p.Honest, p.CSV
			p.Figure.Spoken = "Each " + by + " as a cross of two 95% intervals: to the right its strength on the bench, upward its junction breaks on the water; the table below has the same numbers. " + p.Said.Sentence
			p.Figure.How = "If the bench foretold the water, the crosses would fall from the upper left to the lower right."
		}
	}
	return s.Render(w, page.Status(p.Problems), "benchwater", p)
}
