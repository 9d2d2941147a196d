package prose

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/plan"
	"rigtally/analytics/stat"
	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Sureness is the one word that says how far an answer can be trusted.
type Sureness string

// How sure an answer is, the surest first.
const (
	Settled  Sureness = "settled"                    // a difference that stands out
	NoMatter Sureness = "no difference that matters" // settled, too
	BestBet  Sureness = "best bet"                   // a choice from analytics.BetFrom on, not a finding
	Open     Sureness = "open"
)

// Key is the sureness in one word, for styles and programs.
func (s Sureness) Key() string {
	switch s {
	case NoMatter:
		return "alike"
	case BestBet:
		return "bet"
	}
	return string(s)
}

// Word is the sureness as a label.
func (s Sureness) Word() string { return Capital(string(s)) }

// Card is an answer as a guide reads it at the water: what to tie, what that comes to, and how sure it is. Ratios,
// intervals and tests stay with the answer that it was made of.
type Card struct {
	About  string    // what is chosen: "Dropper tag"
	Choice string    // "5¾ in"; while nothing is known, both of two
	Tags   []float64 // lengths of the choice in mm, to be drawn; none where it is no length
	Says   string    // what the choice comes to, and what another does
	Sure   Sureness
	Chance string   // what the sureness rests on, a sentence
	Beside string   // why another question has another answer; may be empty
	Not    []string // what is not known, a sentence each
	Next   string   // what to find out next; may be empty
	Like   string   // who and what is held alike: "like for like"
}

// Text is the card in lines for a terminal.
func (c Card) Text() string {
	lines := []string{fmt.Sprintf("%s, %s: %s", c.About, c.Like, c.Choice), c.Says, strings.TrimSpace(c.Sure.Word() + ". " + c.Chance), c.Beside}
	lines = append(append(lines, c.Not...), c.Next)
	lines = slices.DeleteFunc(lines, func(line string) bool { return line == "" })
	return strings.Join(lines, "\n") + "\n"
}

// SettledFrom is the chance from which a bet on a curve or a plan counts as settled, where a test says that
// the number matters at all: as sure as a 95% interval on one side.
const SettledFrom = 0.975

// sureOf grades a chance of being the better one.
func sureOf(chance float64, tested bool) Sureness {
	switch {
	case tested && chance >= SettledFrom:
		return Settled
	case chance >= analytics.BetFrom:
		return BestBet
	}
	return Open
}

// VerdictSure grades a comparison by its verdict, else by the chance of being the better one.
func VerdictSure(v stat.Verdict, chance float64) Sureness {
	switch v {
	case stat.Differs:
		return Settled
	case stat.SameForPractice:
		return NoMatter
	}
	return sureOf(chance, false)
}

// RateSure grades the choice that an answer by words comes to.
func RateSure(a analytics.RateAnswer) Sureness {
	if a.Bet == nil {
		return Open
	}
	v := a.Groups[a.Bet.Option].Versus
	if a.Bet.Option == a.Reference {
		v = a.Groups[a.Bet.Against].Versus
	}
	return VerdictSure(v.Verdict, a.Bet.Chance)
}

// TagSure grades the best length of a plan against another: no difference that matters where that surely loses at most
// plan.Close more, or lies in the range of which the plan says so.
func TagSure(a plan.Answer, mm float64) Sureness {
	p := TagPoint(a, mm)
	usual := a.Bet != nil && p.LengthMM == a.Bet.Against
	switch {
	case p.Near != nil && *p.Near >= analytics.Confidence, !usual && p.LengthMM >= a.From && p.LengthMM <= a.To:
		return NoMatter
	case p.Worse == nil:
		return Open
	}
	return sureOf(*p.Worse, tagMatters(a))
}

// tagMatters reports whether a test says that the length matters to tangles at all.
func tagMatters(a plan.Answer) bool {
	curve := a.Tangles.Curve
	return curve != nil && curve.Matters != nil && *curve.Matters < settled
}

// TagPoint is the point of a plan that is nearest to a length.
func TagPoint(a plan.Answer, mm float64) plan.Point {
	return slices.MinFunc(a.Points, func(p, q plan.Point) int { return cmp.Compare(math.Abs(p.LengthMM-mm), math.Abs(q.LengthMM-mm)) })
}

// Likely says a chance of being the better one. What is no best bet must not read as one.
func Likely(chance float64) string {
	if chance < 0.99 {
		chance = math.Floor(100*chance+1e-9) / 100
	}
	return Chance(chance) + " likely"
}

