package prose

import (
	"fmt"
	"strings"

	"rigtally/analytics/quality"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Remarks says how well a journal is kept, a sentence or two for each point.
func Remarks(r quality.Report) []string {
	if r.Sessions == 0 {
		return nil
	}
	var list []string
	for _, h := range r.Heaping {
		list = append(list, heaping(h))
	}
	list = append(list, late(r))
	if r.UntimedStints > 0 {
		list = append(list, fmt.Sprintf("%s no minutes noted and can't count in any rate per hour: %s. Add the minutes where you still know them.",
			have(r.UntimedStints, "stint"), namedSessions(r.Untimed)))
	}
	if len(r.Untagged) > 0 {
		list = append(list, untagged(r.Untagged))
	}
	return append(list, uneventful(r.Quiet))
}

func have(n int, what string) string {
	if n == 1 {
		return "1 " + what + " has"
	}
	return fmt.Sprintf("%d %ss have", n, what)
}

// namedSessions names a few of them.
func namedSessions(l journal.SessionList) string {
	var names []string
	for _, s := range l.First[:min(len(l.First), mostNamed)] {
		names = append(names, fmt.Sprintf("%s on %s", s.Angler, s.Day))
	}
	if more := l.Count - len(names); more > 0 {
		names = append(names, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(names, ", ")
}

func late(r quality.Report) string {
	if r.Late.Count == 0 {
		return "Every session was logged within a week of its day."
	}
	text := fmt.Sprintf("%d of %s logged more than a week late", r.Late.Count, plural(r.Sessions, "session was", "sessions were"))
	if r.Imported > 0 {
		text += fmt.Sprintf(", %d of them together with others, as an import does, which says nothing about when they were first written down", r.Imported)
	}
	if r.Imported < r.Late.Count {
		text += ". Counts fade from memory within days: log them the same evening"
	}
	return text + "."
}

func untagged(rigs []journal.UntaggedRig) string {
	var names []string
	for _, u := range rigs[:min(len(rigs), mostNamed)] {
		names = append(names, fmt.Sprintf("%s (%s)", u.Title, plural(u.Stints, "stint", "stints")))
	}
	if more := len(rigs) - len(names); more > 0 {
		names = append(names, fmt.Sprintf("and %d more", more))
	}
	return fmt.Sprintf("%s a tag whose length was not noted: %s. Note the length at the start of those stints, or tie a new revision with it.",
		have(len(rigs), "rig"), strings.Join(names, ", "))
}

// heaping says whether values were rounded, and whether that matters.
func heaping(h quality.Heaping) string {
	what, even := "tag lengths measured in millimetres", "every last digit"
	switch h.Unit {
	case units.Inch:
		what, even = "tag lengths measured in inches", "every eighth of an inch"
	case units.Minute:
		what = "times fished"
	}
	if h.P == nil {
		return fmt.Sprintf("Too few different %s (%d written down) to tell whether they were rounded.", what, h.Values)
	}
	text := fmt.Sprintf("%s of %d %s lie on %s, where %s would be there if %s were as likely as any other (p %s)", percent(h.Share), h.Values, what, roundValues(h), percent(h.Expected), even, PValue(*h.P))
	if !h.Heaped {
		return text + ": no sign of rounding."
	}
	text += ": they were rounded"
	if h.Share < 0.9 {
		text = strings.TrimSuffix(text, "they were rounded") + "many were rounded"
	}
	switch {
	case h.Measure == quality.HeapMinutes && h.Grid <= 15:
		return text + ", which evens out over a season."
	case h.Measure == quality.HeapMinutes:
		return text + " so much that rates of short stints are poorly known. Note the minutes to the nearest five."
	case h.Grid <= fineMetric && h.Unit == units.Millimetre || h.Grid <= fineInch && h.Unit == units.Inch:
		return text + ", but finely enough to compare lengths."
	case h.Unit == units.Inch:
		return text + ", so smaller differences can't be seen. Measure to the quarter inch."
	}
	return text + ", so smaller differences can't be seen. Measure to the nearest 5 mm."
}

// Grids no coarser than these are as fine as the steps of a curve over tag length.
const (
	fineMetric = 5
	fineInch   = 0.25
)

func roundValues(h quality.Heaping) string {
	switch h.Unit {
	case units.Inch:
		return map[float64]string{1: "whole inches", 0.5: "half inches", 0.25: "quarter inches"}[h.Grid]
	case units.Minute:
		if words, ok := map[float64]string{60: "full hours", 30: "half hours", 15: "quarter hours"}[h.Grid]; ok {
			return words
		}
		return fmt.Sprintf("multiples of %.0f minutes", h.Grid)
	}
	return fmt.Sprintf("multiples of %.0f mm", h.Grid)
}

// uneventful says whether too many sessions tell of nothing bad.
func uneventful(q quality.Quiet) string {
	const bad = "no tangle, foul hookup, lost fish or break-off"
	if !q.Enough {
		return fmt.Sprintf("Too few sessions with all minutes noted and every bad event counted (%d) to tell whether bad events were left out.", q.Sessions)
	}
	text := fmt.Sprintf("In %d of %d sessions there was %s; %s would be expected from how sessions differ", q.Without, q.Sessions, bad, Figure(*q.Expected))
	if !q.Suspect {
		return text + fmt.Sprintf(" (p %s): no sign that any were left out.", PValue(*q.P))
	}
	text += fmt.Sprintf(" (p %s). Some bad events may not have been written down", PValue(*q.P))
	var names []string
	for _, a := range q.Anglers {
		if a.Q != nil && *a.Q < 0.05 && a.Angler != "" && len(q.Anglers) > 1 {
			names = append(names, fmt.Sprintf("%s (%d, expected %s)", a.Angler, a.Without, Figure(*a.Expected)))
		}
	}
	if len(names) > 0 {
		text += ", most of all by " + strings.Join(names, ", ")
	}
	return text + ". A rate is only as honest as its worst days: note those too."
}
