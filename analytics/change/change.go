// Package change tells whether a rig was changed because of what had just happened with it.
package change

import (
	"context"
	"slices"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// Window is for how many minutes after an event a change counts as one after it. What has tangled is
// mended or changed at once, or within a few casts. With a window of ten minutes that is seen, and less than
// a fifth of the time is "after" even where there is an event an hour.
const Window = 10

// Historian tells how sessions went, stint by stint; *pg.Store is one.
type Historian interface {
	// Stretches tells of each session of the journal, its stretches in order. They are good until tell returns.
	Stretches(ctx context.Context, o journal.Outcome, f journal.Factor, tell func([]facts.Stretch)) error
}

// Finding says whether a factor was changed in sessions after events of an outcome. It is of the
// whole journal, whatever an answer beside it is narrowed to.
//
// Where the minutes of events are known, each change is held against the stretch of the session that
// it ended, with the factor at one level: what share of that time was after an event, and was the
// change? A change at any other moment falls there with a chance of that share, whatever the session, the level and
// the regular length of stints are. Ratio is the rate of changes after an event over that at other times.
//
// Elsewhere each session's events are held against its stints: what share of its time were stints that
// ended in a change, and how many of its events fell into them? Ratio is the rate of events in them over
// that in the other stints, so that a long stint is not taken for a bad one. It says less: levels at which events are more
// frequent by far (three times, say), and which are always given up for others in the same order, are taken for given up because of them.
//
// Both are logistic regressions with the log odds of the time as offset (a case-crossover comparison; Maclure 1991,
// American Journal of Epidemiology 133:144), with an interval from the score of each session.
type Finding struct {
	Outcome, Factor string   // keys
	ByMinutes       bool     // the minutes of events are known
	Sessions        int      // that say anything
	Changes         int      // of the factor within sessions, that could be placed
	AfterEvent      int      // of them: within Window of an event; without minutes, at the end of a stint with one
	Expected        *float64 // of them, if changes had nothing to do with events; nil without minutes
	Ratio           *float64 // nil when there is nothing to compare, or no end to it
	Low, High       *float64 // of the 95% interval; High is nil when it has no end
	P               *float64 // two-sided
	With, Without   Share    // stints with and without an event, and how many of them were followed by a change
}

// Share is how many of some stints were followed by a change.
type Share struct {
	Stints  int `json:"stints"`
	Changed int `json:"changed"`
}

const (
	// leastAfter is the fewest changes after an event that are spoken of as a habit.
	leastAfter = 5
	// leastWithoutMinutes is the ratio that must be ruled out where the minutes of events are not known. There a level that makes
	// events likelier, and is given up in the course of the day, looks a little like one given up because of
	// them: with half as many events again, chance and that together pass this limit in 1 season of 200 or so.
	leastWithoutMinutes = 1.5
)

// Follows reports whether changes follow events: more of them than by chance, and not just a few.
func (f Finding) Follows() bool {
	least := 1.0
	if !f.ByMinutes {
		least = leastWithoutMinutes
	}
	return f.Low != nil && *f.Low > least && f.AfterEvent >= leastAfter
}

// Possible reports whether a factor can change within a session.
func Possible(f journal.Factor) bool { return f.Scope() > journal.OfSession }

// badNews are the outcomes that may make somebody change a rig.
var badNews = []string{"tangles", "twists", "foul-hook", "loss", "break-off", "junction-break", "downtime"}

// Asked reports whether the journal can tell of changes after events of an outcome: whether it is bad news.
func Asked(o journal.Outcome) bool { return slices.Contains(badNews, o.Key) }

// Find looks for changes of a factor after events of an outcome, in the whole journal. What can't change within
// a session, or is no bad news, is not looked for, and its finding is empty.
func Find(ctx context.Context, h Historian, o journal.Outcome, f journal.Factor) (Finding, error) {
	none := Finding{Outcome: o.Key, Factor: f.Key}
	if !Possible(f) || !Asked(o) {
		return none, nil
	}
	var s search
	if err := h.Stretches(ctx, o, f, s.session); err != nil {
		return none, err
	}
	found := s.finding()
	found.Outcome, found.Factor = o.Key, f.Key
	return found, nil
}

// search goes through sessions one after the other.
type search struct {
	sessions     int32
	runs, whole  []stratum // of stretches at one level, and of sessions
	timed, all   float64   // events in sessions of which all moments are known; all events
	after        int       // runs that ended within Window of an event
	timedChanges int
	changes      int
	with         Share
	without      Share
}

// session takes the stretches of a session.
func (s *search) session(list []facts.Stretch) {
	s.sessions++
	timed := true
	events := 0.0
	for _, st := range list {
		events += st.Events
		timed = timed && (st.Timed || !st.Counted)
	}
	s.all += events
	if timed {
		s.timed += events
		s.byMinutes(list)
	}
	s.byStints(list)
}

// byMinutes divides the time before each change into that after an event and the rest. A minute is
// used where the ones of the window before it are known too, so that the beginning of a day does not look calm.
func (s *search) byMinutes(list []facts.Stretch) {
	const far = 1e9
	known, since := 0.0, far // minutes known so far; minutes since the last event
	run := stratum{session: s.sessions}
	for _, st := range list {
		if !st.Counted || !st.Timed {
			known, since, run = 0, far, stratum{session: s.sessions}
			continue
		}
		usable := max(0, Window-known)
		after, last := overlap(usable, st.Minutes, since, st.At)
		run.after += after
		run.other += max(0, st.Minutes-usable) - after
		known += st.Minutes
		since = last
		switch st.End {
		case facts.LevelChanged:
			if known >= Window {
				run.n = 1
				s.timedChanges++
				if since <= Window {
					s.after++
					run.hit()
				}
				s.runs = run.joined(s.runs)
			}
			run = stratum{session: s.sessions}
		case facts.LevelUntold:
			run = stratum{session: s.sessions}
		}
	}
}

// overlap returns how many minutes of a stretch, from one on, are within Window of an event, and how many
// minutes lie between the last event and the stretch's end.
func overlap(from, minutes, since float64, at []float64) (after, last float64) {
	covered := from // up to here it is counted
	add := func(begin, end float64) {
		begin, end = max(begin, covered), min(end, minutes)
		if end > begin {
			after += end - begin
			covered = end
		}
	}
	add(0, Window-since)
	last = since + minutes
	for _, m := range at {
		add(m, m+Window)
		last = max(0, minutes-m)
	}
	return after, last
}

// byStints divides a session's time and events into stints that were followed by a change and others.
func (s *search) byStints(list []facts.Stretch) {
	whole := stratum{session: s.sessions}
	for _, st := range list {
		if !st.Counted || st.Minutes != st.Minutes || st.End == facts.LevelUntold {
			continue
		}
		whole.n += st.Events
		share := &s.without
		if st.Events > 0 {
			share = &s.with
		}
		share.Stints++
		if st.End == facts.LevelChanged {
			share.Changed++
			s.changes++
			whole.hits += st.Events
			whole.after += st.Minutes
		} else {
			whole.other += st.Minutes
		}
	}
	s.whole = whole.joined(s.whole)
}

// finding prefers minutes, where at least half of the events lie in sessions of which every moment is known.
func (s *search) finding() Finding {
	f := Finding{With: s.with, Without: s.without, Changes: s.changes, AfterEvent: s.with.Changed}
	strata := s.whole
	if s.timed > 0 && 2*s.timed >= s.all {
		f.ByMinutes, f.Changes, f.AfterEvent, strata = true, s.timedChanges, s.after, s.runs
	}
	f.estimate(strata)
	return f
}