// chanceSays says what a sureness rests on.
func chanceSays(s Sureness, chance float64, against string) string {
	switch s {
	case Settled:
		return fmt.Sprintf("Better than %s.", against)
	case NoMatter:
		return fmt.Sprintf("It and %s do as well, or near enough.", against)
	case BestBet:
		return fmt.Sprintf("%s better than %s. A choice, not a finding.", Likely(chance), against)
	}
	return fmt.Sprintf("%s better than %s, too little to bet on.", Likely(chance), against)
}

// moreHours says how much more fishing would settle what is open; "" where that is not known.
func moreHours(hours *float64) string { return moreOf(hours, "hours") }

func moreOf(n *float64, what string) string {
	const far = 2000 // more than anyone fishes to find something out
	switch {
	case n == nil || *n <= 0:
		return ""
	case *n > far:
		return fmt.Sprintf("Over %d more %s would be needed to settle it: tie what you like.", far, what)
	}
	return fmt.Sprintf("About %s more %s would settle it, if it is as it looks.", TwoDigits(math.Ceil(*n)), what)
}

// like says what a choice holds alike.
func like(given []analytics.Given) string {
	if len(given) == 0 {
		return "as fished"
	}
	return "like for like"
}

// RateCard is the card of a question by words; false where there is nothing to choose between.
func RateCard(a analytics.RateAnswer, sys units.System) (c Card, ok bool) {
	if a.Bet == nil || len(a.By) == 0 {
		return c, false
	}
	s := sayer{a, sys}
	option, against := a.Groups[a.Bet.Option], a.Groups[a.Bet.Against]
	v := option.Versus
	if a.Bet.Option == a.Reference {
		v = against.Versus
	}
	c = Card{About: Capital(s.factors()), Choice: Capital(s.name(option)), Like: like(a.Given), Sure: RateSure(a)}
	if c.Sure == Open || c.Sure == NoMatter {
		c.Choice += " or " + s.name(against)
	}
	c.Tags = tagsOf(a.By, c.Sure, option, against)
	c.Chance = chanceSays(c.Sure, a.Bet.Chance, s.name(against))
	rate, other := s.comparable(option), s.comparable(against)
	if c.Sure == Open && rate != other && (rate > other) != a.Outcome.MoreIsBetter() {
		c.Chance = "Too little to tell the two apart." // the bet, which draws what was fished little towards the others, points the other way
	}
	c.Says = fmt.Sprintf("%s. With %s, %s.", Capital(Often(a.Outcome, rate)), s.name(against), sameOften(a.Outcome, other))
	if c.Sure == Open || c.Sure == NoMatter {
		c.Says = fmt.Sprintf("With %s, %s; with %s, %s.", s.name(option), Often(a.Outcome, rate), s.name(against), sameOften(a.Outcome, other))
	}
	c.Not = s.hardly()
	if worse := s.worse(a.Bet.Option); len(worse) > 0 {
		c.Not = append([]string{Capital(fewNamed(worse)) + Verb(len(worse), " is", " are") + " settled as worse."}, c.Not...)
	}
	if c.Sure == BestBet || c.Sure == Open {
		c.Next = moreHours(v.MoreHours)
	}
	return c, true
}

// tagsOf are the lengths that a choice names, where it is of single lengths of the tag.
func tagsOf(by []journal.By, sure Sureness, option, against analytics.Group) []float64 {
	if len(by) != 1 || by[0].Factor.Key != "tag-length" || option.Level[0].Kind != journal.NumberLevel {
		return nil
	}
	if sure == Open || sure == NoMatter {
		return []float64{option.Level[0].Number, against.Level[0].Number}
	}
	return []float64{option.Level[0].Number}
}

// comparable is a group's rate like for like, where there is one, else as fished.
func (s sayer) comparable(g analytics.Group) float64 {
	if v, ok := s.likeForLike(g); ok {
		return v
	}
	return g.Rate
}

// worse names the groups that differ from the reference on the worse side, where the choice is not one of them.
func (s sayer) worse(option int) []string {
	var list []string
	for _, g := range s.judged(stat.Differs) {
		if (*g.Corrected.Ratio > 1) != s.a.Outcome.MoreIsBetter() && s.name(g) != s.name(s.a.Groups[option]) {
			list = append(list, s.name(g))
		}
	}
	return list
}

// hardly names the groups that were fished too little to say anything of.
func (s sayer) hardly() []string {
	const few = 6 // sessions, from which intervals can be trusted
	var list []string
	for _, g := range s.a.Groups {
		if g.Sessions < few {
			list = append(list, s.name(g))
		}
	}
	if len(list) == 0 {
		return nil
	}
	return []string{"You have hardly fished " + fewNamed(list) + "."}
}

// fewNamed lists the first of many things and counts the others.
func fewNamed(list []string) string {
	if len(list) > mostNamed {
		list = append(list[:mostNamed:mostNamed], Number(len(list)-mostNamed)+" more")
	}
	return Listed(list)
}

