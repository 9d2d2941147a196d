package trials

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"time"

	"rigtally/analytics/trial"

	"rigtally/charts"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// trialPage shows a trial: what to do next, how it stands, and what was fished.
type trialPage struct {
	page.Frame
	Trial          journal.Trial
	At             string // address of the trial
	Plan           string
	Look, Standing string
	Card           *page.Card // nil before anything can be compared
	Sentence, Bet  string
	Choice         string         // the best bet
	Winner         *winner        // the rig of the better way, once it is settled; nil where no one rig is
	Now            *trialNow      // what was started last and not logged yet
	Next           int            // number of the unit to be started next; 0 when none is to come
	Waiting        []trialUnitRow // others started and not attached
	Figure         *page.Figure
	Arms, Looks    table.Table
	Treated        table.Table // empty before anything was started
	Unseen         []string
	Earlier        []trial.Earlier // that asked the same
	Fished         []trialUnitRow
	FishedHead     []string
	Notes          []string
	SealHolds      bool
	Sealed         string // what was sealed, once it has ended
	Settled, Share bool
	Events         string // what is counted
}

// winner is a rig that may become the usual one.
type winner struct{ ID, Name string }

// winnerOf is the rig that a settled trial's better arm was fished with last.
func (s *pages) winnerOf(ctx context.Context, a trial.Answer) (*winner, error) {
	if a.State != trial.MoreA && a.State != trial.MoreB {
		return nil, nil
	}
	better := prose.TrialBetter(a)
	if id := a.Trial.Arms[better].RigID; id != nil {
		return &winner{id.String(), a.Rigs[better]}, nil
	}
	for _, u := range slices.Backward(a.Units) {
		if u.Standing != trial.UnitCounts || u.Fished.Index() != better || len(u.Rigs) == 0 {
			continue
		}
		session, err := s.Store.SessionByID(ctx, u.Session)
		if err != nil {
			return nil, err
		}
		for _, st := range session.Stints {
			rig, err := s.Store.RigByID(ctx, st.RigID)
			if err != nil {
				return nil, err
			}
			if title := rig.Title(); slices.Contains(u.Rigs, title) {
				return &winner{st.RigID.String(), title}, nil
			}
		}
	}
	return nil, nil
}

// trialNow is a unit whose arm a start has told, with the words for it.
type trialNow struct {
	trialUnitRow
	Name, Log string
}

// trialUnitRow is a unit that was started, with its cells of the table of units.
type trialUnitRow struct {
	journal.TrialUnit
	Arm, Counted, Words, Day, Rig string
	Session                       string // address, "" when nothing is attached
	Apart                         bool   // it does not count
	Edit                          string
}

func (s *pages) trial(w http.ResponseWriter, r *http.Request, f page.Frame, a trial.Answer) error {
	f.Wide = true
	p := newTrialPage(f, a)
	switch err := s.Store.CheckTrialSeal(r.Context(), a.Trial.ID); {
	case err == nil:
		p.SealHolds = true
	case !errors.Is(err, journal.ErrSeal):
		return err
	}
	if a.Trial.Ended() && !a.Trial.OrderCut {
		p.Sealed = a.Trial.SealedText()
	}
	var err error
	if p.Winner, err = s.winnerOf(r.Context(), a); err != nil {
		return err
	}
	if l, ok := a.Last(); ok && l.Blocks > 0 {
		p.Figure = s.trialFigure(f, a)
	}
	return s.Render(w, http.StatusOK, "trial", p)
}

func newTrialPage(f page.Frame, a trial.Answer) trialPage {
	p := trialPage{Frame: f, Trial: a.Trial, At: "/trials/" + a.Trial.ID.String(), Plan: prose.TrialPlan(a, f.Units), Look: trialLooks[a.State], Standing: prose.TrialState(a, f.Units),
		Sentence: prose.Trial(a, f.Units), Notes: prose.TrialNotes(a, f.Units), Share: a.Outcome.Measure == journal.ShareOf, Settled: a.Settled > 0, Events: a.Outcome.Events,
		Arms: prose.TrialArms(a, f.Units), Choice: prose.SayTrialBet(a, f.Units)}
	card, ok := prose.TrialCard(a, f.Units)
	p.Card = page.NewCard(f, card, ok)
	if l, ok := a.Last(); ok && l.Blocks > 0 {
		p.Bet = prose.TrialBet(l.Robust)
		p.Looks = prose.TrialLooks(a)
	}
	p.Next, p.Earlier = a.Trial.Next(), a.Earlier
	if len(a.Units) > 0 {
		p.Treated, p.Unseen = prose.TrialTreatment(a), prose.TrialUnseen(a)
	}
	p.units(a, f.Units)
	return p
}

// units lists what was started. The last start that waits for its session is what
// is being fished now.
func (p *trialPage) units(a trial.Answer, sys units.System) {
	var rows [][]string
	p.FishedHead, rows = prose.TrialUnitTable(a, sys).Texts()
	for i, u := range a.Units {
		row := trialUnitRow{TrialUnit: u.Unit, Arm: rows[i][1], Counted: rows[i][2], Words: rows[i][3], Day: rows[i][4], Rig: rows[i][5],
			Apart: u.Standing != trial.UnitCounts, Edit: p.At + "/units/" + strconv.Itoa(u.Unit.Ordinal)}
		if u.Found {
			row.Session, row.Day = "/sessions/"+u.Session.String(), u.Day.In(time.UTC).Format("2 Jan 2006")
		}
		p.Fished = append(p.Fished, row)
		switch {
		case u.Standing != trial.UnitWaits:
		case i == len(a.Units)-1 && !a.Trial.Ended():
			p.Now = &trialNow{row, prose.Capital(prose.TrialArm(a, u.Unit.Arm.Index(), sys)), "/log"}
			if rig := a.Trial.Arms[u.Unit.Arm.Index()].RigID; rig != nil {
				p.Now.Log += "?rig=" + rig.String()
			}
		default:
			p.Waiting = append(p.Waiting, row)
		}
	}
}

func (s *pages) trialFigure(f page.Frame, a trial.Answer) *page.Figure {
	c := charts.Trial(a)
	fig := s.NewFigure(f, "The evidence after each session", &c, a.Trial.Name, "evidence")
	fig.Says, fig.CSV = prose.Trial(a, f.Units), "/trials/"+a.Trial.ID.String()+"/answer.csv"
	fig.Spoken = "Chart of the evidence over the hours fished and of the ratio with its confidence sequence; the table below has the same numbers. " + fig.Says
	fig.How = "Above, what a stake of 1 on a difference has come to; below, the ratio of A to B and what is not ruled out yet."
	return fig
}

// askTrial answers for the trial that the address names.
func (s *pages) askTrial(r *http.Request, _ units.System) (trial.Answer, error) {
	return page.At(r, func(ctx context.Context, id journal.ID) (trial.Answer, error) { return trial.Follow(ctx, s.Store, id) })
}

func trialFile(a trial.Answer) string { return page.FileName(a.Trial.Name, "evidence") }
