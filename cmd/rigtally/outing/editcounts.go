package outing

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// tally is a count of one place on the rig, named as the flag of "rigtally log" that tells it.
type tally struct {
	key   string
	kinds []journal.Kind           // that were counted where none of it is a zero
	of    func(journal.Event) bool // whether an event is among those counted
	one   journal.Event            // what one more of it is
	parts []string                 // counts of which this is the total; the rest of it is events like one
}

const (
	wholeRig = -1  // the place of events that belong to no fly
	moves    = "~" // of a total: it goes along with its parts
)

func kindOf(kind journal.EventKind) func(journal.Event) bool {
	return func(e journal.Event) bool { return e.Kind == kind }
}

func hooked(ending journal.Ending) func(journal.Event) bool {
	return func(e journal.Event) bool { return e.Kind == journal.EventHookup && e.Ending == ending }
}

func tangled(kind journal.TangleKind) func(journal.Event) bool {
	return func(e journal.Event) bool { return e.Kind == journal.EventTangle && e.TangleKind == kind }
}

// tallies are the counts that are whole numbers of events, totals behind their parts.
func tallies() []tally {
	event := func(kind journal.EventKind) journal.Event { return journal.Event{Kind: kind} }
	return []tally{
		{"landed", []journal.Kind{journal.KindLanded}, hooked(journal.Landed), journal.Event{Kind: journal.EventHookup, Ending: journal.Landed}, nil},
		{"lost", []journal.Kind{journal.KindLost}, hooked(journal.Lost), journal.Event{Kind: journal.EventHookup, Ending: journal.Lost}, nil},
		{"hookups", []journal.Kind{journal.KindHookups}, kindOf(journal.EventHookup), event(journal.EventHookup), []string{"landed", "lost", "broke-off"}},
		{"snags", []journal.Kind{journal.KindSnags}, kindOf(journal.EventSnag), event(journal.EventSnag), []string{"snag-broke"}},
		{"twists", []journal.Kind{journal.KindTangles, journal.KindTangleKind}, tangled(journal.Twist), journal.Event{Kind: journal.EventTangle, TangleKind: journal.Twist}, nil},
		{"wind-knots", []journal.Kind{journal.KindTangles, journal.KindTangleKind}, tangled(journal.WindKnot), journal.Event{Kind: journal.EventTangle, TangleKind: journal.WindKnot}, nil},
		{"nests", []journal.Kind{journal.KindTangles, journal.KindTangleKind}, tangled(journal.Nest), journal.Event{Kind: journal.EventTangle, TangleKind: journal.Nest}, nil},
		{"tangles", []journal.Kind{journal.KindTangles}, kindOf(journal.EventTangle), event(journal.EventTangle), []string{"twists", "wind-knots", "nests"}},
		{"fly-changes", []journal.Kind{journal.KindChanges}, kindOf(journal.EventFlyChange), event(journal.EventFlyChange), nil},
		{"re-ties", []journal.Kind{journal.KindChanges}, kindOf(journal.EventRetie), event(journal.EventRetie), nil},
	}
}

// kindsOf are the kinds that a count of a key tells of.
func kindsOf(key string) []journal.Kind {
	switch key {
	case "foul":
		return []journal.Kind{journal.KindHooking}
	case "broke-off":
		return []journal.Kind{journal.KindBrokeOff}
	case "snag-broke":
		return []journal.Kind{journal.KindSnags}
	case "minutes-lost":
		return []journal.Kind{journal.KindMinutesLost}
	case "checks", "turns":
		return []journal.Kind{journal.KindTurns}
	}
	for _, t := range tallies() {
		if t.key == key {
			return t.kinds
		}
	}
	return nil
}

// plain reports whether an event says no more than a count does.
func plain(e journal.Event) bool {
	return e.Minute == nil && e.Species == "" && e.FishLengthMM == nil && e.Note == ""
}

// at are the events of a place, by their index.
func at(events []journal.Event, place int) []int {
	var list []int
	for i, e := range events {
		if e.Position == nil && place == wholeRig || e.Position != nil && *e.Position == place {
			list = append(list, i)
		}
	}
	return list
}

