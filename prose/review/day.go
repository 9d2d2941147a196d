package review

import (
	"fmt"
	"math"
	"strings"

	"rigtally/journal"
	"rigtally/prose"
)

// counted names what an outcome counts, as people say it on the water.
func counted(o journal.Outcome) string {
	if words, ok := map[string]string{"foul-hook": "fish hooked foul", "loss": "fish lost", "break-off": "fish broken off", "junction-break": "breaks at the knot",
		"hookups": "fish hooked", "downtime": "minutes lost"}[o.Key]; ok {
		return words
	}
	return o.Events
}

// against names what shares are of, as people say it.
func against(o journal.Outcome) string {
	switch o.Exposure {
	case "loads":
		return "pulls on the knot"
	case "hookups", "fair hookups":
		return "fish hooked"
	}
	return o.Exposure
}

// Instead says two rates of an outcome beside each other, naming once what they count.
func Instead(o journal.Outcome, could, now float64) string {
	if to, ok := stretch(o, could); ok {
		if from, ok := stretch(o, now); ok {
			return fmt.Sprintf("a %s every %s instead of every %s", single(o), to, from)
		}
	}
	return fmt.Sprintf("%s instead of %s%s", often(o, could), often(o, now), in(o))
}

// single is one of what is counted.
func single(o journal.Outcome) string {
	if words := counted(o); strings.HasPrefix(words, "fish") {
		return words
	}
	return strings.TrimSuffix(counted(o), "s")
}

// stretch is the time from one to the next, where people count it so.
func stretch(o journal.Outcome, rate float64) (string, bool) {
	_, text, ok := strings.Cut(prose.Often(o, rate), " every ")
	return text, ok && o.Exposure == "hours" && o.Measure == journal.PerExposure
}

// often is how many there are in what in names.
func often(o journal.Outcome, rate float64) string {
	if o.Exposure != "hours" {
		rate *= 100
	}
	return twoDigits(rate)
}

func in(o journal.Outcome) string {
	if o.Exposure == "hours" {
		return " an hour"
	}
	return " in 100 " + against(o)
}

// twoDigits is a number as it is said aloud.
func twoDigits(v float64) string {
	if v >= 10 {
		return prose.Count(math.Round(v))
	}
	return prose.Tenths(v)
}

// Fewer says a ratio in words: "about 40% fewer tangles", "about twice as many fish landed".
func Fewer(o journal.Outcome, ratio float64) string {
	const most = 95 // beyond it nobody has fished enough to say how much more
	percent := 5 * math.Round(20*math.Abs(1-ratio))
	switch what := counted(o); {
	case percent < 5:
		return "hardly any difference in " + what
	case ratio < 1 && percent > most:
		return "hardly any " + what
	case ratio < 1:
		return fmt.Sprintf("about %.0f%% fewer %s", percent, what)
	case ratio >= 1.95:
		return fmt.Sprintf("about %s times as many %s", twoDigits(ratio), what)
	default:
		return fmt.Sprintf("about %.0f%% more %s", percent, what)
	}
}
