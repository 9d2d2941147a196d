package analytics

import (
	"encoding/csv"
	"fmt"
	"io"
	"rigtally/journal"
	"strconv"
	"strings"
)

// WriteFigureCSV writes the numbers of one figure of a review, in full precision and
// in storage units: months, outcomes, rigs, or sessions- and an outcome's key. A cell
// is empty where a value does not exist.
func (a SeasonAnswer) WriteFigureCSV(w io.Writer, figure string) error {
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
func groupCSV(g *Group) []string {
	if g == nil {
		return make([]string, 5)
	}
	cells := []string{decimal(&g.Events), decimal(&g.Exposure), decimal(&g.Rate), "", ""}
	if g.HasInterval {
		cells[3], cells[4] = decimal(known(g.Low)), decimal(known(g.High))
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

func find(a RateAnswer, is func(Group) bool) *Group {
	for i := range a.Groups {
		if is(a.Groups[i]) {
			return &a.Groups[i]
		}
	}
	return nil
}

func (a SeasonAnswer) monthsCSV() [][]string {
	rows := [][]string{append([]string{"month", "sessions", "days", "hours"}, groupHead("hookups", "landed")...)}
	for _, m := range a.Months.List {
		is := func(g Group) bool { return g.Level[0].Number == float64(m.Month) }
		row := []string{strconv.Itoa(int(m.Month)), strconv.Itoa(m.Sessions), strconv.Itoa(m.Days), decimal(&m.Hours)}
		row = append(row, groupCSV(find(a.Months.Hookups, is))...)
		rows = append(rows, append(row, groupCSV(find(a.Months.Landed, is))...))
	}
	return rows
}

func (a SeasonAnswer) outcomesCSV() [][]string {
	rows := [][]string{{"outcome", "unit", "events", "exposure", "rate", "shrunk", "low", "high", "baseline", "p", "q", "standing"}}
	for _, o := range a.Outcomes {
		events, exposure := &o.Own.Events, &o.Own.Exposure
		if o.Kept == 0 {
			events, exposure = nil, nil
		}
		row := []string{o.Outcome.Key, o.Outcome.Unit(), decimal(events), decimal(exposure), "", decimal(o.Shrunk), decimal(o.Low), decimal(o.High), "", decimal(o.P), decimal(o.Q), string(o.Standing)}
		if o.Own.Exposure > 0 {
			row[4], row[8] = decimal(known(o.Own.Rate)), decimal(known(o.Baseline.Rate))
		}
		rows = append(rows, row)
	}
	return rows
}

func (a SeasonAnswer) rigsCSV() [][]string {
	rows := [][]string{append([]string{"rig", "stints", "sessions", "hours"}, groupHead("tangles", "hookups", "landed")...)}
	for _, r := range a.Rigs.List {
		is := func(g Group) bool { return g.Level[0].Word == r.Name }
		row := []string{r.Name, strconv.Itoa(r.Stints), strconv.Itoa(r.Sessions), decimal(&r.Hours)}
		for _, answer := range []RateAnswer{a.Rigs.Tangles, a.Rigs.Hookups, a.Rigs.Landed} {
			row = append(row, groupCSV(find(answer, is))...)
		}
		rows = append(rows, row)
	}
	return rows
}

func (a SeasonAnswer) sessionsCSV(outcome string) [][]string {
	for _, c := range a.Charts {
		if c.Outcome.Key != outcome {
			continue
		}
		rows := [][]string{{"day", "angler", "events", "exposure", "rate", "low", "high", "out"}}
		for _, p := range c.Points {
			rows = append(rows, []string{a.Day(p.Day), p.Angler, decimal(&p.Events), decimal(&p.Exposure), decimal(&p.Rate), decimal(&p.Low), decimal(&p.High), string(p.Out)})
		}
		return rows
	}
	return nil
}
