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

// baseline names what outcomes are held against.
func (w reviewer) baseline() string {
	if w.outfit() {
		return "all seasons together"
	}
	return "the outfit’s"
}

// outcomes holds the season against the outfit.
func (w reviewer) outcomes() Section {
	s := Section{Key: "outcomes", Title: fmt.Sprintf("Rates beside the outfit in %d", w.a.Year)}
	compared := "anglers"
	if w.outfit() {
		s.Title, compared = "Rates beside all seasons", "seasons"
	}
	if w.a.Alone {
		s.Title = fmt.Sprintf("Rates in %d", w.a.Year)
	}
	most := 0
	s.Table = Table{Caption: s.Title, Words: 1, Head: w.unlessAlone([]string{"Outcome", "Counted", "Rate (95% interval)", prose.Capital(w.baseline()), "Stands"})}
	for _, o := range w.a.Outcomes {
		most = max(most, o.Units)
		s.Table.Rows = append(s.Table.Rows, w.unlessAlone(outcomeRow(o)))
	}
	if most < 2 && !w.a.Alone {
		s.Text = []string{fmt.Sprintf("Nothing to compare it with yet: %s is the only one of the %s noted.", w.subject(), compared)}
	}
	return s
}

// unlessAlone leaves out of a row what an outcome is held against, where it is held against nothing.
func (w reviewer) unlessAlone(row []string) []string {
	if w.a.Alone {
		return row[:3]
	}
	return row
}

func (w reviewer) subject() string {
	if w.outfit() {
		return fmt.Sprint(w.a.Year)
	}
	return w.who()
}

func outcomeRow(o season.Outcome) []string {
	name := o.Outcome.Title
	if o.Kept == 0 {
		return []string{name, prose.NotRecorded, "", "", ""}
	}
	if o.Own.Exposure == 0 {
		return []string{name, "0 " + prose.Against(o.Outcome), "?", "", string(o.Standing)}
	}
	drawn, stands := plainRate(o.Outcome, o.Own.Rate)+per(o.Outcome), string(o.Standing)
	if o.Standing == season.NotApart {
		stands = "can’t tell"
	}
	if o.Shrunk != nil {
		drawn = plainRate(o.Outcome, *o.Shrunk) + per(o.Outcome)
	}
	if o.Low != nil && o.High != nil {
		drawn += " (" + plainInterval(o.Outcome, *o.Low, *o.High) + ")"
	}
	if o.Q != nil && o.Standing != season.NotApart {
		stands += ", q " + prose.PValue(*o.Q)
	}
	return []string{name, prose.Count(math.Round(o.Own.Events)) + " in " + prose.Tenths(o.Own.Exposure) + " " + prose.Against(o.Outcome), drawn, plainRate(o.Outcome, o.Baseline.Rate) + per(o.Outcome), stands}
}

// per is the unit behind a rate: " an hour".
func per(o journal.Outcome) string {
	switch {
	case o.Measure == journal.ShareOf:
		return ""
	case o.Measure == journal.AmountPer:
		return " min an hour"
	case o.Hourly():
		return " an hour"
	}
	return " a " + strings.TrimSuffix(prose.Against(o), "s")
}

// plain prints a rate for a reader, not for a calculation: two decimals, two digits
// below a tenth.
func plain(v float64) string {
	switch {
	case v == 0:
		return "0"
	case v < 0.0095:
		return "under 0.01"
	case v < 0.0995:
		return strconv.FormatFloat(v, 'f', 3, 64)
	case v < 9.995:
		return strconv.FormatFloat(v, 'f', 2, 64)
	}
	return prose.Figure(v)
}

func plainSpan(low, high float64) string {
	if low < 0.0095 || !(high < 1e6) {
		return prose.FigureSpan(low, high)
	}
	return plain(low) + "–" + plain(high)
}

func plainRate(o journal.Outcome, v float64) string {
	if o.Measure == journal.ShareOf {
		return prose.Percent(v)
	}
	return plain(v)
}

func plainInterval(o journal.Outcome, low, high float64) string {
	if o.Measure == journal.ShareOf {
		return prose.Interval(o, low, high)
	}
	return plainSpan(low, high)
}

// tied says how a rig is tied in few words: "tight-line nymph; legged fly on a
// 6.5 in tag, figure-eight, facing down".
func (w reviewer) tied(r journal.Rig) string {
	var parts []string
	if r.Method != "" {
		parts = append(parts, string(r.Method))
	}
	last, again := "", 0
	for _, d := range r.Droppers() {
		text := w.dropper(d)
		if text == last {
			again++
			continue
		}
		last = text
		parts = append(parts, text)
	}
	if again > 0 {
		parts[len(parts)-1] += ", and " + prose.Plural(again, "more like it", "more like it")
	}
	if len(r.Droppers()) == 0 {
		parts = append(parts, "one fly")
	}
	return strings.Join(parts, "; ")
}

