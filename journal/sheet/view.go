package sheet

import (
	"cmp"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
)

// view is what a spreadsheet tells of a session, for comparing.
type view struct {
	head   string
	stints []string
}

// viewer shows sessions as far as the columns of a sheet tell of them.
type viewer struct {
	names          *exchange.Names
	outing, stints []*exchange.Column
	tells          map[string]bool // columns that the sheet has, by key
	system         units.System    // in which values are told
}

func (s *Sheet) viewer(n *exchange.Names) *viewer {
	v := &viewer{names: n, tells: map[string]bool{}, system: cmp.Or(s.options.Units, s.Units(), units.Metric)}
	for _, c := range exchange.FlatColumns() {
		v.tells[c.Key] = s.has(c.Key)
		switch {
		// Labels and numbers of the file need not be the journal's.
		case c.Key == "session" || c.Key == "stint" || c.Key == "rig":
		case c.Key != "position" && !s.has(c.Key):
		case c.About == exchange.OfOuting:
			v.outing = append(v.outing, c)
		default:
			v.stints = append(v.stints, c)
		}
	}
	return v
}

func (v *viewer) view(session journal.Session) view {
	rows := v.names.Flatten(session)
	out := view{stints: make([]string, len(session.Stints))}
	for i, r := range rows {
		if i == 0 {
			out.head = joined(v.outing, r)
		}
		out.stints[*r.Stint-1] += joined(v.stints, r) + "\n"
	}
	return out
}

func joined(columns []*exchange.Column, r *exchange.Row) string {
	var b strings.Builder
	for _, c := range columns {
		b.WriteString(c.Cell(r))
		b.WriteByte(0)
	}
	return b.String()
}

// without returns the places of the stints that other does not have.
func (v view) without(other view) []int {
	count := map[string]int{}
	for _, st := range other.stints {
		count[st]++
	}
	var missing []int
	for i, st := range v.stints {
		if count[st] == 0 {
			missing = append(missing, i)
			continue
		}
		count[st]--
	}
	return missing
}
