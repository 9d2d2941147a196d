package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// trialNewPage is the form that plans a trial.
type trialNewPage struct {
	frame
	Problems        problems
	ID              string
	Name            field
	Outcome, Factor choice
	Of              string // the factor that the arms below are of; "" before one is chosen
	A, B            *choice
	NumberA         *field // in place of A and B where the factor is a number
	NumberB         *field
	NoteA, NoteB    field
	Worth, Most     field
	By, Block       choice
	Notes           field
	Outlook         string
	Fixed           string
}

// trialNew shows an empty form under an id of its own.
func (s *Server) trialNew(w http.ResponseWriter, r *http.Request) error {
	id, err := journal.NewID()
	if err != nil {
		return err
	}
	return s.showTrialNew(w, r, http.StatusOK, nil, id)
}

// trialPlan takes the form: shows what can be chosen and how long it would take,
// or plans the trial.
func (s *Server) trialPlan(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "trials", "Plan a trial")
	if err != nil {
		return err
	}
	f, err := readForm(r, fr.Units)
	if err != nil {
		return err
	}
	id, err := journal.ParseID(f.text("id"))
	if err != nil {
		return &refusal{http.StatusBadRequest, "That could not be read", "The form arrived damaged, so nothing was planned. Open it anew."}
	}
	if f.text("do") != "plan" {
		return s.showTrialNew(w, r, http.StatusOK, f, id)
	}
	t := f.readTrial(id)
	if len(f.faults) == 0 {
		_, err = s.store.PlanTrial(r.Context(), t)
	}
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		f.refuse(invalid)
	case err != nil:
		return err
	}
	if len(f.faults) > 0 {
		return s.showTrialNew(w, r, http.StatusUnprocessableEntity, f, id)
	}
	http.Redirect(w, r, "/trials/"+id.String()+"?done=trial-planned", http.StatusSeeOther)
	return nil
}

// readTrial turns the form into a plan.
func (f *form) readTrial(id journal.ID) journal.Trial {
	t := journal.Trial{ID: id, Name: f.text("name"), Outcome: f.text("outcome"), Factor: f.text("factor"), Unit: journal.TrialScale(f.text("by")), Notes: f.text("notes")}
	for _, blank := range []struct {
		is          bool
		field, text string
	}{{t.Name == "", "name", "give the trial a name"}, {t.Outcome == "", "outcome", "choose what is counted"}, {t.Factor == "", "factor", "choose what differs"}} {
		if blank.is {
			f.fault(blank.field, blank.text)
		}
	}
	t.Block, _ = strconv.Atoi(f.text("block"))
	t.Worth, t.MostHours = f.above("worth", "write a ratio such as 1.5"), f.above("most", "write hours such as 80")
	if factor, err := journal.FactorByKey(t.Factor); err == nil && f.text("of") == t.Factor {
		f.readArms(&t, factor)
	} else if err == nil {
		f.fault("factor", "choose both arms below")
	}
	return t
}

func (f *form) above(name, otherwise string) float64 {
	v, err := units.ParseNumber(f.text(name))
	if err != nil || v <= 0 {
		f.fault(name, otherwise)
		return 0
	}
	return v
}

func (f *form) readArms(t *journal.Trial, factor journal.Factor) {
	for i, name := range []string{"a", "b"} {
		arm := &t.Arms[i]
		arm.Note = f.text(name + "-note")
		text := f.text(name)
		switch {
		case text == "":
			f.fault(name, "choose arm "+strings.ToUpper(name))
		case factor.Key == "rig":
			arm.RigID = f.id(name)
		default:
			level, err := trial.Level(factor, text, f.units)
			if err != nil {
				f.fault(name, err.Error())
			}
			arm.Level = level
		}
	}
}

