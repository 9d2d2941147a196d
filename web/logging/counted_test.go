package logging

import (
	"encoding/json"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
)

// everySet lists every set of kinds, and the one that nobody said.
func everySet() []journal.Recorded {
	kinds := journal.Kinds()
	list := []journal.Recorded{0}
	for bits := range 1 << len(kinds) {
		r := journal.RecordedOf()
		for i, k := range kinds {
			if bits&(1<<i) != 0 {
				r = r.With(k)
			}
		}
		list = append(list, r)
	}
	return list
}

// someRig is a rig with two droppers, in lists as the form has them.
func someRig(t *testing.T) (known, journal.Rig) {
	rig := journal.Rig{ID: newID(t), Name: "Three flies", Revision: 1, Positions: []journal.RigPosition{{Position: 0}, {Position: 1, Hang: journal.HangTag}, {Position: 2, Hang: journal.HangTag}}}
	return known{rigs: []journal.Rig{rig}}, rig
}

// entering fills the form with a stint, changes some fields and reads it. stored
// is whether the journal holds the stint.
func entering(t *testing.T, k known, st journal.Stint, stored bool, changes map[string]string) journal.Stint {
	t.Helper()
	f := newEntry(units.Metric)
	var was journal.Session
	if stored {
		f.fillStint(0, st, k)
		was.Stints = []journal.Stint{st}
	} else {
		f.Set(stintName(0, "id"), st.ID.String())
		f.Set(stintName(0, "rig"), st.RigID.String())
		f.Set(stintName(0, "at.all.landed"), "")
	}
	for name, value := range changes {
		f.Set(stintName(0, name), value)
	}
	got := f.readStint(0, k, was)
	if len(f.Faults) > 0 {
		t.Fatalf("%v: %+v", changes, f.Faults)
	}
	return got
}

// A stint that is opened and saved untouched stays as it was, whatever was
// counted in it and whatever happened.
func TestFormKeepsWhatWasCounted(t *testing.T) {
	t.Parallel()
	k, rig := someRig(t)
	r := rand.New(rand.NewPCG(9, 9))
	for _, recorded := range everySet() {
		st := journal.Stint{ID: newID(t), RigID: rig.ID, Recorded: recorded}
		for range 1 + r.IntN(2) { // first of all with nothing that happened
			if got := entering(t, k, st, true, nil); !reflect.DeepEqual(got, st) {
				t.Fatalf("counted %v (assumed %v)\n got %v %s\nwant %s", recorded.Kinds(), recorded.Assumed(), got.Recorded.Kinds(), inJSON(got), inJSON(st))
			}
			st.Events = anyEvents(r)
		}
	}
}

// What a new stint's fields say, field by field.
func TestBlankIsNotZero(t *testing.T) {
	t.Parallel()
	const (
		hookups, landed, lost, broke, hooking, place      = journal.KindHookups, journal.KindLanded, journal.KindLost, journal.KindBrokeOff, journal.KindHooking, journal.KindBreakPlace
		snags, tangles, tangleKind, turns, changes, spent = journal.KindSnags, journal.KindTangles, journal.KindTangleKind, journal.KindTurns, journal.KindChanges, journal.KindMinutesLost
	)
	for _, c := range []struct {
		fields map[string]string
		want   []journal.Kind
		events int
	}{
		{nil, nil, 0},
		{map[string]string{"at.all.landed": " "}, nil, 0},
		{map[string]string{"at.all.landed": "-"}, nil, 0},
		{map[string]string{"at.all.landed": "0"}, []journal.Kind{landed}, 0},
		{map[string]string{"at.all.landed": "2"}, []journal.Kind{landed}, 1},
		{map[string]string{"at.2.landed": "2"}, []journal.Kind{landed}, 1},
		{map[string]string{"at.all.landed": "0", "at.all.lost": "0"}, []journal.Kind{landed, lost}, 0},
		{map[string]string{"at.all.landed": "1", "at.all.lost": "0", "at.all.fish-broke-place-unknown": "0"}, []journal.Kind{hookups, landed, lost, broke, place}, 1},
		{map[string]string{"at.all.landed": "1", "at.all.lost": "0", "at.all.fish-broke-place-unknown": "1"}, []journal.Kind{hookups, landed, lost, broke}, 2},
		{map[string]string{"at.all.landed": "0", "at.all.lost": "0", "at.all.fish-broke-place-unknown": "0"}, []journal.Kind{hookups, landed, lost, broke, place, hooking}, 0},
		{map[string]string{"at.all.fish-broke-junction": "1"}, []journal.Kind{broke, place}, 1},
		{map[string]string{"at.all.hooked": "3"}, []journal.Kind{hookups}, 1},
		{map[string]string{"at.all.foul": "0"}, []journal.Kind{hooking}, 0},
		{map[string]string{"at.all.foul-lost": "1"}, []journal.Kind{hooking, lost}, 1},
		{map[string]string{"at.all.snag-freed": "0"}, []journal.Kind{snags}, 0},
		{map[string]string{"at.1.snag-broke-tag": "1"}, []journal.Kind{snags}, 1}, // where fish broke was not counted
		{map[string]string{"at.all.twist": "2"}, []journal.Kind{tangles, tangleKind}, 1},
		{map[string]string{"at.all.twist": "2", "at.all.minutes-lost": "5"}, []journal.Kind{tangles, tangleKind, spent}, 1},
		{map[string]string{"at.all.tangle": "2"}, []journal.Kind{tangles}, 1},
		{map[string]string{"at.all.tangle": "0"}, []journal.Kind{tangles, tangleKind, spent}, 0},
		{map[string]string{"at.all.tangle": "0", "at.all.minutes-lost": "0"}, []journal.Kind{tangles, tangleKind, spent}, 0},
		{map[string]string{"at.all.check": "0"}, []journal.Kind{turns}, 0},
		{map[string]string{"at.1.check": "3", "at.1.turns": "0"}, []journal.Kind{turns}, 1},
		{map[string]string{"at.all.re-tie": "1"}, []journal.Kind{changes}, 1},
		{map[string]string{"at.all.fly-change": "0"}, []journal.Kind{changes}, 0},
	} {
		k, rig := someRig(t)
		for name := range c.fields {
			if place, _, _ := strings.Cut(name, "."+name[strings.LastIndex(name, ".")+1:]); c.fields[place+".landed"] == "" {
				c.fields[place+".landed"] = "" // a place has all its fields
			}
		}
		got := entering(t, k, journal.Stint{ID: newID(t), RigID: rig.ID}, false, c.fields)
		if want := journal.RecordedOf(c.want...); got.Recorded != want || len(got.Events) != c.events {
			t.Errorf("%v: counted %v, want %v; events %s", c.fields, got.Recorded.Kinds(), want.Kinds(), inJSON(got.Events))
		}
	}
}

