package rigs

import (
	"errors"
	"net/http"
	"strconv"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

// ruleSetPage is the form of a rule set.
type ruleSetPage struct {
	page.Frame
	Problems           form.Problems
	Name, AsOf, Source form.Field
	Rules              []form.Field
	NoRings, NoSwivels form.Tick
	Action             string
	Example, New       bool
	Delete, Restore    string // addresses, "" where it can't be
}

// rulesNew shows an empty set under an id of its own, so that sending it twice
// adds it once.
func (s *pages) rulesNew(w http.ResponseWriter, r *http.Request) error {
	return s.showRules(w, r, http.StatusOK, nil, journal.RuleSet{ID: journal.NewID()}, true)
}

// rulesEdit shows a set of the journal.
func (s *pages) rulesEdit(w http.ResponseWriter, r *http.Request) error {
	set, err := page.At(r, s.Store.RuleSetByID)
	if err != nil {
		return err
	}
	return s.showRules(w, r, http.StatusOK, nil, set, false)
}

// rulesSave takes the form of a new set or one of the journal.
func (s *pages) rulesSave(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	held, err := s.Store.RuleSetByID(r.Context(), id)
	isNew := errors.Is(err, journal.ErrNotFound)
	if err != nil && !isNew {
		return err
	}
	held.ID = id
	o, err := s.Store.Outfit(r.Context())
	if err != nil {
		return err
	}
	f, err := form.Read(r, units.System(o.Units))
	if err != nil {
		return err
	}
	set := readRules(f, id)
	return page.Saving{
		Form: f,
		Store: func() (string, error) {
			_, err := s.Store.SaveRuleSet(r.Context(), set)
			return "/rigs/rules?done=rules-saved", err
		},
		Again: func(status int) error { return s.showRules(w, r, status, f, held, isNew) },
	}.Do(w, r)
}

// readRules turns the form into a rule set; faults are noted in the form.
func readRules(f *form.Form, id journal.ID) journal.RuleSet {
	number := func(s string) (float64, error) { return units.ParseNumber(s) }
	bead := func(s string) (float64, error) { return units.Parse(units.Length, s, units.Millimetre) }
	set := journal.RuleSet{ID: id, Name: f.Text("name"), Source: f.Text("source"), AsOf: form.Optional(f, "as-of", journal.ParseDate),
		MostFlies: f.Whole("flies", maxFlies), LeastApartMM: f.ShortLength("apart"), MostLeaderMM: f.LongLength("leader"),
		MostLeaderRods: form.Optional(f, "leader-rods", number), MostRodMM: f.LongLength("rod"), NoRings: f.Checked("no-rings"), NoSwivels: f.Checked("no-swivels"),
		LeastTagMM: f.ShortLength("tag-least"), MostTagMM: f.ShortLength("tag-most"), MostBeadMM: form.Optional(f, "bead", bead)}
	if set.Name == "" {
		f.Fault("name", "give the rules a name, such as Club day 2026")
	}
	return set
}

func fillRules(f *form.Form, set journal.RuleSet) {
	long := form.In(units.ExactLength, f.Units)
	f.Set("name", set.Name)
	f.Set("source", set.Source)
	if set.AsOf != nil {
		f.Set("as-of", set.AsOf.String())
	}
	f.Set("flies", form.Shown(set.MostFlies, strconv.Itoa))
	f.Set("apart", form.Shown(set.LeastApartMM, long))
	f.Set("leader", form.Shown(set.MostLeaderMM, long))
	f.Set("leader-rods", form.Shown(set.MostLeaderRods, func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }))
	f.Set("rod", form.Shown(set.MostRodMM, long))
	f.Set("tag-least", form.Shown(set.LeastTagMM, long))
	f.Set("tag-most", form.Shown(set.MostTagMM, long))
	f.Set("bead", form.Shown(set.MostBeadMM, form.In(units.ExactLength, units.Metric)))
	for name, on := range map[string]bool{"no-rings": set.NoRings, "no-swivels": set.NoSwivels} {
		if on {
			f.Set(name, "yes")
		}
	}
}

func (s *pages) showRules(w http.ResponseWriter, r *http.Request, status int, f *form.Form, held journal.RuleSet, isNew bool) error {
	title := "Add rules"
	if !isNew {
		title = "Change rules"
	}
	fr, err := s.Frame(r, "rigs", title)
	if err != nil {
		return err
	}
	if f == nil {
		f = form.New(fr.Units)
		fillRules(f, held)
	}
	short, long := f.Unit(units.Inch, units.Millimetre), f.Unit(units.Foot, units.Metre)
	at := "/rigs/rules/set/" + held.ID.String()
	p := ruleSetPage{Frame: fr, Problems: f.Problems("Not saved yet. Please look at:"), Action: at, New: isNew, Example: held.Example,
		Name:   f.Input("name", "Name", "such as Club day 2026"),
		AsOf:   f.Input("as-of", "In force on", "to know an old edition").Typed("date"),
		Source: f.Input("source", "Where to find the rules", "document, article, who told you"),
		Rules: []form.Field{
			f.Input("flies", "Flies, at most", "").Keyboard("numeric"),
			f.Input("apart", "Between flies, at least", short),
			f.Input("leader", "Leader, at most", long),
			f.Input("leader-rods", "Leader, at most this many rod lengths", "such as 2").Keyboard("decimal"),
			f.Input("rod", "Rod, at most", long),
			f.Input("tag-least", "Tag, at least", short),
			f.Input("tag-most", "Tag, at most", short),
			f.Input("bead", "Bead, at most", "mm").Keyboard("decimal"),
		},
		NoRings: f.Tick("no-rings", "No rings, at the sighter or as a junction"), NoSwivels: f.Tick("no-swivels", "No swivels")}
	if !isNew {
		p.Delete = at + "/delete"
		if held.Deleted() {
			p.Delete, p.Restore = "", at+"/restore"
		}
	}
	return s.Render(w, status, "ruleset", p)
}
