package outing

import (
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

func countFields() []field[stintDraft] {
	places := list(journal.BreakPlaces())
	return []field[stintDraft]{
		number("hookups", "`number` of fish hooked (default: those landed, lost and broken off)", func(d *stintDraft) **int { return &d.counts.Hookups }),
		number("foul", "`number` of them hooked outside the mouth", func(d *stintDraft) **int { return &d.counts.Foul }),
		number("landed", "`number` landed", func(d *stintDraft) **int { return &d.counts.Landed }),
		number("lost", "`number` lost because the hook came out", func(d *stintDraft) **int { return &d.counts.Lost }),
		{"broke-off", "`place=number` of fish broken off, or a number alone; places: " + places, func(d *stintDraft, v string, _ units.System) (err error) {
			d.counts.Broke, err = parseBroken(v)
			return err
		}},
		number("snags", "`number` of snags", func(d *stintDraft) **int { return &d.counts.Snags }),
		{"snag-broke", "`place=number` of snags that broke off, among them", func(d *stintDraft, v string, _ units.System) (err error) {
			d.counts.SnagBroke, err = parseBroken(v)
			return err
		}},
		number("tangles", "`number` of tangles of all kinds", func(d *stintDraft) **int { return &d.counts.Tangles }),
		number("twists", "`number` of them that wrapped the tag round the line", func(d *stintDraft) **int { return &d.counts.Twists }),
		number("wind-knots", "`number` of them that were wind knots", func(d *stintDraft) **int { return &d.counts.WindKnots }),
		number("nests", "`number` of them that were nests", func(d *stintDraft) **int { return &d.counts.Nests }),
		number("minutes-lost", "`minutes` lost to all the tangles, or to the re-ties if there were none", func(d *stintDraft) **int { return &d.counts.MinutesLost }),
		number("checks", "`number` of looks at the tag", func(d *stintDraft) **int { return &d.counts.Checks }),
		number("turns", "`number` of turns round the line seen in all of them", func(d *stintDraft) **int { return &d.counts.Turns }),
		number("fly-changes", "`number` of times the fly was changed", func(d *stintDraft) **int { return &d.counts.FlyChanges }),
		quantity("cut", "`length` the tag lost at each change: 1 in, 20 mm", units.Length, func(d *stintDraft) **float64 { return &d.counts.CutMM }),
		number("re-ties", "`number` of times the junction was tied anew", func(d *stintDraft) **int { return &d.counts.Reties }),
	}
}

// parseBroken reads "2", "junction=1" or "junction=1; fly knot=1".
func parseBroken(v string) ([]journal.BrokeAt, error) {
	all := []journal.BrokeAt{}
	for part := range strings.FieldsFuncSeq(v, func(r rune) bool { return r == ';' || r == ',' }) {
		place, number, ok := strings.Cut(part, "=")
		var b journal.BrokeAt
		var err error
		if !ok {
			number = part
		} else if b.Place, err = known("break place", strings.TrimSpace(place), journal.BreakPlaces()); err != nil {
			return nil, err
		}
		if b.Count, err = whole(number); err != nil {
			return nil, err
		}
		all = append(all, b)
	}
	return all, nil
}
