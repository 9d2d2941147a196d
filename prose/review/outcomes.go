package review

import (
	"fmt"
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
	s := Section{Key: "outcomes", Title: fmt.Sprintf("Beside the outfit in %d", w.a.Year)}
	compared := "anglers"
	if w.outfit() {
		s.Title, compared = "Beside all seasons", "seasons"
	}
	of := map[season.Standard][]string{}
	most := 0
	table := Table{Caption: "Every outcome", Words: 2, Head: []string{"Outcome", "Verdict", "Drawn to the baseline", "95% interval", prose.Capital(w.baseline()), "q", "As counted", "Events", "Of"}}
	for _, o := range w.a.Outcomes {
		of[o.Standing] = append(of[o.Standing], prose.Lower(prose.Measure(o.Outcome)))
		most = max(most, o.Units)
		table.Rows = append(table.Rows, outcomeRow(o))
	}
	s.Tables = []Table{table}
	if most < 2 {
		s.Text = []string{fmt.Sprintf("Nothing to compare it with yet: %s is the only one of the %s noted. The table has what was counted.", w.subject(), compared)}
		return s
	}
	s.Text = []string{w.standing(of)}
	s.Text = append(s.Text, fmt.Sprintf("Each rate is drawn toward that of %s: the fewer the counts behind it, the further, so that a lucky week is not taken for skill. Better and worse say what was counted, not why: who fished which water, and how long they have been at it, is in the number too.", w.together()))
	if w.clearButOpen() {
		s.Text = append(s.Text, fmt.Sprintf("An interval that stays clear of 1 is not enough by itself: %s outcomes were tested at once, and of that many alike ones an interval misses 1 now and then.", prose.Number(w.a.Compared)))
	}
	s.Figures = []Figure{{"outcomes", fmt.Sprintf("Times the rate of %s, with 95%% intervals", w.together()), "Chart of every outcome as a ratio to the baseline with its 95% interval; the table below has the same numbers."}}
	return s
}

// clearButOpen reports whether an interval leaves the baseline out and the verdict
// does not.
func (w reviewer) clearButOpen() bool {
	return slices.ContainsFunc(w.a.Outcomes, func(o season.Outcome) bool {
		return o.Standing == season.NotApart && o.Shrunk != nil && o.Low != nil && o.High != nil && (*o.Low > o.Baseline.Rate || *o.High < o.Baseline.Rate)
	})
}

func (w reviewer) subject() string {
	if w.outfit() {
		return fmt.Sprint(w.a.Year)
	}
	return w.who()
}

func (w reviewer) together() string {
	if w.outfit() {
		return "all seasons together"
	}
	return "the whole outfit in that season"
}

// standing sums up the verdicts.
func (w reviewer) standing(of map[season.Standard][]string) string {
	var parts []string
	for _, v := range []season.Standard{season.Better, season.Worse} {
		if list := of[v]; len(list) > 0 {
			parts = append(parts, fmt.Sprintf("%s in %s: %s", v, prose.Number(len(list)), prose.Listed(list)))
		}
	}
	same := len(of[season.NotApart])
	if len(parts) == 0 {
		return fmt.Sprintf("Can’t tell any of the %s outcomes from those of %s.", prose.Number(same), w.together())
	}
	text := fmt.Sprintf("Compared with %s, %s is %s.", w.together(), w.subject(), strings.Join(parts, ", and "))
	if same > 0 {
		text += fmt.Sprintf(" Can’t tell the other %s from it.", prose.Number(same))
	}
	return text
}

