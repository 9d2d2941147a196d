package web

import (
	"errors"
	"net/http"
	"strconv"
	"strings"
	"time"

	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// trialUnitPage is where a person says what was fished in a unit of a trial.
type trialUnitPage struct {
	frame
	Problems problems
	Trial    string
	At, Back string
	Number   int
	Version  int // of the unit, as it was shown
	Unit     string
	Arm      string
	Started  string
	Row      trialUnitRow
	Attached bool
	Fits     []trialOption // fished with the arm that was drawn
	Others   []trialOption
	Why      field
}

// trialOption is something that may have been fished.
type trialOption struct {
	Value, Title, More string
	On                 bool
}

func (s *Server) trialUnit(w http.ResponseWriter, r *http.Request) error {
	return s.showTrialUnit(w, r, http.StatusOK, nil)
}

func (s *Server) showTrialUnit(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	n, err := numberAt(r)
	if err != nil {
		return err
	}
	a, err := trial.Follow(r.Context(), s.store, id)
	if err != nil {
		return err
	}
	if n > len(a.Units) {
		return &refusal{http.StatusNotFound, "Not started yet", "That number of the trial has not been started, so nobody knows its arm. Start it from the trial’s page."}
	}
	fr, err := s.frame(r, "trials", a.Trial.Name+", number "+strconv.Itoa(n))
	if err != nil {
		return err
	}
	list, err := s.store.TrialCandidates(r.Context(), a.Trial, n)
	if err != nil {
		return err
	}
	page := newTrialPage(fr, a)
	u := a.Units[n-1]
	if f == nil {
		f = newForm(fr.Units)
		f.set("version", strconv.Itoa(u.Unit.Version))
		f.set("fished", attachmentValue(u.Unit.SessionID, u.Unit.StintID))
		if u.Standing == trial.UnitApart {
			f.set("why", u.Reason)
		}
	}
	p := trialUnitPage{frame: fr, Problems: f.problems("Not saved yet. Please look at:"), Trial: a.Trial.Name, Back: page.At, At: page.At + "/units/" + strconv.Itoa(n), Number: n, Version: f.version(),
		Unit: string(a.Trial.Unit), Arm: string(u.Unit.Arm) + ", " + prose.TrialArm(a, u.Unit.Arm.Index(), fr.Units), Row: page.Units[n-1], Attached: u.Unit.Status != journal.UnitOpen,
		Started: startedWords(u.Unit.StartedAt, fr.Outfit.TimeZone), Why: f.input("why", "Why it broke the plan", "such as: a storm, tied the other one. Not: it tangled too much")}
	for _, c := range list {
		o := newTrialOption(c, f.text("fished"))
		if c.Arm == u.Unit.Arm {
			p.Fits = append(p.Fits, o)
		} else {
			p.Others = append(p.Others, o)
		}
	}
	return s.render(w, status, "trialunit", p)
}

// startedWords writes a moment on the outfit's clock.
func startedWords(at time.Time, zone string) string {
	if loc, err := time.LoadLocation(zone); err == nil {
		at = at.In(loc)
	}
	return at.Format("Mon 2 January, 15:04")
}

func attachmentValue(session, stint *journal.ID) string {
	if session == nil {
		return ""
	}
	if stint == nil {
		return session.String()
	}
	return session.String() + " " + stint.String()
}

func newTrialOption(c journal.TrialCandidate, chosen string) trialOption {
	o := trialOption{Value: attachmentValue(&c.SessionID, c.StintID), Title: c.Rig}
	if c.Number > 0 {
		o.Title = "Stint " + strconv.Itoa(c.Number) + ", " + c.Rig
	}
	fished := "minutes not noted"
	if c.Minutes != nil {
		fished = units.FormatDuration(*c.Minutes)
	}
	o.More = strings.Join([]string{dayWords(c.Day), c.Angler, c.Water, fished}, ", ")
	o.On = o.Value == chosen
	return o
}

// trialUnitSave attaches what was fished, sets it apart, or takes it off.
func (s *Server) trialUnitSave(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	n, err := numberAt(r)
	if err != nil {
		return err
	}
	f, err := readForm(r, "")
	if err != nil {
		return err
	}
	done := "trial-attached"
	switch f.text("do") {
	case "off":
		done, err = "trial-off", s.store.OpenTrialUnit(r.Context(), id, n, f.version())
	case "apart":
		done, err = "trial-apart", s.setApart(r, f, id, n)
	default:
		err = s.attach(r, f, id, n, "")
	}
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		f.refuse(invalid)
		fallthrough
	case len(f.faults) > 0:
		return s.showTrialUnit(w, r, http.StatusUnprocessableEntity, f)
	case err != nil:
		return err
	}
	http.Redirect(w, r, "/trials/"+id.String()+"?done="+done, http.StatusSeeOther)
	return nil
}

// setApart notes why a unit broke the plan, with what was fished if it was chosen.
func (s *Server) setApart(r *http.Request, f *form, id journal.ID, n int) error {
	why := f.text("why")
	if why == "" {
		f.fault("why", "say why it broke the plan")
		return nil
	}
	if f.text("fished") != "" {
		return s.attach(r, f, id, n, why)
	}
	return s.store.BreakTrialUnit(r.Context(), id, n, f.version(), why)
}

func (s *Server) attach(r *http.Request, f *form, id journal.ID, n int, why string) error {
	session, stint, isStint := strings.Cut(f.text("fished"), " ")
	a := journal.Attachment{Ordinal: n}
	var err error
	if a.SessionID, err = journal.ParseID(session); err != nil {
		f.fault("fished", "choose what was fished")
		return nil
	}
	if isStint {
		of, err := journal.ParseID(stint)
		if err != nil {
			f.fault("fished", "choose what was fished")
			return nil
		}
		a.StintID = &of
	}
	return s.store.AttachTrialUnit(r.Context(), id, f.version(), a, why)
}
