package web

import (
	"fmt"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// count says how many of something there are: "1 stint", "2 stints".
func count(n int, one, many string) string { return prose.Plural(n, one, many) }

func shown[T any](v *T, print func(T) string) string {
	if v == nil {
		return ""
	}
	return print(*v)
}

func in[T any](print func(T, units.System) string, sys units.System) func(T) string {
	return func(v T) string { return print(v, sys) }
}

// dayWords writes a day for reading: "Thu 30 April 2026".
func dayWords(d journal.Date) string { return d.In(time.UTC).Format("Mon 2 January 2006") }

// clockWords writes a session's times on the water's own clock: "08:30–11:00".
func clockWords(s journal.Session) string {
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

// eventWords says what happened in one line: "2 × twist, on dropper 1, minute 40".
func eventWords(e journal.Event, sys units.System) string {
	parts := []string{capital(whatHappened(e))}
	if e.Count > 1 {
		parts[0] = fmt.Sprintf("%d × %s", e.Count, whatHappened(e))
	}
	if e.Position != nil {
		parts = append(parts, "on "+journal.PositionTitle(*e.Position))
	}
	if e.Minute != nil {
		parts = append(parts, fmt.Sprintf("minute %d", *e.Minute))
	}
	if fish := strings.TrimSpace(e.Species + " " + shown(e.FishLengthMM, in(units.FormatLength, sys))); fish != "" {
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

// whatHappened names the kind of an event with what is peculiar to it.
func whatHappened(e journal.Event) string {
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
			text += " of the tag, " + count(*e.Turns, "turn", "turns")
		}
	}
	if e.Ending != "" {
		text += ", " + string(e.Ending)
	}
	return text + brokeAt(e.BreakPlace)
}

func brokeAt(place journal.BreakPlace) string {
	switch place {
	case "":
		return ""
	case journal.BrokeAboveSighter:
		return " " + string(place)
	}
	return " at the " + string(place)
}

// unbroken keeps a few words on one line.
func unbroken(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }
