package logging

import (
	"slices"
	"testing"
	"time"

	"rigtally/journal"
)

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
			if e.Kind == journal.EventTangle && (e.TangleKind == "") == st.Recorded.Has(journal.KindTangleKind) {
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
