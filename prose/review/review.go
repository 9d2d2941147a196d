// Package review says in words how a season went, for a page, a file or a terminal.
package review

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/season"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Review is a season in words, tables and the names of its figures, for a page,
// a file or a terminal.
type Review struct {
	Title    string // "Season 2026: Ilse"
	Headline string
	Byline   string
	Facts    []Fact // few numbers in short
	Sections []Section
	Method   []Method
}

// Fact is a number in short with what it counts.
type Fact struct{ Name, Value string }

// Method says how something was computed.
type Method struct{ What, How string }

// Section is a part of a review; what is empty is not shown.
type Section struct {
	Key, Title string
	Text       []string
	Figures    []Figure
	Items      []Item
	Tables     []Table
	After      []string
}

// Figure names a figure that charts draws.
type Figure struct{ Name, Caption, Spoken string }

// Item is a point of a list: what to say, and what stands behind it.
type Item struct {
	Group string // heads this point and those after it
	Head  string
	Lines []string
}

// Table is a table whose first Words columns are words.
type Table struct {
	Caption string
	Head    []string
	Rows    [][]string
	Words   int
}

// Of puts a season into words.
func Of(a season.Answer, sys units.System) Review {
	w := reviewer{a, sys}
	r := Review{Title: w.title(), Headline: w.headline()}
	if a.Totals.Sessions == 0 {
		r.Sections = []Section{w.nothing()}
		return r
	}
	r.Byline, r.Facts, r.Method = w.byline(), w.facts(), w.methods()
	for _, s := range []Section{w.fished(), w.months(), w.outcomes(), w.rigs(), w.charts(), w.supported(), w.open(), w.cautions(), w.quality()} {
		if len(s.Text)+len(s.Items)+len(s.Tables)+len(s.Figures) > 0 {
			r.Sections = append(r.Sections, s)
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

func (w reviewer) headline() string {
	t := w.a.Totals
	switch {
	case w.a.Year == 0:
		return "Nothing has been logged yet, so there is no season to look back on."
	case t.Sessions == 0 && w.outfit():
		return fmt.Sprintf("Nothing was logged in %d.", w.a.Year)
	case t.Sessions == 0:
		return prose.Capital(fmt.Sprintf("%s logged no session in %d.", w.who(), w.a.Year))
	}
	if t.Landed.Known() == nil {
		return prose.Capital(fmt.Sprintf("%s fished %s on %s in %d, without a count of fish landed; %s.", w.who(), prose.FishedHours(t.Hours), prose.Several(t.Days, "day"), w.a.Year, w.changes()))
	}
	return prose.Capital(fmt.Sprintf("%s landed %s in %s on %s in %d; %s.", w.who(), prose.Total(t.Landed, "fish", "fish"), prose.FishedHours(t.Hours), prose.Several(t.Days, "day"), w.a.Year, w.changes()))
}

// changes says in a few words what the evidence supports.
func (w reviewer) changes() string {
	if w.a.Totals.Sessions < fewForReview {
		return "too little to tell one way of rigging from another"
	}
	for i, e := range w.a.Evidence {
		list := w.advice(e)
		if len(list) == 0 {
			continue
		}
		whose := "the evidence supports"
		if i > 0 {
			whose = "the outfit’s sessions, though not these alone, support"
		}
		switch {
		case len(list) == 1:
			return fmt.Sprintf("%s one change, %s", whose, list[0].Head)
		case len(list) == 2:
			return fmt.Sprintf("%s two changes, %s, and %s", whose, list[0].Head, list[1].Head)
		}
		return fmt.Sprintf("%s %s changes, first of all %s", whose, prose.Number(len(list)), list[0].Head)
	}
	return "the evidence settles no change of rig yet"
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

func (w reviewer) facts() []Fact {
	t := w.a.Totals
	list := []Fact{
		{"fished", prose.Several(t.Days, "day")},
		{"in all", prose.FishedHours(t.Hours)},
		{"hooked", prose.CountFact(t.Hookups, "fish", "fish")},
		{"landed", prose.CountFact(t.Landed, "fish", "fish")},
		{"undone", prose.CountFact(t.Tangles, "tangle", "tangles")},
	}
	if o, ok := w.outcome("downtime"); ok && o.Own.Exposure > 0 {
		lost := units.FormatDuration(math.Round(o.Own.Events))
		if o.Kept < t.Stints {
			lost = "at least " + lost
		}
		list = append(list, Fact{"lost to tangles", lost})
	}
	return list
}

func (w reviewer) outcome(key string) (season.Outcome, bool) {
	for _, o := range w.a.Outcomes {
		if o.Outcome.Key == key {
			return o, true
		}
	}
	return season.Outcome{}, false
}

func (w reviewer) nothing() Section {
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

// fished says where, and for an outfit by whom.
func (w reviewer) fished() Section {
	s := Section{Key: "fished", Title: "Where the time went"}
	t := w.a.Totals
	text := fmt.Sprintf("%s on %s", prose.Capital(prose.Several(t.Sessions, "session")), prose.Several(len(w.a.Waters), "water"))
	if per := t.PerOuting(); per > 0 {
		text += fmt.Sprintf(", %s a session", prose.FishedHours(per))
	}
	s.Text = []string{text + "."}
	water := Table{Caption: "By water", Words: 2, Head: []string{"Water", "Kind", "Sessions", "Days", "Hours"}}
	for _, x := range w.a.Waters {
		water.Rows = append(water.Rows, []string{x.Name, string(x.Kind), fmt.Sprint(x.Sessions), fmt.Sprint(x.Days), prose.Tenths(x.Hours)})
	}
	s.Tables = append(s.Tables, water)
	if len(w.a.People) > 1 {
		people := Table{Caption: "Who fished", Words: 2, Head: []string{"Angler", "Part", "Sessions", "Days", "Hours"}}
		for _, x := range w.a.People {
			kind := string(x.Kind)
			if x.Kind == journal.AnglerOwner {
				kind = "guide"
			}
			people.Rows = append(people.Rows, []string{x.Angler, kind, fmt.Sprint(x.Sessions), fmt.Sprint(x.Days), prose.Tenths(x.Hours)})
		}
		s.Tables = append(s.Tables, people)
	}
	return s
}

// months says how many fish came by the hour, month by month.
func (w reviewer) months() Section {
	s := Section{Key: "months", Title: "Fish by the hour, month by month"}
	m := w.a.Months
	if len(m.List) == 0 {
		return s
	}
	landed, hooked := byLevel(m.Landed), byLevel(m.Hookups)
	table := Table{Caption: "Fish by month", Words: 1, Head: []string{"Month", "Days", "Hours", "Hooked", "per hour", "95% interval", "Landed", "per hour", "95% interval"}}
	for _, x := range m.List {
		row := []string{x.Month.String(), fmt.Sprint(x.Days), prose.Tenths(x.Hours)}
		at := journal.Level{Number: float64(x.Month), Kind: journal.NumberLevel}
		table.Rows = append(table.Rows, slices.Concat(row, rateCells(hooked[at], x.Hookups), rateCells(landed[at], x.Landed)))
	}
	s.Text = append([]string{w.whole()}, w.bestMonth()...)
	s.Tables = []Table{table}
	if len(m.Landed.Groups) > 0 {
		s.Figures = []Figure{{"months", "Fish per hour by month, with 95% intervals; below, the hours fished", "Chart of fish hooked and landed per hour in each month with 95% intervals, and the hours fished; the table below has the same numbers."}}
	}
	return s
}

// byLevel are an answer's groups by their only level.
func byLevel(a analytics.RateAnswer) map[journal.Level]*analytics.Group {
	out := map[journal.Level]*analytics.Group{}
	for i, g := range a.Groups {
		out[g.Level[0]] = &a.Groups[i]
	}
	return out
}

// rateCells are a count, its rate and its interval.
func rateCells(g *analytics.Group, all journal.Total) []string {
	switch {
	case all.Known() == nil:
		return []string{prose.NotRecorded, "", ""}
	case g == nil:
		return []string{prose.TotalCell(all), "?", "?"}
	case !g.HasInterval:
		return []string{prose.Count(g.Events), plain(g.Rate), "?"}
	}
	return []string{prose.Count(g.Events), plain(g.Rate), plainSpan(g.Low, g.High)}
}

// whole gives the season's own rates of fish.
func (w reviewer) whole() string {
	var parts []string
	for _, x := range []struct{ key, verb string }{{"hookups", "hooked"}, {"landed", "landed"}} {
		o, ok := w.outcome(x.key)
		if !ok || o.Own.Exposure == 0 {
			continue
		}
		text := fmt.Sprintf("%s %s fish an hour", x.verb, plain(o.Own.Rate))
		if o.Own.HasInterval {
			text += fmt.Sprintf(" (95%% interval %s)", plainSpan(o.Own.Low, o.Own.High))
		}
		parts = append(parts, text)
	}
	if len(parts) == 0 && w.a.Totals.Hookups.Kept+w.a.Totals.Landed.Kept == 0 {
		return "Fish were not counted, so there is nothing to say about them."
	}
	if len(parts) == 0 {
		return "No stint has its minutes noted, so there are no rates per hour."
	}
	return prose.Capital(w.who()) + " " + strings.Join(parts, " and ") + "."
}

// bestMonth says which months stand apart, if any do.
func (w reviewer) bestMonth() []string {
	a := w.a.Months.Landed
	if len(a.Groups) < 2 {
		return nil
	}
	if prose.Apart(a) {
		return []string{prose.Sentence(a, w.sys)}
	}
	return []string{"Can’t tell one month from another by fish landed per hour: months that were all alike would go up and down about as much over so many sessions."}
}
