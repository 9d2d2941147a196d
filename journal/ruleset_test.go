package journal_test

import (
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

// The limits are those of docs of the trade (see StartingRules); every case is
// worked by hand from them.
func strictRules(t testing.TB) journal.RuleSet {
	return journal.RuleSet{ID: journaltest.NewID(t), Name: "Strict", MostFlies: new(2), LeastApartMM: new(500.0), MostLeaderMM: new(7000.0), MostLeaderRods: new(2.0), MostRodMM: new(3660.0),
		NoRings: true, NoSwivels: true, LeastTagMM: new(100.0), MostTagMM: new(200.0), MostBeadMM: new(4.0)}
}

func legalRig() journal.Rig {
	return journal.Rig{Name: "Legal", RodLengthMM: new(3048.0), LeaderLengthMM: new(6096.0), Swivel: "none", Positions: []journal.RigPosition{
		{Position: 0, BeadMM: new(4.0)},
		{Position: 1, Hang: journal.HangTag, Junction: "blood", TagLengthMM: new(165.1), DistanceMM: new(508.0), BeadMM: new(0.0)}}}
}

func verdicts(set journal.RuleSet, rig journal.Rig) map[journal.RuleKey]journal.RuleVerdict {
	m := map[journal.RuleKey]journal.RuleVerdict{}
	for _, c := range set.Check(rig) {
		m[c.Rule] = c.Verdict
	}
	return m
}

func TestARigIsHeldAgainstEachRule(t *testing.T) {
	t.Parallel()
	set := strictRules(t)
	for rule, verdict := range verdicts(set, legalRig()) {
		if verdict != journal.RulePass {
			t.Errorf("%s: %s", rule, verdict)
		}
	}
	if n := len(set.Check(legalRig())); n != 10 {
		t.Errorf("%d rules were checked, want 10", n)
	}
	third := journal.RigPosition{Position: 2, Hang: journal.HangEye, DistanceMM: new(600.0), BeadMM: new(0.0)}
	for name, tt := range map[string]struct {
		change func(*journal.Rig)
		rule   journal.RuleKey
		want   journal.RuleVerdict
	}{
		"no point fly noted":          {func(r *journal.Rig) { r.Positions = r.Positions[1:] }, journal.RuleFlies, journal.RuleUnknown},
		"a bead of no point":          {func(r *journal.Rig) { r.Positions = r.Positions[1:] }, journal.RuleBead, journal.RuleUnknown},
		"a third fly":                 {func(r *journal.Rig) { r.Positions = append(r.Positions, third) }, journal.RuleFlies, journal.RuleBreaks},
		"499.9 mm apart":              {func(r *journal.Rig) { r.Positions[1].DistanceMM = new(499.9) }, journal.RuleApart, journal.RuleBreaks},
		"500 mm apart":                {func(r *journal.Rig) { r.Positions[1].DistanceMM = new(500.0) }, journal.RuleApart, journal.RulePass},
		"no distance":                 {func(r *journal.Rig) { r.Positions[1].DistanceMM = nil }, journal.RuleApart, journal.RuleUnknown},
		"one fly has no distance":     {func(r *journal.Rig) { r.Positions = r.Positions[:1] }, journal.RuleApart, journal.RulePass},
		"7001 mm of leader":           {func(r *journal.Rig) { r.LeaderLengthMM = new(7001.0) }, journal.RuleLeader, journal.RuleBreaks},
		"20 ft 1 in to a 10 ft rod":   {func(r *journal.Rig) { r.LeaderLengthMM = new(6121.4) }, journal.RuleLeaderRods, journal.RuleBreaks},
		"no rod length":               {func(r *journal.Rig) { r.RodLengthMM = nil }, journal.RuleLeaderRods, journal.RuleUnknown},
		"a rod of 366.1 cm":           {func(r *journal.Rig) { r.RodLengthMM = new(3661.0) }, journal.RuleRod, journal.RuleBreaks},
		"a ring at the sighter":       {func(r *journal.Rig) { r.Swivel = "tippet ring" }, journal.RuleRings, journal.RuleBreaks},
		"a ring as junction":          {func(r *journal.Rig) { r.Positions[1].Junction = "tippet ring" }, journal.RuleRings, journal.RuleBreaks},
		"a junction not noted":        {func(r *journal.Rig) { r.Positions[1].Junction = "" }, journal.RuleRings, journal.RuleUnknown},
		"a swivel is no ring":         {func(r *journal.Rig) { r.Swivel = "micro swivel" }, journal.RuleRings, journal.RulePass},
		"a swivel":                    {func(r *journal.Rig) { r.Swivel = "micro swivel" }, journal.RuleSwivels, journal.RuleBreaks},
		"a swivel not noted":          {func(r *journal.Rig) { r.Swivel = "" }, journal.RuleSwivels, journal.RuleUnknown},
		"a tag of 99 mm":              {func(r *journal.Rig) { r.Positions[1].TagLengthMM = new(99.0) }, journal.RuleLeastTag, journal.RuleBreaks},
		"a tag of 201 mm":             {func(r *journal.Rig) { r.Positions[1].TagLengthMM = new(201.0) }, journal.RuleMostTag, journal.RuleBreaks},
		"a tag not noted":             {func(r *journal.Rig) { r.Positions[1].TagLengthMM = nil }, journal.RuleMostTag, journal.RuleUnknown},
		"in line there is no tag":     {func(r *journal.Rig) { r.Positions[1] = third }, journal.RuleLeastTag, journal.RulePass},
		"a bead of 4.1 mm":            {func(r *journal.Rig) { r.Positions[0].BeadMM = new(4.1) }, journal.RuleBead, journal.RuleBreaks},
		"a bead not noted":            {func(r *journal.Rig) { r.Positions[1].BeadMM = nil }, journal.RuleBead, journal.RuleUnknown},
		"a bead too large, one blank": {func(r *journal.Rig) { r.Positions[0].BeadMM, r.Positions[1].BeadMM = new(4.5), nil }, journal.RuleBead, journal.RuleBreaks},
	} {
		rig := legalRig()
		tt.change(&rig)
		if got := verdicts(set, rig)[tt.rule]; got != tt.want {
			t.Errorf("%s: %s, want %s", name, got, tt.want)
		}
	}
}

// A set asks only what it holds, and keeps the worst number it found.
func TestACheckKeepsTheWorst(t *testing.T) {
	t.Parallel()
	if n := len(journal.RuleSet{Name: "Empty"}.Check(legalRig())); n != 0 {
		t.Errorf("an empty set checked %d rules", n)
	}
	rig := legalRig()
	rig.Positions = append(rig.Positions, journal.RigPosition{Position: 2, Hang: journal.HangTag, Junction: "uni", TagLengthMM: new(140.0), DistanceMM: new(450.0)})
	for _, c := range strictRules(t).Check(rig) {
		want := map[journal.RuleKey]float64{journal.RuleApart: 450, journal.RuleLeastTag: 140, journal.RuleMostTag: 165.1, journal.RuleBead: 4, journal.RuleFlies: 3}[c.Rule]
		if want != 0 && (c.Found == nil || *c.Found != want) {
			t.Errorf("%s: found %v, want %g", c.Rule, c.Found, want)
		}
		if c.Rule == journal.RuleApart && (len(c.Breaks) != 1 || *c.Breaks[0].Position != 2) {
			t.Errorf("the distance is broken at %+v", c.Breaks)
		}
	}
}
