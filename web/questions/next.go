package questions

import (
	"net/http"

	"rigtally/analytics/next"
	"rigtally/inquiry"
	"rigtally/internal/table"
	"rigtally/prose"
	"rigtally/web/page"
)

// nextPage shows what is worth finding out next.
type nextPage struct {
	page.Frame
	Said   prose.Said
	Empty  bool // nothing has been logged yet
	Tables []table.Page
	Prior  float64
}

func (s *pages) next(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	a, err := inquiry.Next().Ask(r.Context(), s.Asking(f.Outfit), inquiry.Query{})
	if err != nil {
		return err
	}
	p := nextPage{Frame: f, Said: prose.SayNext(a, f.Units), Empty: a.Hours == 0, Prior: a.Prior}
	for _, list := range [][]next.Question{a.Questions, a.Apart} {
		if len(list) == 0 {
			continue
		}
		t := p.Said.Tables[len(p.Tables)]
		for j, q := range list {
			t.Rows[j].Href = questionURL(q)
		}
		p.Tables = append(p.Tables, t.Stack())
	}
	return s.Render(w, http.StatusOK, "next", p)
}

// questionURL is where a question is answered.
func questionURL(q next.Question) string {
	if q.Curve != nil {
		return CurveURL(map[string][]string{"outcome": {q.Outcome.Key}, "over": {q.By.Key}})
	}
	return RatesURL(map[string][]string{"outcome": {q.Outcome.Key}, "by": {q.By.Key}})
}
