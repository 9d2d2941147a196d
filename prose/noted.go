package prose

import (
	"fmt"
	"rigtally/internal/units"
	"rigtally/journal"
	"strconv"
	"strings"
	"time"
)

// Day writes a day for reading: "Thu 30 April 2026".
func Day(d journal.Date) string { return d.In(time.UTC).Format("Mon 2 January 2006") }

// Clock writes a session's times on the water's own clock: "08:30–11:00".
func Clock(s journal.Session) string {
	loc, err := time.LoadLocation(s.TimeZone)
	if err != nil || s.Start == nil {
		return ""
	}
	start := s.Start.In(loc).Format("15:04")
	if s.End == nil {
		return "from " + start
	}
	text := start + "–" + s.End.In(loc).Format("15:04")
	if journal.DateOf(s.End.In(loc)) != s.Day {
		text += " the next day"
	}
	return text
}

// Position names a place on the rig at the head of a column: "Dropper 1".
func Position(position int) string {
	return Capital(strings.TrimPrefix(journal.PositionTitle(position), "the "))
}

// Rig names a rig with what tells it apart: "Blood 165: blood, 6 1/2 in".
func Rig(rig journal.Rig, sys units.System) string {
	var droppers []string
	for _, p := range rig.Droppers() {
		droppers = append(droppers, Hang(p, sys))
	}
	if len(droppers) == 0 {
		return rig.Title()
	}
	return rig.Title() + ": " + strings.Join(droppers, "; ")
}

// Hang says how a dropper hangs: "blood, 6 1/2 in, down".
func Hang(p journal.RigPosition, sys units.System) string {
	if p.Hang != journal.HangTag {
		return "in line at the " + string(p.Hang)
	}
	parts := []string{Junction(p)}
	if p.TagLengthMM != nil {
		parts = append(parts, units.FormatLength(*p.TagLengthMM, sys))
	}
	if p.Facing != "" {
		parts = append(parts, string(p.Facing))
	}
	return strings.Join(parts, ", ")
}

// Junction names a junction by the user's own name where it has one.
func Junction(p journal.RigPosition) string {
	switch {
	case p.JunctionName != "":
		return p.JunctionName
	case p.Junction != "":
		return string(p.Junction)
	}
	return "tag"
}

// Event says what happened in one line: "2 × twist, on dropper 1, minute 40".
func Event(e journal.Event, sys units.System) string {
	parts := []string{Capital(EventKind(e))}
	if e.Count > 1 {
		parts[0] = fmt.Sprintf("%d × %s", e.Count, EventKind(e))
	}
	if e.Position != nil {
		parts = append(parts, "on "+journal.PositionTitle(*e.Position))
	}
	if e.Minute != nil {
		parts = append(parts, fmt.Sprintf("minute %d", *e.Minute))
	}
	fish := e.Species
	if e.FishLengthMM != nil {
		fish += " " + units.FormatLength(*e.FishLengthMM, sys)
	}
	if fish = strings.TrimSpace(fish); fish != "" {
		parts = append(parts, fish)
	}
	switch {
	case e.CutMM == nil:
	case *e.CutMM == 0:
		parts = append(parts, "no tag cut")
	default:
		parts = append(parts, units.FormatLength(*e.CutMM, sys)+" cut")
	}
	if e.MinutesLost != nil {
		parts = append(parts, fmt.Sprintf("%d min lost", *e.MinutesLost))
	}
	if e.Note != "" {
		parts = append(parts, e.Note)
	}
	return strings.Join(parts, ", ")
}

// EventKind names the kind of an event with what is peculiar to it.
func EventKind(e journal.Event) string {
	text := string(e.Kind)
	switch e.Kind {
	case journal.EventHookup:
		text = strings.TrimSpace(string(e.Hooking) + " hookup")
		if e.Ending == "" {
			text += ", end not noted"
		}
	case journal.EventTangle:
		if e.TangleKind != "" {
			text = string(e.TangleKind)
		}
	case journal.EventCheck:
		if e.Turns != nil {
			text += " of the tag, " + Several(*e.Turns, "turn")
		}
	}
	if e.Ending != "" {
		text += ", " + string(e.Ending)
	}
	switch e.BreakPlace {
	case "":
		return text
	case journal.BrokeAboveSighter:
		return text + " " + string(e.BreakPlace)
	}
	return text + " at the " + string(e.BreakPlace)
}

// NotRecorded stands in the place of a number that nobody kept.
const NotRecorded = "not recorded"

// Total words a count: "3 tangles", "no tangle", "at least 3 tangles" where some stints kept no
// count, "tangles not recorded" where none did.
func Total(t journal.Total, one, many string) string {
	switch {
	case t.Known() == nil:
		return many + " " + NotRecorded
	case t.N == 0 && t.Whole():
		return "no " + one
	case t.N == 0:
		return "no " + one + " where recorded"
	case !t.Whole():
		return "at least " + Plural(t.N, one, many)
	}
	return Plural(t.N, one, many)
}

// CountFact words a count above what it is of: "3 fish", "no count of fish".
func CountFact(t journal.Total, one, many string) string {
	if t.Known() == nil {
		return "no count of " + many
	}
	return Total(t, one, many)
}

// TotalCell is a count alone, as in a table.
func TotalCell(t journal.Total) string {
	switch {
	case t.Known() == nil:
		return NotRecorded
	case t.Whole():
		return strconv.Itoa(t.N)
	case t.N == 0:
		return "0 where recorded"
	}
	return "at least " + strconv.Itoa(t.N)
}

// Caught words what was hooked and what of it was landed.
func Caught(hookups, landed journal.Total) string {
	text := Total(hookups, "hookup", "hookups")
	switch {
	case hookups.N == 0 && landed.N == 0:
		return text
	case landed.Known() == nil:
		return text + ", landed " + NotRecorded
	case landed.N == 0 && !landed.Whole():
		return text + ", none landed where recorded"
	}
	return text + ", " + TotalCell(landed) + " landed"
}

// NoCount says of what no count was kept: "no count kept of snags and tangles". It is "" where
// count was kept of everything.
func NoCount(r journal.Recorded) string {
	missing, kept := titles(r.Missing()), titles(r.Kinds())
	switch {
	case len(missing) == 0:
		return ""
	case len(kept) == 0:
		return "nothing counted"
	case len(kept) < len(missing):
		return "only " + Listed(kept) + " counted"
	}
	return Listed(missing) + " not counted"
}

func titles(kinds []journal.Kind) []string { return each(kinds, journal.Kind.Title) }

// Kinds names kinds of event: "snags and tangles".
func Kinds(kinds []journal.Kind) string { return Listed(titles(kinds)) }

// kindWords names kinds as commands do: "snags,tangles".
func kindWords(kinds []journal.Kind) string {
	return strings.Join(each(kinds, journal.Kind.String), ",")
}