func (w reviewer) dropper(d journal.RigPosition) string {
	fly := strings.TrimSpace(string(d.Bulk) + " fly")
	switch d.Hang {
	case journal.HangEye, journal.HangBend:
		return fmt.Sprintf("%s in line at the %s", fly, d.Hang)
	}
	text := fly + " on a tag"
	if d.TagLengthMM != nil {
		text = fmt.Sprintf("%s on a %s tag", fly, units.FormatLength(*d.TagLengthMM, w.sys))
	}
	switch {
	case d.JunctionName != "":
		text += ", " + d.JunctionName
	case d.Junction != "" && d.Junction != journal.JunctionOther:
		text += ", " + string(d.Junction)
	}
	if d.Facing != "" {
		text += ", facing " + string(d.Facing)
	}
	if d.Prop != "" && d.Prop != "none" {
		text += ", with a prop"
	}
	return text
}

// mostRigs is how many rigs the record lists one by one, which its page has room for.
const mostRigs = 5

// rigs says how each rig did.
func (w reviewer) rigs() Section {
	s := Section{Key: "rigs", Title: "Rigs, the most fished first"}
	r := w.a.Rigs
	s.Table = Table{Caption: s.Title, Words: 2, Head: []string{"Rig", "How it is tied", "Fished", "Landed an hour", "Tangles an hour (95%)"}}
	landed, tangles := byLevel(r.Landed), byLevel(r.Tangles)
	rest, hours := 0, 0.0
	for i, x := range r.List {
		if i >= mostRigs && len(r.List) > mostRigs+1 {
			rest++
			hours += x.Hours
			continue
		}
		at := journal.Level{Word: x.Name}
		s.Table.Rows = append(s.Table.Rows, []string{x.Name, w.tied(x.Rig), prose.FishedHours(x.Hours), rateCell(landed[at], x.Landed, false), rateCell(tangles[at], x.Tangles, true)})
	}
	if rest > 0 {
		s.Text = []string{fmt.Sprintf("And %d more, %s.", rest, prose.FishedHours(hours))}
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

func rateCell(g *analytics.Group, all journal.Total, interval bool) string {
	switch {
	case g == nil && all.Kept == 0:
		return prose.NotRecorded
	case g == nil:
		return "?"
	case interval && g.HasInterval:
		return plain(g.Rate) + " (" + plainSpan(g.Low, g.High) + ")"
	}
	return plain(g.Rate)
}

// season says where the time went, by whom, and what the sessions show one by one.
func (w reviewer) season() Section {
	s := Section{Key: "sessions", Title: "Session by session"}
	var waters, people []string
	for _, x := range w.a.Waters {
		name := x.Name
		if w.a.Shared.BlurWaters {
			name += " (" + string(x.Kind) + ")"
		}
		waters = append(waters, name+" "+prose.FishedHours(x.Hours))
	}
	for _, x := range w.a.People {
		people = append(people, x.Angler+" "+prose.FishedHours(x.Hours))
	}
	text := prose.Several(w.a.Totals.Sessions, "session") + " on " + shortList(waters)
	if len(people) > 1 {
		text += ". Fished by " + shortList(people)
	}
	s.Text = []string{text + "."}
	for _, c := range w.a.Charts {
		s.Text = append(s.Text, w.chart(c))
	}
	return s
}

// shortList names the first few of many.
func shortList(list []string) string {
	const most = 5
	if more := len(list) - most; more > 0 {
		list = append(slices.Clone(list[:most]), fmt.Sprintf("%d more", more))
	}
	return prose.Listed(list)
}

func (w reviewer) chart(c season.Chart) string {
	what := prose.Measure(c.Outcome)
	var out []string
	for _, p := range c.Points {
		if p.Out != season.WithinLimits {
			name := w.day(p.Day)
			if w.a.Shared.BlurWaters {
				name = "a session in " + name
			}
			out = append(out, fmt.Sprintf("%s (%s, %s)", name, plain(p.Rate), p.Out))
		}
	}
	text := fmt.Sprintf("%s: %s around %s; ", what, prose.Several(len(c.Points), "session"), plain(c.Centre))
	const most = 4
	n := len(out)
	if more := n - most; more > 0 {
		out = append(out[:most], fmt.Sprintf("%d more", more))
	}
	switch n {
	case 0:
		text += "none beyond the limits"
	case 1:
		text += "one beyond the limits: " + out[0]
	default:
		text += fmt.Sprintf("%s beyond the limits: %s", prose.Number(n), prose.Listed(out))
	}
	return text + "; " + trendText(c.Trend)
}

func trendText(t *season.Trend) string {
	const settled = 0.05
	if t == nil {
		return "no trend can be told."
	}
	told := fmt.Sprintf(" (times %s a month, %s).", prose.Ratio(t.Ratio), prose.RatioSpan(t.Low, t.High))
	switch {
	case t.P >= settled:
		return "no trend can be told" + told
	case t.Ratio > 1:
		return "it went up" + told
	}
	return "it went down" + told
}
