package web

import (
	"context"
	"fmt"
	"net/http"

	"rigtally/analytics/claim"
	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// claimsPage is the board: how each rule of thumb does in this journal.
type claimsPage struct {
	frame
	Sentence string
	Claims   []claimView
	Retired  []retiredView
	Ticks    []claimTick
	Tested   int
	Figure   *chartFigure // the whole board as one picture, to be saved
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

func (s *Server) claims(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r, "claims", "Claims")
	if err != nil {
		return err
	}
	board, err := s.board(r.Context(), f.Units)
	if err != nil {
		return err
	}
	f.Wide = true
	p := claimsPage{frame: f, Sentence: prose.Board(board), Tested: board.Tested}
	scale := claimScaleFor(board.Claims)
	p.Ticks = scale.ticks()
	for _, a := range board.Claims {
		p.Claims = append(p.Claims, newClaimView(a, f.Units, scale))
	}
	if len(board.Claims) > 0 {
		c := charts.Board(board)
		p.Figure = s.newChartFigure(f, "Rules of thumb: how often it happened, as a ratio, with 95% intervals", &c, "claims")
		p.Figure.Says, p.Figure.CSV, p.Figure.Unseen = p.Sentence, "/claims.csv", true
	}
	for _, c := range board.Rest {
		at := "/claims/" + c.ID.String()
		p.Retired = append(p.Retired, retiredView{c.Words, at, at + "/restore", c.Version})
	}
	return s.render(w, http.StatusOK, "claims", p)
}

// claimsCSV gives the board to a spreadsheet.
func (s *Server) claimsCSV(w http.ResponseWriter, r *http.Request) error {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return err
	}
	board, err := s.board(r.Context(), units.System(o.Units))
	if err != nil {
		return err
	}
	return sendCSV(w, "claims", prose.BoardTable(board, units.Metric).WriteCSV)
}

// looks are the marks of the standings; each differs in form, not in colour alone.
var claimLooks = map[claim.Standing]string{
	claim.Holds: "holds", claim.LeansFor: "leans", claim.OpenStill: "open", claim.LeansOther: "leans-other", claim.HoldsNot: "holds-not",
}

func newClaimView(a claim.Answer, sys units.System, scale claimScale) claimView {
	v := claimView{ID: a.Claim.ID.String(), Words: a.Claim.Words, Standing: capital(string(a.Standing)), Look: claimLooks[a.Standing],
		Test: capital(prose.ClaimTest(a.Claim, a.Outcome, a.Factor, sys)), Hours: prose.ClaimHours(a), Need: prose.ClaimNeed(a),
		Source: capital(string(a.Claim.Source)), Sides: prose.ClaimSides(a), Notes: prose.ClaimNotes(a),
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
	q := question{Outcome: c.Outcome, Given: c.Given}
	if len(c.Versus) == 0 {
		q.Over = c.Factor
		return q.url("/curve")
	}
	q.By, q.Versus = []string{asked(c.Factor, sys)}, c.Versus[0]
	return q.url("/findings")
}

// claimRetire and claimRestore take a claim off the board and put it back.
func (s *Server) claimRetire(w http.ResponseWriter, r *http.Request) error {
	return s.moveClaim(w, r, s.store.RetireClaim, "claim-retired")
}

func (s *Server) claimRestore(w http.ResponseWriter, r *http.Request) error {
	return s.moveClaim(w, r, s.store.RestoreClaim, "claim-restored")
}

func (s *Server) moveClaim(w http.ResponseWriter, r *http.Request, move func(context.Context, journal.ID, int) error, done string) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	if err := move(r.Context(), id, seenIn(r)); err != nil {
		return err
	}
	http.Redirect(w, r, "/claims?done="+done, http.StatusSeeOther)
	return nil
}
