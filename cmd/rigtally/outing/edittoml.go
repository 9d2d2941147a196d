package outing

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// faultMark begins the lines at the head of a text that say what is wrong with it.
const faultMark = "#! "

// page is a session as TOML, to be edited.
type page struct {
	text  string
	quiet map[string]bool // totals that are left out since they follow from their parts, by stint and place
}

// writePage puts a session into TOML, with comments that say what may be written.
func writePage(s journal.Session, n Known, sys units.System) page {
	t := tell(s, n, sys)
	p := page{quiet: map[string]bool{}}
	var b strings.Builder
	fmt.Fprintf(&b, "# %s on %s, %s, as the journal has it.\n", t.session["angler"], t.session["water"], prose.Day(s.Day))
	fmt.Fprintf(&b, "# Change what is wrong, save, and close the editor; with nothing changed nothing is stored.\n")
	fmt.Fprintf(&b, "# A line taken out, or \"\", is not noted. Of counts, 0 is none, and not the same as not counted.\n")
	fmt.Fprintf(&b, "# Numbers may have units. Bare ones are in %s.\n\n", bareUnits(sys))
	fmt.Fprintf(&b, "session = %s\nversion = %d  # the one that this was made from\n\n", quoted(s.ID.String()), t.version)
	usages := usagesToEdit()
	list := func(values map[string]string, keys []string, explain bool) {
		for _, key := range keys {
			line := fmt.Sprintf("%s = %s", key, literal(values[key]))
			switch {
			case explain && values[key] == "":
				fmt.Fprintf(&b, "%-34s # %s\n", "# "+line, usages[key])
			case explain:
				fmt.Fprintf(&b, "%-34s # %s\n", line, usages[key])
			case values[key] != "":
				b.WriteString(line + "\n")
			}
		}
	}
	details := func(st journal.Stint, place int) {
		for _, i := range at(st.Events, place) {
			if e := st.Events[i]; !plain(e) {
				b.WriteString("# In detail, and kept as it is; it is among the counts: " + detail(e, sys) + "\n")
			}
		}
	}
	list(t.session, sessionKeys(), true)
	for i, st := range t.stints {
		also := "Without its id it is a new one; taken out with all below it, it is gone."
		if i > 0 {
			also = "All that may be written stands in the first."
		}
		fmt.Fprintf(&b, "\n# Stint %d. %s\n[[stint]]\nid = %s\n", i+1, also, quoted(st.id))
		list(st.values, stintKeys(), i == 0)
		for _, place := range placesInOrder(st) {
			values := maps.Clone(st.places[place])
			for _, t := range tallies() {
				if follows(t, values) {
					p.quiet[quietKey(st.id, place, t.key)] = true
					delete(values, t.key)
				}
			}
			if place == st.main {
				b.WriteString("# What happened" + onWhat(place) + ":\n")
				keys := placeKeys()
				if place == wholeRig {
					keys = keys[len(tagToEdit()):] // a tag is a fly's
				}
				list(values, keys, i == 0)
				details(s.Stints[i], place)
				continue
			}
			fmt.Fprintf(&b, "\n[[stint.fly]]\nposition = %d  # %s\n", place, journal.PositionTitle(place))
			list(values, placeKeys(), false)
			details(s.Stints[i], place)
		}
	}
	p.text = b.String()
	return p
}

func quietKey(stint string, place int, key string) string {
	return fmt.Sprintf("%s %d %s", stint, place, key)
}

// follows reports whether a total is what its parts add up to.
func follows(t tally, values map[string]string) bool {
	if len(t.parts) == 0 || values[t.key] == "" {
		return false
	}
	total, told := 0, false
	for _, part := range t.parts {
		list, err := parseBroken(values[part])
		if err != nil {
			return false
		}
		told = told || values[part] != ""
		for _, b := range list {
			total += b.Count
		}
	}
	return told && values[t.key] == strconv.Itoa(total)
}

// placesInOrder are the places of a stint, the one of its own counts first.
func placesInOrder(st toldStint) []int {
	list := slices.Sorted(maps.Keys(st.places))
	list = slices.DeleteFunc(list, func(place int) bool { return place == st.main })
	return append([]int{st.main}, list...)
}

func onWhat(place int) string {
	if place == wholeRig {
		return ", on no fly in particular"
	}
	return ""
}

func bareUnits(sys units.System) string {
	if sys == units.US {
		return "inches, feet, cfs and °F"
	}
	return "mm, m, m³/s and °C"
}

