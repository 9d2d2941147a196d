package web

import (
	"errors"
	"net/http"
	"strconv"

	"rigtally/internal/units"
	"rigtally/journal"
)

// ruleSetPage is the form of a rule set.
type ruleSetPage struct {
	frame
	Problems           problems
	Name, AsOf, Source field
	Rules              []field
	NoRings, NoSwivels tick
	Action             string
	Example, New       bool
	Delete, Restore    string // addresses, "" where it can't be
}

// rulesNew shows an empty set under an id of its own, so that sending it twice
// adds it once.
func (s *Server) rulesNew(w http.ResponseWriter, r *http.Request) error {
	id, err := journal.NewID()
	if err != nil {
		return err
	}
	return s.showRules(w, r, http.StatusOK, nil, journal.RuleSet{ID: id}, true)
}

// rulesEdit shows a set of the journal.
func (s *Server) rulesEdit(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	set, err := s.store.RuleSetByID(r.Context(), id)
	if err != nil {
		return err
	}
	return s.showRules(w, r, http.StatusOK, nil, set, false)
}

// rulesSave takes the form of a new set or one of the journal.
func (s *Server) rulesSave(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	held, err := s.store.RuleSetByID(r.Context(), id)
	isNew := errors.Is(err, journal.ErrNotFound)
	if err != nil && !isNew {
		return err
	}
	held.ID = id
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return err
	}
	f, err := readForm(r, units.System(o.Units))
	if err != nil {
		return err
	}
	set := f.readRules(id)
	return saving{
		form: f,
		store: func() (string, error) {
			_, err := s.store.SaveRuleSet(r.Context(), set)
			return "/rigs/rules?done=rules-saved", err
		},
		again: func(status int) error { return s.showRules(w, r, status, f, held, isNew) },
	}.do(w, r)
}

// readRules turns the form into a rule set; faults are noted in the form.
func (f *form) readRules(id journal.ID) journal.RuleSet {
	number := func(s string) (float64, error) { return units.ParseNumber(s) }
	bead := func(s string) (float64, error) { return units.ParseLength(s, units.Millimetre) }
	set := journal.RuleSet{ID: id, Name: f.text("name"), Source: f.text("source"), AsOf: optional(f, "as-of", journal.ParseDate),
		MostFlies: f.whole("flies", maxFlies), LeastApartMM: f.shortLength("apart"), MostLeaderMM: f.longLength("leader"),
		MostLeaderRods: optional(f, "leader-rods", number), MostRodMM: f.longLength("rod"), NoRings: f.checked("no-rings"), NoSwivels: f.checked("no-swivels"),
		LeastTagMM: f.shortLength("tag-least"), MostTagMM: f.shortLength("tag-most"), MostBeadMM: optional(f, "bead", bead)}
	if set.Name == "" {
		f.fault("name", "give the rules a name, such as Club day 2026")
	}
	return set
}

func (f *form) fillRules(set journal.RuleSet) {
	long := in(units.ExactLength, f.units)
	f.set("name", set.Name)
	f.set("source", set.Source)
	if set.AsOf != nil {
		f.set("as-of", set.AsOf.String())
	}
	f.set("flies", shown(set.MostFlies, strconv.Itoa))
	f.set("apart", shown(set.LeastApartMM, long))
	f.set("leader", shown(set.MostLeaderMM, long))
	f.set("leader-rods", shown(set.MostLeaderRods, func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }))
	f.set("rod", shown(set.MostRodMM, long))
	f.set("tag-least", shown(set.LeastTagMM, long))
	f.set("tag-most", shown(set.MostTagMM, long))
	f.set("bead", shown(set.MostBeadMM, in(units.ExactLength, units.Metric)))
	for name, on := range map[string]bool{"no-rings": set.NoRings, "no-swivels": set.NoSwivels} {
		if on {
			f.set(name, "yes")
		}
	}
}

func (s *Server) showRules(w http.ResponseWriter, r *http.Request, status int, f *form, held journal.RuleSet, isNew bool) error {
	title := "Add rules"
	if !isNew {
		title = "Change rules"
	}
	fr, err := s.frame(r, "rigs", title)
	if err != nil {
		return err
	}
	if f == nil {
		f = newForm(fr.Units)
		f.fillRules(held)
	}
	short, long := f.unit(units.Inch, units.Millimetre), f.unit(units.Foot, units.Metre)
	at := "/rigs/rules/set/" + held.ID.String()
	p := ruleSetPage{frame: fr, Problems: f.problems("Not saved yet. Please look at:"), Action: at, New: isNew, Example: held.Example,
		Name:   f.input("name", "Name", "such as Club day 2026"),
		AsOf:   f.input("as-of", "In force on", "so that you can tell an old edition").typed("date"),
		Source: f.input("source", "Where the rules stand", "document, article, who told you"),
		Rules: []field{
			f.input("flies", "Flies, at most", "").keyboard("numeric"),
			f.input("apart", "Between flies, at least", short),
			f.input("leader", "Leader, at most", long),
			f.input("leader-rods", "Leader, at most so many rod lengths", "such as 2").keyboard("decimal"),
			f.input("rod", "Rod, at most", long),
			f.input("tag-least", "Tag, at least", short),
			f.input("tag-most", "Tag, at most", short),
			f.input("bead", "Bead, at most", "mm").keyboard("decimal"),
		},
		NoRings: f.tick("no-rings", "No rings, at the sighter or as a junction"), NoSwivels: f.tick("no-swivels", "No swivels")}
	if !isNew {
		p.Delete = at + "/delete"
		if held.Deleted() {
			p.Delete, p.Restore = "", at+"/restore"
		}
	}
	return s.render(w, status, "ruleset", p)
}
