package prose

import (
	"cmp"
	"fmt"
	"math"
	"rigtally/analytics/bench"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/strength"
	"rigtally/internal/units"
	"rigtally/journal"
	"slices"
	"strconv"
	"strings"
)

// BenchLevel names the levels of a group of pulls: "figure-eight (down)", "facing down".
func BenchLevel(a bench.Answer, g bench.Group, sys units.System) string {
	text := ""
	for i, l := range g.Level {
		part, before := Level(a.By[i], l, sys), ", "
		switch a.By[i].Key {
		case "facing":
			if text != "" {
				part, before = "("+part+")", " " // what it is of says that it is a way to face
				break
			}
			part = "facing " + part
		case "pulled-on":
			part = "pulled on the " + part
		case "prop":
			part = "with a prop of " + part
			if l.Word == "none" {
				part = "without a prop"
			}
		case "angler":
			part = "tied by " + part
		}
		if text != "" {
			text += before
		}
		text += part
	}
	return cmp.Or(text, "all knots")
}

// apart names two groups by what they differ in, and says what they have alike; "" where that is nothing.
func (s benchSayer) apart(g, h bench.Group) (one, other, alike string) {
	named := func(group bench.Group, same bool) string {
		a, level := s.a, group.Level
		a.By, group.Level = nil, nil
		for i, f := range s.a.By {
			if (g.Level[i] == h.Level[i]) == same {
				a.By, group.Level = append(a.By, f), append(group.Level, level[i])
			}
		}
		if len(a.By) == 0 {
			return ""
		}
		return BenchLevel(a, group, s.sys)
	}
	return named(g, false), named(h, false), named(g, true)
}

// BenchQuestion names what an answer of the bench is about: "Strength by facing".
func BenchQuestion(by []journal.Factor) string {
	if len(by) == 0 {
		return "Strength on the bench"
	}
	return "Strength by " + strings.Join(titled(by), " and ")
}

// Strength prints a strength in the scale of an answer: a force, or a share of
// unknotted line.
func Strength(v float64, relative bool, sys units.System) string {
	if relative {
		return Percent(v)
	}
	return units.Format(units.Force, v, sys)
}

// MeanInterval prints the 95% interval of a group's mean; "" where there is none.
func MeanInterval(a bench.Answer, g bench.Group, sys units.System) string {
	switch {
	case g.MeanLow != nil && g.MeanHigh != nil:
		return strengthInterval(stat.Interval{Low: *g.MeanLow, High: *g.MeanHigh}, a.Relative, sys)
	case a.Relative && g.Efficiency != nil && !g.Unknotted:
		return ratioSet(g.Efficiency.RatioSet, Percent)
	}
	return ""
}

// strengthInterval prints two strengths, naming a shared unit once. No line holds less than nothing:
// where so few pulls leave that, only the upper end is told.
func strengthInterval(i stat.Interval, relative bool, sys units.System) string {
	if i.Low <= 0 {
		return "under " + Strength(i.High, relative, sys)
	}
	return span(Strength(i.Low, relative, sys), Strength(i.High, relative, sys))
}

// ratioSet prints the interval of a ratio as far as it has ends.
func ratioSet(r strength.RatioSet, number func(float64) string) string {
	switch r.Bounds {
	case strength.Unbounded:
		return "no bounds"
	case strength.Outside:
		// The set takes in 0 and all beyond a number, or all up to a negative one and beyond another.
		if r.Low <= 0 {
			return "at least " + number(math.Max(0, r.High))
		}
		return "up to " + number(r.Low) + ", or from " + number(r.High)
	}
	low, high := number(r.Low), number(r.High)
	none, open := r.Low <= 0 || strings.HasPrefix(low, "under "), strings.HasPrefix(high, "over 1")
	switch {
	case r.High <= 0, none && open:
		return "no bounds"
	case none:
		return "at most " + high
	case open:
		return "at least " + low
	}
	return span(low, high)
}

// BenchSentence answers a question of the bench in a few sentences: which is
// stronger, by how much, and how sure that is.
func BenchSentence(a bench.Answer, sys units.System) string {
	s := benchSayer{a, sys}
	switch {
	case len(a.Groups) == 0:
		return "No pulls fit this question" + s.filters() + " yet. Record some, or use fewer filters."
	case a.Reference < 0 || len(a.Groups) == 1:
		return s.alone(a.Groups[0])
	}
	return s.compared()
}

type benchSayer struct {
	a   bench.Answer
	sys units.System
}

func (s benchSayer) name(g bench.Group) string { return BenchLevel(s.a, g, s.sys) }

func (s benchSayer) filters() string { return within(s.a.Where, s.sys) }