// TagCard is the card of the length of the tag: the one that loses the fewest minutes, with how often it
// tangles. It is false where the journal can't tell.
func TagCard(a plan.Answer, sys units.System) (c Card, ok bool) {
	curve := a.Tangles.Curve
	if a.Best < 0 || curve == nil || !a.Sure {
		return c, false
	}
	best := a.Points[a.Best]
	c = Card{About: "Dropper tag", Choice: Rough(best.LengthMM, sys), Tags: []float64{best.LengthMM}, Like: like(a.Given), Sure: Open}
	switch {
	case a.Bet != nil:
		against := Rough(a.Bet.Against, sys)
		if c.Sure = TagSure(a, a.Bet.Against); c.Sure == NoMatter {
			c.Chance = fmt.Sprintf("Anything from %s will do.", TagRange(a, sys))
			c.Not = append(c.Not, fmt.Sprintf("%s, which you tie most, loses at most a minute an hour more.", against))
			break
		}
		c.Chance = chanceSays(c.Sure, a.Bet.Chance, against+", which you tie most")
		if c.Sure == Open {
			c.Choice += " or " + against
			c.Tags = append(c.Tags, a.Bet.Against)
		}
		if c.Sure != Settled {
			c.Next = moreHours(analytics.HoursToSettle(curve.Total.Hours, a.Bet.Chance))
		}
	case best.Near != nil:
		c.Sure = sureOf(*best.Near, tagMatters(a))
		c.Chance = fmt.Sprintf("It is what you tie most, and %s likely within a minute an hour of the best there is.", Chance(*best.Near))
	}
	c.Says = tagSays(a, best.LengthMM, sys)
	c.Beside = tagBeside(a, sys)
	if choice := curve.Choice(); choice != nil {
		c.Not = append(c.Not, hardlyFished(*curve, *choice, sys)...)
	}
	return c, true
}

// TagRange are the lengths that lose at most plan.Close more than the best: "4¾ to 8¼ in".
func TagRange(a plan.Answer, sys units.System) string {
	from, to := a.From, a.To
	if a.Bet != nil && TagSure(a, a.Bet.Against) == NoMatter {
		from, to = min(from, a.Bet.Against), max(to, a.Bet.Against)
	}
	return strings.Replace(span(Rough(from, sys), Rough(to, sys)), "–", " to ", 1)
}

// tagSays says how often a tag of a length tangles, and one from the far end of what was fished.
func tagSays(a plan.Answer, mm float64, sys units.System) string {
	curve := a.Tangles.Curve
	at := func(mm float64) float64 {
		nearest := a.Tangles.Shown[0]
		for _, r := range a.Tangles.Shown {
			if math.Abs(r.LengthMM-mm) < math.Abs(nearest.LengthMM-mm) {
				nearest = r
			}
		}
		return nearest.Rate
	}
	f := curve.Fished()
	other := f.To
	if mm-f.From > f.To-mm {
		other = f.From
	}
	return fmt.Sprintf("%s. At %s, %s.", Capital(Often(curve.Outcome, at(mm))), Rough(other, sys), sameOften(curve.Outcome, at(other)))
}

// tagBeside says why the fewest tangles and the fewest minutes lost ask for different lengths, where they do.
func tagBeside(a plan.Answer, sys units.System) string {
	fewest, best := a.Tangles.Curve.Choice(), a.Points[a.Best]
	if fewest == nil {
		return ""
	}
	length := Rough(fewest.At, sys)
	if length == Rough(best.LengthMM, sys) {
		return "It tangles least, too."
	}
	if fewest.At > best.LengthMM {
		return fmt.Sprintf("Fewest tangles: %s. Counting what breaks and what is tied again, %s loses fewer minutes.", length, Rough(best.LengthMM, sys))
	}
	budget, err := plan.NewTagBudget(fewest.At, a.Input(plan.Waste).Value, a.Input(plan.Least).Value)
	if err != nil {
		return fmt.Sprintf("Fewest tangles: %s. Such a tag is used up at once, so %s loses fewer minutes.", length, Rough(best.LengthMM, sys))
	}
	takes := "too short for a fly change"
	if budget.Changes > 0 {
		takes = "used up after " + Several(budget.Changes, "fly change")
	}
	return fmt.Sprintf("Fewest tangles: %s. It is %s; %s takes %d, and loses fewer minutes.", length, takes, Rough(best.LengthMM, sys), best.Changes)
}

