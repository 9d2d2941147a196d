package trials

import (
	"context"
	"net/http"
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
	At             string // address of the trial
	Version        int
	Plan           string
	Look, Standing string
	Sentence, Bet  string
	Now            *trialNow // what was started last and not logged yet
	Next           int       // number of the unit to be started next; 0 once it has ended
	Unit           string
	Waiting        []trialUnitRow // others started and not attached
	Figure         *page.Figure
	Arms           trialTable
	Looks          trialTable
	Units          []trialUnitRow
	UnitsHead      []string
	Notes          []string
	Own            string // the person's notes
	Commitment     string
	SealHolds      bool
	Settled        bool
	Sealed         string // what was sealed, once it has ended
	EndedOn        string
	Ending         string
	Deletable      bool
	Share          bool
	JSON, CSV      string
}

// trialNow is the arm that a start has told.
type trialNow struct {
	Number    int
	Arm, Name string
	Note      string
	Edit      string // where what was fished is attached
	Log       string
}

type trialTable struct {
	Label string // for those who can't see it
	Head  []string
	Rows  [][]string
}

func newTrialTable(label string, t table.Table) trialTable {
	head, rows := t.Texts()
	return trialTable{label, head, rows}
}

// trialUnitRow is a unit that was started.
type trialUnitRow struct {
	Number  int
	Arm     string
	Day     string
	Session string // address, "" when nothing is attached
	Rig     string
	Counted string
	Words   string
	Apart   bool // it does not count
	Edit    string
}

func (s *pages) trial(w http.ResponseWriter, r *http.Request) error {
	a, err := s.askTrial(r, "")
	if err != nil {
		return err
	}
	f, err := s.Frame(r, "trials", a.Trial.Name)
	if err != nil {
		return err
	}
	f.Wide = true
	held, err := s.Store.TrialByID(r.Context(), a.Trial.ID) // with the seed, to check the seal
	if err != nil {
		return err
	}
	p := newTrialPage(f, a)
	p.SealHolds = held.CheckSeal() == nil
	if a.Trial.Ended() {
		p.Sealed = held.SealedText()
	}
	if l, ok := a.Last(); ok && l.Blocks > 0 {
		p.Figure = s.trialFigure(f, a)
	}
	return s.Render(w, http.StatusOK, "trial", p)
}

func newTrialPage(f page.Frame, a trial.Answer) trialPage {
	t := a.Trial
	at := "/trials/" + t.ID.String()
	p := trialPage{Frame: f, At: at, Version: a.Trial.Version, Plan: prose.TrialPlan(a, f.Units), Look: trialLooks[a.State], Standing: prose.TrialState(a, f.Units), Sentence: prose.Trial(a, f.Units),
		Unit: string(t.Unit), Notes: prose.TrialNotes(a, f.Units), Own: t.Notes, Commitment: t.Commitment, Ending: t.Ending, Deletable: len(t.Units) == 0 && t.Undone == 0,
		Share: a.Outcome.Measure == journal.ShareOf, JSON: at + "/answer.json", CSV: at + "/answer.csv"}
	p.Settled = a.Settled > 0
	if l, ok := a.Last(); ok && l.Blocks > 0 {
		p.Bet = prose.TrialBet(l.Robust)
		p.Looks = newTrialTable("After each session", prose.TrialLooks(a))
	}
	p.Arms = newTrialTable("The two arms", prose.TrialArms(a, f.Units))
	if t.Ended() {
		p.EndedOn = t.EndedAt.Format("2 January 2006")
	} else {
		p.Next = a.Next()
	}
	p.units(a, at, f.Units)
	return p
}

// units lists what was started. The last start that waits for its session is what
// is being fished now.
func (p *trialPage) units(a trial.Answer, at string, sys units.System) {
	var rows [][]string
	p.UnitsHead, rows = prose.TrialUnitTable(a, sys).Texts()
	for i, u := range a.Units {
		row := trialUnitRow{Number: u.Unit.Ordinal, Arm: rows[i][1], Counted: rows[i][2], Words: rows[i][3], Day: rows[i][4], Rig: rows[i][5],
			Apart: u.Standing != trial.UnitCounts, Edit: at + "/units/" + strconv.Itoa(u.Unit.Ordinal)}
		if u.Found {
			row.Session, row.Day = "/sessions/"+u.Session.String(), u.Day.In(time.UTC).Format("2 Jan 2006")
		}
		p.Units = append(p.Units, row)
		switch {
		case u.Standing != trial.UnitWaits:
		case i == len(a.Units)-1 && !a.Trial.Ended():
			arm := a.Trial.Arms[u.Unit.Arm.Index()]
			p.Now = &trialNow{Number: u.Unit.Ordinal, Arm: string(u.Unit.Arm), Name: prose.Capital(prose.TrialArm(a, u.Unit.Arm.Index(), sys)), Note: arm.Note, Edit: row.Edit, Log: "/log"}
			if arm.RigID != nil {
				p.Now.Log += "?rig=" + arm.RigID.String()
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
	fig.How = "Above, what a stake of 1 on a difference has come to; below, the ratio of A to B and what is not ruled out yet. Point at a dot for its numbers."
	return fig
}

// askTrial answers for the trial that the address names.
func (s *pages) askTrial(r *http.Request, _ units.System) (trial.Answer, error) {
	return page.At(r, func(ctx context.Context, id journal.ID) (trial.Answer, error) { return trial.Follow(ctx, s.Store, id) })
}

func trialFile(a trial.Answer) string { return page.FileName(a.Trial.Name, "evidence") }
