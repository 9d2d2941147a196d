package pg_test

import (
	"reflect"
	"slices"
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

func TestMarkRecorded(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	before := b.store1(t, b.session(t, day(2025, 4, 1), new(60.0), journaltest.Tangles(2)))
	two := b.session(t, day(2025, 4, 2), new(90.0), journaltest.Hookups(3, journal.Fair, journal.Landed))
	two.Stints = append(two.Stints, journal.Stint{ID: journaltest.NewID(t), RigID: b.rig.ID, Minutes: new(30.0), Recorded: journal.AllRecorded(), Events: []journal.Event{journaltest.Tangles(1)}})
	two = b.store1(t, two)
	last := b.store1(t, b.session(t, day(2025, 4, 30), new(60.0)))
	after := b.store1(t, b.session(t, day(2025, 5, 1), new(60.0), journaltest.Tangles(1)))
	maud, err := b.store.AnglerNamed(ctx, "Maud")
	if err != nil {
		t.Fatal(err)
	}
	other := b.session(t, day(2025, 4, 2), new(60.0))
	other.AnglerID = maud.ID
	other = b.store1(t, other)
	if _, err := b.store.Facts(ctx); err != nil { // so that the facts kept must see the change
		t.Fatal(err)
	}

	mark := journal.RecordedMark{Angler: b.angler.ID, From: day(2025, 4, 2), To: day(2025, 4, 30), Not: []journal.Kind{journal.KindTangles}}
	revision, err := b.store.Revision(ctx)
	if err != nil {
		t.Fatal(err)
	}
	preview, err := b.store.PreviewRecorded(ctx, mark)
	if err != nil {
		t.Fatal(err)
	}
	if now, err := b.store.Revision(ctx); err != nil || now != revision {
		t.Errorf("a preview wrote: revision %d after %d, %v", now, revision, err)
	}
	marked, err := b.store.MarkRecorded(ctx, mark)
	if err != nil || !reflect.DeepEqual(marked, preview) {
		t.Errorf("%+v, %v; the preview was %+v", marked, err, preview)
	}
	if marked.Sessions != 2 || marked.Stints != 3 || marked.Hours != 3 || marked.Changed != 3 || marked.Assumed != 2 || marked.Noted[journal.KindTangles] != 1 {
		t.Errorf("%+v", marked)
	}
	if !slices.Contains(marked.Also, journal.KindSnags) || slices.Contains(marked.Also, journal.KindTangles) || slices.Contains(marked.Also, journal.KindLanded) {
		t.Errorf("never in them either: %v", marked.Also)
	}
	now := func(s journal.Session) journal.Session {
		t.Helper()
		got, err := b.store.SessionByID(ctx, s.ID)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	without := journal.AllRecorded().Without(journal.KindTangles)
	want := two
	want.Version = 2
	want.Stints = slices.Clone(two.Stints)
	want.Stints[0].Recorded, want.Stints[1].Recorded = without, without
	if got := now(two); !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got := now(last); got.Version != 2 || got.Stints[0].Recorded != without {
		t.Errorf("%+v", got)
	}
	for _, untouched := range []journal.Session{before, after, other} {
		if got := now(untouched); !reflect.DeepEqual(got, untouched) {
			t.Errorf("%+v, was %+v", got, untouched)
		}
	}
	if a := ask(t, b, "tangles"); a.Groups[0].K != 3 || a.Groups[0].T != 3 || a.LeftOut["stints with no count kept of tangles"] != 3 {
		t.Errorf("%+v", a)
	}

	// The fingerprint is that of the new content: the same session sent again is no conflict.
	again := now(two)
	if sent, err := b.store.SaveSession(ctx, again); err != nil || sent.Version != 2 {
		t.Errorf("sent again: version %d, %v", sent.Version, err)
	}
	// Marking twice changes nothing, and taking it back is the content of before.
	if twice, err := b.store.MarkRecorded(ctx, mark); err != nil || twice.Changed != 0 || now(two).Version != 2 {
		t.Errorf("twice: %+v, %v", twice, err)
	}
	if _, err := b.store.MarkRecorded(ctx, journal.RecordedMark{Angler: b.angler.ID, From: mark.From, To: mark.To, Kept: mark.Not}); err != nil {
		t.Fatal(err)
	}
	if got := now(two); got.Version != 3 || got.Stints[0].Recorded != journal.AllRecorded() {
		t.Errorf("kept: %+v", got)
	}
	if _, err := b.store.MarkRecorded(ctx, journal.RecordedMark{Angler: b.angler.ID, From: mark.To, To: mark.To, Forget: true}); err != nil {
		t.Fatal(err)
	}
	if got := now(last); got.Version != 4 || !got.Stints[0].Recorded.Assumed() {
		t.Errorf("assumed again: %+v", got)
	}
	if a := ask(t, b, "tangles"); a.Groups[0].K != 4 || len(a.LeftOut) != 0 || a.Assumed != 4 {
		t.Errorf("%+v", a)
	}
}

func TestMarkRecordedRefuses(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(60.0)))
	not := []journal.Kind{journal.KindTangles}
	for name, m := range map[string]journal.RecordedMark{
		"no day":          {Angler: b.angler.ID, Not: not},
		"days turned":     {Angler: b.angler.ID, From: journaltest.May1, To: day(2025, 1, 1), Not: not},
		"nothing said":    {Angler: b.angler.ID, From: journaltest.May1, To: journaltest.May1},
		"both":            {Angler: b.angler.ID, From: journaltest.May1, To: journaltest.May1, Not: not, Kept: not},
		"forget and not":  {Angler: b.angler.ID, From: journaltest.May1, To: journaltest.May1, Not: not, Forget: true},
		"no session then": {Angler: b.angler.ID, From: day(2025, 1, 1), To: day(2025, 2, 1), Not: not},
		"nobody":          {Angler: journaltest.NewID(t), From: journaltest.May1, To: journaltest.May1, Not: not},
	} {
		if _, err := b.store.MarkRecorded(t.Context(), m); !journal.IsInvalid(err) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A session without count of something bad is none of those that may be without any.
func TestOutingsNeedTheirCounts(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(2)))
	for _, k := range []journal.Kind{journal.KindTangles, journal.KindHooking, journal.KindLost, journal.KindBrokeOff, journal.KindHookups, journal.KindSnags} {
		s := b.session(t, journaltest.May1, new(120.0))
		s.Stints = append(s.Stints, journal.Stint{ID: journaltest.NewID(t), RigID: b.rig.ID, Minutes: new(60.0)})
		s.Stints[0].Recorded = journal.AllRecorded().Without(k)
		b.store1(t, s)
	}
	q, err := b.store.Quality(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if want := []journal.Outing{{Angler: "Ilse", Hours: 1, Bad: 2}, {Angler: "Ilse", Hours: 3}}; !reflect.DeepEqual(q.Outings, want) { // snags are nothing bad
		t.Errorf("%+v, want %+v", q.Outings, want)
	}
	stints, said := 0, 0
	for _, d := range q.Days {
		stints += d.Stints
		if !d.Recorded.Assumed() {
			said += d.Stints
		}
		if n := d.Counts[journal.CountTangles]; (n == 2) != (d.Recorded.Assumed()) {
			t.Errorf("%+v", d)
		}
	}
	if stints != 13 || said != 6 || len(q.Days) != 7 {
		t.Errorf("%d stints, %d of which something was said, in %d parts", stints, said, len(q.Days))
	}
}

// What was not counted is no zero: 15 hours without count of tangles leave a rate as it was, and are
// told; an outcome of something else goes on using them.
func TestNoCountIsNoZero(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(180.0), journaltest.Tangles(5), journaltest.Hookups(2, journal.Fair, journal.Landed)))
	before := ask(t, b, "tangles", by(t, "junction"))
	s := b.session(t, journaltest.May1, new(900.0), journaltest.Hookups(6, journal.Fair, journal.Landed))
	s.Stints[0].Recorded = journal.AllRecorded().Without(journal.KindTangles)
	b.store1(t, s)
	after := ask(t, b, "tangles", by(t, "junction"))
	if g, was := group(t, after, "blood", 0), group(t, before, "blood", 0); g.K != was.K || g.T != was.T || g.K != 5 || g.T != 3 {
		t.Errorf("tangles: %+v, before %+v", g, was)
	}
	if n := after.LeftOut["stints with no count kept of tangles"]; n != 1 {
		t.Errorf("left out: %v", after.LeftOut)
	}
	if a := ask(t, b, "landed"); a.Groups[0].K != 8 || a.Groups[0].T != 18 || len(a.LeftOut) != 0 || a.Assumed != 1 {
		t.Errorf("landed: %+v, left out %v, assumed %d", a.Groups[0], a.LeftOut, a.Assumed)
	}
}

