// Package claims serves the board of claims and their form.
package claims

import (
	"fmt"
	"html/template"
	"net/http"
	"slices"

	"rigtally/inquiry"

	"rigtally/analytics/claim"

	"rigtally/charts"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
	"rigtally/web/questions"
)

// pages are the pages of claims.
type pages struct{ *page.Desk }

// claimsPage is the board: how each rule of thumb does in this journal.
type claimsPage struct {
	page.Frame
	Sentence string
	Claims   []claimView
	Rest     []claimView // of many, those with less fishing behind them
	Retired  []claim.Retired
	Tested   int
	Figure   *page.Figure // the whole board as one picture, to be saved
}

// claimView is a claim on the board.
type claimView struct {
	journal.Claim
	Standing     string
	Mark         template.HTML // of its standing
	Test         string
	Ratio        string
	Plainly      string        // the same as people say it
	Drawn        template.HTML // the ratio in its interval, if there is one
	Hours, More  string
	Late         string // that it was written after its evidence
	Sides, Notes []string
	Finding      string // address of the question behind it
	Curve        bool   // it is a curve
	Doubt        string // what is said in place of a ratio
	Q            string
}

func (s *pages) claims(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	board, err := inquiry.Claims().Ask(r.Context(), s.Asking(f.Outfit), inquiry.Query{})
	if err != nil {
		return err
	}
	f.Wide = true
	p := claimsPage{Frame: f, Sentence: prose.Board(board), Tested: board.Tested, Retired: board.Rest}
	drawn := charts.Claims(board)
	first := table.First(len(board.Claims), func(i int) float64 { return board.Claims[i].Total.Hours })
	for i, a := range board.Claims {
		v := newClaimView(a, f.Units)
		if c := drawn[i]; c != nil {
			v.Drawn = c.SVG("Chart: " + v.Ratio + "; " + v.Standing + ".")
		}
		if slices.Contains(first, i) {
			p.Claims = append(p.Claims, v)
		} else {
			p.Rest = append(p.Rest, v)
		}
	}
	if len(board.Claims) > 0 {
		c := charts.Board(board)
		p.Figure = s.NewFigure(f, "Rules of thumb: how often it happened, as a ratio, with 95% intervals", &c, "claims")
		p.Figure.Says, p.Figure.CSV, p.Figure.Unseen = p.Sentence, "/claims.csv", true
	}
	return s.Render(w, http.StatusOK, "claims", p)
}

func newClaimView(a claim.Answer, sys units.System) claimView {
	v := claimView{Claim: a.Claim, Standing: prose.ClaimStanding(a), Mark: charts.StandingKey(a.Standing).Sign(),
		Test: prose.Capital(prose.ClaimTest(a, sys)), Hours: prose.ClaimHours(a), More: prose.ClaimMore(a), Late: prose.ClaimLate(a),
		Sides: prose.ClaimSides(a), Notes: prose.ClaimNotes(a), Finding: claimQuestion(a.Claim, sys), Curve: a.Step != 0}
	if a.QListed != nil {
		v.Q = fmt.Sprintf("q %s among the comparisons of its own question, %s among all %d claims", prose.PValue(*a.Q), prose.PValue(*a.QListed), a.Asked)
	}
	if a.Ratio == nil {
		v.Doubt = "No ratio yet."
		if len(v.Notes) > 0 {
			v.Doubt, v.Notes = v.Notes[0], v.Notes[1:]
		}
		return v
	}
	v.Ratio, v.Plainly = prose.ClaimRatio(a, sys), prose.Capital(prose.ClaimPlainly(a, sys))
	return v
}

// claimQuestion is the address of the question that is behind a claim: for a
// number its curve, for words what each has.
func claimQuestion(c journal.Claim, sys units.System) string {
	said := map[string][]string{"outcome": {c.Outcome}}
	if len(c.Given) > 0 {
		said["given"] = c.Given
	}
	if len(c.Versus) == 0 {
		said["over"] = []string{c.Factor}
		return questions.CurveURL(said)
	}
	said["by"], said["versus"] = []string{questions.AskedBy(c.Factor, sys)}, c.Versus[:1]
	return questions.RatesURL(said)
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	asked := func(q inquiry.Query) inquiry.Query { return q }
	return slices.Concat([]page.Route{
		{Pattern: "GET /claims", Act: s.Framed("claims", "Claims", s.claims), Kept: true},
		{Pattern: "POST /claims/{id}/retire", Act: page.Doing(s.Store.RetireClaim, "/claims?done=claim-retired")},
		{Pattern: "POST /claims/{id}/restore", Act: page.Doing(s.Store.RestoreClaim, "/claims?done=claim-restored")},
	}, s.claim().Routes("/claims/new", "/claims/{id}"), d.Numbers(inquiry.Claims(), "/claims", asked))
}
