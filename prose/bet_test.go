package prose_test

import (
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/bench"
	"rigtally/analytics/life"
	"rigtally/analytics/next"
	"rigtally/analytics/plan"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

func betAnswer(t *testing.T, chance float64, verdict stat.Verdict) analytics.RateAnswer {
	t.Helper()
	o, err := journal.OutcomeByKey("tangles")
	if err != nil {
		t.Fatal(err)
	}
	f, err := journal.FactorByKey("junction")
	if err != nil {
		t.Fatal(err)
	}
	word := func(w string) []journal.Level { return []journal.Level{{Kind: journal.WordLevel, Word: w}} }
	return analytics.RateAnswer{Outcome: o, By: []journal.By{{Factor: f}}, Prior: 0.35,
		Groups: []analytics.Group{{Level: word("blood")}, {Level: word("uni"), Versus: &analytics.Comparison{Verdict: verdict}}},
		Bet:    &analytics.Bet{Option: 1, Against: 0, Chance: chance, Prior: 0.35}}
}

// No chance is told as certain, what is below 80% is no bet, and a finding is not repeated as a bet.
func TestBetsAreChoices(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		chance  float64
		verdict stat.Verdict
		want    string
	}{
		{0.87, stat.CannotTell, "Best bet: uni over blood, 87% likely better. A choice, not a finding."},
		{0.64, stat.Leans, "Open: uni over blood is 64% likely better, too little to bet on."},
		{0.7999, stat.CannotTell, "Open: uni over blood is 79% likely better, too little to bet on."},
		{0.99999, stat.Leans, "Best bet: uni over blood, over 99% likely better. A choice, not a finding."},
		{1, stat.Leans, "Best bet: uni over blood, over 99% likely better. A choice, not a finding."},
		{0.99, stat.Differs, ""},
		{0.9, stat.SameForPractice, ""},
	} {
		if got := prose.SayBet(betAnswer(t, c.chance, c.verdict), units.US); got != c.want {
			t.Errorf("%g, %s: %q, want %q", c.chance, c.verdict, got, c.want)
		}
	}
	said := prose.SayRates(betAnswer(t, 0.87, stat.CannotTell), units.US)
	if !strings.Contains(said.Text(80), "A choice, not a finding.") || !strings.Contains(said.BetHow, "0.79 to 1.27") {
		t.Errorf("%s\n%s", said.Text(80), said.BetHow)
	}
	if got := prose.Chance(0.003); got != "under 1%" {
		t.Error(got)
	}
}

// Quartiles of the log-normal with σ = 0.35 and 1, as R has them: qlnorm(c(.25, .75), 0, s) is 0.7897, 1.2663
// and 0.5094, 1.9630.
func TestPriorRange(t *testing.T) {
	t.Parallel()
	for sd, want := range map[float64]string{0.35: "0.79 to 1.27", 1: "0.51 to 1.96"} {
		if got := prose.PriorRange(sd); got != want {
			t.Errorf("%g: %s, want %s", sd, got, want)
		}
	}
}

