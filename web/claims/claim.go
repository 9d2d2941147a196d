package claims

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/questions"
)

// claimPage is the form of a claim.
type claimPage struct {
	page.Frame
	Problems                   form.Problems
	New                        bool
	Version                    int
	Words                      form.Field
	Outcome, Factor, Direction form.Choice
	Chosen                     bool       // whether there is a factor
	Of                         string     // the factor that the words below are of
	Level, Versus              form.Boxes // words of the factor, once it is chosen
	Given                      form.Boxes
	Alike                      []string // what is held alike, in words
	Action                     string
	Finding                    string // address of the question behind it, "" for a new one
	Retire, Restore            string // addresses, "" where it can't be
	Common                     bool   // it is common practice till it states something else
}

// claimNew shows an empty form under an id of its own.
func (s *pages) claimNew(w http.ResponseWriter, r *http.Request) error {
	return s.showClaim(w, r, http.StatusOK, nil, journal.Claim{ID: journal.NewID(), Direction: journal.More, Given: []string{"angler", "water"}}, true)
}

// claim shows the form with a claim of the journal.
func (s *pages) claim(w http.ResponseWriter, r *http.Request) error {
	c, err := page.At(r, s.Store.ClaimByID)
	if err != nil {
		return err
	}
	return s.showClaim(w, r, http.StatusOK, nil, c, false)
}

// claimSave takes the form of a new claim or of one in the journal.
func (s *pages) claimSave(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	f, err := form.Read(r, "")
	if err != nil {
		return err
	}
	isNew := f.Checked("new")
	held := journal.Claim{ID: id}
	if !isNew {
		if held, err = s.Store.ClaimByID(r.Context(), id); err != nil {
			return err
		}
	}
	if f.Values.Get("do") != "save" { // another factor has other words to choose from
		return s.showClaim(w, r, http.StatusOK, f, held, isNew)
	}
	c := readClaim(f, id)
	return page.Saving{
		Form: f,
		Store: func() (string, error) {
			_, err := s.Store.SaveClaim(r.Context(), c)
			return "/claims?done=claim-saved#" + id.String(), err
		},
		Held:  heldClaim,
		Again: func(status int) error { return s.showClaim(w, r, status, f, held, isNew) },
	}.Do(w, r)
}

// readClaim turns the form into a claim. Words of a factor that was chosen
// before another one stay out.
func readClaim(f *form.Form, id journal.ID) journal.Claim {
	c := journal.Claim{ID: id, Version: f.Version(), Words: f.Text("words"), Outcome: f.Text("outcome"), Factor: f.Text("factor"), Direction: journal.Direction(f.Text("direction")), Given: f.Values["given"]}
	if f.Text("of") == c.Factor {
		c.Level, c.Versus = f.Values["level"], f.Values["versus"]
	}
	for _, blank := range []struct {
		is          bool
		field, text string
	}{
		{c.Words == "", "words", "write the claim as you would say it"},
		{c.Outcome == "", "outcome", "choose what happens"},
		{c.Factor == "", "factor", "choose what makes the difference"},
	} {
		if blank.is {
			f.Fault(blank.field, blank.text)
		}
	}
	if factor, err := journal.FactorByKey(c.Factor); err == nil && factor.Quantity == journal.Words {
		if len(c.Level) == 0 {
			f.Fault("level", "choose the "+strings.ToLower(factor.Title)+" that the claim is about")
		}
		if len(c.Versus) == 0 {
			f.Fault("versus", "choose the "+strings.ToLower(factor.Title)+" to compare with")
		}
	}
	return c
}

func fillClaim(f *form.Form, c journal.Claim) {
	f.Set("version", strconv.Itoa(c.Version))
	f.Set("words", c.Words)
	f.Set("outcome", c.Outcome)
	f.Set("factor", c.Factor)
	f.Set("of", c.Factor)
	f.Set("direction", string(c.Direction))
	f.Values["level"], f.Values["versus"], f.Values["given"] = c.Level, c.Versus, c.Given
}

