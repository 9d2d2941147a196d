package outing

import (
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
)

// season is an invented one, with what its sessions refer to.
func season(t *testing.T) ([]journal.Session, planner) {
	t.Helper()
	s := demo.Generate(demo.Seed, 60)
	n := In(journal.Contents{Anglers: s.Anglers, Waters: s.Waters, Rigs: s.Rigs})
	return s.Sessions, planner{known: n, zone: "UTC", sys: units.US, now: time.Date(2026, 11, 1, 12, 0, 0, 0, time.UTC)}
}

// edit changes the page of a session and plans what it says then.
func edit(t *testing.T, pl planner, s journal.Session, change func(string) string) (plan, error) {
	t.Helper()
	shown := writePage(s, pl.known, pl.sys)
	w, err := readPage(change(shown.text))
	if err != nil {
		return plan{}, err
	}
	w.settle(tell(s, pl.known, pl.sys), shown.quiet)
	p, err := pl.edited(s, w.told)
	return p, w.locate(err)
}

// Ensure that a page that is saved as it was shown says the same session, to the last event.
func TestPageSavedAsItWasShownChangesNothing(t *testing.T) {
	t.Parallel()
	sessions, pl := season(t)
	for _, sys := range []units.System{units.US, units.Metric} {
		pl.sys = sys
		for _, s := range sessions {
			p, err := edit(t, pl, s, func(text string) string { return text })
			if err != nil || !p.session.SaysWhat(s) {
				t.Fatalf("%v\n%+v\n%+v\n%s", err, s, p.session, writePage(s, pl.known, sys).text)
			}
		}
	}
}

// counted is what can be counted up by one, with what goes along.
var countedUp = map[string][]journal.Count{
	"landed": {journal.CountLanded, journal.CountHookups}, "lost": {journal.CountLost, journal.CountHookups}, "hookups": {journal.CountHookups},
	"snags": {journal.CountSnags}, "twists": {journal.CountTwists, journal.CountTangles}, "wind-knots": {journal.CountWindKnots, journal.CountTangles},
	"nests": {journal.CountNests, journal.CountTangles}, "tangles": {journal.CountTangles}, "fly-changes": {journal.CountFlyChanges}, "re-ties": {journal.CountReties},
}

// Ensure that one count changed, up and back down, changes that count alone and the total that it belongs to, and keeps
// what is noted in detail word for word.
func TestOneCountChangedKeepsTheOthers(t *testing.T) {
	t.Parallel()
	sessions, pl := season(t)
	tried := 0
	for _, s := range sessions {
		for key, moving := range countedUp {
			now := tell(s, pl.known, pl.sys).clone()
			values := now.stints[0].places[now.stints[0].main]
			ends := slices.ContainsFunc(s.Stints[0].Positions, func(p journal.StintPosition) bool { return p.TagEndMM != nil })
			if values[key] == "" || ends && (key == "fly-changes" || key == "re-ties") {
				continue // not counted, or the tag's end would contradict it
			}
			tried++
			n, err := strconv.Atoi(values[key])
			if err != nil {
				t.Fatal(err)
			}
			values[key] = strconv.Itoa(n + 1)
			for _, of := range tallies() {
				if slices.Contains(of.parts, key) {
					values[of.key] = moves
				}
			}
			p, err := pl.edited(s, now)
			if err != nil {
				t.Fatalf("%s: %v", key, err)
			}
			if !reflect.DeepEqual(inDetail(s), inDetail(p.session)) {
				t.Fatalf("%s: details changed\n%+v\n%+v", key, s, p.session)
			}
			was, is := totals(t, s, pl.known), totals(t, p.session, pl.known)
			for count := range was {
				want := 0
				if slices.Contains(moving, count) {
					want = 1
				}
				if got := is[count] - was[count]; got != want {
					t.Fatalf("%s one up: %v moved by %d, not %d\n%+v\n%+v", key, count, got, want, s.Stints[0], p.session.Stints[0])
				}
			}
			back := tell(p.session, pl.known, pl.sys).clone()
			values = back.stints[0].places[back.stints[0].main]
			values[key] = strconv.Itoa(n)
			for _, of := range tallies() {
				if slices.Contains(of.parts, key) {
					values[of.key] = moves
				}
			}
			again, err := pl.edited(p.session, back)
			if err != nil {
				t.Fatalf("%s, back: %v", key, err)
			}
			if got := totals(t, again.session, pl.known); !reflect.DeepEqual(got, was) {
				t.Fatalf("%s, up and back: %v, was %v", key, got, was)
			}
		}
	}
	if tried < 300 {
		t.Errorf("only %d changes were tried", tried)
	}
}

