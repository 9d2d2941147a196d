package logging

import (
	"bufio"
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"rigtally/journal"
)

// phoneTap is a tap on the pad, with what was said of it after.
type phoneTap struct {
	Key    string         `json:"key"`
	After  int            `json:"after"` // seconds
	Fields map[string]any `json:"fields,omitempty"`
}

type phoneCase struct {
	Mode string      `json:"mode"`
	Rig  journal.Rig `json:"rig"`
	Taps []phoneTap  `json:"taps"`
}

// phoneSaid is what the phone makes of it.
type phoneSaid struct {
	Shown   map[string]int      `json:"shown"` // on the counters
	Each    []journal.Event     `json:"each"`  // one event a tap, without checks whose turns were not said
	Tags    map[string]*float64 `json:"tags"`  // length by now, by position
	Pulls   map[string]float64  `json:"pulls"` // on the knot since it was tied, likewise
	Sent    []journal.Event     `json:"sent"`
	Minutes *float64            `json:"minutes"`
}

var phoneKeys = []string{"landed", "lost", "broke-off", "foul", "snag", "check", "twist", "wind-knot", "nest", "tangle", "fly-change", "re-tie"}

func anyTaps(r *rand.Rand, rig journal.Rig) []phoneTap {
	taps := []phoneTap{}
	second := 0
	for range r.IntN(20) {
		second += r.IntN(170)
		t := phoneTap{Key: phoneKeys[r.IntN(len(phoneKeys))], After: second, Fields: map[string]any{}}
		say := func(name string, value any) {
			if r.IntN(2) == 0 {
				t.Fields[name] = value
			}
		}
		switch t.Key {
		case "broke-off":
			say("break_place", journal.BreakPlaces()[r.IntN(len(journal.BreakPlaces()))])
		case "foul":
			say("ending", journal.HookupEndings()[r.IntN(3)])
		case "snag":
			say("ending", "freed")
		case "check":
			say("turns", r.IntN(5))
		case "twist", "wind-knot", "nest", "tangle", "re-tie":
			say("minutes_lost", 1+r.IntN(9))
		case "fly-change":
			say("cut_mm", r.IntN(7))
		}
		if t.Key != "fly-change" {
			say("position", rig.Positions[r.IntN(len(rig.Positions))].Position)
		}
		taps = append(taps, t)
	}
	return taps
}

// play runs the phone's modules in Node.
func play(t *testing.T, cases []phoneCase) []phoneSaid {
	t.Helper()
	script, err := os.ReadFile("testdata/phone.mjs")
	if err != nil {
		t.Fatal(err)
	}
	var in bytes.Buffer
	enc := json.NewEncoder(&in)
	for _, c := range cases {
		if err := enc.Encode(c); err != nil {
			t.Fatal(err)
		}
	}
	out := runOnPhone(t, string(script), in.Bytes())
	var list []phoneSaid
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); {
		var said phoneSaid
		if err := json.Unmarshal(lines.Bytes(), &said); err != nil {
			t.Fatalf("%v: %s", err, lines.Text())
		}
		list = append(list, said)
	}
	if len(list) != len(cases) {
		t.Fatalf("%d answers to %d cases", len(list), len(cases))
	}
	return list
}

