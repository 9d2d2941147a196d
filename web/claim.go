package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rigtally/journal"
	"rigtally/prose"
)

// claimPage is the form of a claim.
type claimPage struct {
	frame
	Problems                   problems
	New                        bool
	Version                    int
	Words                      field
	Outcome, Factor, Direction choice
	Chosen                     bool   // whether there is a factor
	Of                         string // the factor that the words below are of
	Level, Versus              boxes  // words of the factor, once it is chosen
	Given                      boxes
	Alike                      []string // what is held alike, in words
	Action                     string
	Finding                    string // address of the question behind it, "" for a new one
	Retire, Restore            string // addresses, "" where it can't be
	Common                     bool   // it is common practice till it states something else
}

// boxes are boxes to tick of which several may be.
type boxes struct {
	Name, Label, Wrong string
	List               []box
}

type box struct {
	Value, Text string
	On          bool
}

// ticked makes boxes of which those are ticked that the field holds.
func (f *form) ticked(name, label string, list []option) boxes {
	b := boxes{Name: name, Label: label, Wrong: f.wrong(name)}
	for _, o := range list {
		b.List = append(b.List, box{o.Value, o.Text, slices.Contains(f.values[name], o.Value)})
	}
	return b
}

// claimNew shows an empty form under an id of its own.
func (s *Server) claimNew(w http.ResponseWriter, r *http.Request) error {
	id, err := journal.NewID()
	if err != nil {
		return err
	}
	return s.showClaim(w, r, http.StatusOK, nil, journal.Claim{ID: id, Direction: journal.More, Given: []string{"angler", "water"}}, true)
}

// claim shows the form with a claim of the journal.
func (s *Server) claim(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	c, err := s.store.ClaimByID(r.Context(), id)
	if err != nil {
		return err
	}
	return s.showClaim(w, r, http.StatusOK, nil, c, false)
}

// claimSave takes the form of a new claim or of one in the journal.
func (s *Server) claimSave(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	f, err := readForm(r, "")
	if err != nil {
		return err
	}
	isNew := f.checked("new")
	held := journal.Claim{ID: id}
	if !isNew {
		if held, err = s.store.ClaimByID(r.Context(), id); err != nil {
			return err
		}
	}
	if f.values.Get("do") != "save" { // another factor has other words to choose from
		return s.showClaim(w, r, http.StatusOK, f, held, isNew)
	}
	c := f.readClaim(id)
	return saving{
		form: f,
		store: func() (string, error) {
			_, err := s.store.SaveClaim(r.Context(), c)
			return "/claims?done=claim-saved#" + id.String(), err
		},
		held:  heldClaim,
		again: func(status int) error { return s.showClaim(w, r, status, f, held, isNew) },
	}.do(w, r)
}

// readClaim turns the form into a claim. Words of a factor that was chosen
// before another one stay out.
func (f *form) readClaim(id journal.ID) journal.Claim {
	c := journal.Claim{ID: id, Version: f.version(), Words: f.text("words"), Outcome: f.text("outcome"), Factor: f.text("factor"), Direction: journal.Direction(f.text("direction")), Given: f.values["given"]}
	if f.text("of") == c.Factor {
		c.Level, c.Versus = f.values["level"], f.values["versus"]
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
			f.fault(blank.field, blank.text)
		}
	}
	if factor, err := journal.FactorByKey(c.Factor); err == nil && factor.Quantity == journal.Words {
		if len(c.Level) == 0 {
			f.fault("level", "choose the "+strings.ToLower(factor.Title)+" that the claim is about")
		}
		if len(c.Versus) == 0 {
			f.fault("versus", "choose the "+strings.ToLower(factor.Title)+" to compare with")
		}
	}
	return c
}

func (f *form) fillClaim(c journal.Claim) {
	f.set("version", strconv.Itoa(c.Version))
	f.set("words", c.Words)
	f.set("outcome", c.Outcome)
	f.set("factor", c.Factor)
	f.set("of", c.Factor)
	f.set("direction", string(c.Direction))
	f.values["level"], f.values["versus"], f.values["given"] = c.Level, c.Versus, c.Given
}

func (s *Server) showClaim(w http.ResponseWriter, r *http.Request, status int, f *form, held journal.Claim, isNew bool) error {
	title := "Add a claim"
	if !isNew {
		title = "Change a claim"
	}
	fr, err := s.frame(r, "claims", title)
	if err != nil {
		return err
	}
	if f == nil {
		f = newForm(fr.Units)
		f.fillClaim(held)
	}
	at := "/claims/" + held.ID.String()
	p := claimPage{frame: fr, Problems: f.problems("Not saved yet. Please look at:"), New: isNew, Version: f.version(), Action: at, Common: held.Source == journal.CommonPractice,
		Words:   f.input("words", "The claim, as you would say it", "such as: longer tags twist more"),
		Outcome: f.choose("outcome", "What happens", "", claimOutcomes()),
		Factor:  f.choose("factor", "What makes the difference", "", claimFactors())}
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
	p.Given = f.ticked("given", "", claimGivens(f, held.Given))
	for _, b := range p.Given.List {
		if b.On {
			p.Alike = append(p.Alike, strings.ToLower(b.Text))
		}
	}
	return s.render(w, status, "claim", p)
}

// claimSides offers what the chosen factor has: its words, or which way its
// number goes.
func (s *Server) claimSides(ctx context.Context, f *form, p *claimPage) error {
	directions := []option{{Value: string(journal.More), Text: "More often"}, {Value: string(journal.Less), Text: "Less often"}}
	factor, err := journal.FactorByKey(f.text("factor"))
	switch {
	case err != nil: // none chosen yet
	case factor.Quantity != journal.Words:
		more, less := prose.Grown(factor)
		directions[0].Text, directions[1].Text = "More often, the "+more, "More often, the "+less
	default:
		var chosen []string
		if f.text("of") == factor.Key {
			chosen = slices.Concat(f.values["level"], f.values["versus"])
		}
		words, err := wordsFor(ctx, s.store, factor, chosen...)
		if err != nil {
			return err
		}
		p.Level = f.ticked("level", "With this "+strings.ToLower(factor.Title), words)
		p.Versus = f.ticked("versus", "than with this", words)
		p.Of = factor.Key
	}
	p.Direction = f.choose("direction", "Which way", "", directions)
	p.Chosen = err == nil
	return nil
}

// claimGivens lists what may be held alike. A number that enters as a straight
// line stays so.
func claimGivens(f *form, held []string) []option {
	var list []option
	for _, factor := range journal.Factors() {
		if factor.Key == f.text("factor") {
			continue
		}
		o := option{Value: factor.Key, Text: factor.Title}
		if line := factor.Key + journal.LinearGiven; slices.Contains(held, line) || slices.Contains(f.values["given"], line) {
			o = option{Value: line, Text: factor.Title + ", as a straight line"}
		}
		list = append(list, o)
	}
	return list
}

func claimOutcomes() []option {
	list := []option{{Text: "Choose"}}
	for _, o := range journal.Outcomes() {
		list = append(list, option{Value: o.Key, Text: prose.Measure(o)})
	}
	return list
}

func claimFactors() []option {
	list := []option{{Text: "Choose"}}
	for _, f := range journal.Factors() {
		list = append(list, option{Value: f.Key, Text: f.Title})
	}
	return list
}