// inDetail are the events that say more than a count.
func inDetail(s journal.Session) (list []journal.Event) {
	for _, st := range s.Stints {
		for _, e := range st.Events {
			if !plain(e) {
				list = append(list, e)
			}
		}
	}
	return list
}

// totals are the counts of a session's first stint, as the journal counts them.
func totals(t *testing.T, s journal.Session, n Known) map[journal.Count]int {
	t.Helper()
	tally, err := journal.TallyStint(n.Rigs[s.Stints[0].RigID], s.Stints[0])
	if err != nil {
		t.Fatal(err)
	}
	all := map[journal.Count]int{}
	for _, counts := range countedUp {
		for _, c := range counts {
			all[c] = tally.Stint.Int(c)
		}
	}
	for _, c := range []journal.Count{journal.CountFoul, journal.CountBrokeOff, journal.CountMinutesLost, journal.CountChecks, journal.CountTurns} {
		all[c] = tally.Stint.Int(c)
	}
	return all
}

// Ensure that what is wrong is said with the line in which it stands.
func TestWhatIsWrongIsSaidWithItsLine(t *testing.T) {
	t.Parallel()
	sessions, pl := season(t)
	s := sessions[slices.IndexFunc(sessions, func(s journal.Session) bool { return s.Start != nil })]
	page := writePage(s, pl.known, pl.sys).text
	lineOf := func(text, start string) int { return 1 + strings.Count(text[:strings.Index(text, start)], "\n") }
	for _, c := range []struct{ from, to, want string }{
		{"\nwater = ", "\nwater = Marrow # ", "this is no TOML"},
		{"\nwater = ", "\nwatre = ", `did you mean "water"?`},
		{"\ndate = ", "\ndate = \"2026-02-31\" # ", "is not a day of the calendar"},
		{"\nminutes = ", "\nminutes = \"an hour\" # ", "is not a time"},
		{"\nrig = ", "\nrig = \"Nosuch\" # ", `the journal has no rig "Nosuch"`},
		{"\nlanded = ", "\nlanded = \"many\" # ", "is not a whole number"},
		{"\nlanded = ", "\nlanded = [1] # ", "one value"},
		{"\nstart = ", "\nstart = \"25:00\" # ", "is not a time of day"},
	} {
		if !strings.Contains(page, c.from) {
			t.Fatalf("the page has no %q:\n%s", c.from, page)
		}
		_, err := edit(t, pl, s, func(text string) string { return strings.Replace(text, c.from, c.to, 1) })
		at := "line " + strconv.Itoa(lineOf(page, strings.TrimPrefix(c.from, "\n"))) + ","
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), at) {
			t.Errorf("%q: %v, want %q at %s", c.to, err, c.want, at)
		}
	}
}

// Ensure that a count taken out was not counted, that a stint taken out is gone and one without an id is new.
func TestStintsAndCountsComeAndGo(t *testing.T) {
	t.Parallel()
	sessions, pl := season(t)
	i := slices.IndexFunc(sessions, func(s journal.Session) bool {
		return len(s.Stints) > 1 && s.Stints[0].Recorded.Has(journal.KindSnags) && len(inDetail(s)) == 0
	})
	s := sessions[i]
	p, err := edit(t, pl, s, func(text string) string { return strings.ReplaceAll(text, "\nsnags = ", "\n# snags = ") })
	if err != nil || p.session.Stints[0].Recorded.Has(journal.KindSnags) {
		t.Errorf("snags taken out: %v, %v", err, p.session.Stints[0].Recorded)
	}
	p, err = edit(t, pl, s, func(text string) string {
		return text[:strings.LastIndex(text, "\n# Stint ")] + "\n[[stint]]\nrig = \"" + pl.known.Rigs[s.Stints[0].RigID].Name + "\"\nminutes = 45\nlanded = 2\n"
	})
	n := len(p.session.Stints)
	if err != nil || n != len(s.Stints) || p.session.Stints[0].ID != s.Stints[0].ID || *p.session.Stints[n-1].Minutes != 45 ||
		!p.session.Stints[n-1].Recorded.Has(journal.KindLanded) || p.session.Stints[n-1].Recorded.Has(journal.KindSnags) {
		t.Errorf("a stint for another: %v, %+v", err, p.session.Stints)
	}
}