func TestWhatToFindOutNextInWords(t *testing.T) {
	t.Parallel()
	a := betAnswer(t, 0.87, stat.Leans)
	more := 42.0
	q := next.Question{Outcome: a.Outcome, By: a.By[0].Factor, Rates: &a, Minutes: 8, From: "this journal", Gain: 12.4, MoreHours: &more}
	apart := q
	apart.Minutes, apart.Gain = 0, 0
	said := prose.SayNext(next.Answer{Questions: []next.Question{q}, Apart: []next.Question{apart}, Hours: 320, More: 10, Prior: 0.35}, units.US)
	text := said.Text(0)
	for _, want := range []string{"Find out next: tangles by junction. Ten more hours, fished as until now, are expected to save about 12 min a season.", "uni over blood, 87%", "42 h more",
		"A season is 320 h of fishing", "A tangle costs 8.0 min (from this journal).", "half of true ratios lie within 0.79 to 1.27", "Open questions that cost no minutes"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if got := prose.NextLine(next.Answer{Questions: []next.Question{q}}); got != "tangles by junction (about 12 min a season)" {
		t.Error(got)
	}
	q.Gain = 0.2
	small := next.Answer{Questions: []next.Question{q}, Hours: 320, More: 10}
	if prose.NextLine(small) != "" || !strings.Contains(prose.NextSentence(small), "less than a minute a season") {
		t.Error(prose.NextLine(small), prose.NextSentence(small))
	}
	if got := prose.NextSentence(next.Answer{}); !strings.Contains(got, "Nothing has been logged yet") {
		t.Error(got)
	}
}

// A card says at a glance what holds; while it is open, what to do about it, and names nothing that both have alike twice.
func TestCardsAtAGlance(t *testing.T) {
	t.Parallel()
	knot, length := factor(t, "junction"), factor(t, "tag-length")
	word := func(words ...string) (list []journal.Level) {
		for _, w := range words {
			list = append(list, journal.Level{Word: w})
		}
		return list
	}
	lives := func(in string, p float64) life.Answer {
		return life.Answer{In: in, By: journal.By{Factor: knot}, Groups: []life.Group{
			{Level: word("blood")[0], Ties: 80, Breaks: 10, Total: 200, Observed: 10, Expected: 14, Verdict: stat.CannotTell, P: &p},
			{Level: word("uni")[0], Ties: 90, Breaks: 18, Total: 220, Observed: 18, Expected: 14}}, Reference: 1}
	}
	pulls := func(more int) bench.Answer {
		return bench.Answer{By: []journal.Factor{knot, factor(t, "facing")}, Relative: true, Groups: []bench.Group{
			{Level: word("blood", "down"), N: 14, Mean: 0.7}, {Level: word("uni", "down"), N: 12, Mean: 0.75, Versus: &bench.Comparison{Verdict: stat.CannotTell, MorePulls: &more}}}}
	}
	near := 0.97
	tags := plan.Answer{Sure: true, From: 120.65, To: 209.55, Points: []plan.Point{{LengthMM: 152.4, Near: &near}, {LengthMM: 158.75, Near: &near}}, Best: 1, Bet: &analytics.CurveBet{At: 158.75, Against: 152.4, Chance: 0.99},
		Tangles: plan.Rate{Shown: make([]plan.RateBand, 1), Curve: &analytics.CurveAnswer{Outcome: outcome(t, "tangles"), Over: length, Rug: []analytics.Rug{{At: 100, Exposure: 10}, {At: 200, Exposure: 10}}}}}
	for name, c := range map[string]struct {
		card func(units.System) (prose.Card, bool)
		want string
	}{
		"tag":      {func(sys units.System) (prose.Card, bool) { return prose.TagCard(tags, sys) }, "6¼ in|no difference that matters|Anything from 4¾ to 8¼ in will do.|"},
		"bench":    {func(sys units.System) (prose.Card, bool) { return prose.BenchCard(pulls(6), sys) }, "Uni or blood|open|Too few pulls to tell the two apart.|Pull about 6 more of each: that would settle it, if it is as it looks."},
		"far":      {func(sys units.System) (prose.Card, bool) { return prose.BenchCard(pulls(4000), sys) }, "Uni or blood|open|Too few pulls to tell the two apart.|Over 1000 more pulls of each would be needed to settle it: tie what you like."},
		"hours":    {func(sys units.System) (prose.Card, bool) { return prose.LifeCard(lives(life.Hours, 0.1), sys) }, "Blood or uni|open|Too few broke to tell the two apart.|About 800 more hours would settle it, if it is as it looks."},
		"loads":    {func(sys units.System) (prose.Card, bool) { return prose.LifeCard(lives(life.Loads, 0.1), sys) }, "Blood or uni|open|Too few broke to tell the two apart.|About 800 more pulls by fish and snags would settle it, if it is as it looks."},
		"hopeless": {func(sys units.System) (prose.Card, bool) { return prose.LifeCard(lives(life.Hours, 0.9), sys) }, "Blood or uni|open|Too few broke to tell the two apart.|Over 2000 more hours would be needed to settle it: tie what you like."},
	} {
		card, ok := c.card(units.US)
		if got := strings.Join([]string{card.Choice, string(card.Sure), card.Chance, card.Next}, "|"); !ok || got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
		if name == "bench" && card.Says != "Both facing down: uni holds 75% of unknotted line on average, blood 70%." {
			t.Errorf("the bench says %q", card.Says)
		}
	}
}