// counted adds up the events of a place.
func counted(events []journal.Event, place int, of func(journal.Event) bool) (n int) {
	for _, i := range at(events, place) {
		if of(events[i]) {
			n += events[i].Count
		}
	}
	return n
}

// countTexts tells the counts of a place: of what happened, and with zeros of what was counted as none.
func countTexts(st journal.Stint, place int, zeros bool, sys units.System) map[string]string {
	texts := map[string]string{}
	events := st.Events
	tell := func(key string, n int) {
		if n > 0 || zeros && st.Recorded.Has(kindsOf(key)...) {
			texts[key] = strconv.Itoa(n)
		}
	}
	for _, t := range tallies() {
		tell(t.key, counted(events, place, t.of))
	}
	tell("foul", counted(events, place, foul))
	tell("checks", counted(events, place, kindOf(journal.EventCheck)))
	for key, of := range brokenOff() {
		if tell(key, counted(events, place, of)); texts[key] != "" {
			texts[key] = brokenText(events, place, of)
		}
	}
	if texts["snag-broke"] == "0" {
		delete(texts, "snag-broke") // the snags say so
	}
	if texts["checks"] != "" && texts["checks"] != "0" {
		texts["turns"] = strconv.Itoa(sum(events, place, func(e journal.Event) *int { return e.Turns }))
	}
	lost := func(e journal.Event) *int { return e.MinutesLost }
	if slices.ContainsFunc(at(events, place), func(i int) bool { return events[i].MinutesLost != nil }) {
		texts["minutes-lost"] = strconv.Itoa(sum(events, place, lost))
	}
	if cut := cutOf(events, place); cut != nil {
		texts["cut"] = units.ExactLength(*cut, sys)
	}
	return texts
}

func foul(e journal.Event) bool {
	return e.Kind == journal.EventHookup && e.Hooking == journal.Foul
}

// brokenOff are the counts by place of break.
func brokenOff() map[string]func(journal.Event) bool {
	return map[string]func(journal.Event) bool{
		"broke-off":  hooked(journal.BrokeOff),
		"snag-broke": func(e journal.Event) bool { return e.Kind == journal.EventSnag && e.Ending == journal.BrokeOff },
	}
}

func brokenText(events []journal.Event, place int, of func(journal.Event) bool) string {
	var parts []string
	for _, where := range append([]journal.BreakPlace{""}, journal.BreakPlaces()...) {
		n := counted(events, place, func(e journal.Event) bool { return of(e) && e.BreakPlace == where })
		switch {
		case n > 0 && where == "":
			parts = append(parts, strconv.Itoa(n))
		case n > 0:
			parts = append(parts, fmt.Sprintf("%s=%d", where, n))
		}
	}
	if len(parts) == 0 {
		return "0"
	}
	return strings.Join(parts, "; ")
}

func sum(events []journal.Event, place int, of func(journal.Event) *int) (total int) {
	for _, i := range at(events, place) {
		if n := of(events[i]); n != nil {
			total += *n
		}
	}
	return total
}

// cutOf is the cut that all fly changes of a place agree on.
func cutOf(events []journal.Event, place int) (cut *float64) {
	first := true
	for _, i := range at(events, place) {
		if e := events[i]; e.Kind == journal.EventFlyChange {
			if !first && (cut == nil) != (e.CutMM == nil) || cut != nil && e.CutMM != nil && *cut != *e.CutMM {
				return nil
			}
			cut, first = e.CutMM, false
		}
	}
	return cut
}

