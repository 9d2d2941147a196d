package pg_test

import (
	"errors"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

func ruleSets(t testing.TB, s *pg.Store) []journal.RuleSet {
	t.Helper()
	list, err := s.RuleSets(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestRuleSetsStartAsExamples(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	list := ruleSets(t, s)
	if len(list) != 1 || !list[0].Example || !list[0].Equal(journal.StartingRules()[0]) {
		t.Fatalf("a journal starts with %+v", list)
	}
	if err := list[0].Validate(); err != nil {
		t.Error(err)
	}
	if !strings.Contains(list[0].Source, "to check against the rules in force") {
		t.Errorf("the source does not say that they are examples: %s", list[0].Source)
	}
	changed := list[0]
	changed.MostFlies = new(2)
	saved, err := s.SaveRuleSet(t.Context(), changed)
	if err != nil || saved.Example {
		t.Errorf("a changed example is still one: %+v, %v", saved, err)
	}
}

func TestRuleSetsAreKept(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	day := journal.Date{Year: 2026, Month: 3, Day: 1}
	set := strictRules(t)
	set.Name, set.Source, set.AsOf = "  Club day ", "the club's sheet, article 4", &day
	saved, err := s.SaveRuleSet(t.Context(), set)
	if err != nil {
		t.Fatal(err)
	}
	list := ruleSets(t, s)
	if len(list) != 2 || !list[0].Equal(saved) || list[0].Name != "Club day" || !list[1].Example {
		t.Fatalf("listed %+v", list)
	}
	if err := s.DeleteRuleSet(t.Context(), set.ID); err != nil {
		t.Fatal(err)
	}
	if got, err := s.RuleSetByID(t.Context(), set.ID); err != nil || !got.Deleted() {
		t.Errorf("deleted: %+v, %v", got, err)
	}
	again := strictRules(t)
	again.Name = "CLUB DAY"
	if _, err := s.SaveRuleSet(t.Context(), again); err != nil {
		t.Errorf("the name of a deleted set is not free: %v", err)
	}
	if err := s.RestoreRuleSet(t.Context(), set.ID); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "name is in use") {
		t.Errorf("two sets of a name: %v", err)
	}
	if err := s.DeleteRuleSet(t.Context(), again.ID); err != nil {
		t.Fatal(err)
	}
	if err := s.RestoreRuleSet(t.Context(), set.ID); err != nil {
		t.Error(err)
	}
	if err := s.DeleteRuleSet(t.Context(), journaltest.NewID(t)); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("deleting a set that is not there: %v", err)
	}
}

func TestRuleSetsAreRefused(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	for want, change := range map[string]func(*journal.RuleSet){
		"no name":         func(r *journal.RuleSet) { r.Name = " " },
		"flies at most":   func(r *journal.RuleSet) { r.MostFlies = new(0) },
		"swap them":       func(r *journal.RuleSet) { r.LeastTagMM = new(300.0) },
		"rod lengths":     func(r *journal.RuleSet) { r.MostLeaderRods = new(-1.0) },
		"least distance":  func(r *journal.RuleSet) { r.LeastApartMM = new(0.0) },
		"greatest bead":   func(r *journal.RuleSet) { r.MostBeadMM = new(25.0) },
		"2026-04-30":      func(r *journal.RuleSet) { r.AsOf = &journal.Date{Year: 1, Month: 1, Day: 1} },
		"already":         func(r *journal.RuleSet) { r.Name = strings.ToUpper(journal.StartingRules()[0].Name) },
		"greatest rod le": func(r *journal.RuleSet) { r.MostRodMM = new(1e9) },
	} {
		set := strictRules(t)
		change(&set)
		if _, err := s.SaveRuleSet(t.Context(), set); !journal.IsInvalid(err) || !strings.Contains(err.Error(), want) {
			if want == "already" && err != nil && strings.Contains(err.Error(), "in use already") {
				continue
			}
			t.Errorf("%s: %v", want, err)
		}
	}
}