func (s benchSayer) alone(g bench.Group) string {
	if g.N == 0 {
		return Capital(s.name(g)) + s.filters() + ": no pull has unknotted ones to be measured by. Nothing to compare it with yet."
	}
	text := fmt.Sprintf("%s%s: mean %s", Capital(s.name(g)), s.filters(), Strength(g.Mean, s.a.Relative, s.sys))
	if s.a.Relative {
		text += " of unknotted line"
	}
	if interval := MeanInterval(s.a, g, s.sys); interval != "" {
		text += fmt.Sprintf(" (95%% interval %s)", interval)
	}
	text += " from " + Several(g.N, "pull")
	if e := g.Efficiency; e != nil && !s.a.Relative {
		text += fmt.Sprintf("; that is %s of unknotted line (%s)", Percent(e.Ratio), ratioSet(e.RatioSet, Percent))
	}
	return text + ". Nothing to compare it with yet."
}

// compared says what is settled, else what leans, else what is missing.
func (s benchSayer) compared() string {
	ref := s.a.Groups[s.a.Reference]
	for _, v := range []stat.Verdict{stat.Differs, stat.Leans} {
		list := s.judged(v)
		if len(list) == 0 {
			continue
		}
		var parts []string
		for i, g := range list {
			if i == mostNamed {
				parts = append(parts, fmt.Sprintf("The table has %d more.", len(list)-mostNamed))
				break
			}
			parts = append(parts, s.told(g, ref, i == 0, (g.Versus.Difference < 0) == (list[0].Versus.Difference < 0)))
		}
		return strings.Join(parts, " ") + s.rest(v, len(list), ref)
	}
	same, compared := s.judged(stat.SameForPractice), s.comparisons()
	switch {
	case compared == 0:
		return fmt.Sprintf("Nothing to compare with %s%s: no pulls have the same %s.", s.name(ref), s.filters(), BenchAlike(s.a))
	case len(same) == compared:
		return fmt.Sprintf("No difference that matters%s: the means are within a tenth of that of %s, and that is sure enough.", s.filters(), s.name(ref))
	}
	text := fmt.Sprintf("Can't tell yet which holds more%s: what was seen would fit no difference too.", s.filters())
	for _, g := range s.a.Groups {
		if g.Versus != nil && g.Versus.Verdict == stat.CannotTell && g.Versus.PullsNeeded != nil {
			text += fmt.Sprintf(" %s against %s takes %s pulls of each", Capital(s.name(g)), s.name(ref), aboutPulls(*g.Versus.PullsNeeded))
			if more := *g.Versus.MorePulls; more > 0 && *g.Versus.PullsNeeded <= mostPulls {
				text += fmt.Sprintf(", %d more than there are", more)
			}
			return text + "."
		}
	}
	return text
}

// mostPulls is how many of a knot anybody pulls.
const mostPulls = 1000

func aboutPulls(n int) string {
	if n > mostPulls {
		return "over " + strconv.Itoa(mostPulls)
	}
	return "about " + strconv.Itoa(n)
}

func (s benchSayer) comparisons() int {
	n := 0
	for _, g := range s.a.Groups {
		if g.Versus != nil {
			n++
		}
	}
	return n
}

func (s benchSayer) judged(v stat.Verdict) []bench.Group {
	var list []bench.Group
	for _, g := range s.a.Groups {
		if g.Versus != nil && g.Versus.Verdict == v {
			list = append(list, g)
		}
	}
	slices.SortStableFunc(list, func(x, y bench.Group) int { return cmp.Compare(x.Versus.Q, y.Versus.Q) })
	return list
}

// told says who is stronger, by how much and how sure that is. Of a single
// comparison the stronger comes first.
func (s benchSayer) told(g, ref bench.Group, first, alike bool) string {
	c := g.Versus
	one, other, ratio, word := s.name(g), s.name(ref), c.Ratio, "stronger"
	switch {
	case c.Difference < 0 && len(s.a.Groups) == 2 && ratio.Bounds == strength.Bounded && ratio.Low > 0:
		one, other = other, one
		ratio.Ratio, ratio.Low, ratio.High = 1/ratio.Ratio, 1/ratio.High, 1/ratio.Low
	case c.Difference < 0:
		word = "weaker"
	}
	verb := "is"
	if c.Verdict == stat.Leans {
		verb = "looks"
	}
	if !first {
		if alike {
			word += " too"
		}
		return fmt.Sprintf("%s %s %s: %s times (%s).", Capital(one), verb, word, Ratio(ratio.Ratio), ratioSet(ratio, Ratio))
	}
	text := fmt.Sprintf("%s %s %s than %s%s", Capital(one), verb, word, other, s.filters())
	return text + fmt.Sprintf(": on average it holds %s times as much (95%% interval %s), a gap of %s. %s", Ratio(ratio.Ratio), ratioSet(ratio, Ratio), units.Format(units.Force, math.Abs(c.Difference), s.sys), sureness(c, s.comparisons()))
}

