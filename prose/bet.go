package prose

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/next"
	"rigtally/analytics/plan"
	"rigtally/analytics/stat"
	"rigtally/analytics/trial"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
)

// SayBet says what to choose while nothing is found; "" where there is no choice, or a finding says it.
func SayBet(a analytics.RateAnswer, sys units.System) string {
	b := a.Bet
	if b == nil || found(a) {
		return ""
	}
	s := sayer{a, sys}
	return betWords(s.name(a.Groups[b.Option]), s.name(a.Groups[b.Against]), b.Chance)
}

// SayCurveBet is SayBet of a value.
func SayCurveBet(a analytics.CurveAnswer, sys units.System) string {
	b := a.Bet
	if b == nil {
		return ""
	}
	return betWords(value(a.Over, b.At, sys), value(a.Over, b.Against, sys), b.Chance)
}

// SayPlanBet is SayBet of the planned length against the one fished most.
func SayPlanBet(a plan.Answer, sys units.System) string {
	b := a.Bet
	if b == nil {
		return ""
	}
	return betWords(Rough(b.At, sys), Rough(b.Against, sys), b.Chance)
}

// SayTrialBet is SayBet of a trial that has settled nothing yet.
func SayTrialBet(a trial.Answer, sys units.System) string {
	b := a.Bet
	if b == nil || a.Settled > 0 {
		return ""
	}
	return betWords(TrialArm(a, b.Option, sys), TrialArm(a, b.Against, sys), b.Chance)
}

// found reports whether the verdict on the two of a bet says all that there is to say.
func found(a analytics.RateAnswer) bool {
	for _, g := range []int{a.Bet.Option, a.Bet.Against} {
		if v := a.Groups[g].Versus; v != nil && (v.Verdict == stat.Differs || v.Verdict == stat.SameForPractice) {
			return true
		}
	}
	return false
}

func betWords(option, against string, chance float64) string {
	if sureOf(chance, false) == BestBet {
		return fmt.Sprintf("Best bet: %s over %s, %s better. A choice, not a finding.", option, against, Likely(chance))
	}
	return fmt.Sprintf("Open: %s over %s is %s better, too little to bet on.", option, against, Likely(chance))
}

// PriorRange is where half of true ratios lie under a prior of best bets, whose standard deviation of log ratios is sd.
func PriorRange(sd float64) string {
	const quartile = 0.6745 // of the standard normal distribution
	return fmt.Sprintf("%.2f to %.2f", math.Exp(-quartile*sd), math.Exp(quartile*sd))
}

// PriorSays says what a prior expects.
func PriorSays(sd float64) string {
	return "Before anything was fished, half of true ratios lie within " + PriorRange(sd) + "."
}

// betHow says how the chance of a bet is computed; curve says that it is of values of a number.
func betHow(prior float64, curve bool) string {
	text := fmt.Sprintf("The chance of being better is the posterior one: a normal likelihood of the log ratio with the standard error shown, and a prior that is normal around 0 with standard deviation %g, so that half of true ratios lie within %s", prior, PriorRange(prior))
	if curve {
		text += " between the 20th and the 80th percentile of what was fished"
	}
	return text + fmt.Sprintf(". From %.0f%% the better one is the best bet; below that the choice is open. One compares with what was fished most. It is a choice, not a finding: of bets at 80%%, one in five turns out wrong.", 100*analytics.BetFrom)
}

// leastGain are the minutes a season below which nothing is worth finding out for their sake.
const leastGain = 1

// NextSentence says what is most worth finding out.
func NextSentence(a next.Answer) string {
	switch {
	case a.Hours == 0:
		return "Nothing has been logged yet, so there is nothing to find out next. Log or import some fishing first."
	case len(a.Questions)+len(a.Apart) == 0:
		return "No question of what to tie is open: each is settled, or was fished in one way only."
	case len(a.Questions) == 0:
		return "No open question is about what costs minutes. Those below cost fish, not time."
	case a.Questions[0].Gain < leastGain:
		return fmt.Sprintf("%s more hours on any open question are expected to save less than a minute a season. Tie your best bets and fish.", Capital(hoursWord(a.More)))
	}
	return fmt.Sprintf("Find out next: %s. %s more hours, fished as until now, are expected to save about %s a season.", nextTitle(a.Questions[0]), Capital(hoursWord(a.More)), Gain(a.Questions[0].Gain))
}

// NextLine says the same in a few words; "" where nothing is worth it.
func NextLine(a next.Answer) string {
	if len(a.Questions) == 0 || a.Questions[0].Gain < leastGain {
		return ""
	}
	return fmt.Sprintf("%s (about %s a season)", nextTitle(a.Questions[0]), Gain(a.Questions[0].Gain))
}

// Gain prints minutes that are expected to be saved.
func Gain(minutes float64) string {
	if minutes < leastGain {
		return "under 1 min"
	}
	return units.FormatDuration(math.Round(minutes))
}

func hoursWord(hours float64) string { return Number(int(hours)) }

// nextTitle names a question within a sentence.
func nextTitle(q next.Question) string {
	word := "by"
	if q.Curve != nil {
		word = "over"
	}
	return strings.ToLower(q.Outcome.Title + " " + word + " " + q.By.Title)
}

