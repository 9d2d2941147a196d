// Package review says in words how a season went, for a page, a file or a terminal.
package review

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rigtally/analytics/caution"
	"rigtally/analytics/season"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Review is a season in words for two pages: one to hand over, and one for the record.
type Review struct {
	Title    string // "Season 2026: Ilse"
	Outfit   string // "" where it has no name, or none is to be told
	Who      string
	Year     int
	Headline string         // the one sentence
	Sure     prose.Sureness // of the headline, "" where it claims nothing
	Lead     string         // what was fished
	Byline   string
	Picture  string // how to read the season's picture
	Spoken   string // what it shows
	Advice   []Advice
	Beside   Table  // the season beside the one before
	Besides  string // what to know of it
	Same     string // what makes no difference that matters
	Open     string // a question
	FindOut  string // and how it would be answered
	Care     string
	Thanks   string
	Record   []Section
	Method   []Method
}

// Method says how something was computed.
type Method struct{ What, How string }

// Section is a part of the record; what is empty is not shown.
type Section struct {
	Key, Title string
	Text       []string
	Table      Table
}

// Table is a table whose first column heads its rows, and whose first Words columns are words.
type Table struct {
	Caption string
	Head    []string
	Rows    [][]string
	Words   int
}

// Of puts a season into words.
func Of(a season.Answer, sys units.System) Review {
	w := reviewer{a, sys}
	r := Review{Title: w.title(), Who: w.who(), Year: a.Year, Headline: w.nothing()}
	if a.Outfit != season.SomeOutfit {
		r.Outfit = a.Outfit
	}
	if a.Totals.Sessions == 0 {
		r.Record = []Section{w.unfished()}
		return r
	}
	r.Advice = w.advise()
	r.Headline, r.Sure = w.headline(r.Advice)
	r.Lead, r.Byline, r.Thanks, r.Method = w.lead(), w.byline(), w.thanks(), w.methods()
	r.Beside, r.Besides = w.beside()
	r.Picture, r.Spoken = w.picture()
	r.Same, r.Care = w.same(r.Advice), w.care()
	r.Open, r.FindOut = w.open(r.Advice)
	for _, s := range []Section{w.rigs(), w.outcomes(), w.basis(r.Advice), w.season(), w.cautions(), w.quality()} {
		if len(s.Text)+len(s.Table.Rows) > 0 {
			r.Record = append(r.Record, s)
		}
	}
	return r
}

// reviewer words one season.
type reviewer struct {
	a   season.Answer
	sys units.System
}

// fewForReview is how many sessions a season needs for more than its counts.
const fewForReview = 6

func (w reviewer) outfit() bool { return w.a.Angler == "" }

// own is the evidence of the sessions of whoever is reviewed.
func (w reviewer) own() season.Evidence {
	if len(w.a.Evidence) == 0 {
		return season.Evidence{}
	}
	return w.a.Evidence[0]
}

// who names the subject of the review.
func (w reviewer) who() string {
	if w.outfit() {
		if w.a.Outfit == season.SomeOutfit || w.a.Outfit == "" {
			return season.SomeOutfit
		}
		return w.a.Outfit
	}
	return w.a.Angler
}

// possessive is a name before a noun: "Ilse’s", "the angler’s".
func possessive(name string) string {
	if strings.HasSuffix(name, "s") {
		return name + "’"
	}
	return name + "’s"
}

func (w reviewer) title() string {
	if w.a.Year == 0 {
		return "Season review"
	}
	return fmt.Sprintf("Season %d: %s", w.a.Year, w.who())
}

// nothing is said of a season without sessions.
func (w reviewer) nothing() string {
	switch {
	case w.a.Year == 0:
		return "Nothing has been logged yet, so there is no season to look back on."
	case w.outfit():
		return fmt.Sprintf("Nothing was logged in %d.", w.a.Year)
	}
	return prose.Capital(fmt.Sprintf("%s logged no session in %d.", w.who(), w.a.Year))
}

// headline is the one sentence: the first change with what it would bring, or that there is none.
func (w reviewer) headline(list []Advice) (string, prose.Sureness) {
	switch {
	case w.a.Totals.Sessions < fewForReview:
		return prose.Capital(w.who()) + " has too few sessions yet to tell one way of rigging from another.", prose.Open
	case len(list) == 0:
		return "Nothing yet says to change the rig.", prose.Open
	}
	brings, _, _ := strings.Cut(strings.TrimSuffix(list[0].Says[0], "."), ":")
	return prose.Capital(list[0].Change) + ": " + prose.Lower(brings) + ".", list[0].Sure
}

