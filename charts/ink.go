package charts

import (
	"math"

	"rigtally/journal"
)

// fewSessions is how many sessions a group needs for a mark that is not hollow and dotted.
const fewSessions = 6

// leastInk is the opacity of what nothing is known of.
const leastInk = 0.45

// ink is how opaque a mark is whose 95% interval covers such a part of its axis: 1 where it has no
// width, 0.89 at a quarter of the axis, 0.73 at half of it, and leastInk without any bounds. So the
// least known is the faintest, whatever a chart shows.
func ink(part float64) float64 {
	if math.IsNaN(part) || part < 0 {
		return leastInk
	}
	return leastInk + (1-leastInk)/(1+4*part*part)
}

// covers is the part of an axis that an interval covers, which may be more than all of it.
func (a Axis) covers(s *Span) float64 {
	return a.at(s.High) - a.at(s.Low)
}

// inkOf is how opaque the mark of a field is drawn, with its whiskers.
func (f Field) inkOf(m Mark) float64 {
	switch {
	case m.Across != nil && m.Upright != nil:
		return ink(math.Max(f.X.covers(m.Across), f.Y.covers(m.Upright)))
	case m.Across != nil:
		return ink(f.X.covers(m.Across))
	case m.Upright != nil:
		return ink(f.Y.covers(m.Upright))
	}
	return 1
}

// knots are the color and the mark of each junction, the same on every page: by the knot, not by
// its place in an answer.
var knots = map[string]look{
	"figure-eight":                {form: "circle", fill: "junction-1", line: "junction-1"},
	"double surgeon's":            {form: "rect", fill: "junction-2", line: "junction-2"},
	"triple surgeon's":            {form: "up", fill: "junction-3", line: "junction-3"},
	"blood":                       {form: "diamond", fill: "junction-4", line: "junction-4"},
	"uni":                         {form: "down", fill: "junction-5", line: "junction-5"},
	"tippet ring":                 {form: "plus", fill: "junction-6", line: "junction-6"},
	"perfection loop":             {form: "star", fill: "junction-7", line: "junction-7"},
	string(journal.JunctionOther): {form: "bow", fill: "junction-8", line: "junction-8"},
}

// KnotKey is the mark of a junction, for lists and legends; its words are the knot's.
func KnotKey(j journal.Junction) Key { return Key{knotLook + string(j), string(j)} }

// knotLook begins the looks of keys that are a junction's.
const knotLook = "knot "

// knotOf is the junction that a group is of, when a factor is the junction.
func knotOf(by []journal.Factor, levels []journal.Level) string {
	for i, f := range by {
		if f.Key == "junction" && i < len(levels) {
			if _, ok := knots[levels[i].Word]; ok {
				return levels[i].Word
			}
			return string(journal.JunctionOther) // it has a name of the person's own
		}
	}
	return ""
}