// recount brings the events of a place up to the counts that were told otherwise than before. Those that a count left
// as it was stay as they are, and so do those that say more than a count. fair is the hooking of new fish.
func recount(events []journal.Event, place int, before, told map[string]string, fair journal.Hooking, sys units.System) ([]journal.Event, error) {
	c := counting{slices.Clone(events), place, fair}
	changed := func(keys ...string) bool {
		return slices.ContainsFunc(keys, func(key string) bool { return told[key] != before[key] && told[key] != moves })
	}
	for key, of := range brokenOff() {
		if changed(key) {
			if err := c.broken(key, told[key], of); err != nil {
				return nil, err
			}
		}
	}
	for _, t := range tallies() {
		if !changed(t.key) && !(told[t.key] != moves && told[t.key] != "" && changed(t.parts...)) {
			continue
		}
		want, err := number(told[t.key])
		if err != nil {
			return nil, fmt.Errorf("%s: %w", t.key, err)
		}
		if err := c.bring(t.one, want-counted(c.events, place, t.of)); err != nil {
			return nil, fmt.Errorf("%s: %w", t.key, c.short(t, want, told, err))
		}
	}
	for _, rest := range []struct {
		keys []string
		do   func(map[string]string) error
	}{{[]string{"foul"}, c.foul}, {[]string{"checks", "turns"}, c.checks}, {[]string{"minutes-lost"}, c.minutes}, {[]string{"cut"}, func(told map[string]string) error { return c.cut(told["cut"], sys) }}} {
		if changed(rest.keys...) {
			if err := rest.do(told); err != nil {
				return nil, fmt.Errorf("%s: %w", rest.keys[0], err)
			}
		}
	}
	if len(c.events) == 0 {
		return nil, nil
	}
	return c.events, nil
}

// number is a count, none where it is blank.
func number(text string) (int, error) {
	if units.IsBlank(text) {
		return 0, nil
	}
	return whole(text)
}

// counting is what happened at one place of a stint, while its counts are changed.
type counting struct {
	events []journal.Event
	place  int
	fair   journal.Hooking
}

// like reports whether an event can be counted up or down for one that says no more than a count.
func like(e, one journal.Event) bool {
	fair := (e.Hooking == journal.Foul) == (one.Hooking == journal.Foul)
	return plain(e) && e.Kind == one.Kind && e.Ending == one.Ending && e.BreakPlace == one.BreakPlace && e.TangleKind == one.TangleKind && fair
}

// bring counts so many more, or fewer, of an event.
func (c *counting) bring(one journal.Event, by int) error {
	endings := []journal.Ending{one.Ending}
	if one.Kind == journal.EventSnag && one.Ending == "" {
		endings = append(endings, journal.Freed)
	}
	for _, ending := range endings {
		one.Ending = ending
		for _, i := range slices.Backward(at(c.events, c.place)) {
			if by != 0 && like(c.events[i], one) {
				n := max(c.events[i].Count+by, 0)
				by -= n - c.events[i].Count
				c.events[i].Count = n
			}
		}
	}
	c.events = slices.DeleteFunc(c.events, func(e journal.Event) bool { return e.Count == 0 })
	switch {
	case by < 0:
		return errTooFew
	case by > 0:
		one.Ending, one.Count = endings[0], by
		if c.place != wholeRig {
			one.Position = new(c.place)
		}
		if one.Kind == journal.EventHookup {
			one.Hooking = c.fair
		}
		if one.Kind == journal.EventFlyChange {
			one.CutMM = cutOf(c.events, c.place)
		}
		c.events = append(c.events, one)
	}
	return nil
}

var errTooFew = fmt.Errorf("fewer than the journal has in detail; take those out on the session's page first")

// short says why there can't be so few.
func (c *counting) short(t tally, want int, told map[string]string, err error) error {
	if len(t.parts) == 0 || err == nil {
		return err
	}
	var named []string
	for _, part := range t.parts {
		if text := told[part]; text != "" && text != "0" {
			named = append(named, part+" "+text)
		}
	}
	if len(named) == 0 {
		return err
	}
	return fmt.Errorf("%d are fewer than there are of %s alone; count each of those among the %s, too", want, strings.Join(named, ", "), t.key)
}

// broken counts what broke off, place by place.
func (c *counting) broken(key, text string, of func(journal.Event) bool) error {
	var want []journal.BrokeAt
	if !units.IsBlank(text) {
		var err error
		if want, err = parseBroken(text); err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
	}
	one := journal.Event{Kind: journal.EventHookup, Ending: journal.BrokeOff}
	if key == "snag-broke" {
		one.Kind = journal.EventSnag
	}
	for _, where := range append([]journal.BreakPlace{""}, journal.BreakPlaces()...) {
		n := 0
		for _, b := range want {
			if b.Place == where {
				n += b.Count
			}
		}
		one.BreakPlace = where
		if err := c.bring(one, n-counted(c.events, c.place, func(e journal.Event) bool { return of(e) && e.BreakPlace == where })); err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
	}
	return nil
}