// usagesToEdit say what each name stands for.
func usagesToEdit() map[string]string {
	usages := map[string]string{"rig": "name of the rig, as \"rigtally rigs list\" shows it"}
	add := func(key, usage string) { usages[key] = strings.ReplaceAll(usage, "`", "") }
	for _, e := range sessionEntries() {
		add(e.key, e.usage)
	}
	for _, e := range stintToEdit() {
		add(e.key, e.usage)
	}
	for _, e := range tagToEdit() {
		add(e.key, e.usage)
	}
	for _, e := range countEntries() {
		add(e.key, e.usage)
	}
	usages["notes"], usages["date"] = "on the session", "the day, as 2026-05-03"
	usages["time-zone"] = "time zone that its times are in, if they were read in a wrong one: America/Denver"
	usages["hookups"] = "fish hooked; left out, it follows from those landed, lost and broken off"
	usages["tangles"] = "tangles of all kinds; left out, it follows from the kinds"
	return usages
}

// detail says what an event is that says more than a count.
func detail(e journal.Event, sys units.System) string {
	parts := []string{strconv.Itoa(e.Count) + " " + string(e.Kind)}
	for _, word := range []string{string(e.Hooking), string(e.Ending), string(e.BreakPlace), string(e.TangleKind), e.Species} {
		if word != "" {
			parts = append(parts, word)
		}
	}
	if e.FishLengthMM != nil {
		parts = append(parts, units.FormatLength(*e.FishLengthMM, sys))
	}
	if e.Minute != nil {
		parts = append(parts, fmt.Sprintf("minute %d", *e.Minute))
	}
	if e.Note != "" {
		parts = append(parts, strings.Join(strings.Fields(e.Note), " "))
	}
	return strings.Join(parts, ", ")
}

// literal is a value as TOML has it: a whole number bare, all else as a text.
func literal(text string) string {
	if _, err := strconv.ParseUint(text, 10, 31); err == nil && (text == "0" || text[0] != '0') {
		return text
	}
	return quoted(text)
}

