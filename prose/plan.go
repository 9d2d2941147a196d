package prose

import (
	"fmt"
	"math"
	"rigtally/analytics"
	"rigtally/analytics/plan"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"strconv"
	"strings"
)

// PlanSentence answers how long to tie a tag, in a few sentences.
func PlanSentence(a plan.Answer, sys units.System) string {
	if a.Best < 0 {
		return planWithout(a, sys)
	}
	best := a.Points[a.Best]
	text := fmt.Sprintf("Tie it at %s: it loses the least, %s min of each hour fished", units.FormatLength(best.LengthMM, sys), minutes(best.Loss))
	if best.Low != nil && best.High != nil {
		text += fmt.Sprintf(" (95%% band %s–%s)", minutes(*best.Low), minutes(*best.High))
	}
	text += fmt.Sprintf(", and takes %s before you tie it again.", Several(best.Changes, "fly change"))
	from, to := units.FormatLength(a.From, sys), units.FormatLength(a.To, sys)
	if a.From == a.To {
		text += " Every other length loses over a minute an hour more."
	} else {
		text += fmt.Sprintf(" From %s the difference is at most a minute an hour.", strings.Replace(span(from, to), "–", " to ", 1))
	}
	return text
}

// planWithout says why there is no best length.
func planWithout(a plan.Answer, sys units.System) string {
	for _, n := range a.Notes {
		switch n.Kind {
		case plan.NoteNoCurve:
			return "This journal can’t say yet how often tags of each length tangle, so there is no plan from it. Type in your own guess, for at least two lengths, and see where it leads."
		case plan.NoteAllBeyond:
			return fmt.Sprintf("Tags of these lengths have not been fished: the journal only knows %s to %s. Set the shortest tag that fishes, or the longest to look at, within that.", units.FormatLength(n.Value, sys), units.FormatLength(n.Other, sys))
		}
	}
	return "There are no lengths to choose from."
}

// Rough prints a length as it can be measured on the water: to a quarter inch or a
// millimetre. Short ones, which are means of many, keep their digits.
func Rough(mm float64, sys units.System) string {
	step := 1.0
	if sys == units.US {
		step = 25.4 / 4
	}
	if mm < 4*step || mm < 50 {
		if sys == units.US {
			in, _ := units.In(units.Length, mm, sys)
			return Ratio(in) + " in"
		}
		return units.FormatLength(math.Round(mm*10)/10, sys)
	}
	return units.FormatLength(math.Round(mm/step)*step, sys)
}