// Clearing what was counted, filling in what was not and changing a tick say so
// of that kind, and of those that rest on it, alone.
func TestEditSaysWhatWasCounted(t *testing.T) {
	t.Parallel()
	k, rig := someRig(t)
	all, without := journal.AllRecorded(), journal.AllRecorded().Without
	for name, c := range map[string]struct {
		before  journal.Recorded
		events  []journal.Event
		changes map[string]string
		want    journal.Recorded
	}{
		"a count is changed":                  {0, []journal.Event{{Kind: journal.EventSnag, Count: 1, Ending: journal.Freed}}, map[string]string{"at.all.snag-freed": "2"}, 0},
		"a zero is changed":                   {0, nil, map[string]string{"at.all.snag-freed": "2"}, 0},
		"a zero is cleared, assumed":          {0, nil, map[string]string{"at.all.snag-freed": ""}, without(journal.KindSnags)},
		"a zero is cleared, said":             {all, []journal.Event{{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.Lost}}, map[string]string{"at.all.foul": ""}, without(journal.KindHooking)},
		"a count is cleared":                  {all, []journal.Event{{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.Lost}}, map[string]string{"at.all.lost": ""}, without(journal.KindLost, journal.KindHookups)},
		"all tangles are cleared":             {all, nil, map[string]string{"at.all.twist": "", "at.all.wind-knot": "", "at.all.nest": ""}, without(journal.KindTangles, journal.KindTangleKind, journal.KindMinutesLost)},
		"one of a group is cleared":           {all, nil, map[string]string{"at.all.nest": ""}, all},
		"a zero is filled in":                 {without(journal.KindTurns), nil, map[string]string{"at.all.check": "0"}, all},
		"tangles of live stay what they were": {all, []journal.Event{{Kind: journal.EventTangle, Count: 1, TangleKind: journal.Nest, Minute: new(4)}}, map[string]string{"minutes": "40"}, all},
		"more than none, no minutes":          {all, nil, map[string]string{"at.all.twist": "1"}, all},
		"events without a count of them":      {without(journal.KindSnags), []journal.Event{{Kind: journal.EventSnag, Count: 1, Ending: journal.Freed}}, map[string]string{"at.all.snag-freed": "2"}, without(journal.KindSnags)},
		"their tick is set":                   {without(journal.KindSnags), []journal.Event{{Kind: journal.EventSnag, Count: 1, Ending: journal.Freed}}, map[string]string{"kept.snags": "yes"}, all},
		"a tick is taken off, assumed":        {0, nil, map[string]string{"kept.tangle-kind": ""}, without(journal.KindTangleKind)},
	} {
		st := journal.Stint{ID: newID(t), RigID: rig.ID, Recorded: c.before, Events: c.events}
		if got := entering(t, k, st, true, c.changes); got.Recorded != c.want {
			t.Errorf("%s: counted %v (assumed %v), want all but %v (assumed %v)", name, got.Recorded.Kinds(), got.Recorded.Assumed(), c.want.Missing(), c.want.Assumed())
		}
	}
}

// Of fish fair or foul is told where it was counted, and not where it was not.
func TestFormTellsHookingWhereItWasCounted(t *testing.T) {
	t.Parallel()
	k, rig := someRig(t)
	st := journal.Stint{ID: newID(t), RigID: rig.ID}
	hookings := func(events []journal.Event) (list []journal.Hooking) {
		for _, e := range events {
			list = append(list, e.Hooking)
		}
		return list
	}
	untold := entering(t, k, st, false, map[string]string{"at.all.landed": "2"})
	if got := hookings(untold.Events); !slices.Equal(got, []journal.Hooking{""}) {
		t.Errorf("foul left blank: %q", got)
	}
	if got := hookings(entering(t, k, untold, true, map[string]string{"at.all.lost": "1"}).Events); !slices.Equal(got, []journal.Hooking{"", ""}) {
		t.Errorf("and one more: %q", got)
	}
	if got := hookings(entering(t, k, untold, true, map[string]string{"at.all.foul": "0"}).Events); !slices.Equal(got, []journal.Hooking{journal.Fair}) {
		t.Errorf("foul filled in later: %q", got)
	}
	if got := hookings(entering(t, k, st, false, map[string]string{"at.all.landed": "2", "at.all.foul": "1"}).Events); !slices.Equal(got, []journal.Hooking{journal.Fair, journal.Foul}) {
		t.Errorf("foul counted: %q", got)
	}
}

func newID(t *testing.T) journal.ID {
	t.Helper()
	return journal.NewID()
}

func inJSON(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		return err.Error()
	}
	return string(text)
}