// sureness says how often as many pulls of knots that hold the same would show as much, which is p,
// and what is left of it after so many comparisons, which is q.
func sureness(c *bench.Comparison, comparisons int) string {
	odds := "less than once in 1000 times"
	switch {
	case c.P > 0.095:
		odds = fmt.Sprintf("about %.0f times in 100", math.Min(100*c.P, 99))
	case c.P >= 0.001:
		odds = "about once in " + significant(1/c.P, 2) + " times"
	}
	text := fmt.Sprintf("If both held the same, so many pulls would differ this much %s (p %s", odds, equals(c.P))
	if comparisons > 1 {
		text += fmt.Sprintf("; over %d comparisons q %s", comparisons, equals(c.Q))
	}
	text += ")"
	switch {
	case c.Verdict == stat.Leans:
		return text + ", so it is not settled."
	case c.Q >= 0.01:
		return text + ", which counts as a difference here."
	}
	return text + ": that is settled."
}

func (s benchSayer) rest(v stat.Verdict, told int, ref bench.Group) string {
	rest := s.comparisons() - told
	if rest == 0 || v != stat.Differs {
		return ""
	}
	if rest == 1 {
		return fmt.Sprintf(" The other one is not shown to differ from %s.", s.name(ref))
	}
	return fmt.Sprintf(" The other %d are not shown to differ from %s.", rest, s.name(ref))
}

// BenchAlike says in what pulls agree that are compared.
func BenchAlike(a bench.Answer) string { return Listed(titled(a.Alike)) }

// PullEnded says how a pull ended: "broke at the junction", "slipped".
func PullEnded(ending journal.PullEnding, at journal.PullBreak) string {
	switch {
	case ending != journal.PulledBroke || at == "":
		return string(ending)
	case at == journal.PullBrokeMain || at == journal.PullBrokeTag:
		return "broke in the " + string(at)
	}
	return "broke at the " + string(at)
}

// PullKnot names what was pulled: "figure-eight, facing down", "unknotted line".
func PullKnot(p journal.BenchPull) string {
	if !p.Knotted() {
		return "unknotted line"
	}
	parts := []string{p.Knot()}
	if p.Facing != "" {
		parts = append(parts, "facing "+string(p.Facing))
	}
	if p.Prop != "" && p.Prop != "none" {
		parts = append(parts, string(p.Prop))
	}
	return strings.Join(parts, ", ")
}

// PullLine says a pull in a line: "blood, facing down, 6X (0.127 mm), wet nylon: 1.95 lbf, broke at the junction".
func PullLine(p journal.BenchPull, sys units.System) string {
	return PullSetup(p) + ": " + units.Format(units.Force, p.ForceN, sys) + ", " + PullEnded(p.Ending, p.BrokeAt)
}

// PullSetup says what was pulled and how: "blood, facing down, 6X (0.127 mm), wet nylon, pulled on the tag".
func PullSetup(p journal.BenchPull) string { return PullKnot(p) + ", " + PullLineUp(p) }

// PullLineUp says what a pull was tied in: "6X (0.127 mm), wet nylon, pulled on the tag".
func PullLineUp(p journal.BenchPull) string {
	parts := []string{units.FormatTippet(p.TippetMM)}
	if line := strings.TrimSpace(string(p.Wetness) + " " + string(p.Material)); line != "" {
		parts = append(parts, line)
	}
	if p.PulledOn != "" {
		parts = append(parts, "pulled on the "+string(p.PulledOn))
	}
	return strings.Join(parts, ", ")
}

// NoKnotTable says why no strengths come with the program.
const NoKnotTable = "rigtally comes with no table of knot strengths: no published one was found for junction knots in tippet. Every number here comes from your own pulls."

// PullSafely says what to mind when a line is pulled to breaking.
const PullSafely = "Wear eye protection. Stand to one side of the line, with nobody in the way: what breaks flies back. Pull slowly, keep hooks off, and follow the makers’ directions for line and scale."

// BenchNotes says what the reader of an answer must know, a sentence each.
func BenchNotes(a bench.Answer, sys units.System) []string {
	return worded(a.Notes, func(n bench.Note) string { return benchNote(a, n, sys) })
}

