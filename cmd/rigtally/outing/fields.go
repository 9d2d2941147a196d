package outing

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
)

// draft is a session as a person told it, before the journal's own ids are put
// in place of names.
type draft struct {
	angler, guide, water, beat string
	start, end                 string // clock times, read when the water's zone is known
	session                    journal.Session
	stints                     []stintDraft
}

// stintDraft is a stint as a person told it.
type stintDraft struct {
	rig      string // its name; "" when it is only described
	base     journal.Rig
	fly      journal.RigPosition // the fly described, on position 1 unless said
	placed   bool                // the person named the position, so events belong to it
	told     []string            // what of the rig was described, by key
	tagEndMM *float64
	stint    journal.Stint
	counts   journal.Counted
}

// field is something that can be noted. Its key is a flag of "rigtally log" and
// the name of a part of --stint.
type field[T any] struct {
	key   string
	usage string // with the name of the value in backquotes
	set   func(d *T, value string, sys units.System) error
}

func sessionFields(today journal.Date) []field[draft] {
	text := func(key, usage string, to func(*draft) *string) field[draft] {
		return field[draft]{key, usage, func(d *draft, v string, _ units.System) error {
			*to(d) = v
			return nil
		}}
	}
	return []field[draft]{
		text("angler", "`name` of who fished", func(d *draft) *string { return &d.angler }),
		text("guide", "`name` of the guide", func(d *draft) *string { return &d.guide }),
		text("water", "`name` of the river or lake", func(d *draft) *string { return &d.water }),
		text("beat", "`name` of the stretch of it", func(d *draft) *string { return &d.beat }),
		{"date", "`day` of the session: 2026-05-03, today or yesterday (default today)", func(d *draft, v string, _ units.System) (err error) {
			d.session.Day, err = parseDay(v, today)
			return err
		}},
		text("start", "`time` it began: 9:30 or 2:15pm", func(d *draft) *string { return &d.start }),
		text("end", "`time` it ended", func(d *draft) *string { return &d.end }),
		quantity("flow", "`flow` of the water: 540 cfs, 15.3 m³/s", units.Flow, func(d *draft) **float64 { return &d.session.FlowM3S }),
		quantity("water-temp", "`temperature` of the water: 54F, 12.5 C", units.Temperature, func(d *draft) **float64 { return &d.session.WaterTempC }),
		quantity("depth", "`depth` fished: 2.5 ft, 80 cm", units.Depth, func(d *draft) **float64 { return &d.session.DepthM }),
		quantity("velocity", "`speed` of the water where you waded: 2 ft/s, 0.6 m/s", units.Speed, func(d *draft) **float64 { return &d.session.VelocityMS }),
		{"storm", "`yes` when there was thunder or lightning, else no", func(d *draft, v string, _ units.System) (err error) {
			d.session.Storm, err = yesOrNo(v)
			return err
		}},
		word("clarity", "`word` for how clear the water was", journal.Clarities(), func(d *draft) *journal.Clarity { return &d.session.Clarity }),
		word("wind", "`word` for the wind", journal.Winds(), func(d *draft) *journal.Wind { return &d.session.Wind }),
		word("light", "`word` for the light", journal.Lights(), func(d *draft) *journal.Light { return &d.session.Light }),
		text("notes", "`text` on the session", func(d *draft) *string { return &d.session.Notes }),
	}
}

// rigFields describe a rig by its dropper.
func rigFields() []field[stintDraft] {
	return []field[stintDraft]{
		word("method", "`word` for the way of fishing", journal.Methods(), func(d *stintDraft) *journal.Method { return &d.base.Method }),
		word("swivel", "`word` for what joins sighter and tippet", journal.Swivels(), func(d *stintDraft) *journal.Swivel { return &d.base.Swivel }),
		{"position", "`number` of the fly described and counted for: 0 the point, 1 the dropper above it, …", func(d *stintDraft, v string, _ units.System) (err error) {
			d.placed = true
			d.fly.Position, err = whole(v)
			return err
		}},
		word("hang", "`word` for how the fly hangs (default tag)", journal.Hangs(), func(d *stintDraft) *journal.Hang { return &d.fly.Hang }),
		{"junction", "`knot` the tag leaves from: " + list(journal.Junctions()[:len(journal.Junctions())-1]) + ", or other:NAME", setJunction},
		quantity("tag", "`length` of the tag: 6 1/2 in, 16.5 cm", units.Length, func(d *stintDraft) **float64 { return &d.fly.TagLengthMM }),
		word("facing", "`way` the tag leaves the junction", journal.Facings(), func(d *stintDraft) *journal.Facing { return &d.fly.Facing }),
		word("prop", "`hitch` that holds the tag off the line", journal.Props(), func(d *stintDraft) *journal.Prop { return &d.fly.Prop }),
		quantity("tippet", "`size` of the tag's tippet: 6X, 0.127 mm", units.Tippet, func(d *stintDraft) **float64 { return &d.fly.TippetMM }),
		word("material", "`word` for what the tippet is made of", journal.Materials(), func(d *stintDraft) *journal.Material { return &d.fly.Material }),
		{"fly", "`pattern` of the fly", func(d *stintDraft, v string, _ units.System) error {
			d.fly.Fly = v
			return nil
		}},
		number("hook-size", "`size` of its hook: 16", func(d *stintDraft) **int { return &d.fly.HookSize }),
		quantity("bead", "`diameter` of its bead: 2.5 mm", units.Length, func(d *stintDraft) **float64 { return &d.fly.BeadMM }),
		word("bulk", "`word` for what the fly offers to the current", journal.Bulks(), func(d *stintDraft) *journal.Bulk { return &d.fly.Bulk }),
	}
}

