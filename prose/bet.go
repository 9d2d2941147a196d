package prose

import (
	"fmt"
	"math"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
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
	if chance < 0.99 {
		chance = math.Floor(100*chance+1e-9) / 100 // what is no best bet must not read as one
	}
	if chance >= analytics.BetFrom {
		return fmt.Sprintf("Best bet: %s over %s, %s likely better. A choice, not a finding.", option, against, Chance(chance))
	}
	return fmt.Sprintf("Open: %s over %s is %s likely better, too little to bet on.", option, against, Chance(chance))
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