// nextBet is the choice until a question is settled, for a table.
func nextBet(q next.Question, sys units.System) string {
	option, against, chance := nextOptions(q, func(f journal.Factor, v float64) string { return value(f, v, sys) },
		func(f journal.Factor, l journal.Level) string { return Level(f, l, sys) })
	switch {
	case chance == nil:
		return "as now"
	case best(q):
		return fmt.Sprintf("%s over %s, %s", option, against, Chance(*chance))
	}
	return fmt.Sprintf("open: %s over %s, %s", option, against, Chance(*chance))
}

func best(q next.Question) bool {
	if q.Curve != nil {
		return q.Curve.Bet.Best()
	}
	return q.Rates.Bet.Best()
}

// nextOptions are the two of a question's bet, and the chance that the first is better; nil without a bet.
func nextOptions(q next.Question, number func(journal.Factor, float64) string, word func(journal.Factor, journal.Level) string) (option, against string, chance *float64) {
	switch {
	case q.Curve != nil && q.Curve.Bet != nil:
		b := q.Curve.Bet
		return number(q.By, b.At), number(q.By, b.Against), &b.Chance
	case q.Rates != nil && q.Rates.Bet != nil:
		b := q.Rates.Bet
		return word(q.By, q.Rates.Groups[b.Option].Level[0]), word(q.By, q.Rates.Groups[b.Against].Level[0]), &b.Chance
	}
	return "", "", nil
}

// NextTable lists every question for programs, those that cost no minutes last.
func NextTable(a next.Answer, sys units.System) table.Table {
	return nextTable(slices.Concat(a.Questions, a.Apart), a.More, sys)
}

func nextTable(list []next.Question, more float64, sys units.System) table.Table {
	type question = next.Question
	var c table.Columns[question]
	plain := func(q question) (string, string, *float64) {
		return nextOptions(q, func(_ journal.Factor, v float64) string {
			return plainLevel(journal.Level{Kind: journal.NumberLevel, Number: v})
		},
			func(_ journal.Factor, l journal.Level) string { return plainLevel(l) })
	}
	costs := func(v func(question) float64) func(question) *float64 {
		return func(q question) *float64 {
			if q.Minutes == 0 {
				return nil
			}
			n := v(q)
			return &n
		}
	}
	c.Plain("outcome", func(q question) string { return q.Outcome.Key })
	c.Plain("by", func(q question) string { return q.By.Key })
	c.Said("question", "Question", func(q question) string { return Capital(nextTitle(q)) }).Words = true
	c.Said("bet", "Best bet", func(q question) string { return nextBet(q, sys) })
	c.Plain("option", func(q question) string { option, _, _ := plain(q); return option })
	c.Plain("against", func(q question) string { _, against, _ := plain(q); return against })
	c.Value("chance", func(q question) *float64 { _, _, chance := plain(q); return chance })
	c.Number("minutes_gained", fmt.Sprintf("Saved a season by %g h more", more), Gain, costs(func(q question) float64 { return q.Gain }))
	c.Value("minutes_per_event", costs(func(q question) float64 { return q.Minutes }))
	c.Plain("minutes_from", func(q question) string {
		if q.Minutes == 0 {
			return ""
		}
		return string(q.From)
	})
	c.Number("more_hours", "Until settled, about", func(v float64) string {
		if v < 1 {
			return "hardly any more"
		}
		return Hours(v) + " more"
	}, func(q question) *float64 { return q.MoreHours })
	return c.Make(list)
}

// SayNext puts what is worth finding out into words and tables.
func SayNext(a next.Answer, sys units.System) Said {
	s := Said{Title: "What to find out next", Sentence: NextSentence(a), Notes: nextNotes(a)}
	if len(a.Questions) > 0 {
		t := nextTable(a.Questions, a.More, sys)
		t.Title = "Open questions, by the minutes their answers save"
		s.Tables = append(s.Tables, t)
	}
	if len(a.Apart) > 0 {
		t := nextTable(a.Apart, a.More, sys).Pick("question", "bet", "more_hours")
		t.Title = "Open questions that cost no minutes"
		s.Tables = append(s.Tables, t)
	}
	return s
}

// nextNotes says what the minutes rest on.
func nextNotes(a next.Answer) []string {
	if len(a.Questions)+len(a.Apart) == 0 {
		return nil
	}
	list := []string{fmt.Sprintf("A season is %s of fishing: the more of the last two.", FishedHours(math.Round(a.Hours)))}
	var said []string
	for _, q := range a.Questions {
		what := "A tangle"
		if q.Outcome.Key == "junction-break" {
			what = "A junction break"
		}
		if text := fmt.Sprintf("%s costs %s min (%s).", what, minutes(q.Minutes), origin(q.From)); !slices.Contains(said, text) {
			said = append(said, text)
		}
	}
	list = append(list, said...)
	if len(a.Questions) > 0 {
		list = append(list, fmt.Sprintf("Minutes saved are an expectation: what the choice after %g more hours of fishing as until now is likely to save over the choice of today. The same hours can answer several questions.", a.More))
	}
	return append(list, PriorSays(a.Prior)+" Best bets are choices, not findings.")
}

// origin says where the minutes of an event are from.
func origin(from plan.Origin) string {
	if from == plan.FromJournal {
		return "from this journal"
	}
	return string(from)
}
