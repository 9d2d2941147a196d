package trials

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"rigtally/analytics/trial"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// trialUnitPage is where a person says what was fished in a unit of a trial.
type trialUnitPage struct {
	page.Frame
	Form    *form.Form
	Trial   journal.Trial
	Arm     string
	Started string
	Row     trialUnitRow
	Fits    []trialOption // fished with the arm that was drawn
	Others  []trialOption
}

// Attached reports whether something is noted of the unit.
func (p trialUnitPage) Attached() bool { return p.Row.Status != journal.UnitOpen }

// trialOption is something that may have been fished.
type trialOption struct {
	Value, Title, More string
	On                 bool
}

func (s *pages) trialUnit(w http.ResponseWriter, r *http.Request) error {
	return s.showTrialUnit(w, r, http.StatusOK, nil)
}

func (s *pages) showTrialUnit(w http.ResponseWriter, r *http.Request, status int, f *form.Form) error {
	id, n, err := unitAt(r)
	if err != nil {
		return err
	}
	a, err := trial.Follow(r.Context(), s.Store, id)
	if err != nil {
		return err
	}
	if n > len(a.Units) {
		return page.Refuse(http.StatusNotFound, "Not started yet", "That number of the trial has not been started, so nobody knows its arm. Start it from the trial’s page.")
	}
	fr, err := s.Frame(r, "trials", a.Trial.Name+", number "+strconv.Itoa(n))
	if err != nil {
		return err
	}
	list, err := s.Store.TrialCandidates(r.Context(), a.Trial, n)
	if err != nil {
		return err
	}
	u := a.Units[n-1]
	if f == nil {
		f = form.New(fr.Units)
		f.Set("version", strconv.Itoa(u.Unit.Version))
		f.Set("fished", attachmentValue(u.Unit.SessionID, u.Unit.StintID))
		if u.Standing == trial.UnitApart {
			f.Set("why", u.Reason)
		}
	}
	p := trialUnitPage{Frame: fr, Form: f, Trial: a.Trial, Arm: string(u.Unit.Arm) + ", " + prose.TrialArm(a, u.Unit.Arm.Index(), fr.Units),
		Row: newTrialPage(fr, a).Fished[n-1], Started: startedWords(u.Unit.StartedAt, fr.Outfit.TimeZone)}
	for _, c := range list {
		o := newTrialOption(c, f.Text("fished"))
		if c.Arm == u.Unit.Arm {
			p.Fits = append(p.Fits, o)
		} else {
			p.Others = append(p.Others, o)
		}
	}
	return s.Render(w, status, "trialunit", p)
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
	o.More = strings.Join([]string{prose.Day(c.Day), c.Angler, c.Water, fished}, ", ")
	o.On = o.Value == chosen
	return o
}

// trialUnitSave attaches what was fished, sets it apart, or takes it off.
func (s *pages) trialUnitSave(w http.ResponseWriter, r *http.Request) error {
	id, n, err := unitAt(r)
	if err != nil {
		return err
	}
	f, err := form.Read(r, "")
	if err != nil {
		return err
	}
	then := "/trials/" + id.String() + "?done="
	return page.Saving{
		Form: f,
		Store: func() (string, error) {
			switch f.Text("do") {
			case "off":
				return then + "trial-off", s.Store.OpenTrialUnit(r.Context(), id, n, f.Version())
			case "apart":
				return then + "trial-apart", s.setApart(r, f, id, n)
			}
			return then + "trial-attached", s.attach(r, f, id, n, "")
		},
		Again: func(status int) error { return s.showTrialUnit(w, r, status, f) },
	}.Do(w, r)
}

// setApart notes why a unit broke the plan, with what was fished if it was chosen.
func (s *pages) setApart(r *http.Request, f *form.Form, id journal.ID, n int) error {
	why := f.Text("why")
	if why == "" {
		f.Fault("why", "say why it broke the plan")
		return nil
	}
	if f.Text("fished") != "" {
		return s.attach(r, f, id, n, why)
	}
	return s.Store.BreakTrialUnit(r.Context(), id, n, f.Version(), why)
}

func (s *pages) attach(r *http.Request, f *form.Form, id journal.ID, n int, why string) error {
	session, stint, isStint := strings.Cut(f.Text("fished"), " ")
	a := journal.Attachment{Ordinal: n}
	var err error
	if a.SessionID, err = journal.ParseID(session); err == nil && isStint {
		a.StintID = new(journal.ID)
		*a.StintID, err = journal.ParseID(stint)
	}
	if err != nil {
		f.Fault("fished", "choose what was fished")
		return nil
	}
	return s.Store.AttachTrialUnit(r.Context(), id, f.Version(), a, why)
}