// CurveCard is the card of a question over a number; false where there is no best to name.
func CurveCard(a analytics.CurveAnswer, sys units.System) (c Card, ok bool) {
	choice := a.Choice()
	if choice == nil {
		return c, false
	}
	at := func(mm float64) float64 {
		nearest := a.Points[0]
		for _, p := range a.Points {
			if math.Abs(p.At-mm) < math.Abs(nearest.At-mm) {
				nearest = p
			}
		}
		return nearest.Rate
	}
	c = Card{About: a.Over.Title, Choice: value(a.Over, choice.At, sys), Like: like(a.Given), Sure: Open}
	chosen, against := choice.At, choice.From
	tested := a.Matters != nil && *a.Matters < settled
	if b := a.Bet; b != nil {
		chosen, against = b.At, b.Against
		c.Choice, c.Sure = value(a.Over, b.At, sys), sureOf(b.Chance, tested)
		other := value(a.Over, b.Against, sys)
		c.Chance = chanceSays(c.Sure, b.Chance, other+", which was fished most")
		if c.Sure == Open {
			c.Choice += " or " + other
		}
		if c.Sure != Settled {
			c.Next = moreHours(analytics.HoursToSettle(a.Total.Hours, b.Chance))
		}
	} else {
		if choice.To-chosen > chosen-choice.From {
			against = choice.To
		}
		c.Sure = sureOf(choice.Probability, tested)
		c.Chance = fmt.Sprintf("It was fished most, and is %s likely the best there is.", Chance(choice.Probability))
	}
	if a.Over.Key == "tag-length" {
		c.Tags = []float64{chosen}
		if c.Sure == Open {
			c.Tags = append(c.Tags, against)
		}
	}
	c.Says = fmt.Sprintf("%s. At %s, %s.", Capital(Often(a.Outcome, at(chosen))), value(a.Over, against, sys), sameOften(a.Outcome, at(against)))
	c.Not = hardlyFished(a, *choice, sys)
	return c, true
}

// TrialCard is the card of a trial; false before anything can be compared.
func TrialCard(a trial.Answer, sys units.System) (c Card, ok bool) {
	look, fished := a.Last()
	if !fished || look.Blocks == 0 {
		return c, false
	}
	better := TrialBetter(a)
	arms := [2]string{TrialArm(a, 0, sys), TrialArm(a, 1, sys)}
	c = Card{About: "The two ways", Choice: Capital(arms[better]), Like: "drawn by lot", Sure: Open}
	c.Says = fmt.Sprintf("%s. With %s, %s.", Capital(Often(a.Outcome, a.Arms[better].Rate())), arms[1-better], sameOften(a.Outcome, a.Arms[1-better].Rate()))
	switch a.State {
	case trial.MoreA, trial.MoreB:
		c.Sure, c.Chance = Settled, chanceSays(Settled, 1, arms[1-better])
	case trial.NoOdds:
		c.Sure, c.Chance = NoMatter, "Less apart, either way, than is worth knowing."
	case trial.Unlike, trial.Missing:
		c.Chance = TrialState(a, sys) + "."
	default:
		if b := a.Bet; b != nil {
			c.Sure = sureOf(b.Chance, false)
			c.Chance = chanceSays(c.Sure, b.Chance, arms[1-better])
		}
	}
	if c.Sure == Open || c.Sure == NoMatter {
		c.Choice += " or " + arms[1-better]
	}
	if a.Settled == 0 && !a.Trial.Ended() {
		c.Next = TrialOutlook(a.Outlook)
	}
	if a.Factor.Key == "tag-length" {
		c.Tags = trialTags(a, better, c.Sure)
	}
	return c, true
}

// TrialBetter is the arm that does better so far, 0 for A.
func TrialBetter(a trial.Answer) int {
	if (a.Arms[1].Rate() < a.Arms[0].Rate()) != a.Outcome.MoreIsBetter() {
		return 1
	}
	return 0
}

// trialTags are the lengths that a trial's choice names.
func trialTags(a trial.Answer, better int, sure Sureness) []float64 {
	var list []float64
	for _, i := range []int{better, 1 - better} {
		if mm, err := strconv.ParseFloat(a.Trial.Arms[i].Level, 64); err == nil {
			list = append(list, mm)
		}
	}
	if len(list) == 2 && sure != Open && sure != NoMatter {
		list = list[:1]
	}
	return list
}

// RowSure is the sureness of a comparison within a table; what it is compared with says so.
func RowSure(v *analytics.Comparison) string {
	switch {
	case v == nil:
		return "compared with"
	case v.Verdict == stat.Differs:
		return string(Settled)
	case v.Verdict == stat.SameForPractice:
		return string(NoMatter)
	case v.Verdict == stat.Leans:
		return string(Open) + ", leans"
	case v.Verdict == "":
		return "can’t be compared"
	}
	return string(Open)
}