// What the phone counts, gathers and sends is what the journal's own rules make of
// each tap: on any taps, the counters, the sums and the tags' lengths agree.
func TestThePhoneCountsAsTheJournal(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(9, 3))
	tag := func(position int) journal.RigPosition {
		return journal.RigPosition{Position: position, Hang: journal.HangTag, Junction: "blood", TagLengthMM: new(300.0)}
	}
	rigs := []journal.Rig{{ID: newID(t), Name: "One", Positions: []journal.RigPosition{{Position: 0}, tag(1)}},
		{ID: newID(t), Name: "Two", Positions: []journal.RigPosition{{Position: 0}, tag(1), tag(2)}}, {ID: newID(t), Name: "None", Positions: []journal.RigPosition{{Position: 0}}}}
	var cases []phoneCase
	for range 600 {
		c := phoneCase{Mode: []string{"live", "after"}[r.IntN(2)], Rig: rigs[r.IntN(len(rigs))]}
		c.Taps = anyTaps(r, c.Rig)
		cases = append(cases, c)
	}
	sent := 0
	for i, said := range play(t, cases) {
		c := cases[i]
		each, err := journal.TallyStint(c.Rig, journal.Stint{RigID: c.Rig.ID, Minutes: said.Minutes, Events: said.Each})
		if err != nil {
			t.Fatalf("case %d: %v", i, err)
		}
		gathered, err := journal.TallyStint(c.Rig, journal.Stint{RigID: c.Rig.ID, Minutes: said.Minutes, Events: said.Sent})
		if err != nil {
			t.Fatalf("case %d: what is sent: %v", i, err)
		}
		sent += len(said.Sent)
		if gathered.Stint != each.Stint || len(said.Sent) > len(said.Each) {
			t.Fatalf("case %d: sent %v, tapped %v", i, gathered.Stint, each.Stint)
		}
		for position, counts := range each.Positions {
			if gathered.Positions[position] != counts {
				t.Fatalf("case %d: at %d sent %v, tapped %v", i, position, gathered.Positions[position], counts)
			}
		}
		shownAs(t, i, said, each.Stint)
		lastTags(t, i, c.Rig, said, gathered)
		lastPulls(t, i, c.Rig, said)
	}
	if sent < 2000 {
		t.Errorf("only %d events were sent in all", sent)
	}
}

// shownAs holds the counters of the pad against the journal's counts.
func shownAs(t *testing.T, i int, said phoneSaid, n journal.Counts) {
	t.Helper()
	foul := map[journal.Ending]int{}
	unsaid := said.Shown["check"] // those whose turns were not said are not sent
	for _, e := range said.Each {
		if e.Hooking == journal.Foul {
			foul[e.Ending] += e.Count
		}
		if e.Kind == journal.EventCheck {
			unsaid -= e.Count
		}
	}
	for key, want := range map[string]int{
		"landed": n.Int(journal.CountLanded) - foul[journal.Landed], "lost": n.Int(journal.CountLost) - foul[journal.Lost], "broke-off": n.Int(journal.CountBrokeOff) - foul[journal.BrokeOff],
		"foul": n.Int(journal.CountFoul), "snag": n.Int(journal.CountSnags), "check": n.Int(journal.CountChecks) + unsaid, "twist": n.Int(journal.CountTwists),
		"wind-knot": n.Int(journal.CountWindKnots), "nest": n.Int(journal.CountNests), "tangle": n.Int(journal.CountKindUntold), "fly-change": n.Int(journal.CountFlyChanges), "re-tie": n.Int(journal.CountReties),
	} {
		if said.Shown[key] != want {
			t.Fatalf("case %d: the pad shows %d %s, the journal counts %d", i, said.Shown[key], key, want)
		}
	}
}

// lastTags holds the lengths that the pad shows against the journal's last spell of
// each tag, where the journal tells it: a re-tie of no fly in particular leaves it open
// on a rig of several droppers.
func lastTags(t *testing.T, i int, rig journal.Rig, said phoneSaid, n journal.Tally) {
	t.Helper()
	last := map[int]float64{}
	changed := slices.ContainsFunc(said.Sent, func(e journal.Event) bool { return e.Kind == journal.EventFlyChange || e.Kind == journal.EventRetie })
	for _, p := range rig.Droppers() {
		if !changed {
			last[p.Position] = *p.TagLengthMM
		}
	}
	for _, sp := range n.Spells {
		last[sp.Position] = sp.TagMM
	}
	for position, mm := range last {
		got := said.Tags[string(rune('0'+position))]
		if got == nil || math.Abs(*got-mm) > 0.002 {
			t.Fatalf("case %d: the pad has the tag of %d at %s mm, the journal at %g: %s", i, position, inJSON(got), mm, inJSON(said))
		}
	}
}

