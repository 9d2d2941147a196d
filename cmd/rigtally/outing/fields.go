package outing

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
)

// draft is a session as a person told it, before the journal's own ids are put
// in place of names.
type draft struct {
	angler, guide, water, beat string
	start, end                 string       // clock times, read when the water's zone is known
	today                      journal.Date // for those who say so
	session                    journal.Session
	stints                     []stintDraft
}

// stintDraft is a stint as a person told it.
type stintDraft struct {
	rig    string // its name; "" when it is only described
	base   journal.Rig
	fly    journal.RigPosition // the fly described, on position 1 unless said
	placed bool                // the person named the position, so events belong to it
	told   []string            // what of the rig was described, by key
	tag    journal.StintPosition
	stint  journal.Stint
	counts journal.Counted
}

// entry is something that can be told. Its key is a flag of "rigtally log" and
// the name of a part of --stint.
type entry[T any] struct {
	key   string
	usage string // with the name of the value in backquotes
	set   func(d *T, value string, sys units.System) error
}

// noted are those fields of a part of a T that have a flag.
func noted[T, P any](fields []field.Field[P], part func(*T) *P) []entry[T] {
	var all []entry[T]
	for _, f := range fields {
		if f.Usage == "" {
			continue
		}
		usage := f.Usage
		if f.Words != nil {
			usage += ": " + strings.Join(f.Words, ", ")
		}
		all = append(all, entry[T]{f.FlagName(), usage, func(d *T, v string, sys units.System) error {
			value, err := read(f.Kind, f.Description, v, sys)
			if err == nil {
				f.Set(part(d), value)
			}
			return err
		}})
	}
	return all
}

// named makes a field of a T that the journal's catalogue does not have.
func named[T any](key, usage string, at func(*T) any) field.Field[T] {
	return field.Of(at, field.Description{Key: key, Usage: usage})
}

// read reads a value as a person writes it.
func read(kind field.Kind, f field.Description, v string, sys units.System) (any, error) {
	switch kind {
	case field.Chosen:
		return known(strings.ReplaceAll(f.FlagName(), "-", " "), v, f.Words)
	case field.Number:
		return measure(f, v, sys)
	case field.Whole:
		return whole(v)
	case field.Truth:
		return yesOrNo(v)
	}
	return v, nil
}

// measure reads a quantity. A bare number is in the unit that the person sees;
// where that invites a slip it is refused.
func measure(f field.Description, v string, sys units.System) (float64, error) {
	si, err := units.Parser{}.Parse(f.Quantity, v, f.Bare(sys))
	if err != nil {
		return 0, err
	}
	_, err = units.Parser{}.Parse(f.Quantity, v, "")
	if err != nil && f.FlagName() == "tag" && sys != units.US && si < shortestBareTag {
		return 0, fmt.Errorf("%s without a unit would be mm; write %s cm or %s mm", v, v, v)
	}
	return si, nil
}

// shortestBareTag is the tag in mm below which a bare metric number was more
// likely meant in cm. Common practice, no source.
const shortestBareTag = 50

func sessionEntries() []entry[draft] {
	own := noted([]field.Field[draft]{
		named("angler", "`name` of who fished", func(d *draft) any { return &d.angler }),
		named("guide", "`name` of the guide", func(d *draft) any { return &d.guide }),
		named("water", "`name` of the river or lake", func(d *draft) any { return &d.water }),
		named("beat", "`name` of the stretch of it", func(d *draft) any { return &d.beat }),
		named("start", "`time` it began: 9:30 or 2:15pm", func(d *draft) any { return &d.start }),
		named("end", "`time` it ended", func(d *draft) any { return &d.end }),
	}, func(d *draft) *draft { return d })
	day := entry[draft]{"date", "`day` of the session: 2026-05-03, today or yesterday (default today)", func(d *draft, v string, _ units.System) (err error) {
		d.session.Day, err = parseDay(v, d.today)
		return err
	}}
	return slices.Concat(slices.Insert(own, 4, day), noted(journal.SessionFields(), func(d *draft) *journal.Session { return &d.session }))
}

// rigEntries describe a rig by its dropper.
func rigEntries() []entry[stintDraft] {
	junctions := command.Words(journal.Junctions())
	return slices.Concat(
		noted(journal.RigFields(), func(d *stintDraft) *journal.Rig { return &d.base }),
		[]entry[stintDraft]{
			{"position", "`number` of the fly described and counted for: 0 the point, 1 the dropper above it, …", func(d *stintDraft, v string, _ units.System) (err error) {
				d.placed = true
				d.fly.Position, err = whole(v)
				return err
			}},
			{"junction", "`knot` the tag leaves from: " + strings.Join(junctions[:len(junctions)-1], ", ") + ", or other:NAME", setJunction},
		},
		noted(journal.FlyFields(), func(d *stintDraft) *journal.RigPosition { return &d.fly }))
}

// stintEntries are the parts of --stint: what happened in it, and the rig it was fished with.
func stintEntries() []entry[stintDraft] {
	rig := named("rig", "`name` of the rig, as in \"rigtally rigs list\", or for a new one described by the flags below", func(d *stintDraft) any { return &d.rig })
	return slices.Concat(
		noted([]field.Field[stintDraft]{rig}, func(d *stintDraft) *stintDraft { return d }),
		noted(journal.StintFields(), func(d *stintDraft) *journal.Stint { return &d.stint }),
		noted(journal.TagFields(), func(d *stintDraft) *journal.StintPosition { return &d.tag }),
		countEntries(),
		rigEntries())
}