func benchNote(a bench.Answer, n bench.Note, sys units.System) string {
	name := ""
	if n.Group >= 0 {
		name = Capital(BenchLevel(a, a.Groups[n.Group], sys))
	}
	switch n.Kind {
	case bench.NoteSlips:
		line := "the Weibull line counts it as holding at least that much, since the line itself did not break"
		if a.SlipsFail {
			line = "so does the Weibull line"
		}
		return fmt.Sprintf("%s slipped. A knot that slips has failed: means and tests use the force at the slip as its strength; %s.", Several(n.Count, "pull"), line)
	case bench.NoteRelative:
		text := "The groups mix tippets, so each strength is a share of the mean of unknotted pulls with the same tippet, material and wetness"
		if n.Count > 0 {
			text += fmt.Sprintf("; %s left out for lack of them", Several(n.Count, "pull"))
		}
		return text + ". A group’s mean is its mean force over that of unknotted line, and the scatter of both counts in its interval; in that of the 10% strength only the knot’s own."
	case bench.NoteMixesKnots:
		if n.Count == 1 {
			return "One group mixes facings or props, so its mean is that of the mix: ask by junction and facing, or narrow to one."
		}
		return fmt.Sprintf("%s mix facings or props, so their means are those of the mix: ask by junction and facing, or narrow to one.", Several(n.Count, "group"))
	}
	return map[bench.NoteKind]string{
		bench.NoteHeld:        fmt.Sprintf("%s did not break, or broke at the grip: the line holds at least that much. The rank test and the Weibull line allow for that; means use the force as it is and come out low.", Several(n.Count, "pull")),
		bench.NoteMixed:       fmt.Sprintf("The groups mix tippets, and %s no unknotted pulls with the same tippet, material and wetness, so the mean of a mixed group is that of its mix, and it gets no Weibull line; “times” still compares like with like. Narrow to one tippet, or pull some line without a knot.", Have(n.Count, "pull")),
		bench.NoteNoReference: Have(n.Count, "group") + " too few unknotted pulls with the same tippet, material and wetness to say what share of the line’s strength is left: pull at least two.",
		bench.NoteOneTier:     "One person tied every knot here; another pair of hands may get other numbers.",
		bench.NoteFew:         Have(n.Count, "group") + " fewer than 5 pulls, too few to see how they scatter: take the interval with care.",
		bench.NoteUnlike:      fmt.Sprintf("%s had no match in the reference group (same %s) and no part in the comparison.", Several(n.Count, "pull"), BenchAlike(a)),
		bench.NoteDisagree:    name + ": the test of means and the rank test disagree, as happens when a few pulls are far from the rest. Look at the dots before you trust either.",
		bench.NoteMany:        fmt.Sprintf("%d comparisons were made at once; q is p adjusted for that.", n.Count),
		bench.NoteUnbounded:   name + ": the unknotted pulls scatter so much that the share of their strength has no bounded interval; pull more line without a knot.",
	}[n.Kind]
}

// BenchCard is the card of the bench: what holds most; false where nothing can be compared.
func BenchCard(a bench.Answer, sys units.System) (c Card, ok bool) {
	if a.Reference < 0 {
		return c, false
	}
	s := benchSayer{a, sys}
	best := a.Reference
	for i, g := range a.Groups {
		if !g.Unknotted && g.N > 0 && g.Versus != nil && g.Mean > a.Groups[best].Mean {
			best = i
		}
	}
	other := a.Reference
	if best == a.Reference {
		other = -1
		for i, g := range a.Groups {
			if g.Versus != nil && !g.Unknotted && (other < 0 || g.Mean > a.Groups[other].Mean) {
				other = i
			}
		}
		if other < 0 {
			return c, false
		}
	}
	option, against := a.Groups[best], a.Groups[other]
	v := cmp.Or(option.Versus, against.Versus)
	one, name, alike := s.apart(option, against)
	c = Card{About: "Holds most", Choice: Capital(one), Like: "on the bench", Sure: Open, Chance: "Too few pulls to tell the two apart."}
	switch v.Verdict {
	case stat.Differs:
		c.Sure, c.Chance = Settled, "Stronger than "+name+"."
	case stat.SameForPractice:
		c.Sure, c.Chance = NoMatter, "The two are within a tenth of each other."
	}
	if c.Sure != Settled {
		c.Choice += " or " + name
	}
	of := ""
	if a.Relative {
		of = " of unknotted line"
	}
	if alike != "" {
		one = "both " + alike + ": " + one
	}
	c.Says = fmt.Sprintf("%s holds %s%s on average, %s %s.", Capital(one), Strength(option.Mean, a.Relative, sys), of, name, Strength(against.Mean, a.Relative, sys))
	if c.Sure == Open {
		c.Next = morePulls(v.MorePulls)
	}
	return c, true
}

// morePulls says what to pull to settle what is open; "" where nothing tells.
func morePulls(more *int) string {
	switch {
	case more == nil || *more <= 0:
		return ""
	case *more > mostPulls:
		return fmt.Sprintf("Over %d more pulls of each would be needed to settle it: tie what you like.", mostPulls)
	}
	return fmt.Sprintf("Pull about %s more of each: that would settle it, if it is as it looks.", TwoDigits(float64(*more)))
}