// lead says what was fished and what came of it.
func (w reviewer) lead() string {
	t := w.a.Totals
	fish := "landed " + prose.Total(t.Landed, "fish", "fish") + " in"
	if t.Landed.Known() == nil {
		fish = "fished, without a count of fish landed,"
	}
	tangles := prose.Total(t.Tangles, "tangle", "tangles")
	return prose.Capital(fmt.Sprintf("%s %s %s on %s in %d; %s.", w.who(), fish, prose.FishedHours(t.Hours), prose.Several(t.Days, "day"), w.a.Year, tangles))
}

func (w reviewer) thanks() string {
	switch {
	case w.outfit():
		return "Thanks to everyone who fished, and counted."
	case w.a.Shared.WithoutNames:
		return "Thank you for the season."
	}
	return "Thank you for the season, " + w.who() + "."
}

// beside sets the season beside the one before, in a day's terms. What nobody counted is not nothing.
func (w reviewer) beside() (Table, string) {
	t, day := w.a.Totals, w.a.Totals.Day
	table := Table{Caption: "The season beside the one before", Words: 3, Head: []string{"Season", strconv.Itoa(w.a.Year)}, Rows: [][]string{
		{"On the water", prose.Several(t.Days, "day") + ", " + prose.FishedHours(t.Hours)}}}
	text := "There is no earlier season in this journal to set it beside."
	before := w.a.Before
	if before == nil {
		table.Caption = "The season in a day’s terms"
	} else {
		table.Head = append(table.Head, strconv.Itoa(before.Year))
		table.Rows[0] = append(table.Rows[0], prose.Several(before.Days, "day")+", "+prose.FishedHours(before.Hours))
		text = "Luck, water and weather are in both."
	}
	if day > 0 {
		text = "A day is the usual session of " + strconv.Itoa(w.a.Year) + ", " + units.FormatDuration(5*math.Round(12*day)) + ". " + text
	}
	for _, x := range []struct{ key, title string }{{"landed", "Fish landed"}, {"loss", "Fish lost"}, {"tangles", "Tangles"}, {"downtime", "Lost to tangles"}} {
		o, ok := w.outcome(x.key)
		if !ok {
			continue
		}
		row := []string{x.title, inADay(o.Outcome, season.Counted{Events: o.Own.Events, Exposure: o.Own.Exposure}, day)}
		if before != nil {
			row = append(row, inADay(o.Outcome, before.Counted[x.key], day))
		}
		table.Rows = append(table.Rows, row)
	}
	return table, text
}

// inADay says how often something happened, where anybody counted.
func inADay(o journal.Outcome, c season.Counted, day float64) string {
	if c.Exposure == 0 || o.Exposure == "hours" && day == 0 {
		return "not counted"
	}
	rate := c.Events / c.Exposure
	switch {
	case o.Exposure != "hours":
		return counted(100*rate) + " of 100 hooked"
	case o.Measure == journal.AmountPer:
		return units.FormatDuration(math.Round(rate*day)) + " a day"
	}
	return counted(rate*day) + " a day"
}

// counted is a mean as it is said aloud: to a tenth, whole from ten on.
func counted(v float64) string {
	switch {
	case v >= 10:
		return prose.Count(math.Round(v))
	case v > 0 && v < 0.05:
		return "under 0.1"
	}
	return prose.Tenths(v)
}

// picture says how to read the picture of the season, and what it shows.
func (w reviewer) picture() (reading, spoken string) {
	flow, high, uncounted := 0, 0, false
	unit := "day"
	if w.a.Shared.BlurWaters {
		unit = "month"
	}
	for _, d := range w.a.Days {
		if d.Flow {
			flow++
		}
		if d.High {
			high++
		}
		uncounted = uncounted || !d.Landed.Whole() || !d.Tangles.Whole()
	}
	reading = "A tick is a " + unit + " on the water: fish landed above it, tangles below."
	switch {
	case high > 0:
		reading += fmt.Sprintf(" Shaded is high water, on %d of the %d days with flow noted.", high, flow)
	case flow > 0:
		reading += fmt.Sprintf(" There was no high water on the %s with flow noted.", prose.Several(flow, "day"))
	}
	if uncounted {
		reading += " A ring stands where not everything was counted."
	}
	return reading, fmt.Sprintf("The season along its %ss. %s %s", unit, w.lead(), reading)
}