// Every outcome needs a count kept of what is counted and of what it is counted against, each of
// which alone leaves the stint out.
func TestEveryOutcomeNeedsItsCounts(t *testing.T) {
	t.Parallel()
	want := map[string][]journal.Kind{
		"tangles": {journal.KindTangles}, "twists": {journal.KindTangles, journal.KindTangleKind}, "turns": {journal.KindTurns},
		"foul-hook": {journal.KindHookups, journal.KindHooking}, "loss": {journal.KindHookups, journal.KindLost}, "break-off": {journal.KindHookups, journal.KindBrokeOff},
		"junction-break": {journal.KindHookups, journal.KindSnags, journal.KindBreakPlace}, "hookups": {journal.KindHookups}, "landed": {journal.KindLanded},
		"downtime": {journal.KindMinutesLost},
	}
	for _, o := range journal.Outcomes() {
		b := newBench(t)
		happened := []journal.Event{journaltest.Hookups(2, journal.Fair, journal.Lost), {Kind: journal.EventTangle, Count: 1, MinutesLost: new(3)}, {Kind: journal.EventCheck, Count: 1, Turns: new(1)}}
		b.store1(t, b.session(t, journaltest.May1, new(60.0), happened...))
		for _, k := range journal.Kinds() {
			s := b.session(t, journaltest.May1, new(60.0), happened...)
			s.Stints[0].Recorded = journal.AllRecorded().Without(k)
			b.store1(t, s)
		}
		a := ask(t, b, o.Key)
		out := 0
		for _, k := range want[o.Key] {
			if n := a.LeftOut["stints with no count kept of "+k.Title()]; n != 1 {
				t.Errorf("%s: %d stints are left out for want of %s", o.Key, n, k)
			}
			out++
		}
		if a.Stints != 1+len(journal.Kinds())-out || len(a.LeftOut) != out {
			t.Errorf("%s: %d stints used, left out %v", o.Key, a.Stints, a.LeftOut)
		}
	}
}