func (s *Server) showTrialNew(w http.ResponseWriter, r *http.Request, status int, f *form, id journal.ID) error {
	fr, err := s.frame(r, "trials", "Plan a trial")
	if err != nil {
		return err
	}
	if f == nil {
		f = newForm(fr.Units)
		for name, value := range map[string]string{"worth": "1.5", "most": "80", "by": string(journal.ByStint), "block": "2"} {
			f.set(name, value)
		}
	}
	p := trialNewPage{frame: fr, ID: id.String(), Name: f.input("name", "Name", "such as: up or down"),
		Outcome: f.choose("outcome", "What is counted", "", trialOutcomes()), Factor: f.choose("factor", "What differs", "", trialFactors()),
		NoteA: f.input("a-note", "How to tie A", "if it needs saying"), NoteB: f.input("b-note", "How to tie B", "if it needs saying"),
		Worth: f.input("worth", "Smallest ratio worth knowing", "1.5: half as much again").keyboard("decimal"), Most: f.input("most", "At most this many hours", "of both together").keyboard("decimal"),
		By:    f.choose("by", "Alternate by", "", []option{{Value: string(journal.ByStint), Text: "Stint, several a day"}, {Value: string(journal.BySession), Text: "Session, one a day"}}),
		Block: f.choose("block", "Order in blocks of", "", []option{{Value: "2", Text: "2: each pair holds both"}, {Value: "4", Text: "4: harder to guess"}}),
		Notes: f.input("notes", "Notes", "")}
	if err := s.trialArms(r.Context(), f, &p); err != nil {
		return err
	}
	if status == http.StatusOK && f.text("of") == f.text("factor") && p.Of != "" {
		if err := s.planOutlook(r.Context(), f, &p, id); err != nil {
			return err
		}
	}
	p.Problems = f.problems("Not planned yet. Please look at:")
	return s.render(w, status, "trialnew", p)
}

// trialArms offers what the chosen factor has.
func (s *Server) trialArms(ctx context.Context, f *form, p *trialNewPage) error {
	factor, err := journal.FactorByKey(f.text("factor"))
	if err != nil {
		return nil // none chosen yet
	}
	p.Of = factor.Key
	if f.text("of") != factor.Key { // chosen for another factor
		f.set("a", "")
		f.set("b", "")
	}
	if factor.Quantity != journal.Words {
		hint := "such as 165 mm"
		switch {
		case factor.Key == "tippet":
			hint = "such as 6X"
		case factor.Key == "hook-size":
			hint = "such as 16"
		case f.units == units.US:
			hint = `such as 6 1/2 in`
		}
		p.NumberA, p.NumberB = new(f.input("a", "Arm A", hint)), new(f.input("b", "Arm B", hint))
		return nil
	}
	options, err := s.armOptions(ctx, factor)
	if err != nil {
		return err
	}
	p.A, p.B = new(f.choose("a", "Arm A", "", slices.Clone(options))), new(f.choose("b", "Arm B", "", slices.Clone(options)))
	return nil
}

func (s *Server) armOptions(ctx context.Context, factor journal.Factor) ([]option, error) {
	options := []option{{Text: "Choose"}}
	if factor.Key != "rig" {
		list, err := s.claimWords(ctx, factor, newForm(""))
		for _, o := range list {
			options = append(options, option{Value: o.Value, Text: capital(o.Text)})
		}
		return options, err
	}
	rigs, err := s.store.Rigs(ctx)
	for _, rig := range rigs {
		options = append(options, option{Value: rig.ID.String(), Text: rig.Title()})
	}
	return options, err
}

// planOutlook says how long the plan would take, as far as it is filled in.
func (s *Server) planOutlook(ctx context.Context, f *form, p *trialNewPage, id journal.ID) error {
	probe := &form{values: f.values, units: f.units}
	t := probe.readTrial(id)
	if t.Name == "" {
		t.Name = "Plan"
	}
	o, err := s.outlookOf(ctx, t)
	switch {
	case journal.IsInvalid(err) || errors.Is(err, journal.ErrNotFound):
		return nil // not filled in yet
	case err != nil:
		return err
	}
	if p.Outlook = prose.TrialOutlook(o); p.Outlook == "" {
		p.Outlook = "The journal has nothing of this yet to say how long it would take."
	}
	p.Fixed = prose.TrialFixed(o)
	return nil
}

func trialOutcomes() []option {
	list := []option{{Text: "Choose"}}
	for _, o := range journal.TrialOutcomes() {
		list = append(list, option{Value: o.Key, Text: prose.Measure(o)})
	}
	return list
}

func trialFactors() []option {
	list := []option{{Text: "Choose"}}
	for _, f := range journal.TrialFactors() {
		text := f.Title
		if f.Key == "rig" {
			text = "Two rigs"
		}
		list = append(list, option{Value: f.Key, Text: text})
	}
	return list
}