// minutes prints minutes per hour to a tenth, or finer where there are few.
func minutes(v float64) string {
	switch {
	case v >= 0.005 && v < 0.1:
		return fmt.Sprintf("%.2f", v)
	case v >= 999.5:
		return "over 1000"
	case v >= 99.95:
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.1f", v)
}

// PlanSure says how sure the best length is; empty where there are no draws.
func PlanSure(a plan.Answer, sys units.System) string {
	if a.Best < 0 || !a.Sure {
		return ""
	}
	best := a.Points[a.Best]
	if best.Best == nil || best.Near == nil {
		return ""
	}
	low, high := planLikely(a)
	where := strings.Replace(span(units.FormatLength(low, sys), units.FormatLength(high, sys)), "–", " to ", 1)
	if low == high {
		where = units.FormatLength(low, sys)
	}
	return fmt.Sprintf("How sure: %s that exactly this length is best, %s that it loses at most a minute an hour more than the best. With 95%% probability the best is at %s.",
		Chance(*best.Best), Chance(*best.Near), where)
}

func planLikely(a plan.Answer) (low, high float64) {
	var list []analytics.Chance
	for _, p := range a.Points {
		if p.Best != nil {
			list = append(list, analytics.Chance{At: p.LengthMM, Probability: p.Best})
		}
	}
	return analytics.LikelyRange(list, analytics.Confidence)
}

// PlanTippet says how far a tippet goes with the best length.
func PlanTippet(a plan.Answer, sys units.System) string {
	if a.Best < 0 {
		return ""
	}
	tippet, cost := a.Input(plan.TippetLength).Value, a.Input(plan.RetieCost).Value
	return fmt.Sprintf("A tippet of %s takes %s of the junction at %s each, with %s between them: about %s of fishing before less than %s is left.",
		Rough(tippet, sys), Several(a.Tippet.Reties, "re-tie"), Rough(cost, sys), Several(a.Tippet.Changes, "fly change"),
		Figure(a.Tippet.Hours)+" h", Rough(plan.PracticeLeastTippetMM, sys))
}

// PlanRule holds the best length against the trade's rule.
func PlanRule(a plan.Answer, sys units.System) string {
	if a.Best < 0 {
		return ""
	}
	low, high := plan.PracticeLength(plan.PracticeTagLowMM, sys).Value, plan.PracticeLength(plan.PracticeTagHighMM, sys).Value
	best := a.Points[a.Best].LengthMM
	rule := fmt.Sprintf("The trade ties %s, for four to five changes (common practice, no source)", span(Rough(low, sys), Rough(high, sys)))
	switch {
	case best >= low-1 && best <= high+1:
		return rule + "; this plan agrees."
	case a.From <= high && a.To >= low:
		return rule + "; that loses at most a minute an hour more than the best of this plan, at least in part of the range."
	case best < low:
		return rule + "; this plan is shorter."
	}
	return rule + "; this plan is longer."
}

// planNames are those of what a plan rests on, and in few letters for a chart.
var planNames = map[string]struct{ title, short string }{
	plan.Waste:         {"Tag lost at each change", "Cut a change"},
	plan.Changes:       {"Changes per hour", "Changes"},
	plan.Least:         {"Shortest tag that fishes", "Shortest tag"},
	plan.TangleMinutes: {"Minutes a tangle costs", "Tangle time"},
	plan.RetieMinutes:  {"Minutes a re-tie costs", "Re-tie time"},
	plan.BreakMinutes:  {"Minutes a break costs", "Break time"},
	plan.TippetLength:  {"Tippet to begin with", ""},
	plan.RetieCost:     {"Tippet lost at a re-tie", ""},
	plan.TangleLevel:   {"How often tags tangle", "Tangles"},
	plan.TangleRise:    {"How tangles rise with length", "Tangle rise"},
	plan.BreakLevel:    {"How often junctions break", "Breaks"},
	plan.BreakAnew:     {"What a break leaves", "After a break"},
}

// PlanInputTitle names an input.
func PlanInputTitle(key string) string { return planNames[key].title }

// PlanShort names what a move moves in few letters, for a chart.
func PlanShort(key string) string { return planNames[key].short }

// PlanRange prints a range of lengths without the unit, for a chart.
func PlanRange(low, high float64, sys units.System) string {
	text := units.FormatLength(low, sys)
	if low != high {
		text = span(text, units.FormatLength(high, sys))
	}
	return text[:max(0, strings.LastIndex(text, " "))]
}

// PlanValue prints the value of an input in the person's units.
func PlanValue(key string, v float64, sys units.System) string {
	switch key {
	case plan.Waste, plan.Least, plan.TippetLength, plan.RetieCost:
		return Rough(v, sys)
	case plan.Changes:
		return Figure(v) + " per hour"
	case plan.TangleLevel, plan.BreakLevel:
		return Ratio(v) + " times"
	case plan.TangleRise:
		_, unit := units.In(units.Length, 0, sys)
		if unit == "in" {
			return Ratio(math.Pow(v, 0.254)) + " times per inch"
		}
		return Ratio(v) + " times per 100 mm"
	}
	return minutes(v) + " min"
}

// PlanSource says where an input is from, with its interval where it has one.
func PlanSource(in plan.Input, sys units.System) string {
	switch in.From {
	case plan.FromJournal:
		text := "this journal, " + Plural(in.N, planCounted(in.Key), planCounted(in.Key)+"s")
		if in.Low != nil && in.High != nil {
			text += ", 95% interval " + planSpan(in.Key, *in.Low, *in.High, sys)
		}
		return text
	case plan.FromYou:
		return "typed in"
	}
	return string(in.From)
}

// planSpan prints two values of an input, with the unit once.
func planSpan(key string, low, high float64, sys units.System) string {
	from, to := PlanValue(key, low, sys), PlanValue(key, high, sys)
	if number, unit, ok := strings.Cut(from, " "); ok && strings.HasSuffix(to, " "+unit) {
		from = number
	}
	return from + "–" + to
}

func planCounted(key string) string {
	switch key {
	case plan.Waste:
		return "noted cut"
	case plan.Changes:
		return "change"
	case plan.TangleMinutes:
		return "timed tangle"
	}
	return "timed re-tie"
}

// PlanRateSource says where the rates of tangles or breaks are from.
func PlanRateSource(r plan.Rate, what string, sys units.System) string {
	switch {
	case r.From == plan.FromYou && r.Constant != nil:
		return fmt.Sprintf("%s per hour at every length, typed in", Figure(*r.Constant))
	case r.From == plan.FromYou:
		var parts []string
		for _, t := range r.Table {
			parts = append(parts, Figure(t.Rate)+" per hour at "+Rough(t.LengthMM, sys))
		}
		return strings.Join(parts, ", ") + ", typed in"
	case r.Curve != nil && r.LoadsHour > 0:
		return fmt.Sprintf("this journal’s curve of %s per pull over tag length (%s in %s pulls by fish and snags), times %s pulls an hour", what, Count(r.Curve.Total.Events), Count(r.Curve.Total.Exposure), Figure(r.LoadsHour))
	case r.Curve != nil:
		return fmt.Sprintf("this journal’s curve of %s over tag length (%s in %s hours)", what, Count(r.Curve.Total.Events), exposure(r.Curve.Total.Exposure))
	case r.Constant != nil:
		return fmt.Sprintf("%s per hour at every length, from this journal: %s in %s hours", Figure(*r.Constant), Count(r.Events), exposure(r.Hours))
	}
	return string(r.From)
}

// PlanMoves lays out what becomes of the plan when one number is another.
func PlanMoves(a plan.Answer, sys units.System) table.Table {
	var rows [][]string
	for _, v := range a.Moves {
		rows = append(rows, planMove(a, v, sys))
	}
	return table.Words("", 1, []string{"If this were different", "Tried", "That is", "Best then", "Min lost an hour then", "Cost of keeping to the plan"}, rows)
}

func planMove(a plan.Answer, v plan.Move, sys units.System) []string {
	tried := strings.Replace(planSpan(v.Key, v.Low, v.High, sys), "–", " or ", 1)
	why := "a quarter less or more"
	switch {
	case v.Own:
		why = "its 95% interval"
	case v.Short:
		why = "as short as was fished, or a quarter more"
	}
	lengths := units.FormatLength(v.At[0].LengthMM, sys)
	losses := minutes(v.At[0].Loss)
	if v.Key == plan.BreakAnew {
		tried, why = "a fresh tag of full length", "another reading"
		if a.Anew {
			tried = "the tag mended as it was"
		}
	} else {
		lengths = units.FormatLength(v.At[0].LengthMM, sys) + " or " + units.FormatLength(v.At[1].LengthMM, sys)
		losses += " or " + minutes(v.At[1].Loss)
		if v.At[0].LengthMM == v.At[1].LengthMM {
			lengths = units.FormatLength(v.At[0].LengthMM, sys)
		}
	}
	return []string{PlanInputTitle(v.Key), tried, why, lengths, losses, minutes(v.Costs)}
}

// PlanMost says what would change the answer most.
func PlanMost(a plan.Answer, sys units.System) string {
	if len(a.Moves) == 0 {
		return ""
	}
	most := a.Moves[0]
	best := a.Points[a.Best].LengthMM
	if most.Costs < 0.05 && most.Shift(best) == 0 {
		return "No single number would change the answer."
	}
	name := Lower(PlanInputTitle(most.Key))
	if most.Costs < plan.Close/2 {
		return fmt.Sprintf("No single number would change much: the first, %s, could cost %s min an hour if you keep to this plan.", name, minutes(most.Costs))
	}
	return fmt.Sprintf("What would change the answer most is %s: keeping to this plan could cost %s min an hour.", name, minutes(most.Costs))
}

// PlanTable lays the loss of each length out in at most so many rows, the best among them.
func PlanTable(a plan.Answer, sys units.System, most int) table.Table {
	every := max(1, (len(a.Points)+most-1)/most)
	first := 0
	if a.Best >= 0 {
		first = a.Best % every
	}
	var at []int
	for i := first; i < len(a.Points); i += every {
		at = append(at, i)
	}
	var c table.Columns[int]
	c.Add("length_mm", "Tag length", func(i int) table.Cell {
		cell := table.Number(units.FormatLength(a.Points[i].LengthMM, sys), &a.Points[i].LengthMM)
		if i == a.Best {
			cell.Text += ", the best"
		}
		return cell
	}).Words = true
	c.Count("changes", "Changes", func(i int) int { return a.Points[i].Changes }).Spare = 1
	c.Number("tangles_min_per_hour", "Tangles", minutes, func(i int) *float64 { return &a.Points[i].Tangles })
	c.Number("breaks_min_per_hour", "Breaks", minutes, func(i int) *float64 { return &a.Points[i].Breaks })
	c.Number("reties_min_per_hour", "Re-ties", minutes, func(i int) *float64 { return &a.Points[i].Renewal })
	c.Number("loss_min_per_hour", "Minutes in all", minutes, func(i int) *float64 { return &a.Points[i].Loss })
	// What only draws can tell, people are told of plans that are sure.
	sure := []*table.Column{
		c.Said("band", "95% band", func(i int) string {
			if p := a.Points[i]; p.Low != nil && p.High != nil {
				return minutes(*p.Low) + "–" + minutes(*p.High)
			}
			return ""
		}),
		c.Said("chance", "Chance of the best", func(i int) string { return planChance(a, i, every) }),
		c.Said("within", "Within a minute of it", func(i int) string {
			if p := a.Points[i]; p.Best != nil && p.Near != nil && !p.Beyond {
				return Chance(*p.Near)
			}
			return ""
		}),
	}
	sure[2].Spare = 2
	for _, column := range sure {
		if !a.Sure {
			column.For = table.Nobody
		}
	}
	c.Values(func(i int) []*float64 {
		p := a.Points[i]
		return []*float64{p.Low, p.High, p.Best, p.Near}
	}, "low", "high", "best", "near")
	c.Plain("beyond", func(i int) string { return strconv.FormatBool(a.Points[i].Beyond) })
	t := c.Make(at)
	t.OnPhone = []string{"", "loss_min_per_hour", "changes"}
	t.Title = "Minutes lost per hour fished with one tag"
	return t
}

// planChance is the chance that the lengths nearest to one are the best.
func planChance(a plan.Answer, i, every int) string {
	p, sum := a.Points[i], 0.0
	switch {
	case p.Beyond:
		return "not fished"
	case p.Best == nil || p.Near == nil:
		return ""
	}
	for j := max(0, i-every/2); j < min(len(a.Points), i+(every+1)/2); j++ {
		if a.Points[j].Best != nil {
			sum += *a.Points[j].Best
		}
	}
	return Chance(sum)
}

// Fact is a number with its name, for people.
type Fact struct{ Name, Value string }

// PlanBest is a plan in a few numbers.
func PlanBest(a plan.Answer, sys units.System) []Fact {
	best := a.Points[a.Best]
	return []Fact{
		{"Tie it at", units.FormatLength(best.LengthMM, sys)},
		{"Lost an hour", minutes(best.Loss) + " min"},
		{"Changes a tag", fmt.Sprint(best.Changes)},
		{"Re-ties a tippet", fmt.Sprint(a.Tippet.Reties)},
	}
}

// PlanNotes says what the reader of a plan must know, a sentence each.
func PlanNotes(a plan.Answer, sys units.System) []string {
	list := worded(a.Notes, func(n plan.Note) string { return planNote(a, n, sys) })
	if a.Tangles.Curve != nil {
		for _, n := range a.CurveNotes {
			if text := aboutCorrection(n, a.Tangles.Curve.Outcome, "", ""); text != "" {
				list = append(list, "Of the tangles: "+Lower(text))
			}
		}
	}
	return list
}

func planNote(a plan.Answer, n plan.Note, sys units.System) string {
	length := func(mm float64) string { return Rough(mm, sys) }
	return map[plan.NoteKind]string{
		plan.NoteGuess:          "The tangles are what you typed in. A plan can’t be surer than that, so it has no band.",
		plan.NoteBeyond:         fmt.Sprintf("Nearly all was fished, or rates are given, from %s to %s. Lengths beyond that are drawn and marked, but never called the best.", length(n.Value), length(n.Other)),
		plan.NoteRaised:         fmt.Sprintf("The shortest tag that fishes is common practice’s %s, but none shorter than %s was fished here; the plan stops there.", length(plan.PracticeLeastTagMM), length(n.Value)),
		plan.NoteConstantBreaks: Plural(n.Count, "break is", "breaks are") + " too few to say how breaks change with length: they count the same at every length.",
		plan.NoteNoBreaks:       fmt.Sprintf("No junction broke in the %s hours in the journal, so breaks cost nothing here.", exposure(n.Value)),
		plan.NoteAtEnd:          "The best is the longest of those fished enough to tell: a longer one may be better still.",
		plan.NoteAtStart:        "The best is the shortest that still fishes: a shorter limit may be better still.",
		plan.NoteUnsettled:      fmt.Sprintf("Can’t tell yet whether length makes a difference to tangles (p %s), so this plan may lean on a difference that is none.", equals(n.Value)),
	}[n.Kind]
}

// PlanRows of a plan's table show its shape; the chart and the CSV have every length.
const PlanRows = 14

// SayPlan puts a plan into words and tables: the lengths, what would change it, what it rests on.
func SayPlan(a plan.Answer, sys units.System) Said {
	s := Said{Title: "How long to leave the tag", Sentence: PlanSentence(a, sys), More: []string{PlanSure(a, sys)}, Notes: PlanNotes(a, sys)}
	if s.Bet = SayPlanBet(a, sys); s.Bet != "" {
		s.BetHow = betHow(a.Bet.Prior, true)
	}
	if len(a.Points) > 0 {
		s.Tables = append(s.Tables, PlanTable(a, sys, PlanRows))
	}
	if a.Best >= 0 {
		moves := PlanMoves(a, sys)
		moves.Title = "What would change it"
		s.Tables = append(s.Tables, moves)
		s.After = []string{PlanTippet(a, sys), PlanRule(a, sys), PlanMost(a, sys)}
	}
	s.Tables = append(s.Tables, PlanRests(a, sys))
	s.After = append(s.After, "Tangles: "+PlanRateSource(a.Tangles, "tangles", sys)+planGiven(a)+".")
	if a.Breaks.From != "" {
		s.After = append(s.After, "Breaks: "+PlanRateSource(a.Breaks, "junction breaks", sys)+planGiven(a)+".")
	}
	return s
}

// PlanRests lays out the numbers that a plan rests on.
func PlanRests(a plan.Answer, sys units.System) table.Table {
	var rows [][]string
	for _, in := range a.Inputs {
		rows = append(rows, []string{PlanInputTitle(in.Key), PlanValue(in.Key, in.Value, sys), PlanSource(in, sys)})
	}
	return table.Words("What it rests on", 3, []string{"Number", "Value", "From"}, rows)
}

func planGiven(a plan.Answer) string {
	if len(a.Given) == 0 || a.Tangles.Curve == nil {
		return ""
	}
	return ", corrected for " + CorrectedFor(a.Given)
}

// TagBudget says how many fly changes a tag has left. what names the tag and how
// its length is known: "Dropper 1, 165 mm as tied".
func TagBudget(what string, b plan.TagBudget, sys units.System) string {
	length := func(mm float64) string { return units.FormatLength(mm, sys) }
	switch {
	case b.LengthMM < b.LeastMM:
		return what + ": shorter than " + length(b.LeastMM) + " already. Tie it again."
	case b.Changes == 0:
		return what + ": no fly change left; the next would leave " + left(b.NextMM, sys) + "."
	}
	return fmt.Sprintf("%s: %s left, at %s each down to %s. One more would leave %s.", what, Several(b.Changes, "fly change"), length(b.WasteMM), length(b.LeastMM), left(b.NextMM, sys))
}

func left(mm float64, sys units.System) string {
	if mm <= 0 {
		return "no tag"
	}
	return units.FormatLength(mm, sys)
}

// TippetBudget says how many re-ties a tippet has left.
func TippetBudget(b plan.TippetBudget, sys units.System) string {
	length := func(mm float64) string { return units.FormatLength(mm, sys) }
	text := fmt.Sprintf("Tippet, %s: ", length(b.LengthMM))
	if b.Reties == 0 {
		return text + fmt.Sprintf("no re-tie left, at %s each down to %s.", length(b.CostMM), length(b.LeastMM))
	}
	return text + fmt.Sprintf("%s left, at %s each down to %s.", Several(b.Reties, "re-tie"), length(b.CostMM), length(b.LeastMM))
}

// Assumed says where a number that a plan rests on comes from.
func Assumed(a plan.Assumed) string {
	if a.From == plan.FromJournal {
		return "median of " + Several(a.N, "cut") + " noted in this journal"
	}
	return string(a.From)
}