func outcomeRow(o season.Outcome) []string {
	unit := o.Outcome.Exposure
	if o.Kept == 0 {
		return []string{prose.Measure(o.Outcome), prose.NotRecorded, "", "", "", "", "", prose.NotRecorded, ""}
	}
	if o.Own.Exposure == 0 {
		return []string{prose.Measure(o.Outcome), string(o.Standing), "?", "?", "?", "", "?", "0", "0 " + unit}
	}
	shrunk, interval, q := "–", "?", ""
	if o.Shrunk != nil {
		shrunk = plainRate(o.Outcome, *o.Shrunk)
	}
	if o.Low != nil && o.High != nil {
		interval = plainInterval(o.Outcome, *o.Low, *o.High)
	}
	if o.Q != nil {
		q = prose.PValue(*o.Q)
	}
	return []string{prose.Measure(o.Outcome), string(o.Standing), shrunk, interval, plainRate(o.Outcome, o.Baseline.Rate), q,
		plainRate(o.Outcome, o.Own.Rate), prose.Count(o.Own.Events), prose.Tenths(o.Own.Exposure) + " " + unit}
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

// MostRigs is how many rigs a review lists and draws one by one.
const MostRigs = 10

// rigs says how each rig did.
func (w reviewer) rigs() Section {
	s := Section{Key: "rigs", Title: "The rigs, and how each did"}
	r := w.a.Rigs
	if len(r.List) == 0 {
		return s
	}
	table := Table{Caption: "Rigs, the most fished first", Words: 2, Head: []string{"Rig", "How it is tied", "Hours", "Hooked an hour", "Landed an hour", "Tangles an hour", "95% interval"}}
	hooked, landed, tangles := byLevel(r.Hookups), byLevel(r.Landed), byLevel(r.Tangles)
	rest, restHours := 0, 0.0
	for i, x := range r.List {
		if i >= MostRigs && len(r.List) > MostRigs+1 {
			rest++
			restHours += x.Hours
			continue
		}
		at := journal.Level{Word: x.Name}
		table.Rows = append(table.Rows, []string{x.Name, w.tied(x.Rig), prose.Tenths(x.Hours), rateOnly(hooked[at], x.Hookups), rateOnly(landed[at], x.Landed), rateOnly(tangles[at], x.Tangles), intervalOnly(tangles[at])})
	}
	if rest > 0 {
		table.Rows = append(table.Rows, []string{fmt.Sprintf("%d others", rest), "", prose.Tenths(restHours), "", "", "", ""})
	}
	s.Tables = []Table{table}
	s.Text = w.rigText()
	if len(r.Tangles.Groups) > 0 {
		s.Figures = []Figure{{"rigs", "Tangles and fish landed per hour with each rig, with 95% intervals", "Chart of tangles and of fish landed per hour with each of the rigs fished most, with 95% intervals; the table below has the numbers of all rigs."}}
	}
	return s
}

func (w reviewer) rigText() []string {
	r := w.a.Rigs
	if len(r.List) == 1 {
		return []string{fmt.Sprintf("One rig was fished all season, %s, so there is none to compare it with.", r.List[0].Name)}
	}
	most := fmt.Sprintf("%s rigs were fished, %s the most (%s of %s).", prose.Capital(prose.Number(len(r.List))), r.List[0].Name, prose.FishedHours(r.List[0].Hours), prose.FishedHours(w.a.Totals.Hours))
	return []string{most, "These are the rigs as they were fished, with who fished them and where still in the numbers, so there is no verdict on them; what they have in common (junction, length of the tag) says more, and comes below."}
}

func rateOnly(g *analytics.Group, all journal.Total) string {
	switch {
	case g != nil:
		return plain(g.Rate)
	case all.Kept == 0:
		return prose.NotRecorded
	}
	return "?"
}

func intervalOnly(g *analytics.Group) string {
	if g == nil || !g.HasInterval {
		return "?"
	}
	return plainSpan(g.Low, g.High)
}

// charts says what the season shows session by session.
func (w reviewer) charts() Section {
	s := Section{Key: "sessions", Title: "Session by session"}
	out := Table{Caption: "Sessions beyond the limits", Words: 2, Head: []string{"Day", "Of what", "Events", "Of", "Rate", "Limits"}}
	if !w.oneAngler() {
		out.Words, out.Head = 3, append([]string{"Day", "Angler"}, out.Head[1:]...)
	}
	for _, c := range w.a.Charts {
		s.Text = append(s.Text, w.chart(c))
		s.Figures = append(s.Figures, Figure{"sessions-" + c.Outcome.Key, fmt.Sprintf("%s in each session, in the order fished, with limits", prose.Measure(c.Outcome)),
			fmt.Sprintf("Control chart of %s by session. %s", prose.Lower(prose.Measure(c.Outcome)), w.chart(c))})
		for _, p := range c.Points {
			if p.Out != season.WithinLimits {
				row := []string{w.day(p.Day), prose.Lower(prose.Measure(c.Outcome)), prose.Count(p.Events), prose.Tenths(p.Exposure) + " " + c.Outcome.Exposure, plain(p.Rate), plainSpan(p.Low, p.High)}
				if !w.oneAngler() {
					row = append([]string{row[0], p.Angler}, row[1:]...)
				}
				out.Rows = append(out.Rows, row)
			}
		}
	}
	if len(s.Figures) == 0 {
		if w.a.Totals.Sessions > 0 {
			s.Text = []string{"A chart over time needs at least two sessions with their minutes noted."}
		}
		return s
	}
	if len(out.Rows) > 0 {
		s.Tables = []Table{out}
		s.After = []string{"A session beyond the limits is not a mistake or a triumph; it is a day worth asking about: the water, the weather, what was tied on."}
	}
	return s
}

func (w reviewer) oneAngler() bool { return !w.outfit() || len(w.a.People) < 2 }

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
	text := fmt.Sprintf("%s: %s around %s.", what, prose.Several(len(c.Points), "session"), plain(c.Centre))
	switch len(out) {
	case 0:
		text += " None is beyond the limits, so no single day stands out from the others."
	case 1:
		text += " One is beyond the limits: " + out[0] + "."
	default:
		text += fmt.Sprintf(" %s are beyond the limits: %s.", prose.Capital(prose.Number(len(out))), prose.Listed(out))
	}
	return text + trendText(c.Trend)
}

func trendText(t *season.Trend) string {
	const settled = 0.05
	switch {
	case t == nil:
		return " Can’t tell whether it went up or down over the season."
	case t.P >= settled:
		return fmt.Sprintf(" Can’t tell a trend over the season (times %s a month, %s).", prose.Ratio(t.Ratio), prose.RatioSpan(t.Low, t.High))
	case t.Ratio > 1:
		return fmt.Sprintf(" It went up over the season: times %s a month (%s).", prose.Ratio(t.Ratio), prose.RatioSpan(t.Low, t.High))
	}
	return fmt.Sprintf(" It went down over the season: times %s a month (%s).", prose.Ratio(t.Ratio), prose.RatioSpan(t.Low, t.High))
}