// lastPulls holds the pulls on each knot since it was tied against how the journal deals out each event.
func lastPulls(t *testing.T, i int, rig journal.Rig, said phoneSaid) {
	t.Helper()
	for _, p := range rig.Droppers() {
		want := 0.0
		for _, e := range said.Each {
			dealt := e.Deal(rig)[p.Position]
			if want += dealt[journal.CountLoads]; dealt[journal.CountReties]+dealt[journal.CountBrokeJunction]+dealt[journal.CountBrokeTag] > 0 {
				want = 0
			}
		}
		if got := said.Pulls[string(rune('0'+p.Position))]; got != want {
			t.Fatalf("case %d: the pad has %g pulls on the knot of %d, the journal %g: %s", i, got, p.Position, want, inJSON(said.Each))
		}
	}
}

// Every counter of the pad is one of the form's, so that the form can show what
// the pad has counted.
func TestThePadsCountersAreTheForms(t *testing.T) {
	t.Parallel()
	rig := journal.Rig{ID: newID(t), Name: "None", Positions: []journal.RigPosition{{Position: 0}}}
	var cases []phoneCase
	for _, key := range phoneKeys {
		cases = append(cases, phoneCase{Mode: "after", Rig: rig, Taps: []phoneTap{{Key: key, Fields: map[string]any{"turns": 0}}}})
		if key != "check" {
			cases[len(cases)-1].Taps[0].Fields = nil
		}
	}
	for i, said := range play(t, cases) {
		if list := noted(said.Sent); len(said.Sent) != 1 || len(list) != 0 {
			t.Errorf("%s: sent %+v, which no counter of the form holds", phoneKeys[i], said.Sent)
		}
	}
}

// The phone has the journal's kinds, in its order and with its names, and of any
// set that is off it says what is left, without what rests on that.
func TestPhoneCountsTheJournalsKinds(t *testing.T) {
	t.Parallel()
	var said struct {
		Words, Titles []string
		Recorded      []journal.Recorded
	}
	sets := everySet()[1:]
	off := make([][]string, len(sets))
	for i, r := range sets {
		off[i] = kindWords(r.Missing())
	}
	onPhone(t, `import { recorded, titles } from "./recorded.js";
say({ Words: Object.keys(titles), Titles: Object.values(titles), Recorded: given.map(recorded) });`, off, &said)
	var names []string
	for _, k := range journal.Kinds() {
		names = append(names, k.Title())
	}
	if !slices.Equal(said.Words, kindWords(journal.Kinds())) || !slices.Equal(said.Titles, names) {
		t.Errorf("the phone has %q, %q", said.Words, said.Titles)
	}
	for i, r := range sets {
		for _, k := range r.Missing() {
			r = r.Without(rests(k)...)
		}
		if said.Recorded[i] != r {
			t.Fatalf("without %v it says %v, want %v", off[i], said.Recorded[i].Kinds(), r.Kinds())
		}
	}
}

func kindWords(kinds []journal.Kind) []string {
	list := []string{}
	for _, k := range kinds {
		list = append(list, k.String())
	}
	return list
}

