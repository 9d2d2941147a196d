package facts

import (
	"maps"
	"math"
	"slices"

	"rigtally/journal"
)

// TieLife is how long a tag lived, from its tying to the break of its junction or of the
// tag itself, or to where it was last seen whole: at a re-tie, a change of rig, or the
// end of the day.
//
// A tie begins with the first stint of a rig, and after a re-tie or break of its junction. It goes
// on through the next stint with the same rig, unless its tag is longer then than it was
// left. Where the moments of re-ties and breaks in a stint were not all noted, they are
// spread evenly over it, and what loaded the junction is shared likewise.
type TieLife struct {
	Session journal.ID
	Level   journal.Level
	Hours   float64 // 0 when not known
	Loads   float64 // that the junction took, the breaking one too; may be parts where moments were not noted
	Broke   bool
	Seen    bool // the break falls into Hours; else they end before, where minutes were not noted
	Retied  bool // it was last seen whole at a re-tie
	Spread  bool // its ends are spread, not noted
}

// TieLives are the lives of ties, and how many of what could not be used.
type TieLives struct {
	Lives   []TieLife
	LeftOut map[string]int
	Spread  int // lives whose ends are spread over their stint
}

// What can't be used of lives.
const (
	unplacedTie  = "tags on a rig of several of which one was re-tied or broke, but not which was noted"
	untimedStint = "tags in stints with no minutes noted, which end a life in hours there"
	uncountedTie = "tags in stints with no count kept of " // what ends a tie, or loads it
)

// tieKinds are the kinds of which count must have been kept to follow a tie through a stint.
var tieKinds = []journal.Kind{journal.KindHookups, journal.KindSnags, journal.KindBreakPlace, journal.KindChanges}

// tiedStint is a tag in a stint.
type tiedStint struct {
	session, rig      journal.ID
	ordinal, position int // of the stint in its session; of the tag
	minutes           *float64
	start, end        *float64 // of the tag
	loads             float64
	level             journal.Level
	missing           string // what is said where the level is not known
	counts            bool   // the conditions hold
	changed           bool   // something may have broken or been re-tied
	recorded          journal.Recorded
	events            []journal.Event
}

// tieWalk goes through the stints of a journal, each session's in order.
type tieWalk struct {
	out  TieLives
	rigs map[journal.ID]journal.Rig // with nothing but the numbers of their positions
	open map[int]*openTie
	lost map[int]bool // positions of which the tie is not known until the next rig
	last journal.ID   // rig of the stint before
	then int          // and its place in the session
	now  journal.ID   // session
}

type openTie struct {
	TieLife
	tag    *float64
	stuck  bool // its hours are not known any further
	counts bool
	reason string
}

func newTieWalk() *tieWalk {
	return &tieWalk{out: TieLives{LeftOut: map[string]int{}}, rigs: map[journal.ID]journal.Rig{}, open: map[int]*openTie{}, lost: map[int]bool{}}
}

// stint takes the tags of one stint, all of one rig.
func (w *tieWalk) stint(tags []tiedStint) {
	first := tags[0]
	if first.session != w.now || first.rig != w.last || first.ordinal != w.then+1 {
		w.close()
		w.now, w.last = first.session, first.rig
		clear(w.lost)
	}
	w.then = first.ordinal
	if i := slices.IndexFunc(tieKinds, func(k journal.Kind) bool { return !first.recorded.Has(k) }); i >= 0 {
		w.lose(tags, uncountedTie+tieKinds[i].Title())
		return
	}
	rig := w.rigs[first.rig]
	unplaced := first.changed && unplacedTies(rig, first.events)
	for _, t := range tags {
		if unplaced && !w.lost[t.position] {
			w.lose([]tiedStint{t}, unplacedTie)
		}
		if !w.lost[t.position] {
			w.tag(rig, t)
		}
	}
}

// lose gives up the ties of a stint in which they can't be followed.
func (w *tieWalk) lose(tags []tiedStint, why string) {
	for _, t := range tags {
		if t.counts {
			w.out.LeftOut[why]++
		}
		w.end(t.position, false, false)
		w.lost[t.position] = true
	}
}

// unplacedTies reports whether a re-tie or break can't be told to which tag it belongs.
func unplacedTies(rig journal.Rig, events []journal.Event) bool {
	droppers := rig.Droppers()
	return slices.ContainsFunc(events, func(e journal.Event) bool {
		if e.Kind == journal.EventRetie {
			return e.Position == nil && len(droppers) > 1
		}
		c, ok := e.BreakPlace.Count()
		if !ok || c != journal.CountBrokeJunction && c != journal.CountBrokeTag {
			return false
		}
		_, placed := e.BrokenAt(droppers)
		return !placed
	})
}

