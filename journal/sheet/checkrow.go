package sheet

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/journal"
	"rigtally/journal/exchange"
)

// checkRow checks what the cells of a row say together.
func (s *Sheet) checkRow(r *row) {
	r.Angler, r.Water = cmp.Or(r.Angler, s.options.Angler), cmp.Or(r.Water, s.options.Water)
	if r.bad {
		return // further messages could follow from the first
	}
	for _, needed := range []struct {
		key     string
		missing bool
		remedy  string
	}{
		{"date", r.Day.IsZero(), "write the day, as in 2025-04-30"},
		{"angler", r.Angler == "", "write who fished"},
		{"water", r.Water == "", "write which water was fished"},
	} {
		if needed.missing {
			s.bad(r, "", "", &problem{field: needed.key, what: "is missing", remedy: needed.remedy})
		}
	}
	if r.End != nil && r.Start == nil {
		s.bad(r, "", "", &problem{field: "end", what: "is an end without a start", remedy: "write the start too"})
	}
	if err := s.checkPlace(r); err != nil {
		s.bad(r, "", "", err)
	}
	if !r.bad {
		if err := s.checkClock(r); err != nil {
			s.bad(r, "", "", err)
		}
	}
	if r.bad {
		return
	}
	for of, n := range r.Uncounted {
		r.Tally[of] = &n
	}
	if _, err := r.events(); err != nil {
		s.bad(r, "", "", err)
	}
}

// checkPlace settles which fly of the rig a row is about and how that hangs.
func (s *Sheet) checkPlace(r *row) error {
	if _, c := s.findIn(r.of, "position"); c == nil {
		r.Place = exchange.PlaceDropper
	}
	f := r.Fly
	tagged := f.Junction != "" || f.Facing != "" || f.Prop != "" || f.TagLengthMM != nil || *r.Tag != journal.StintPosition{}
	switch {
	case r.Place < exchange.PlacePoint:
		r.Place = exchange.PlaceRig
		if r.construction() {
			return &problem{field: "position", what: "names no fly, but the row says how one is tied", remedy: "write the fly's position: point, or 1 for dropper 1"}
		}
		return nil
	case r.Place == exchange.PlacePoint && (tagged || f.Hang != ""):
		return &problem{field: "position", what: "is the end of the leader, which has no hang, junction or tag", remedy: "leave those cells empty, or write the dropper's number"}
	case r.Place == exchange.PlacePoint:
	case f.Hang == "":
		f.Hang = journal.HangTag
	case f.Hang != journal.HangTag && tagged:
		return &problem{field: "hang", what: "is not a tag, so it has no junction, facing, prop or tag length", remedy: "leave those cells empty, or write tag"}
	}
	return nil
}

// rigTitle is a rig's name with its revision, as journal.Rig.Title writes it.
var rigTitle = regexp.MustCompile(`^(.*\S)\s*\(revision (\d{1,6})\)$`)

// rigName parts the name of a rig from its revision, 0 when none is given.
func rigName(s string) (name string, revision int) {
	if m := rigTitle.FindStringSubmatch(strings.TrimSpace(s)); m != nil {
		return m[1], atoi(m[2])
	}
	return strings.TrimSpace(s), 0
}

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
		st.rig, st.tied = s.sharedRig(st.makeRig())
		id := journal.ID{byte(i), byte(i >> 8), 1}
		session.Stints[i] = st.stint(id, session.Day, session.TimeZone)
		rig := *st.rig
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
		if r.Tally.N(journal.CountTangles) > best.Tally.N(journal.CountTangles) {
			best = r
		}
	}
	return best
}

func (s *Sheet) doubtCell(r *row, key, says string) {
	if !s.options.Accept {
		s.bad(r, "", "", &problem{field: key, what: "looks like a slip: " + says, remedy: "correct it, or say --accept if it is right"})
		return
	}
	b := BadCell{Sheet: r.of.name, Row: r.number, Problem: says, row: r}
	b.Column, b.Value = s.cellOf(r, key)
	s.Accepted = append(s.Accepted, b)
}

// sayAccepted tells of what was taken as it stands.
func (s *Sheet) sayAccepted() []string {
	list := make([]string, len(s.Accepted))
	for i, a := range s.Accepted {
		list[i] = fmt.Sprintf("Accepted as it is: %s, %s: “%s”, though %s.", atRow(a.Sheet, a.Row), a.Column, shown(a.Value), a.Problem)
	}
	return list
}