// What can be tapped is what is counted: a tap on every counter that stands on
// the pad tells of all the kinds that the session says it counts, fair or foul and
// the details that are asked for later aside, and of no other.
func TestPhonePadIsWhatIsRecorded(t *testing.T) {
	t.Parallel()
	type stint struct {
		Recorded journal.Recorded
		Events   []journal.Event
		Off      []string // counters that show that they are not counted
	}
	var said []stint
	sets := everySet()[1:]
	off := make([][]string, len(sets))
	for i, r := range sets {
		off[i] = kindWords(r.Missing())
	}
	onPhone(t, `import { newDraft, tap, finish } from "./draft.js";
import { kinds } from "./events.js";
import { standing } from "./recorded.js";
import { toSent } from "./sent.js";
say(given.map((off) => {
	const d = newDraft("live", { angler: { id: "" }, water: { id: "" }, rig: "" }, 0, off);
	for (const key of Object.keys(kinds)) if (standing(key, off) === "on") {
		const e = tap(d, key, 1000, null, 10);
		if (e.kind === "check") e.turns = 1;
	}
	finish(d, 600000);
	const st = toSent(d, 600000).session.stints[0];
	return { Recorded: st.recorded, Events: st.events ?? [], Off: Object.keys(kinds).filter((key) => standing(key, off) === "off") };
}));`, off, &said)
	details := []journal.Kind{journal.KindHooking, journal.KindBreakPlace, journal.KindTangleKind, journal.KindMinutesLost}
	for i, st := range said {
		told := journal.RecordedOf()
		for _, e := range st.Events {
			told = told.With(cell{event: e}.kinds()...)
			if e.Kind == journal.EventHookup && (e.Hooking == "") == st.Recorded.Has(journal.KindHooking) {
				t.Fatalf("off %v: a hookup is told as %q", off[i], e.Hooking)
			}
			if e.Kind == journal.EventTangle && e.TangleKind != "" && !st.Recorded.Has(journal.KindTangleKind) {
				t.Fatalf("off %v: a tangle is told as %q", off[i], e.TangleKind)
			}
		}
		want := st.Recorded.Without(details...)
		if st.Recorded.Has(journal.KindLanded, journal.KindLost, journal.KindBrokeOff) {
			want, told = want.With(journal.KindHookups), told.With(journal.KindHookups) // by their ends
			if !sets[i].Has(journal.KindHookups) {
				want = want.Without(journal.KindHookups)
				told = told.Without(journal.KindHookups)
			}
		}
		if got := told.Without(details...); got != want {
			t.Fatalf("off %v: the pad tells of %v, the session of %v", off[i], got.Kinds(), want.Kinds())
		}
	}
	if last := said[len(said)-1]; len(last.Off) != 0 || len(said[0].Events) != 0 {
		t.Errorf("with all counted off are %v; with nothing counted there are %v", last.Off, said[0].Events)
	}
}

// The phone reads the clock by the journal's rule, over midnight and over the
// changes of the clocks too.
func TestPhoneReadsTheClockAsTheJournal(t *testing.T) {
	t.Parallel()
	type reading struct{ Day, From, To, Zone string }
	var given []reading
	for _, day := range []string{"2026-06-01", "2026-03-28", "2026-03-29", "2026-10-24", "2026-10-25", "2026-12-31"} {
		for _, zone := range []string{"UTC", "Europe/Vienna", "America/Denver"} {
			for _, times := range [][2]string{{"08:00", "11:30"}, {"08:00", "08:00"}, {"21:30", "00:15"}, {"19:00", "09:00"}, {"19:00", "09:01"}, {"04:00", "01:00"}, {"23:59", "12:30"}} {
				given = append(given, reading{day, times[0], times[1], zone})
			}
		}
	}
	var said []struct {
		Started, Ended *int64
		Night          bool
		Wrong          string
	}
	onPhone(t, `import { readClock } from "./times.js";
say(given.map((r) => readClock(r.Day, r.From, r.To, r.Zone)));`, given, &said)
	clock := func(s string) time.Duration {
		at, err := time.Parse("15:04", s)
		if err != nil {
			t.Fatal(err)
		}
		return time.Duration(at.Hour())*time.Hour + time.Duration(at.Minute())*time.Minute
	}
	for i, r := range given {
		day, err := journal.ParseDate(r.Day)
		if err != nil {
			t.Fatal(err)
		}
		span, err := journal.ReadClock(day, r.Zone, clock(r.From), clock(r.To), 0)
		got := said[i]
		if (err != nil) != (got.Wrong != "") || got.Night != (span.Says != "") {
			t.Errorf("%v: %q, night %t; the journal: %v, %q", r, got.Wrong, got.Night, err, span.Says)
		}
		if err == nil && (*got.Started != span.Start.UnixMilli() || *got.Ended != span.End.UnixMilli()) {
			t.Errorf("%v: %d to %d; the journal: %s to %s", r, *got.Started, *got.Ended, span.Start, span.End)
		}
	}
}
