package logging

import (
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/drawing"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// eventIcon names the drawing of an event.
func eventIcon(e journal.Event) string {
	switch {
	case e.Kind == journal.EventHookup && e.Hooking == journal.Foul:
		return "foul"
	case e.Kind == journal.EventHookup && e.Ending == journal.Lost:
		return "lost"
	case e.Ending == journal.BrokeOff:
		return "broke-off"
	case e.Kind == journal.EventHookup:
		return "landed"
	case e.Kind == journal.EventSnag:
		return "snag"
	case e.Kind == journal.EventCheck:
		return "check"
	case e.Kind == journal.EventFlyChange:
		return "fly-change"
	case e.Kind == journal.EventRetie:
		return "re-tie"
	}
	switch e.TangleKind {
	case journal.Twist:
		return "twist"
	case journal.WindKnot:
		return "wind-knot"
	case journal.Nest:
		return "nest"
	}
	return "tangle"
}

type sessionPage struct {
	page.Frame
	Session  journal.Session
	Angler   string
	Where    string
	Facts    page.Facts
	Stints   []stintPart
	Cautions []cautionView
	Columns  []string
	Counts   []countRow
	Counted  []string // of what count was kept
	PaidBack string   // what it tells beside earlier ones
	Steps    []stintSteps
	Undo     *undoStep
	Line     template.HTML // what happened along its minutes; "" where these are not known
	Timeless []string      // what happened at no minute that is known
	History  []historyLine // who did what to it, the latest first
	River    *riverPart    // what gauges tell; nil where its water has none
}

// stintSteps are the counts of one of several stints.
type stintSteps struct {
	Title string
	Rows  []stepRow
}

// stintPart is a stint as the session's page shows it.
type stintPart struct {
	Number       int
	Rig, RigHref string
	Facts        page.Facts
	Notes        string
	Events       []eventLine
}

// eventLine is something that happened, with its icon.
type eventLine struct{ Icon, Text string }

// countRow is a row of the table of counts: one cell for each stint, and the sum.
type countRow struct {
	Name  string
	Icon  string
	Part  bool // of the row above
	Cells []string
	Step  *stepRow // where the session's count can be stepped

	InStints string // in which of several stints it was, where there is no room for their cells
}

// session shows one session.
func (s *Pages) session(w http.ResponseWriter, r *http.Request, fr page.Frame, session journal.Session) error {
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	fills, err := s.Store.Fills(r.Context(), session.ID)
	if err != nil {
		return err
	}
	p := sessionPage{Frame: fr, Session: session, Angler: k.who(session.AnglerID), Where: k.where(session), Facts: sessionFacts(session, k, fr.Units), Counted: countedLines(session.Stints), Cautions: cautionsOf(session, fills[session.ID], fr.Units)}
	water, _ := k.water(session.WaterID)
	if p.River, err = s.river(r.Context(), fr, session, water, fills[session.ID]); err != nil {
		return err
	}
	if p.Notice != "" {
		p.Notice += readBack(session, r.URL.Query()["read"])
		if took := prose.Took(fills[session.ID], fr.Units); took != "" && r.URL.Query().Get("done") != "river-cleared" {
			p.Notice += " " + took
		}
	}
	history, err := s.Store.SessionHistory(r.Context(), session.ID)
	if err != nil {
		return err
	}
	p.Facts.Add("Logged by", loggedBy(history, fr.Who))
	p.History = historyLines(history, session.TimeZone, fr.Who)
	var tallies []stintTally
	var usual []prose.Usual
	for i, st := range session.Stints {
		rig, _ := k.rig(st.RigID)
		tally, err := journal.TallyStint(rig, st)
		if err != nil {
			return err
		}
		p.Stints, tallies = append(p.Stints, newStintPart(i+1, st, rig, fr.Units)), append(tallies, stintTally{tally.Stint, st.Recorded})
		p.Steps = append(p.Steps, stintSteps{fmt.Sprintf("Stint %d: %s", i+1, rig.Title()), stepRows(i, st, tally.Stint)})
		before, err := s.Store.FishedWith(r.Context(), session.AnglerID, session.ID, session.Day, rig)
		if err != nil {
			return err
		}
		u := prose.Usual{Rig: rig, Minutes: st.Minutes, Before: before}
		u.Tangles.Add(tally.Stint.Int(journal.CountTangles), st.Recorded.Has(journal.KindTangles))
		usual = append(usual, u)
	}
	if p.Line = template.HTML(drawing.Session(session, "line")); p.Line != "" { // the package drawing escapes what people wrote
		for _, st := range session.Stints {
			for _, e := range st.Events {
				if e.Minute == nil {
					p.Timeless = append(p.Timeless, prose.Event(e, fr.Units))
				}
			}
		}
	}
	p.PaidBack, p.Undo = prose.PaidBack(usual, fr.Units), undoAskedOf(r.URL.Query().Get("undo"), session)
	var inTable []stepRow
	if len(p.Steps) == 1 {
		inTable, p.Steps = p.Steps[0].Rows, nil
	}
	p.Columns, p.Counts = countTable(tallies, inTable)
	return s.Render(w, http.StatusOK, "session", p)
}

// sessionFacts lists what was noted of a session and nothing else.
func sessionFacts(s journal.Session, k known, sys units.System) page.Facts {
	var facts page.Facts
	facts.Add("Time", prose.Clock(s))
	if s.GuideID != nil {
		facts.Add("Guided by", k.who(*s.GuideID))
	}
	for _, x := range form.Less(journal.SessionFields(), "session_notes") {
		value := x.Show(&s, sys)
		switch {
		case value == "":
		case x.Kind == field.Truth:
			facts.Add("Storm", "Thunder or lightning noted")
		case slices.Contains(s.FromGauge, x.Name()):
			facts.Add(x.Label, value+" (from the gauge)")
		case x.Kind == field.Chosen:
			facts.Add(x.Label, prose.Capital(value))
		default:
			facts.Add(x.Label, value)
		}
	}
	loc, err := time.LoadLocation(s.TimeZone)
	if err == nil {
		logged := s.LoggedAt.In(loc)
		note := logged.Format("2 January 2006 15:04")
		if late(s, loc) {
			note += ", more than a day after the session"
		}
		facts.Add("Logged", note)
	}
	return facts
}

// late reports whether a session was written down more than a day after it, when
// memory has begun to round.
func late(s journal.Session, loc *time.Location) bool {
	end := s.Day.In(loc).AddDate(0, 0, 1)
	if s.End != nil {
		end = *s.End
	}
	return s.LoggedAt.Sub(end) > 24*time.Hour
}

func newStintPart(number int, st journal.Stint, rig journal.Rig, sys units.System) stintPart {
	v := stintPart{Number: number, Rig: rig.Title(), RigHref: "/rigs/" + rig.ID.String(), Notes: st.Notes}
	minutes := "not noted"
	if st.Minutes != nil {
		minutes = units.FormatDuration(*st.Minutes)
	}
	v.Facts.Add("Fished", minutes)
	for _, x := range form.Less(journal.StintFields(), "minutes", "notes") {
		v.Facts.Add(x.Label, prose.Capital(x.Show(&st, sys)))
	}
	for _, p := range st.Positions {
		name := prose.Position(p.Position)
		v.Facts.Add(name+", tag at the start", form.Shown(p.TagStartMM, form.In(units.FormatLength, sys)))
		v.Facts.Add(name+", tag at the end", form.Shown(p.TagEndMM, form.In(units.FormatLength, sys)))
		v.Facts.Add(name+", fly", p.Fly)
	}
	for _, e := range st.Events {
		v.Events = append(v.Events, eventLine{eventIcon(e), prose.Event(e, sys)})
	}
	return v
}

// countedRow is a tally as the table names it.
type countedRow struct {
	count journal.Count
	name  string
	part  bool // of the one above
	icon  string
}

// counted are the tallies in the order in which the table shows them.
var counted = []countedRow{
	{journal.CountHookups, "Hookups", false, ""},
	{journal.CountFoul, "foul", true, "foul"},
	{journal.CountLanded, "landed", true, "landed"},
	{journal.CountLost, "lost", true, "lost"},
	{journal.CountBrokeOff, "broken off", true, "broke-off"},
	{journal.CountSnags, "Snags", false, "snag"},
	{journal.CountBrokeJunction, "Breaks at the junction", false, ""},
	{journal.CountBrokeTag, "Breaks in the tag", false, ""},
	{journal.CountTangles, "Tangles", false, "tangle"},
	{journal.CountTwists, "twists", true, "twist"},
	{journal.CountWindKnots, "wind knots", true, "wind-knot"},
	{journal.CountNests, "nests", true, "nest"},
	{journal.CountMinutesLost, "Minutes lost", false, ""},
	{journal.CountChecks, "Checks of the tag", false, "check"},
	{journal.CountTurns, "turns seen", true, ""},
	{journal.CountFlyChanges, "Fly changes", false, "fly-change"},
	{journal.CountReties, "Re-ties", false, "re-tie"},
}

// stintTally is what a stint counts, and of what count was kept.
type stintTally struct {
	journal.Counts
	recorded journal.Recorded
}

// countTable puts the counts of the stints side by side, their sum first. Rows
// of nothing but zeros are left out, hookups and tangles aside, and so are details of which no
// count was kept. Rows that can be stepped are always there.
func countTable(tallies []stintTally, steps []stepRow) (columns []string, rows []countRow) {
	columns = []string{"Session"}
	for i := range tallies {
		if len(tallies) > 1 {
			columns = append(columns, "Stint "+strconv.Itoa(i+1))
		}
	}
	for _, c := range counted {
		row := countRow{Name: c.name, Icon: c.icon, Part: c.part, Cells: []string{""}}
		var sum journal.Total
		var in []string
		for i, t := range tallies {
			var of journal.Total
			of.Add(t.Int(c.count), t.recorded.Has(c.count.Kinds()...))
			sum.Add(of.N, of.Whole())
			if len(tallies) > 1 {
				row.Cells = append(row.Cells, prose.TotalCell(of))
				if of.N > 0 || !of.Whole() {
					in = append(in, fmt.Sprintf("%s in\u00a0stint\u00a0%d", prose.TotalCell(of), i+1))
				}
			}
		}
		row.InStints = strings.Join(in, ", ")
		row.Cells[0] = prose.TotalCell(sum)
		if i := slices.IndexFunc(steps, func(s stepRow) bool { return s.Name == c.name }); i >= 0 {
			row.Step = &steps[i]
		}
		if sum.N > 0 || row.Step != nil || c.count == journal.CountHookups || c.count == journal.CountTangles || !c.part && !sum.Whole() {
			rows = append(rows, row)
		}
	}
	return columns, rows
}

// countedLines say of what count was kept in a session: one line when it is the
// same in all its stints, else one for each.
func countedLines(stints []journal.Stint) []string {
	var lines []string
	alike := true
	for i, st := range stints {
		alike = alike && st.Recorded == stints[0].Recorded
		lines = append(lines, fmt.Sprintf("Stint %d. %s", i+1, countedWords(st.Recorded)))
	}
	if alike && len(stints) > 0 {
		return []string{countedWords(stints[0].Recorded)}
	}
	return lines
}

// countedWords say of what count was kept in a stint.
func countedWords(r journal.Recorded) string {
	kept, missing := r.Kinds(), r.Missing()
	switch {
	case r.Assumed():
		return "Nobody said what was counted, so everything is assumed counted."
	case len(missing) == 0:
		return "Everything was counted."
	case len(kept) == 0:
		return "Nothing was counted."
	}
	return "Counted: " + kindList(kept) + ". Not counted: " + kindList(missing) + "."
}

func kindList(kinds []journal.Kind) string {
	titles := make([]string, len(kinds))
	for i, k := range kinds {
		titles[i] = k.Title()
	}
	return strings.Join(titles, ", ")
}
