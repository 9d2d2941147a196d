package sheet

import (
	"regexp"
	"strings"

	"rigtally/journal"
	"rigtally/journal/exchange"
)

// checkRow checks what the cells of a row say together, and makes its events.
func (s *Sheet) checkRow(r *row) {
	r.Angler, r.Water = first(r.Angler, s.options.Angler), first(r.Water, s.options.Water)
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
	events, err := eventsOf(&r.Tally, r.Place.Position(), eventRules{
		foulTold:    r.told[exchange.CountFoul] == told,
		checkColumn: s.has("checks"),
		noTurns:     r.told[exchange.CountChecks] == denied || r.told[exchange.CountTurns] == denied,
	})
	if err != nil {
		s.bad(r, "", "", err)
	}
	r.events = events
}

// checkPlace settles which fly of the rig a row is about and how that hangs.
func (s *Sheet) checkPlace(r *row) error {
	if !s.has("position") {
		r.Place = exchange.PlaceDropper
	}
	f := &r.Fly
	tagged := f.Junction != "" || f.Facing != "" || f.Prop != "" || f.TagLengthMM != nil || r.Tag != journal.StintPosition{}
	switch {
	case r.Place < exchange.PlacePoint:
		r.Place = exchange.PlaceRig
		if r.construction() {
			return &problem{field: "position", what: "says nothing of a fly, but the row tells how one is tied", remedy: "write the fly's position: point, or 1 for dropper 1"}
		}
		return nil
	case r.Place == exchange.PlacePoint && (tagged || f.Hang != ""):
		return &problem{field: "position", what: "is the end of the leader, which has no hang, junction or tag", remedy: "leave those cells empty, or write the dropper's number"}
	case r.Place == exchange.PlacePoint:
	case f.Hang == "":
		f.Hang = journal.HangTag
	case f.Hang != journal.HangTag && tagged:
		return &problem{field: "hang", what: "is no tag, so that it has no junction, facing, prop or tag length", remedy: "leave those cells empty, or write tag"}
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
