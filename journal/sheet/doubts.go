package sheet

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"time"

	"rigtally/journal"
	"rigtally/journal/exchange"
)

// aheadOfUTC is how much the calendar of some place may be ahead of that of UTC.
const aheadOfUTC = 14 * time.Hour

var doubtPath = regexp.MustCompile(`^stints\[(\d+)\]\.(?:positions\[\d+\]\.)?(\w+)$`)

// doubt refuses the rows of a session that are likelier a slip than the truth,
// unless they are to be taken as they stand.
func (s *Sheet) doubt(o *outing) {
	session := journal.Session{Day: o.rows[0].Day, TimeZone: "UTC", Stints: make([]journal.Stint, len(o.stints))}
	rigs := make(map[journal.ID]journal.Rig, len(o.stints))
	for i, st := range o.stints {
		if slices.ContainsFunc(st.rows, func(r *row) bool { return r.bad }) {
			continue // which is kept out anyway
		}
		st.rig = st.makeRig()
		st.tied = tyingKey(st.rig)
		id := journal.ID{byte(i), byte(i >> 8), 1}
		session.Stints[i] = st.stint(id, session.Day, session.TimeZone)
		rig := st.rig
		session.Stints[i].RigID, rig.ID = id, id
		rigs[id] = rig
	}
	for _, d := range session.Doubts(rigs, s.options.now().Add(aheadOfUTC)) {
		if at := doubtPath.FindStringSubmatch(d.Field); at != nil {
			i, _ := strconv.Atoi(at[1]) // digits, of a stint that was given
			s.doubtCell(o.stints[i].rowOf(d.Position), doubtfulField(at[2], o.stints[i]), d.Says)
			continue
		}
		for _, st := range o.stints { // the day, which every stint has
			s.doubtCell(st.rows[0], "date", d.Says)
		}
	}
}

// doubtfulField is the field of a row that tells of a session's field.
func doubtfulField(name string, st *stintRows) string {
	switch name {
	case "rig_id":
		return "tag_length"
	case "tag_start_mm":
		return "tag_start"
	case "tag_end_mm":
		return "tag_end"
	case "events":
		return "tangles"
	}
	if st.head.Fished.Minutes == nil {
		return "end"
	}
	return "minutes"
}

// rowOf returns the row of a position; without one, that with the most tangles.
func (st *stintRows) rowOf(position *int) *row {
	best := st.rows[0]
	for _, r := range st.rows {
		if position != nil && r.Place == exchange.PlaceOf(*position) {
			return r
		}
		if r.Tally.N(exchange.CountTangles) > best.Tally.N(exchange.CountTangles) {
			best = r
		}
	}
	return best
}

func (s *Sheet) doubtCell(r *row, key, says string) {
	if !s.options.Accept {
		s.bad(r, "", "", &problem{field: key, what: "is likelier a slip: " + says, remedy: "correct it, or say --accept if it is so"})
		return
	}
	b := BadCell{Row: r.number, Problem: says}
	b.Column, b.Value = s.cellOf(r, key)
	s.Accepted = append(s.Accepted, b)
}

// sayAccepted tells of what was taken as it stands.
func (s *Sheet) sayAccepted() []string {
	list := make([]string, len(s.Accepted))
	for i, a := range s.Accepted {
		list[i] = fmt.Sprintf("Accepted as it stands: row %d, %s: “%s”, though %s.", a.Row, a.Column, shown(a.Value), a.Problem)
	}
	return list
}