// foul says of so many fish that they were hooked foul: of those whose end was not noted, then of those landed, lost and
// broken off; fewer the other way round.
func (c *counting) foul(told map[string]string) error {
	want, err := number(told["foul"])
	if err != nil {
		return err
	}
	by := want - counted(c.events, c.place, foul)
	from, to := journal.Hooking(""), journal.Foul
	if by < 0 {
		from, to, by = journal.Foul, journal.Fair, -by
	}
	for _, ending := range []journal.Ending{"", journal.Landed, journal.Lost, journal.BrokeOff} {
		for _, i := range at(c.events, c.place) {
			e := c.events[i]
			if by == 0 || !plain(e) || e.Kind != journal.EventHookup || e.Ending != ending || (from == journal.Foul) != (e.Hooking == journal.Foul) {
				continue
			}
			n := min(by, e.Count)
			by -= n
			c.events[i].Count -= n
			e.Hooking, e.Count = to, n
			c.events = append(c.events, e)
		}
	}
	c.events = slices.DeleteFunc(c.events, func(e journal.Event) bool { return e.Count == 0 })
	if by > 0 && to == journal.Foul {
		return fmt.Errorf("%d are more than were hooked; count foul-hooked fish among the hookups, too", want)
	}
	if by > 0 {
		return errTooFew
	}
	return nil
}

// checks counts looks at the tag with the turns that they showed.
func (c *counting) checks(told map[string]string) error {
	n, err := number(told["checks"])
	if err != nil {
		return err
	}
	turns, err := number(told["turns"])
	switch {
	case err != nil:
		return err
	case n > 0 && told["turns"] == "":
		return fmt.Errorf("the turns seen are missing; add turns, 0 for none")
	case n == 0 && turns > 0:
		return fmt.Errorf("turns were seen, but no check is counted; add the checks")
	}
	var kept []journal.Event
	for i, e := range c.events {
		if !plain(e) || e.Kind != journal.EventCheck || !slices.Contains(at(c.events, c.place), i) {
			kept = append(kept, e)
		}
	}
	c.events = kept
	n -= counted(kept, c.place, kindOf(journal.EventCheck))
	turns -= sum(kept, c.place, func(e journal.Event) *int { return e.Turns })
	if n < 0 || turns < 0 {
		return errTooFew
	}
	if err := c.bring(journal.Event{Kind: journal.EventCheck}, n); err != nil || n == 0 {
		return err
	}
	c.events[len(c.events)-1].Turns = &turns
	return nil
}

// minutes puts the minutes lost on the first tangle, or on the first re-tie if there was no tangle.
func (c *counting) minutes(told map[string]string) error {
	text := told["minutes-lost"]
	want, err := number(text)
	if err != nil {
		return err
	}
	for _, kind := range []journal.EventKind{journal.EventTangle, journal.EventRetie} {
		first := -1
		for _, i := range at(c.events, c.place) {
			switch e := &c.events[i]; {
			case e.Kind != kind:
			case !plain(*e):
				want -= number0(e.MinutesLost)
			case first < 0:
				first = i
			default:
				e.MinutesLost = new(int)
				if units.IsBlank(text) {
					e.MinutesLost = nil
				}
			}
		}
		if want < 0 {
			return errTooFew
		}
		if first >= 0 {
			c.events[first].MinutesLost = &want
			if units.IsBlank(text) {
				c.events[first].MinutesLost = nil
			}
			return nil
		}
	}
	if want > 0 {
		return fmt.Errorf("%d minutes were lost, but no tangle or re-tie is counted; add it", want)
	}
	return nil
}

func number0(n *int) int {
	if n == nil {
		return 0
	}
	return *n
}

// cut says what each fly change took off the tag.
func (c *counting) cut(text string, sys units.System) error {
	var mm *float64
	if !units.IsBlank(text) {
		v, err := units.Parse(units.Length, text, units.Bare(units.Length, sys))
		if err != nil {
			return err
		}
		mm = &v
	}
	found := false
	for _, i := range at(c.events, c.place) {
		if c.events[i].Kind == journal.EventFlyChange {
			c.events[i].CutMM, found = mm, true
		}
	}
	if mm != nil && !found {
		return fmt.Errorf("a cut without a fly change; add the fly changes")
	}
	return nil
}
