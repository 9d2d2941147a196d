package prose

import (
	"strings"
	"testing"

	"rigtally/analytics/plan"
	"rigtally/internal/units"
	"rigtally/journal"
)

func of[T any](v T) *T { return &v }

// What to change is worked out by hand: 508 mm asked and 482.6 tied are an inch
// apart; a leader of 20 ft 6 in with a 10 ft rod is 6 in above twice its length.
func TestRulesSayWhatToChange(t *testing.T) {
	t.Parallel()
	set := journal.RuleSet{Name: "Club", MostFlies: of(1), LeastApartMM: of(508.0), MostLeaderRods: of(2.0), MostRodMM: of(2743.2), NoRings: true, NoSwivels: true, LeastTagMM: of(127.0), MostTagMM: of(152.4), MostBeadMM: of(4.0)}
	rig := journal.Rig{RodLengthMM: of(3048.0), LeaderLengthMM: of(6248.4), Swivel: "micro swivel", Positions: []journal.RigPosition{
		{Position: 0, BeadMM: of(4.6)},
		{Position: 1, Hang: journal.HangTag, Junction: "tippet ring", TagLengthMM: of(165.1), DistanceMM: of(482.6)},
		{Position: 2, Hang: journal.HangTag, TagLengthMM: of(101.6), DistanceMM: of(508.0), BeadMM: of(0.0)}}}
	want := map[journal.RuleKey][3]string{
		journal.RuleFlies:      {"At most 1 fly", "3 flies", "Take 2 flies off."},
		journal.RuleApart:      {"Flies at least 20 in apart", "the least 19 in", "Tie dropper 1 1 in higher."},
		journal.RuleLeaderRods: {"Leader of at most 2 rod lengths, here 20 ft", "20 ft 6 in", "Shorten the leader by 6 in; it is 2.05 rod lengths."},
		journal.RuleRod:        {"Rod of at most 9 ft", "10 ft", "The rod is 12 in too long."},
		journal.RuleRings:      {"No rings", "one at the junction of dropper 1", "Tie a knot in place of the ring at the junction of dropper 1."},
		journal.RuleSwivels:    {"No swivels", "one at the join of sighter and tippet", "Tie a knot in place of the swivel."},
		journal.RuleLeastTag:   {"Tags of at least 5 in", "the least 4 in", "Tie the tag of dropper 2 1 in longer."},
		journal.RuleMostTag:    {"Tags of at most 6 in", "the longest 6½ in", "Cut ½ in off the tag of dropper 1."},
		journal.RuleBead:       {"Beads of at most 4 mm", "the largest 4.6 mm", "Use a bead of at most 4 mm on the point fly."},
	}
	checks := set.Check(rig)
	for _, c := range checks {
		got := [3]string{Rule(c, units.US), RuleFound(c, units.US), RuleAdvice(c, units.US)}
		if got != want[c.Rule] {
			t.Errorf("%s: %q, want %q", c.Rule, got, want[c.Rule])
		}
	}
	if got := RulesSummary(set, checks); got != "Breaks 9 of 9 rules of “Club”." {
		t.Error(got)
	}
}

func TestRulesSayWhatIsMissing(t *testing.T) {
	t.Parallel()
	set := journal.RuleSet{Name: "Club", Example: true, MostLeaderRods: of(2.0), MostBeadMM: of(4.0), MostFlies: of(3)}
	checks := set.Check(journal.Rig{Positions: []journal.RigPosition{{Position: 0}}})
	for i, want := range []string{"", "The leader's length and the rod's length aren't noted.", "The bead of the point fly isn't noted; write 0 for no bead."} {
		if got := RuleAdvice(checks[i], units.Metric); got != want {
			t.Errorf("%s: %q, want %q", checks[i].Rule, got, want)
		}
	}
	if got := RulesSummary(set, checks); got != "Keeps 1 of 3 rules of “Club”; 2 can't be checked yet." {
		t.Error(got)
	}
	if !strings.Contains(RulesCaution(set), "examples to check against the rules in force") {
		t.Error(RulesCaution(set))
	}
}

func TestBudgetsInWords(t *testing.T) {
	t.Parallel()
	tag := func(length, waste, least float64) string {
		b, err := plan.NewTagBudget(length, waste, least)
		if err != nil {
			t.Fatal(err)
		}
		return TagBudget("Dropper 1", b, units.Metric)
	}
	for got, want := range map[string]string{
		tag(165, 15, 100): "Dropper 1: 4 fly changes left, at 15 mm each down to 100 mm. One more would leave 90 mm.",
		tag(120, 15, 100): "Dropper 1: 1 fly change left, at 15 mm each down to 100 mm. One more would leave 90 mm.",
		tag(110, 15, 100): "Dropper 1: no fly change left; the next would leave 95 mm.",
		tag(90, 15, 100):  "Dropper 1: shorter than 100 mm already. Tie it again.",
		tag(20, 30, 20):   "Dropper 1: no fly change left; the next would leave no tag.",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
