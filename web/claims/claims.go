// Package claims serves the board of claims and their form.
package claims

import (
	"context"
	"fmt"
	"net/http"

	"rigtally/analytics/claim"

	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
	"rigtally/web/questions"
)

// pages are the pages of claims.
type pages struct{ *page.Desk }

func (s *pages) board(ctx context.Context, sys units.System) (claim.Board, error) {
	return page.Ask(ctx, s.Desk, sys, func(ctx context.Context) (claim.Board, error) { return claim.Judge(ctx, s.Store, sys) })
}

// claimsPage is the board: how each rule of thumb does in this journal.
type claimsPage struct {
	page.Frame
	Sentence string
	Claims   []claimView
	Retired  []retiredView
	Ticks    []claimTick
	Tested   int
	Figure   *page.Figure // the whole board as one picture, to be saved
}

// claimView is a claim on the board.
type claimView struct {
	ID           string
	Words        string
	Standing     string
	Look         string // of its mark
	Test         string
	Ratio        string
	Chart        *claimChart // nil when there is no ratio
	Hours, Need  string
	Enough       bool // whether what was fished is as much as is needed
	Source       string
	Sides, Notes []string
	Finding      string // address of the question behind it
	Curve        bool   // it is a curve
	Edit         string
	Doubt        string // what is said in place of a ratio
	Q            string
}

type retiredView struct {
	Words, Href, Restore string
	Version              int
}

func (s *pages) claims(w http.ResponseWriter, r *http.Request) error {
	f, err := s.Frame(r, "claims", "Claims")
	if err != nil {
		return err
	}
	board, err := s.board(r.Context(), f.Units)
	if err != nil {
		return err
	}
	f.Wide = true
	p := claimsPage{Frame: f, Sentence: prose.Board(board), Tested: board.Tested}
	scale := claimScaleFor(board.Claims)
	p.Ticks = scale.ticks()
	for _, a := range board.Claims {
		p.Claims = append(p.Claims, newClaimView(a, f.Units, scale))
	}
	if len(board.Claims) > 0 {
		c := charts.Board(board)
		p.Figure = s.NewFigure(f, "Rules of thumb: how often it happened, as a ratio, with 95% intervals", &c, "claims")
		p.Figure.Says, p.Figure.CSV, p.Figure.Unseen = p.Sentence, "/claims.csv", true
	}
	for _, c := range board.Rest {
		at := "/claims/" + c.ID.String()
		p.Retired = append(p.Retired, retiredView{c.Words, at, at + "/restore", c.Version})
	}
	return s.Render(w, http.StatusOK, "claims", p)
}

func (s *pages) askClaims(r *http.Request, sys units.System) (claim.Board, error) {
	return s.board(r.Context(), sys)
}

func claimsFile(claim.Board) string { return "claims" }

// looks are the marks of the standings; each differs in form, not in colour alone.
var claimLooks = map[claim.Standing]string{
	claim.Holds: "holds", claim.LeansFor: "leans", claim.OpenStill: "open", claim.LeansOther: "leans-other", claim.HoldsNot: "holds-not",
}

func newClaimView(a claim.Answer, sys units.System, scale claimScale) claimView {
	v := claimView{ID: a.Claim.ID.String(), Words: a.Claim.Words, Standing: prose.Capital(string(a.Standing)), Look: claimLooks[a.Standing],
		Test: prose.Capital(prose.ClaimTest(a.Claim, a.Outcome, a.Factor, sys)), Hours: prose.ClaimHours(a), Need: prose.ClaimNeed(a),
		Source: prose.Capital(string(a.Claim.Source)), Sides: prose.ClaimSides(a), Notes: prose.ClaimNotes(a),
		Finding: claimQuestion(a.Claim, sys), Curve: a.Step != 0, Edit: "/claims/" + a.Claim.ID.String()}
	v.Enough = a.HoursNeeded != nil && *a.HoursNeeded <= a.Total.Hours
	if a.QFor != nil && a.QAgainst != nil {
		v.Q = fmt.Sprintf("q for it %s, against it %s", prose.PValue(*a.QFor), prose.PValue(*a.QAgainst))
	}
	if a.Ratio == nil {
		v.Doubt = "No ratio yet."
		if len(v.Notes) > 0 {
			v.Doubt, v.Notes = v.Notes[0], v.Notes[1:]
		}
		return v
	}
	v.Ratio = prose.ClaimRatio(a, sys)
	v.Chart = scale.draw(a, sys)
	return v
}

// claimQuestion is the address of the question that is behind a claim: for a
// number its curve, for words what each has.
func claimQuestion(c journal.Claim, sys units.System) string {
	q := questions.Question{Outcome: c.Outcome, Given: c.Given}
	if len(c.Versus) == 0 {
		q.Over = c.Factor
		return q.URL("/curve")
	}
	q.By, q.Versus = []string{questions.AskedBy(c.Factor, sys)}, c.Versus[0]
	return q.URL("/findings")
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	return []page.Route{
		{Pattern: "GET /claims", Act: s.claims, Kept: true},
		{Pattern: "GET /claims.csv", Act: page.AsCSV(s.Desk, s.askClaims, claimsFile, prose.BoardTable), Kept: true},
		{Pattern: "GET /claims/new", Act: s.claimNew},
		{Pattern: "GET /claims/{id}", Act: s.claim},
		{Pattern: "POST /claims/{id}", Act: s.claimSave},
		{Pattern: "POST /claims/{id}/retire", Act: page.Doing(s.Store.RetireClaim, "/claims?done=claim-retired")},
		{Pattern: "POST /claims/{id}/restore", Act: page.Doing(s.Store.RestoreClaim, "/claims?done=claim-restored")},
	}
}
