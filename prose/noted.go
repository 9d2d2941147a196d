package prose

import (
	"fmt"
	"math"
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

// Usual is how a stint went beside what was fished before with rigs tied alike.
type Usual struct {
	Rig     journal.Rig
	Minutes *float64 // nil when not noted
	Tangles journal.Total
	Before  journal.Totals
}

// From so much fishing on a person is told what is usual: common practice, no source.
const (
	usualMinutes  = 10 * 60
	usualSessions = 5
)

// PaidBack says in a line what a session tells that the person could not know without the journal.
// Its stints are given with what was fished before; it is "" for none.
func PaidBack(stints []Usual, sys units.System) string {
	var tangles journal.Total
	var minutes, expected float64
	known := true
	with := "these rigs"
	for i, st := range stints {
		if st.Minutes == nil {
			return "Without its time, this session tells no rate. Edit it to add the minutes."
		}
		minutes += *st.Minutes
		tangles.N, tangles.Stints, tangles.Kept = tangles.N+st.Tangles.N, tangles.Stints+st.Tangles.Stints, tangles.Kept+st.Tangles.Kept
		if known = known && st.Before.Sessions >= usualSessions && st.Before.Minutes >= usualMinutes; known {
			expected += float64(st.Before.Tangles.N) * *st.Minutes / st.Before.Minutes
		}
		switch words := tagWords(st.Rig, sys); {
		case i == 0:
			with = words
		case with != words:
			with = "these rigs"
		}
	}
	here := Capital(Total(tangles, "tangle", "tangles")) + " in " + units.FormatDuration(math.Round(minutes))
	switch {
	case len(stints) == 0:
		return ""
	case !tangles.Whole():
		return "Tangles were not counted, so this session says nothing of them."
	case known && math.Round(expected) < 1:
		return here + "; with " + with + " you usually have less than one."
	case known:
		return fmt.Sprintf("%s; with %s you usually have %.0f.", here, with, expected)
	case with == "these rigs":
		return here + ", with rigs tied in several ways. About 10 h with each say something."
	}
	if before := stints[0].Before.Minutes; before > 0 {
		return units.FormatDuration(math.Round(minutes+before)) + " with " + with + " so far. About 10 h, on five days or more, say something."
	}
	return "First " + units.FormatDuration(math.Round(minutes)) + " with " + with + ". About 10 h say something."
}

// tagWords names how a rig is tied by its tags: "a 6 1/2 in tag".
func tagWords(rig journal.Rig, sys units.System) string {
	var lengths []string
	for _, p := range rig.Droppers() {
		if p.Hang == journal.HangTag && p.TagLengthMM != nil {
			lengths = append(lengths, units.FormatLength(*p.TagLengthMM, sys))
		}
	}
	switch {
	case len(rig.Droppers()) == 0:
		return "a single fly"
	case len(lengths) == 0:
		return "this rig"
	case len(lengths) == 1:
		return "this tag (" + lengths[0] + ")"
	}
	return "these tags (" + strings.Join(lengths, " and ") + ")"
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
