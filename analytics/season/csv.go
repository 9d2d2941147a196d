package season

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/journal"
)

// WriteFigureCSV writes the numbers of one figure of a review, in full precision and
// in storage units: months, outcomes, rigs, or sessions- and an outcome's key. A cell
// is empty where a value does not exist.
func (a Answer) WriteFigureCSV(w io.Writer, figure string) error {
	var rows [][]string
	switch figure {
	case "months":
		rows = a.monthsCSV()
	case "outcomes":
		rows = a.outcomesCSV()
	case "rigs":
		rows = a.rigsCSV()
	default:
		rows = a.sessionsCSV(strings.TrimPrefix(figure, "sessions-"))
	}
	if len(rows) == 0 {
		return journal.Invalidf("a season has no figure %q; there are months, outcomes, rigs, sessions-tangles and sessions-landed", figure)
	}
	if err := csv.NewWriter(w).WriteAll(rows); err != nil {
		return fmt.Errorf("write the numbers of %s: %w", figure, err)
	}
	return nil
}

// groupCSV are a group's events, exposure, rate and interval.
func groupCSV(g *analytics.Group) []string {
	if g == nil {
		return make([]string, 5)
	}
	cells := []string{answer.Decimal(&g.Events), answer.Decimal(&g.Exposure), answer.Decimal(&g.Rate), "", ""}
	if g.HasInterval {
		cells[3], cells[4] = answer.Decimal(answer.Known(g.Low)), answer.Decimal(answer.Known(g.High))
	}
	return cells
}

func groupHead(names ...string) []string {
	var head []string
	for _, n := range names {
		head = append(head, n, n+"_hours", n+"_per_hour", n+"_low", n+"_high")
	}
	return head
}

func find(a analytics.RateAnswer, is func(analytics.Group) bool) *analytics.Group {
	for i := range a.Groups {
		if is(a.Groups[i]) {
			return &a.Groups[i]
		}
	}
	return nil
}

func (a Answer) monthsCSV() [][]string {
	rows := [][]string{append([]string{"month", "sessions", "days", "hours"}, groupHead("hookups", "landed")...)}
	for _, m := range a.Months.List {
		is := func(g analytics.Group) bool { return g.Level[0].Number == float64(m.Month) }
		row := []string{strconv.Itoa(int(m.Month)), strconv.Itoa(m.Sessions), strconv.Itoa(m.Days), answer.Decimal(&m.Hours)}
		row = append(row, groupCSV(find(a.Months.Hookups, is))...)
		rows = append(rows, append(row, groupCSV(find(a.Months.Landed, is))...))
	}
	return rows
}

func (a Answer) outcomesCSV() [][]string {
	rows := [][]string{{"outcome", "unit", "events", "exposure", "rate", "shrunk", "low", "high", "baseline", "p", "q", "standing"}}
	for _, o := range a.Outcomes {
		events, exposure := &o.Own.Events, &o.Own.Exposure
		if o.Kept == 0 {
			events, exposure = nil, nil
		}
		row := []string{o.Outcome.Key, o.Outcome.Unit(), answer.Decimal(events), answer.Decimal(exposure), "", answer.Decimal(o.Shrunk), answer.Decimal(o.Low), answer.Decimal(o.High), "", answer.Decimal(o.P), answer.Decimal(o.Q), string(o.Standing)}
		if o.Own.Exposure > 0 {
			row[4], row[8] = answer.Decimal(answer.Known(o.Own.Rate)), answer.Decimal(answer.Known(o.Baseline.Rate))
		}
		rows = append(rows, row)
	}
	return rows
}

func (a Answer) rigsCSV() [][]string {
	rows := [][]string{append([]string{"rig", "stints", "sessions", "hours"}, groupHead("tangles", "hookups", "landed")...)}
	for _, r := range a.Rigs.List {
		is := func(g analytics.Group) bool { return g.Level[0].Word == r.Name }
		row := []string{r.Name, strconv.Itoa(r.Stints), strconv.Itoa(r.Sessions), answer.Decimal(&r.Hours)}
		for _, answer := range []analytics.RateAnswer{a.Rigs.Tangles, a.Rigs.Hookups, a.Rigs.Landed} {
			row = append(row, groupCSV(find(answer, is))...)
		}
		rows = append(rows, row)
	}
	return rows
}

func (a Answer) sessionsCSV(outcome string) [][]string {
	for _, c := range a.Charts {
		if c.Outcome.Key != outcome {
			continue
		}
		rows := [][]string{{"day", "angler", "events", "exposure", "rate", "low", "high", "out"}}
		for _, p := range c.Points {
			rows = append(rows, []string{a.Day(p.Day), p.Angler, answer.Decimal(&p.Events), answer.Decimal(&p.Exposure), answer.Decimal(&p.Rate), answer.Decimal(&p.Low), answer.Decimal(&p.High), string(p.Out)})
		}
		return rows
	}
	return nil
}
