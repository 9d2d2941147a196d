package exchange_test

import (
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

// withRules is a journal with a rule set of its own and its example deleted.
func withRules(t *testing.T) *pg.Store {
	t.Helper()
	store := journaltest.Store(t)
	id := journal.NewID()
	flies, rods, bead, day := 2, 2.0, 3.3, journal.Date{Year: 2026, Month: 3, Day: 1}
	_, err := store.SaveRuleSet(t.Context(), journal.RuleSet{ID: id, Name: `Club "day" <2026>`, Source: "article 4\nof the sheet", AsOf: &day, MostFlies: &flies, MostLeaderRods: &rods, MostBeadMM: &bead, NoSwivels: true})
	if err == nil {
		err = store.DeleteRuleSet(t.Context(), journal.StartingRules()[0].ID)
	}
	if err != nil {
		t.Fatal(err)
	}
	return store
}

// Ensure that rule sets survive a backup to the byte, the deleted ones too, and
// that reading one twice changes nothing.
func TestBackupKeepsRuleSets(t *testing.T) {
	t.Parallel()
	text := exported(t, withRules(t))
	if strings.Count(text, `{"rule_set":`) != 2 {
		t.Fatalf("the backup holds\n%s", text)
	}
	store := journaltest.Store(t)
	readBack(t, store, text)
	readBack(t, store, text)
	if again := exported(t, store); again != text {
		t.Errorf("exported again:\n%s\nwant:\n%s", again, text)
	}
}

// Ensure that a journal that never used its rules has none in its backup, and
// that they start by themselves later.
func TestBackupWithoutRuleSets(t *testing.T) {
	t.Parallel()
	text := exported(t, journaltest.Store(t))
	if strings.Contains(text, "rule_set") {
		t.Fatalf("the backup holds\n%s", text)
	}
	store := journaltest.Store(t)
	readBack(t, store, text)
	if list, err := store.RuleSets(t.Context()); err != nil || len(list) != len(journal.StartingRules()) {
		t.Errorf("%d rule sets, %v", len(list), err)
	}
}

// Ensure that a change meets an untouched example without a quarrel, in both
// ways, and that two changes are a conflict.
func TestBackupRuleSetsMeetOthers(t *testing.T) {
	t.Parallel()
	changed, untouched := withRules(t), journaltest.Store(t)
	text := exported(t, changed)
	if _, err := untouched.RuleSets(t.Context()); err != nil {
		t.Fatal(err)
	}
	readBack(t, changed, exported(t, untouched))
	if exported(t, changed) != text {
		t.Error("an untouched example undid a change")
	}
	readBack(t, untouched, text)
	if got := exported(t, untouched); got != text {
		t.Errorf("the change did not come in:\n%s", got)
	}
	for name, tt := range map[string]struct{ old, new, want string }{
		"a set changed on both sides": {`"most_flies":2`, `"most_flies":1`, "Left as the journal has them:\n  the rule set Club"},
		"a limit that can't be":       {`"most_bead_mm":3.3`, `"most_bead_mm":33`, "bead"},
		"an unknown detail":           {`{"rule_set":{`, `{"rule_set":{"colour":"red",`, `holds "colour"`},
	} {
		plain := journaltest.Unsealed(text)
		altered := strings.Replace(plain, tt.old, tt.new, 1)
		if altered == plain {
			t.Errorf("%s: the backup was not altered", name)
		}
		if said := sayRead(t, changed, altered); !strings.Contains(said, tt.want) {
			t.Errorf("%s: got %s, want something with %q", name, said, tt.want)
		}
		if exported(t, changed) != text {
			t.Errorf("%s: the journal was changed", name)
		}
	}
}