func (w *tieWalk) tag(rig journal.Rig, t tiedStint) {
	if o := w.open[t.position]; o != nil && o.tag != nil && t.start != nil && *t.start > *o.tag+1 {
		w.end(t.position, false, true)
	}
	if w.open[t.position] == nil {
		w.begin(t)
	}
	cuts := tieCuts(rig, t)
	if t.minutes == nil && t.counts {
		w.out.LeftOut[untimedStint]++
	}
	moments := make([]journal.Moment, len(cuts)) // what passes between a break and its re-tie belongs to none
	for i, c := range cuts {
		moments[i] = journal.Moment{End: c.minute, Next: c.from}
	}
	shares, timed := journal.TimeShares(moments, t.minutes)
	loads := t.loadsBetween(rig, cuts, shares, timed)
	for i, share := range shares {
		if w.open[t.position] == nil {
			w.begin(t)
		}
		o := w.open[t.position]
		o.Spread = o.Spread || len(cuts) > 0 && !timed
		o.Loads += loads[i]
		if t.minutes == nil {
			o.stuck = true
		} else if !o.stuck {
			o.Hours += share * *t.minutes / 60
		}
		if i < len(cuts) {
			w.end(t.position, cuts[i].broke, !cuts[i].broke)
		}
	}
	w.open[t.position].tag = t.end
}

func (w *tieWalk) begin(t tiedStint) {
	w.open[t.position] = &openTie{TieLife: TieLife{Session: t.session, Level: t.level}, counts: t.counts, reason: t.missing}
}

// end closes the tie of a position, if it has one.
func (w *tieWalk) end(position int, broke, retied bool) {
	o := w.open[position]
	if o == nil {
		return
	}
	delete(w.open, position)
	if !o.counts {
		return
	}
	if o.reason != "" {
		w.out.LeftOut[o.reason]++
		return
	}
	const least = 0.5 / 60 // of an hour: what is noted for one minute lasted a while
	if broke && !o.stuck {
		o.Hours = math.Max(o.Hours, least)
	}
	o.Broke, o.Seen, o.Retied = broke, broke && !o.stuck, retied
	if o.Hours == 0 && o.Loads == 0 {
		return // tied and tied again in the same moment
	}
	if o.Spread {
		w.out.Spread++
	}
	w.out.Lives = append(w.out.Lives, o.TieLife)
}

// close ends every tie that is open: the rig is taken off, or the day is over.
func (w *tieWalk) close() {
	for _, position := range slices.Sorted(maps.Keys(w.open)) {
		w.end(position, false, false)
	}
}

// tieCut is where a tie ends within a stint, and where the next one begins.
type tieCut struct {
	broke      bool
	minute     *int // nil when not noted
	from       *int // of the next tie
	breakEvent int  // place of the event that broke it, −1 for a re-tie
	mended     bool
}

// soonMinutes is how soon after a break a re-tie is that of the break.
const soonMinutes = 15

// tieCuts lists what ended ties of a tag. The re-tie that follows a break is that of the break.
func tieCuts(rig journal.Rig, t tiedStint) []tieCut {
	if !t.changed {
		return nil
	}
	var cuts []tieCut
	only := len(rig.Droppers()) == 1
	for i, e := range t.events {
		counts := e.Deal(rig)[t.position]
		for range int(counts[journal.CountBrokeJunction] + counts[journal.CountBrokeTag]) {
			cuts = append(cuts, tieCut{broke: true, minute: e.Minute, from: e.Minute, breakEvent: i})
		}
		if e.Kind != journal.EventRetie || !(e.Position != nil && *e.Position == t.position || e.Position == nil && only) {
			continue
		}
		for range e.Count {
			if n := len(cuts); n > 0 && cuts[n-1].mends(e) {
				cuts[n-1].from, cuts[n-1].mended = e.Minute, true
				continue
			}
			cuts = append(cuts, tieCut{minute: e.Minute, from: e.Minute, breakEvent: -1})
		}
	}
	return cuts
}

// mends reports whether a re-tie belongs to the break before it.
func (c tieCut) mends(e journal.Event) bool {
	if !c.broke || c.mended {
		return false
	}
	return c.minute == nil || e.Minute == nil || *e.Minute >= *c.minute && *e.Minute-*c.minute <= soonMinutes
}

// loadsBetween deals the loads of a tag out to the ties before, between and after the cuts.
func (t tiedStint) loadsBetween(rig journal.Rig, cuts []tieCut, shares []float64, timed bool) []float64 {
	loads := make([]float64, len(shares))
	if len(cuts) == 0 {
		loads[0] = t.loads
		return loads
	}
	for i, e := range t.events {
		n := e.Deal(rig)[t.position][journal.CountLoads]
		for at, c := range cuts {
			if c.breakEvent == i && n > 0 {
				loads[at]++
				n--
			}
		}
		if timed && e.Minute != nil {
			at := slices.IndexFunc(cuts, func(c tieCut) bool { return *e.Minute <= *c.minute })
			if at < 0 {
				at = len(cuts)
			}
			loads[at] += n
			continue
		}
		for at, share := range shares {
			loads[at] += n * share
		}
	}
	return loads
}