// A detail that was not told removes no stint; the answer gives its number.
func TestDetailsNotToldAreCounted(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	untold := journaltest.Hookups(3, "", journal.Lost)
	b.store1(t, b.session(t, journaltest.May1, new(60.0), untold, journaltest.Hookups(1, journal.Foul, journal.Landed), journaltest.Hookups(2, journal.Fair, journal.Landed), journal.Event{Kind: journal.EventTangle, Count: 2},
		journal.Event{Kind: journal.EventSnag, Count: 2, Ending: journal.BrokeOff}))
	s := b.session(t, journaltest.May1, new(60.0), untold)
	s.Stints[0].Recorded = journal.AllRecorded().Without(journal.KindHooking)
	b.store1(t, s)
	for _, tt := range []struct {
		outcome        string
		untold, asFair int
		k, t           float64
	}{
		{"loss", 3, 1, 6, 8},      // 3 lost of the 5 not foul, and 3 of 3
		{"foul-hook", 3, 0, 1, 6}, // the second stint is left out
		{"twists", 2, 0, 0, 2},    //
		{"tangles", 0, 0, 2, 2},   // the kind is no detail that tangles go by
		{"hookups", 0, 0, 9, 2},   //
		{"junction-break", 2, 0, 0, 11},
	} {
		a := ask(t, b, tt.outcome)
		if a.Untold != tt.untold || a.AsFair != tt.asFair || a.Groups[0].K != tt.k || a.Groups[0].T != tt.t {
			t.Errorf("%s: %d not told, %d as fair, %g of %g", tt.outcome, a.Untold, a.AsFair, a.Groups[0].K, a.Groups[0].T)
		}
	}
}