func (s *pages) showClaim(w http.ResponseWriter, r *http.Request, status int, f *form.Form, held journal.Claim, isNew bool) error {
	title := "Add a claim"
	if !isNew {
		title = "Change a claim"
	}
	fr, err := s.Frame(r, "claims", title)
	if err != nil {
		return err
	}
	if f == nil {
		f = form.New(fr.Units)
		fillClaim(f, held)
	}
	at := "/claims/" + held.ID.String()
	p := claimPage{Frame: fr, Problems: f.Problems("Not saved yet. Please look at:"), New: isNew, Version: f.Version(), Action: at, Common: held.Source == journal.CommonPractice,
		Words:   f.Input("words", "The claim, as you would say it", "such as: longer tags twist more"),
		Outcome: f.Choose("outcome", "What happens", "", claimOutcomes()),
		Factor:  f.Choose("factor", "What makes the difference", "", claimFactors())}
	if !isNew {
		p.Finding = claimQuestion(held, fr.Units)
		p.Retire = at + "/retire"
		if held.Retired() {
			p.Retire, p.Restore = "", at+"/restore"
		}
	}
	if err := s.claimSides(r.Context(), f, &p); err != nil {
		return err
	}
	p.Given = f.Ticked("given", "", claimGivens(f, held.Given))
	for _, b := range p.Given.List {
		if b.On {
			p.Alike = append(p.Alike, strings.ToLower(b.Text))
		}
	}
	return s.Render(w, status, "claim", p)
}

// claimSides offers what the chosen factor has: its words, or which way its
// number goes.
func (s *pages) claimSides(ctx context.Context, f *form.Form, p *claimPage) error {
	directions := []form.Option{{Value: string(journal.More), Text: "More often"}, {Value: string(journal.Less), Text: "Less often"}}
	factor, err := journal.FactorByKey(f.Text("factor"))
	switch {
	case err != nil: // none chosen yet
	case factor.Quantity != journal.Words:
		more, less := prose.Grown(factor)
		directions[0].Text, directions[1].Text = "More often, the "+more, "More often, the "+less
	default:
		var chosen []string
		if f.Text("of") == factor.Key {
			chosen = slices.Concat(f.Values["level"], f.Values["versus"])
		}
		words, err := questions.WordsFor(ctx, s.Store, factor, chosen...)
		if err != nil {
			return err
		}
		p.Level = f.Ticked("level", "With this "+strings.ToLower(factor.Title), words)
		p.Versus = f.Ticked("versus", "than with this", words)
		p.Of = factor.Key
	}
	p.Direction = f.Choose("direction", "Which way", "", directions)
	p.Chosen = err == nil
	return nil
}

// claimGivens lists what may be held alike. A number that enters as a straight
// line stays so.
func claimGivens(f *form.Form, held []string) []form.Option {
	var list []form.Option
	for _, factor := range journal.Factors() {
		if factor.Key == f.Text("factor") {
			continue
		}
		o := form.Option{Value: factor.Key, Text: factor.Title}
		if line := factor.Key + journal.LinearGiven; slices.Contains(held, line) || slices.Contains(f.Values["given"], line) {
			o = form.Option{Value: line, Text: factor.Title + ", as a straight line"}
		}
		list = append(list, o)
	}
	return list
}

func claimOutcomes() []form.Option {
	list := []form.Option{{Text: "Choose"}}
	for _, o := range journal.Outcomes() {
		list = append(list, form.Option{Value: o.Key, Text: prose.Measure(o)})
	}
	return list
}

func claimFactors() []form.Option {
	list := []form.Option{{Text: "Choose"}}
	for _, f := range journal.Factors() {
		list = append(list, form.Option{Value: f.Key, Text: f.Title})
	}
	return list
}

func heldClaim(held any) string {
	c, ok := held.(journal.Claim)
	if !ok {
		return ""
	}
	return "The journal’s reads “" + c.Words + "”: " + c.Outcome + ", " + string(c.Direction) + " with " + strings.Join(append(c.Level, c.Factor), ", ") + "."
}