func countEntries() []entry[stintDraft] {
	type counted = journal.Counted
	all := noted([]field.Field[counted]{
		named("hookups", "`number` of fish hooked (default: those landed, lost and broken off)", func(c *counted) any { return &c.Hookups }),
		named("foul", "`number` of them hooked outside the mouth", func(c *counted) any { return &c.Foul }),
		named("landed", "`number` landed", func(c *counted) any { return &c.Landed }),
		named("lost", "`number` lost because the hook came out", func(c *counted) any { return &c.Lost }),
		named("snags", "`number` of snags", func(c *counted) any { return &c.Snags }),
		named("tangles", "`number` of tangles of all kinds", func(c *counted) any { return &c.Tangles }),
		named("twists", "`number` of them that wrapped the tag around the line", func(c *counted) any { return &c.Twists }),
		named("wind-knots", "`number` of them that were wind knots", func(c *counted) any { return &c.WindKnots }),
		named("nests", "`number` of them that were nests", func(c *counted) any { return &c.Nests }),
		named("minutes-lost", "`minutes` lost to all the tangles, or to the re-ties if there were none", func(c *counted) any { return &c.MinutesLost }),
		named("checks", "`number` of looks at the tag", func(c *counted) any { return &c.Checks }),
		named("turns", "`number` of turns around the line seen in all of them", func(c *counted) any { return &c.Turns }),
		named("fly-changes", "`number` of times the fly was changed", func(c *counted) any { return &c.FlyChanges }),
		field.Of(func(c *counted) any { return &c.CutMM }, field.Description{Key: "cut", Quantity: units.Length, Usage: "`length` the tag lost at each change: 1 in, 20 mm"}),
		named("re-ties", "`number` of times the junction was re-tied", func(c *counted) any { return &c.Reties }),
	}, func(d *stintDraft) *counted { return &d.counts })
	broken := func(key, usage string, at func(*counted) *[]journal.BrokeAt) entry[stintDraft] {
		return entry[stintDraft]{key, usage, func(d *stintDraft, v string, _ units.System) (err error) {
			*at(&d.counts), err = parseBroken(v)
			return err
		}}
	}
	fish := broken("broke-off", "`place=number` of fish broken off, or a number alone; places: "+strings.Join(command.Words(journal.BreakPlaces()), ", "),
		func(c *counted) *[]journal.BrokeAt { return &c.Broke })
	snags := broken("snag-broke", "`place=number` of snags that broke off, among them", func(c *counted) *[]journal.BrokeAt { return &c.SnagBroke })
	return slices.Insert(slices.Insert(all, 5, snags), 4, fish)
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

func known[W ~string](what, v string, words []W) (W, error) {
	for _, w := range words {
		if strings.EqualFold(string(w), v) {
			return w, nil
		}
	}
	list := command.Words(words)
	return "", fmt.Errorf("%s %q is not known%s", what, v, terminal.Guess("", v, list, "; write one of: "+strings.Join(list, ", ")))
}

// setJunction reads one of the known junctions, or "other:" with the person's own name for it.
func setJunction(d *stintDraft, v string, _ units.System) (err error) {
	if kind, name, ok := strings.Cut(v, ":"); ok && strings.EqualFold(strings.TrimSpace(kind), string(journal.JunctionOther)) {
		d.fly.Junction, d.fly.JunctionName = journal.JunctionOther, strings.TrimSpace(name)
		return nil
	}
	d.fly.Junction, err = known("junction", v, journal.Junctions())
	if err != nil {
		return fmt.Errorf("%w; your own knot is other:NAME", err)
	}
	return nil
}

// whole reads a whole number that is not negative.
func whole(v string) (int, error) {
	n, err := strconv.Atoi(strings.TrimPrefix(strings.TrimSpace(v), "#"))
	if err != nil || n < 0 {
		return 0, fmt.Errorf("%q is not a whole number; write one such as 0 or 12", v)
	}
	return n, nil
}

func yesOrNo(v string) (bool, error) {
	switch strings.ToLower(strings.TrimSpace(v)) {
	case "yes", "y":
		return true, nil
	case "no", "n":
		return false, nil
	}
	return false, fmt.Errorf("%q is neither yes nor no; write one of them", v)
}

func parseDay(v string, today journal.Date) (journal.Date, error) {
	switch strings.ToLower(v) {
	case "today":
		return today, nil
	case "yesterday":
		return journal.DateOf(today.In(time.UTC).AddDate(0, 0, -1)), nil
	}
	return journal.ParseDate(v)
}

// parseClock reads a time of the session's day, or a day with a time for a
// session that goes on past midnight.
func parseClock(v string, day journal.Date, loc *time.Location) (*time.Time, error) {
	if v == "" {
		return nil, nil
	}
	text := strings.ToLower(strings.ReplaceAll(v, " ", ""))
	for _, layout := range []string{"15:04", "3:04pm", "3pm"} {
		if t, err := time.Parse(layout, text); err == nil {
			at := time.Date(day.Year, day.Month, day.Day, t.Hour(), t.Minute(), 0, 0, loc)
			return &at, nil
		}
	}
	if t, err := time.ParseInLocation("2006-01-02 15:04", v, loc); err == nil {
		return &t, nil
	}
	return nil, fmt.Errorf("%q is not a time of day; write it as 9:30, 14:15 or 2:15pm, or past midnight as 2026-05-04 0:30", v)
}
