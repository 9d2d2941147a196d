package trials

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"net/http"
	"strconv"
	"strings"

	"rigtally/analytics/trial"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/questions"
)

func (s *pages) preview(ctx context.Context, t journal.Trial) (trial.Answer, error) {
	return page.Ask(ctx, s.Desk, t, func(ctx context.Context) (trial.Answer, error) {
		return trial.Preview(ctx, s.Store, t)
	})
}

// trialNewPage is the form that plans a trial.
type trialNewPage struct {
	page.Frame
	Form              *form.Form
	ID                string
	Outcomes, Factors []form.Option
	Of                string // the factor that the arms below are of; "" before one is chosen
	Hint              string // beside its arms where the factor is a number
	Levels            []form.Option
	Outlook, Fixed    string // the chance of a decision; "" as long as the plan is not whole
	Seen              string // the plan that they are about
	Earlier           []trial.Earlier
}

// trialNew shows an empty form under an id of its own.
func (s *pages) trialNew(w http.ResponseWriter, r *http.Request) error {
	return s.showTrialNew(w, r, http.StatusOK, nil, journal.NewID())
}

// trialPlan takes the form: shows what can be chosen and the chance of a decision,
// or plans the trial once that was seen.
func (s *pages) trialPlan(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	id, err := journal.ParseID(f.Text("id"))
	if err != nil {
		return page.Refuse(http.StatusBadRequest, "That could not be read", "The form arrived damaged, so nothing was planned. Open it again.")
	}
	if f.Text("do") != "plan" {
		return s.showTrialNew(w, r, http.StatusOK, f, id)
	}
	t := readTrial(f, id)
	if len(f.Faults) == 0 && t.Validate() == nil && f.Text("seen") != planSeen(t) {
		return s.showTrialNew(w, r, http.StatusOK, f, id)
	}
	return page.Saving{
		Form: f,
		Store: func() (string, error) {
			_, err := s.Store.PlanTrial(r.Context(), t)
			return "/trials/" + id.String() + "?done=trial-planned", err
		},
		Again: func(status int) error { return s.showTrialNew(w, r, status, f, id) },
	}.Do(w, r)
}

// readTrial turns the form into a plan.
func readTrial(f *form.Form, id journal.ID) journal.Trial {
	t := journal.Trial{ID: id, Name: f.Filled("name", "give the trial a name"), Outcome: f.Filled("outcome", "choose what is counted"),
		Factor: f.Filled("factor", "choose what differs"), Unit: journal.TrialScale(f.Text("by")), Notes: f.Text("notes")}
	t.Block = journal.UsualBlock
	if n := f.Whole("block", 4); n != nil {
		t.Block = *n
	}
	t.Worth, t.MostHours = above(f, "worth", "write a ratio such as 1.5"), above(f, "most", "write hours such as 80")
	if factor, err := journal.FactorByKey(t.Factor); err == nil && f.Text("of") == t.Factor {
		readArms(f, &t, factor)
	} else if err == nil {
		f.Fault("factor", "choose both arms below")
	}
	return t
}

func above(f *form.Form, name, otherwise string) float64 {
	v, err := units.ParseNumber(f.Text(name))
	if err != nil || v <= 0 {
		f.Fault(name, otherwise)
		return 0
	}
	return v
}

func readArms(f *form.Form, t *journal.Trial, factor journal.Factor) {
	for i, name := range []string{"a", "b"} {
		arm := &t.Arms[i]
		arm.Note = f.Text(name + "-note")
		text := f.Text(name)
		switch {
		case text == "":
			f.Fault(name, "choose arm "+strings.ToUpper(name))
		case factor.Key == "rig":
			arm.RigID = f.ID(name)
		default:
			level, err := trial.Level(factor, text, f.Units)
			if err != nil {
				f.Fault(name, err.Error())
			}
			arm.Level = level
		}
	}
}

func (s *pages) showTrialNew(w http.ResponseWriter, r *http.Request, status int, f *form.Form, id journal.ID) error {
	fr, err := s.Frame(r, "trials", "Plan a trial")
	if err != nil {
		return err
	}
	if f == nil {
		f = form.New(fr.Units)
		for name, value := range map[string]string{"worth": "1.5", "most": "80", "by": string(journal.ByStint), "block": strconv.Itoa(journal.UsualBlock)} {
			f.Set(name, value)
		}
	}
	p := trialNewPage{Frame: fr, Form: f, ID: id.String(), Outcomes: form.Offer("Choose", journal.TrialOutcomes(), form.Outcome), Factors: form.Offer("Choose", journal.TrialFactors(), trialFactor)}
	if err := s.trialArms(r.Context(), f, &p); err != nil {
		return err
	}
	if status == http.StatusOK && f.Text("of") == f.Text("factor") && p.Of != "" {
		if err := s.planOutlook(r.Context(), f, &p, id); err != nil {
			return err
		}
	}
	return s.Render(w, status, "trialnew", p)
}

// trialArms offers what the chosen factor has.
func (s *pages) trialArms(ctx context.Context, f *form.Form, p *trialNewPage) error {
	factor, err := journal.FactorByKey(f.Text("factor"))
	if err != nil {
		return nil // none chosen yet
	}
	p.Of = factor.Key
	if f.Text("of") != factor.Key { // chosen for another factor
		f.Set("a", "")
		f.Set("b", "")
	}
	if factor.Quantity == journal.Words {
		p.Levels, err = s.armOptions(ctx, factor)
		return err
	}
	switch {
	case factor.Key == "tippet":
		p.Hint = "such as 6X"
	case factor.Key == "hook-size":
		p.Hint = "such as 16"
	case f.Units == units.US:
		p.Hint = `such as 6 1/2 in`
	default:
		p.Hint = "such as 165 mm"
	}
	return nil
}

func (s *pages) armOptions(ctx context.Context, factor journal.Factor) ([]form.Option, error) {
	if factor.Key == "rig" {
		rigs, err := s.Store.Rigs(ctx)
		return form.Offer("Choose", rigs, func(r journal.RigUse) form.Option { return form.Option{Value: r.ID.String(), Text: r.Title()} }), err
	}
	list, err := questions.WordsFor(ctx, s.Store, factor)
	return form.Offer("Choose", list, func(o form.Option) form.Option { return form.Option{Value: o.Value, Text: prose.Capital(o.Text)} }), err
}

// planSeen names what of a plan its chance of a decision rests on.
func planSeen(t journal.Trial) string {
	t.ID, t.Name, t.Notes = journal.ID{}, "", ""
	for i := range t.Arms {
		t.Arms[i].Note = ""
	}
	text, _ := json.Marshal(t) // of plain fields: never fails
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

// planOutlook says how long the plan would take, as far as it is filled in.
func (s *pages) planOutlook(ctx context.Context, f *form.Form, p *trialNewPage, id journal.ID) error {
	probe := form.Of(f.Values, f.Units)
	t := readTrial(probe, id)
	if t.Name == "" {
		t.Name = "Plan"
	}
	a, err := s.preview(ctx, t)
	switch {
	case journal.IsInvalid(err) || errors.Is(err, journal.ErrNotFound):
		return nil // not filled in yet
	case err != nil:
		return err
	}
	p.Seen, p.Earlier = planSeen(t), a.Earlier
	if p.Outlook = prose.TrialOutlook(a.Outlook); p.Outlook == "" {
		p.Outlook = prose.TrialNoOutlook
	}
	p.Fixed = prose.TrialFixed(a.Outlook)
	return nil
}

func trialFactor(f journal.Factor) form.Option {
	if f.Key == "rig" {
		f.Title = "Two rigs"
	}
	return form.Factor(f)
}
