package web

import (
	"net/http"
	"strconv"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

type sessionPage struct {
	frame
	ID       string
	Version  int
	Who      string
	Where    string
	Facts    []fact
	Notes    string
	Stints   []stintPart
	Cautions []cautionView
	Columns  []string
	Counts   []countRow
	Counted  []string // of what count was kept
}

// stintPart is a stint as the session's page shows it.
type stintPart struct {
	Number       int
	Rig, RigHref string
	Facts        []fact
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
}

// session shows one session.
func (s *Server) session(w http.ResponseWriter, r *http.Request) error {
	session, err := s.sessionAt(r)
	if err != nil {
		return err
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	fr, err := s.frame(r, "sessions", prose.Day(session.Day))
	if err != nil {
		return err
	}
	p := sessionPage{frame: fr, ID: session.ID.String(), Version: session.Version, Facts: sessionFacts(session, k, fr.Units), Notes: session.Notes, Cautions: cautionsOf(session, fr.Units)}
	if p.Notice != "" {
		p.Notice += readBack(session, r.URL.Query()["read"])
	}
	p.Who, p.Where = k.who(session.AnglerID), k.where(session)
	var tallies []stintTally
	for i, st := range session.Stints {
		rig, _ := k.rig(st.RigID)
		tally, err := journal.TallyStint(rig, st)
		if err != nil {
			return err
		}
		p.Stints, tallies = append(p.Stints, newStintPart(i+1, st, rig, fr.Units)), append(tallies, stintTally{tally.Stint, st.Recorded})
	}
	p.Columns, p.Counts = countTable(tallies)
	p.Counted = countedLines(session.Stints)
	return s.render(w, http.StatusOK, "session", p)
}

func (k known) who(id journal.ID) string {
	for _, a := range k.anglers {
		if a.ID == id {
			return a.Name
		}
	}
	return ""
}

func (k known) where(s journal.Session) string {
	w, _ := k.water(s.WaterID)
	for _, b := range w.Beats {
		if s.BeatID != nil && *s.BeatID == b.ID {
			return w.Name + ", " + b.Name
		}
	}
	return w.Name
}

// sessionFacts lists what was noted of a session and nothing else.
func sessionFacts(s journal.Session, k known, sys units.System) []fact {
	var facts []fact
	add := func(name, value string) {
		if value != "" {
			facts = append(facts, fact{name, value})
		}
	}
	gauge := map[string]string{}
	for _, c := range s.FromGauge {
		gauge[c] = " (from the gauge)"
	}
	measured := func(name, key, value string) {
		if value != "" {
			add(name, value+gauge[key])
		}
	}
	add("Time", prose.Clock(s))
	if s.GuideID != nil {
		add("Guided by", k.who(*s.GuideID))
	}
	measured("Water temperature", "water_temp_c", shown(s.WaterTempC, in(units.FormatTemperature, sys)))
	measured("Flow", "flow_m3s", shown(s.FlowM3S, in(units.FormatFlow, sys)))
	measured("Stage", "stage_m", shown(s.StageM, in(units.FormatDepth, sys)))
	add("Depth", shown(s.DepthM, in(units.FormatDepth, sys)))
	add("Speed of the water", shown(s.VelocityMS, in(units.FormatSpeed, sys)))
	if s.Storm {
		add("Storm", "Thunder or lightning noted")
	}
	add("Clarity", prose.Capital(string(s.Clarity)))
	add("Wind", prose.Capital(string(s.Wind)))
	add("Light", prose.Capital(string(s.Light)))
	loc, err := time.LoadLocation(s.TimeZone)
	if err == nil {
		logged := s.LoggedAt.In(loc)
		note := logged.Format("2 January 2006 15:04")
		if late(s, loc) {
			note += ", more than a day after the session"
		}
		add("Logged", note)
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
	add := func(name, value string) {
		if value != "" {
			v.Facts = append(v.Facts, fact{name, value})
		}
	}
	minutes := "not noted"
	if st.Minutes != nil {
		minutes = units.FormatDuration(*st.Minutes)
	}
	add("Fished", minutes)
	add("Casts", shown(st.Casts, strconv.Itoa))
	add("Stroke", prose.Capital(string(st.Stroke)))
	for _, p := range st.Positions {
		name := prose.Position(p.Position)
		add(name+", tag at the start", shown(p.TagStartMM, in(units.FormatLength, sys)))
		add(name+", tag at the end", shown(p.TagEndMM, in(units.FormatLength, sys)))
		add(name+", fly", p.Fly)
	}
	for _, e := range st.Events {
		v.Events = append(v.Events, eventLine{eventIcon(e), prose.Event(e, sys)})
	}
	return v
}

// counted are the tallies in the order in which the table shows them.
var counted = []struct {
	count journal.Count
	name  string
	part  bool // of the one above
	icon  string
}{
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
// count was kept.
func countTable(tallies []stintTally) (columns []string, rows []countRow) {
	columns = []string{"Session"}
	for i := range tallies {
		if len(tallies) > 1 {
			columns = append(columns, "Stint "+strconv.Itoa(i+1))
		}
	}
	for _, c := range counted {
		row := countRow{Name: c.name, Icon: c.icon, Part: c.part, Cells: []string{""}}
		var sum journal.Total
		for _, t := range tallies {
			var of journal.Total
			of.Add(t.Int(c.count), t.recorded.Has(c.count.Kinds()...))
			sum.Add(of.N, of.Whole())
			if len(tallies) > 1 {
				row.Cells = append(row.Cells, prose.TotalCell(of))
			}
		}
		row.Cells[0] = prose.TotalCell(sum)
		if sum.N > 0 || c.count == journal.CountHookups || c.count == journal.CountTangles || !c.part && !sum.Whole() {
			rows = append(rows, row)
		}
	}
	return columns, rows
}