func quoted(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteString(`\` + string(r))
		case r == '\n':
			b.WriteString(`\n`)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String() + `"`
}

// atLine is what is wrong with a text, and where.
type atLine struct {
	line int
	err  error
}

func (e *atLine) Error() string { return fmt.Sprintf("line %d, %v", e.line, e.err) }
func (e *atLine) Unwrap() error { return e.err }

// written is a page as it was read back, with the lines of its names.
type written struct {
	told
	session string // the id of the session that it is of
	lines   map[string]int
}

func lineKey(stint, place int, key string) string { return fmt.Sprintf("%d %d %s", stint, place, key) }

// locate finds the line of what is wrong.
func (w written) locate(err error) error {
	var fault *wrong
	if !errors.As(err, &fault) {
		return err
	}
	for _, place := range []int{fault.place, wholeRig} {
		if line, ok := w.lines[lineKey(fault.stint, place, fault.key)]; ok {
			return &atLine{line, err}
		}
	}
	if line, ok := w.lines[lineKey(fault.stint, wholeRig, "")]; ok {
		return &atLine{line, err}
	}
	return err
}

// readPage reads TOML back.
func readPage(text string) (w written, err error) {
	w = written{told: told{session: map[string]string{}}, lines: map[string]int{}}
	var bad *toml.DecodeError
	if err := toml.Unmarshal([]byte(text), new(map[string]any)); errors.As(err, &bad) {
		line, _ := bad.Position()
		return w, &atLine{line, fmt.Errorf("this is no TOML (%s); write name = \"value\"", strings.TrimPrefix(bad.Error(), "toml: "))}
	}
	var p unstable.Parser
	p.Reset([]byte(text))
	stint, place, within := 0, wholeRig, w.told.session
	keys := sessionKeys()
	var flies []map[string]string // of the stint, whose positions are told inside
	end := func() error { return w.place(stint, flies) }
	for p.NextExpression() {
		e := p.Expression()
		name, line := keyAt(&p, e)
		switch {
		case e.Kind == unstable.ArrayTable && name == "stint":
			if err := end(); err != nil {
				return w, err
			}
			flies = nil
			stint, place = stint+1, wholeRig
			w.lines[lineKey(stint, wholeRig, "")] = line
			within = map[string]string{}
			w.stints = append(w.stints, toldStint{values: within, places: map[int]map[string]string{}, main: wholeRig})
			keys = append(append([]string{"id"}, stintKeys()...), placeKeys()...)
		case e.Kind == unstable.ArrayTable && name == "stint.fly" && stint > 0:
			within, place = map[string]string{"": strconv.Itoa(line)}, 100+len(flies)
			flies = append(flies, within)
			keys = append([]string{"position"}, placeKeys()...)
		case e.Kind != unstable.KeyValue:
			return w, &atLine{line, fmt.Errorf("[%s] is not known; there are [[stint]] and [[stint.fly]]", name)}
		default:
			known := keys
			if stint == 0 {
				known = append([]string{"session", "version"}, keys...)
			}
			value, err := valueOf(e.Value())
			switch _, twice := within[name]; {
			case err != nil:
				return w, &atLine{line, fmt.Errorf("%s: %w", name, err)}
			case !slices.Contains(known, name):
				return w, &atLine{line, fmt.Errorf("%q is not known%s", name, terminal.Guess("", name, known, "; the names are those of the comments"))}
			case twice:
				return w, &atLine{line, fmt.Errorf("%s is given twice; leave one out", name)}
			}
			within[name] = value
			w.lines[lineKey(stint, place, name)] = line
		}
	}
	if err := p.Error(); err != nil {
		return w, fmt.Errorf("read the session as TOML: %w", err)
	}
	if err := end(); err != nil {
		return w, err
	}
	w.told.session = maps.Clone(w.told.session)
	w.session = w.told.session["session"]
	w.version, _ = strconv.Atoi(w.told.session["version"])
	delete(w.told.session, "session")
	delete(w.told.session, "version")
	dropEmpty(w.told.session)
	return w, nil
}

// place sorts what a stint's lines say: its own values, and what happened at each place.
func (w *written) place(number int, flies []map[string]string) error {
	if number == 0 {
		return nil
	}
	st := &w.stints[number-1]
	st.id = st.values["id"]
	delete(st.values, "id")
	own := map[string]string{}
	for key, text := range st.values {
		if slices.Contains(placeKeys(), key) {
			own[key] = text
			delete(st.values, key)
		}
	}
	st.places[wholeRig] = own
	for i, fly := range flies {
		line, _ := strconv.Atoi(fly[""])
		position, err := whole(fly["position"])
		if err != nil {
			return &atLine{line, fmt.Errorf("the position of the fly is missing; write position = 1 for the dropper above the point")}
		}
		if _, twice := st.places[position]; twice {
			return &atLine{line, fmt.Errorf("position %d is given twice; put both into one", position)}
		}
		delete(fly, "")
		delete(fly, "position")
		for key := range fly {
			w.lines[lineKey(number, position, key)] = w.lines[lineKey(number, 100+i, key)]
		}
		st.places[position] = fly
	}
	for _, values := range st.places {
		dropEmpty(values)
	}
	dropEmpty(st.values)
	return nil
}

// settle says of a page that was read back which place its stints' own counts belong to, as the page had it, and which
// totals go along with their parts.
func (w *written) settle(before told, quiet map[string]bool) {
	for i := range w.stints {
		st := &w.stints[i]
		j := slices.IndexFunc(before.stints, func(t toldStint) bool { return t.id == st.id })
		if j < 0 {
			continue
		}
		if st.main = before.stints[j].main; st.main != wholeRig {
			own := st.places[wholeRig]
			delete(st.places, wholeRig)
			if fly, both := st.places[st.main]; both {
				maps.Copy(own, fly)
			}
			st.places[st.main] = own
			for key := range own {
				if line, ok := w.lines[lineKey(i+1, wholeRig, key)]; ok {
					w.lines[lineKey(i+1, st.main, key)] = line
				}
			}
		}
		for place, values := range st.places {
			for _, t := range tallies() {
				if _, said := values[t.key]; !said && quiet[quietKey(st.id, place, t.key)] {
					values[t.key] = moves
				}
			}
		}
	}
}

// keyAt is the name of an expression, dots within, and the line it stands in.
func keyAt(p *unstable.Parser, e *unstable.Node) (name string, line int) {
	var parts []string
	for it := e.Key(); it.Next(); {
		n := it.Node()
		if parts = append(parts, string(n.Data)); line == 0 {
			line = p.Shape(n.Raw).Start.Line
		}
	}
	return strings.Join(parts, "."), line
}

// valueOf is a value as a text.
func valueOf(n *unstable.Node) (string, error) {
	switch n.Kind {
	case unstable.String, unstable.Integer, unstable.Float, unstable.LocalDate, unstable.LocalTime, unstable.LocalDateTime:
		return strings.TrimSpace(string(n.Data)), nil
	case unstable.Bool:
		if string(n.Data) == "true" {
			return "yes", nil
		}
		return "no", nil
	}
	return "", errors.New("this must be one value, in quotes or a number")
}
