package demo

import (
	"fmt"
	"math"
)

// Effect is one known truth: at Level of Factor, Outcome happens Ratio times as
// often as at Versus, everything else being equal.
type Effect struct {
	Outcome string // key of a journal.Outcome
	Factor  string // key of a journal.Factor
	Level   string // as a person writes it, with its unit
	Versus  string
	Ratio   float64
	Given   []string // factors without which the comparison is not fair; nil when a plain one is
	What    string   // in words
}

// Effects lists every true effect on the outcomes, and the absences of one that
// are worth knowing. Twists share all effects of tangles; turns share those of
// tag length, bulk, swivel and prop; break-offs share those of tippet on
// junction breaks.
func Effects() []Effect {
	var list []Effect
	for _, e := range known() {
		for _, l := range e.levels {
			effect := Effect{e.outcome, e.factor, l.level, e.versus, l.weight, e.given, e.what}
			list = append(list, effect)
			for _, other := range sharedBy(e.outcome, e.factor) {
				effect.Outcome = other
				list = append(list, effect)
			}
		}
	}
	return list
}

// sharedBy lists the other outcomes that a factor moves in the same way.
func sharedBy(outcome, factor string) []string {
	switch {
	case outcome == "junction-break" && factor == "tippet":
		return []string{"break-off"}
	case outcome != "tangles":
		return nil
	}
	switch factor {
	case "tag-length", "bulk", "swivel", "prop":
		return []string{"twists", "turns"}
	}
	return []string{"twists"}
}

// TagLengthRatio is how much more often a tag of mm tangles than one of versus
// mm: the exponential of the squared distance from 120 mm in units of 100 mm.
// Tags tangle least at 120 mm, a little more when very short, and far more when long.
func TagLengthRatio(mm, versus float64) float64 { return tagCurve(mm) / tagCurve(versus) }

func tagCurve(mm float64) float64 {
	x := (mm - 120) / 100
	return math.Exp(x * x)
}

// TemperatureRatio is how many more fish take at c °C than at versus °C: a
// normal curve with its top at 13 °C and a standard deviation of 6 °C.
func TemperatureRatio(c, versus float64) float64 {
	return temperatureCurve(c) / temperatureCurve(versus)
}

func temperatureCurve(c float64) float64 {
	x := (c - 13) / 6
	return math.Exp(-x * x / 2)
}

// truths are the effects of one factor on one outcome. A level that is not
// listed is like versus.
type truths struct {
	outcome, factor, versus string
	levels                  ratios
	given                   []string
	what                    string
}

// ratios are levels, each with its ratio to the reference for its weight.
type ratios []share[string]

func known() []truths {
	byAngler, byTemperature := []string{"angler"}, []string{"temperature"}
	return []truths{
		{"tangles", "tag-length", "120 mm", at120(90, 150, 180, 210, 230), nil, "long tags tangle far more, very short ones a little more"},
		{"tangles", "hang", "tag", ratios{{"eye", 0.5}, {"bend", 0.45}}, nil, "flies in line tangle half as often as on an average tag"},
		{"tangles", "junction", "figure-eight", ratios{{"blood", 1.5}, {"tippet ring", 0.75}, {"double surgeon's", 1}, {"triple surgeon's", 1}, {"uni", 1}, {"perfection loop", 1}}, byAngler, "blood tangles more and looks better, because the guide ties it; a ring tangles less; other knots are alike"},
		{"tangles", "facing", "down", ratios{{"up", 1}, {"side", 1}}, nil, "facing makes no difference to tangles"},
		{"tangles", "prop", "none", ratios{{"half-hitch", 1.4}, {"overhand", 1.4}}, nil, "a prop gives the tippet something to wind round, whatever people say"},
		{"tangles", "bulk", "slim", ratios{{"hackled", 1.2}, {"legged", 1.7}}, nil, "bulky flies tangle more"},
		{"tangles", "swivel", "none", ratios{{"tippet ring", 1}, {"micro swivel", 1}}, nil, "a swivel makes no difference, whatever people say"},
		{"tangles", "stroke", "sidearm", ratios{{"oval", 1.4}, {"overhead", 1.15}, {"roll", 0.9}, {"lob", 0.9}}, nil, "an oval stroke winds the tag round"},
		{"tangles", "material", "nylon", ratios{{"fluorocarbon", 1}}, nil, "material makes no difference"},
		{"tangles", "angler", teammate, ratios{{guide, 0.3}, {steady, 0.9}, {keen, 1.2}, {novice, 1.5}}, []string{"junction"}, "the guide tangles least by far"},
		{"junction-break", "junction", "figure-eight", ratios{{"blood", 2}, {"uni", 1.3}, {"perfection loop", 1.5}, {"double surgeon's", 1}, {"triple surgeon's", 0.9}, {"tippet ring", 0.8}}, nil, "a blood junction with a fly on its tag breaks twice as often"},
		{"junction-break", "facing", "down", ratios{{"up", 1.6}, {"side", 1.2}}, nil, "a tag facing up breaks more at the junction"},
		{"junction-break", "tippet", "6X", ratios{{"5X", 0.7}, {"7X", 1.4}, {"8X", 2.2}}, nil, "finer tippet breaks more"},
		{"junction-break", "prop", "none", ratios{{"half-hitch", 1.3}, {"overhand", 1.6}}, nil, "a prop weakens the junction"},
		{"foul-hook", "hang", "tag", ratios{{"eye", 1.3}, {"bend", 1.8}}, nil, "flies in line foul more fish than flies on a tag"},
		{"loss", "hook-size", "16", ratios{{"18", 1.2}, {"20", 1.4}}, nil, "the smallest hooks come out more"},
		{"loss", "angler", teammate, ratios{{guide, 0.7}, {steady, 1}, {keen, 1.3}, {novice, 1.3}}, nil, "clients lose more fish than the guide"},
		{"hookups", "angler", teammate, ratios{{guide, 1.3}, {steady, 0.9}, {keen, 0.8}, {novice, 0.7}}, nil, "the guide hooks most"},
		{"hookups", "water", "Oxbane River", ratios{{"Lower Kestane", 1.2}, {"Tamsel Creek", 0.8}, {"Lake Ferrule", 0.6}}, byTemperature, "the tailwater fishes best, the lake slowest"},
		{"hookups", "temperature", "13 °C", at13(5, 8, 18), []string{"water"}, "fish take best at 13 °C"},
	}
}

func at120(mm ...float64) ratios {
	var list ratios
	for _, v := range mm {
		list = append(list, share[string]{fmt.Sprintf("%g mm", v), TagLengthRatio(v, 120)})
	}
	return list
}

func at13(celsius ...float64) ratios {
	var list ratios
	for _, v := range celsius {
		list = append(list, share[string]{fmt.Sprintf("%g °C", v), TemperatureRatio(v, 13)})
	}
	return list
}