// stintFields are what happened in a stint, beside the rig it was fished with.
func stintFields() []field[stintDraft] {
	fields := []field[stintDraft]{
		{"rig", "`name` of the rig, as in \"rigtally rigs list\", or for a new one described by the flags below", func(d *stintDraft, v string, _ units.System) error {
			d.rig = v
			return nil
		}},
		{"minutes", "`time` fished: 90, 1h30, 1.5 h", func(d *stintDraft, v string, _ units.System) error {
			minutes, err := units.ParseMinutes(v, units.Minute)
			d.stint.Minutes = &minutes
			return err
		}},
		number("casts", "`number` of casts", func(d *stintDraft) **int { return &d.stint.Casts }),
		word("stroke", "casting `stroke`", journal.Strokes(), func(d *stintDraft) *journal.Stroke { return &d.stint.Stroke }),
		quantity("tag-end", "`length` of the tag when the stint ended, if it was cut", units.Length, func(d *stintDraft) **float64 { return &d.tagEndMM }),
		{"note", "`text` on the stint", func(d *stintDraft, v string, _ units.System) error {
			d.stint.Notes = v
			return nil
		}},
	}
	return append(fields, countFields()...)
}

// allStintFields are the parts of --stint.
func allStintFields() []field[stintDraft] { return append(stintFields(), rigFields()...) }

// quantity is a field with a unit. A bare number is in the unit that the person
// sees; where that invites a slip it is refused.
func quantity[T any](key, usage string, q units.Quantity, to func(*T) **float64) field[T] {
	return field[T]{key, usage, func(d *T, v string, sys units.System) error {
		si, err := units.Parser{}.Parse(q, v, bareUnit(q, sys))
		if err != nil {
			return err
		}
		_, err = units.Parser{}.Parse(q, v, "")
		if err != nil && key == "tag" && sys != units.US && si < shortestBareTag {
			return fmt.Errorf("%s without a unit would be mm; write %s cm or %s mm", v, v, v)
		}
		*to(d) = &si
		return nil
	}}
}

// shortestBareTag is the tag in mm below which a bare metric number was more
// likely meant in cm. Common practice, no source.
const shortestBareTag = 50

func bareUnit(q units.Quantity, sys units.System) units.Unit {
	us := sys == units.US
	switch {
	case q == units.Length && us:
		return units.Inch
	case q == units.Length:
		return units.Millimetre
	case q == units.Depth && us:
		return units.Foot
	case q == units.Depth:
		return units.Metre
	case q == units.Flow && us:
		return units.CubicFootPerSecond
	case q == units.Flow:
		return units.CubicMetrePerSecond
	case q == units.Speed && us:
		return units.FootPerSecond
	case q == units.Speed:
		return units.MetrePerSecond
	case q == units.Temperature && us:
		return units.Fahrenheit
	case q == units.Temperature:
		return units.Celsius
	}
	return units.X
}

// word is a field of the journal's vocabulary.
func word[T any, W ~string](key, usage string, words []W, to func(*T) *W) field[T] {
	return field[T]{key, usage + ": " + list(words), func(d *T, v string, _ units.System) error {
		w, err := known(strings.ReplaceAll(key, "-", " "), v, words)
		*to(d) = w
		return err
	}}
}

func known[W ~string](what, v string, words []W) (W, error) {
	for _, w := range words {
		if strings.EqualFold(string(w), v) {
			return w, nil
		}
	}
	return "", fmt.Errorf("%s %q is not known%s", what, v, terminal.Guess("", v, command.Words(words), "; write one of: "+list(words)))
}

func list[W ~string](words []W) string { return strings.Join(command.Words(words), ", ") }

// setJunction reads one of the known junctions, or "other:" with the person's own name for it.
func setJunction(d *stintDraft, v string, _ units.System) (err error) {
	if kind, name, ok := strings.Cut(v, ":"); ok && strings.EqualFold(strings.TrimSpace(kind), string(journal.JunctionOther)) {
		d.fly.Junction, d.fly.JunctionName = journal.JunctionOther, strings.TrimSpace(name)
		return nil
	}
	d.fly.Junction, err = known("junction", v, journal.Junctions())
	if err != nil {
		return fmt.Errorf("%w; a knot of your own is other:NAME", err)
	}
	return nil
}

func number[T any](key, usage string, to func(*T) **int) field[T] {
	return field[T]{key, usage, func(d *T, v string, _ units.System) error {
		n, err := whole(v)
		*to(d) = &n
		return err
	}}
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