// same names what the journal says to stop worrying about.
func (w reviewer) same(advice []Advice) string {
	list := w.tagsAlike(advice)
	for _, f := range w.own().Open {
		if f.Verdict == stat.SameForPractice && asked(f) != "" && len(list) < 2 {
			what := strings.Replace(Change(f), "rather than", "or", 1)
			if f.Step != 0 {
				more, less := prose.Grown(f.Factor)
				what = less + " or " + more + " " + stepped(f.Factor)
			}
			list = append(list, what+" ("+prose.Counted(f.Outcome)+")")
		}
	}
	if len(list) == 0 {
		return ""
	}
	return prose.Capital(prose.Listed(list)) + "."
}

// open is the open question that is nearest to an answer, and how it would be found out.
func (w reviewer) open(advice []Advice) (question, how string) {
	if w.a.Totals.Sessions < fewForReview {
		return "Everything, after so few sessions.", "Keep counting through the season, fish and tangles on every day, blank days too."
	}
	for _, f := range w.own().Open {
		change := asked(f)
		if change == "" || f.MoreHours == nil || *f.MoreHours == 0 || f.Verdict == stat.Differs || slices.ContainsFunc(advice, func(a Advice) bool { return strings.HasPrefix(a.Change, Change(f)) }) {
			continue
		}
		how = prose.Capital(prose.AboutHours(*f.MoreHours)) + " more, fished as until now, would show it."
		return change, how + " Sooner: take turns with the two from one session to the next, in an order drawn by lot."
	}
	return "", ""
}

// care says what the season's days called for.
func (w reviewer) care() string {
	var list []string
	for _, c := range w.a.Cautions {
		if n := c.Care + c.Stop; n > 0 {
			what := map[caution.Kind]string{caution.Lightning: "a storm", caution.Wading: "deep and fast water", caution.RisingWater: "rising water", caution.HighWater: "high water"}[c.Kind]
			list = append(list, fmt.Sprintf("%s in %s", cmp.Or(what, "warm water"), prose.Several(n, "session")))
		}
	}
	if len(list) == 0 {
		return ""
	}
	return prose.Capital(strings.Join(list, ", ")) + ": see Cautions."
}

// day names a day as far as the review tells it.
func (w reviewer) day(d journal.Date) string {
	if w.a.Shared.BlurWaters {
		return d.Month.String()
	}
	return fmt.Sprintf("%d %s", d.Day, d.Month)
}

func (w reviewer) byline() string {
	t := w.a.Totals
	text := fmt.Sprintf("From %s logged between %s and %s %d.", prose.Several(t.Sessions, "session"), w.day(t.First), w.day(t.Last), w.a.Year)
	if t.First == t.Last {
		text = fmt.Sprintf("From %s logged on %s %d.", prose.Several(t.Sessions, "session"), w.day(t.First), w.a.Year)
		if w.a.Shared.BlurWaters {
			text = fmt.Sprintf("From %s logged in %s %d.", prose.Several(t.Sessions, "session"), w.day(t.First), w.a.Year)
		}
	}
	switch s := w.a.Shared; {
	case s.WithoutNames && s.BlurWaters:
		text += " Names are left out, waters are not named and days are given by month."
	case s.WithoutNames:
		text += " Names are left out."
	case s.BlurWaters:
		text += " Waters are not named and days are given by month."
	}
	return text
}

func (w reviewer) outcome(key string) (season.Outcome, bool) {
	for _, o := range w.a.Outcomes {
		if o.Outcome.Key == key {
			return o, true
		}
	}
	return season.Outcome{}, false
}

func (w reviewer) unfished() Section {
	s := Section{Key: "nothing", Title: "What can be said"}
	if w.a.Year == 0 {
		s.Text = []string{"After the first few sessions this page says how the season went, what the evidence supports changing and what it can’t tell yet."}
		return s
	}
	s.Text = []string{"Days with nothing noted are unknown, not empty: nothing was caught or tangled as far as the journal knows, and nothing was missed either."}
	var years []string
	for _, y := range w.a.Seasons {
		if y != w.a.Year {
			years = append(years, strconv.Itoa(y))
		}
	}
	if len(years) > 0 {
		s.Text = append(s.Text, "There are sessions in "+prose.Listed(years)+".")
	}
	return s
}
