package questions

import (
	"net/http"
	"slices"

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
	Card   *page.Card // on the length of the tag, where one of the questions is about it; nil without
	Prior  float64
}

func (s *pages) next(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	a, err := inquiry.Next().Ask(r.Context(), s.Asking(f.Outfit), inquiry.Query{})
	if err != nil {
		return err
	}
	p := nextPage{Frame: f, Said: prose.SayNext(a, f.Units), Empty: a.Hours == 0, Prior: a.Prior}
	if slices.ContainsFunc(slices.Concat(a.Questions, a.Apart), func(q next.Question) bool { return q.By.Key == "tag-length" }) {
		if p.Card, err = s.tagCard(r.Context(), f, inquiry.Query{}); err != nil {
			return err
		}
		p.Card.Leading("/tag-length", "The whole answer")
	}
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
