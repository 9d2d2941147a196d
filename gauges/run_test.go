package gauges_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"rigtally/gauges"
	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// Sites of invented agencies.
var (
	aOne = gauge.Site{Provider: "a", Number: "1"}
	aTwo = gauge.Site{Provider: "a", Number: "2"}
	bOne = gauge.Site{Provider: "b", Number: "1"}
)

func keeper(m *memory, agencies ...agency.Source) *gauges.Keeper {
	var one sync.Mutex
	chance := rand.New(rand.NewPCG(1, 2))
	return gauges.New(m, agencies, gauges.Options{Chance: func() float64 {
		one.Lock()
		defer one.Unlock()
		return chance.Float64()
	}})
}

// running runs keepers for a time of the test's clock. That they end with their context is a part of it: synctest.Test fails
// while anything of them is left.
func running(t *testing.T, d time.Duration, keepers ...*gauges.Keeper) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), d)
	defer cancel()
	ended := make(chan struct{})
	for _, k := range keepers {
		go func() { k.Run(ctx); ended <- struct{}{} }()
	}
	for range keepers {
		<-ended
	}
}

// apart are the times between some moments, in minutes.
func apart(list []time.Time) []float64 {
	var minutes []float64
	for i := 1; i < len(list); i++ {
		minutes = append(minutes, list[i].Sub(list[i-1]).Minutes())
	}
	return minutes
}

// One keeper and two, as of two processes, ask one question about a gauge in a quarter of an hour together, whichever it is, and
// not about all at once. The first is about its latest readings. They have each second turn at least; where two keepers take
// turns by chance, nothing else is asked twice.
func TestOnceAQuarter(t *testing.T) {
	t.Parallel()
	for keepers := 1; keepers <= 2; keepers++ {
		synctest.Test(t, func(t *testing.T) {
			var sites []gauge.Site
			for i := range 30 {
				sites = append(sites, gauge.Site{Provider: "a", Number: fmt.Sprint(i)})
			}
			m, a := newMemory(sites...), &actor{provider: "a"}
			list := []*gauges.Keeper{keeper(m, a), keeper(m, a)}
			running(t, 6*time.Hour, list[:keepers]...)
			var first []time.Time
			for _, site := range sites {
				var asked []time.Time
				var others []string
				one := ""
				for _, q := range a.asked {
					if q.site != site {
						continue
					}
					asked = append(asked, q.at)
					if q.what != "latest" {
						others = append(others, q.what)
					}
					if one += q.what[:1]; len(one) == 1 && q.what != "latest" {
						t.Errorf("%s was asked %s at first", site, q.what)
					}
				}
				if n := len(asked); n < 21 || n > 24 {
					t.Errorf("%s was asked about %d times in 6 hours", site, n)
				}
				for _, minutes := range apart(asked) {
					if minutes < 15 || minutes > 20 {
						t.Errorf("%s was asked about after %g minutes", site, minutes)
					}
				}
				if want := []string{"find " + site.Number, "years", "1999-09-03 to 2000-01-01"}; !slices.Equal(others, want) {
					t.Errorf("%s was asked %q besides its latest readings; it has to be %q", site, others, want)
				}
				if keepers == 1 && !strings.HasPrefix(one, "lflyl1l") { // latest, find, latest, years, latest, past, latest
					t.Errorf("%s was asked in the order %s", site, one)
				}
				first = append(first, asked[0])
			}
			slices.SortFunc(first, time.Time.Compare)
			if spread := first[len(first)-1].Sub(first[0]); spread < 20*time.Second {
				t.Errorf("all were asked about within %s", spread)
			}
		})
	}
}

// What is asked besides the latest readings: the last 120 days once a day, the daily means of all years at first and twice a
// year, those of the last two years once a week.
func TestChores(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		m, a := newMemory(aOne), &actor{provider: "a"}
		running(t, 15*24*time.Hour, keeper(m, a))
		for what, want := range map[string]int{"past": 15, "years": 1, "daily": 2} {
			if n := len(a.times(what, aOne)); n != want {
				t.Errorf("%s was asked %d times in 15 days; it has to be %d", what, n, want)
			}
		}
		began := a.asked[0].at
		want := began.Add(-120*24*time.Hour).UTC().Format(time.DateOnly) + " to " + began.UTC().Format(time.DateOnly)
		if !slices.ContainsFunc(a.asked, func(q question) bool { return q.what == want }) {
			t.Errorf("%q was not asked", want)
		}
	})
}

// An agency with trouble is asked ever more rarely, by chance, up to six hours and a quarter; once it answers, as before.
func TestBackoff(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		m, a := newMemory(aOne), &actor{provider: "a"}
		well := time.Now().Add(5 * 24 * time.Hour)
		a.answer = func(what string, site gauge.Site, now time.Time) (gauge.Found, error) {
			if now.Before(well) {
				return gauge.Found{}, trouble(a, fetch.Ailing, time.Time{})
			}
			return one(site, now, 1), nil
		}
		k := keeper(m, a)
		running(t, 5*24*time.Hour, k)
		asked := a.times("latest", aOne)
		gaps := apart(asked)
		if len(asked) < 15 || len(asked) > 60 || slices.Max(gaps) > (6*60+15)*1.05+17 || slices.Min(gaps) < 15 || slices.Max(gaps[:2]) > 62+17 { // another question may come before
			t.Errorf("asked after %.0f minutes", gaps)
		}
		if r := m.requests["a:1 latest"]; r.Failures != len(asked) || r.Trouble != "The Agency of a has trouble of its own" {
			t.Errorf("the request is %+v", r)
		}
		running(t, 24*time.Hour, k)
		if r := m.requests["a:1 latest"]; r.Failures != 0 || r.Trouble != "" || !r.NextAt.IsZero() || len(a.times("latest", aOne)) < len(asked)+60 {
			t.Errorf("the request is %+v", r)
		}
	})
}

// An agency that asks to wait is left alone with all its gauges until then; others go on.
func TestRetryAfter(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		m, a, b := newMemory(aOne, aTwo, bOne), &actor{provider: "a"}, &actor{provider: "b"}
		began := time.Now()
		until := began.Add(2 * time.Hour)
		a.answer = func(what string, site gauge.Site, now time.Time) (gauge.Found, error) {
			if now.Before(until) {
				return gauge.Found{}, trouble(a, fetch.Wait, until)
			}
			return one(site, now, 1), nil
		}
		k := keeper(m, a, b)
		running(t, 90*time.Minute, k)
		if len(a.asked) != 1 || len(b.asked) < 5 {
			t.Errorf("asked %v, and the other one %d times", a.asked, len(b.asked))
		}
		u, err := k.Update(t.Context(), aTwo)
		want := "The Agency of a asks to wait until " + until.Format("15:04") + ". What is here stays."
		if err != nil || u.Asked || u.Say(time.Now()) != want {
			t.Errorf("it says %q, %v; it has to say %q", u.Say(time.Now()), err, want)
		}
		running(t, time.Hour, k)
		for _, site := range []gauge.Site{aOne, aTwo} {
			if asked := a.times("latest", site); len(asked) == 0 || asked[len(asked)-1].Before(until) {
				t.Errorf("%s was asked about at %v", site, asked)
			}
		}
	})
}

// Without a network one gauge is tried a minute, and not each in turn.
func TestOfflineIsTriedOnce(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		var sites []gauge.Site
		for i := range 50 {
			sites = append(sites, gauge.Site{Provider: "a", Number: fmt.Sprint(i)})
		}
		m, a := newMemory(sites...), &actor{provider: "a"}
		a.answer = func(string, gauge.Site, time.Time) (gauge.Found, error) {
			return gauge.Found{}, trouble(a, fetch.Offline, time.Time{})
		}
		running(t, 30*time.Minute, keeper(m, a))
		if n := len(a.asked); n < 20 || n > 31 {
			t.Errorf("tried %d times in 30 minutes", n)
		}
	})
}

// What an agency sends can't end the keeper, nor can a journal that keeps nothing: by what its answer is known is not taken
// for known then.
func TestGoesOn(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		m, a := newMemory(aOne, aTwo), &actor{provider: "a"}
		a.answer = func(what string, site gauge.Site, now time.Time) (gauge.Found, error) {
			if site == aOne {
				panic("an invented fault")
			}
			return one(site, now, 1), nil
		}
		m.broken = errors.New("the disk is full")
		running(t, 2*time.Hour, keeper(m, a))
		if one, two := len(a.times("latest", aOne)), len(a.times("latest", aTwo)); one < 3 || two < 3 {
			t.Errorf("asked %d and %d times in two hours", one, two)
		}
		if r := m.requests["a:2 latest"]; r.ETag != "" || r.Failures != 0 {
			t.Errorf("the request is %+v", r)
		}
	})
}

// A gauge that comes into use is asked about within two minutes, one that goes out of use no more.
func TestInUse(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		m, a := newMemory(aOne), &actor{provider: "a"}
		k := keeper(m, a)
		time.AfterFunc(10*time.Minute, func() {
			m.mu.Lock()
			defer m.mu.Unlock()
			m.used = []gauge.Site{aTwo}
		})
		began := time.Now()
		running(t, time.Hour, k)
		one, two := a.times("latest", aOne), a.times("latest", aTwo)
		if len(one) != 1 || len(two) < 2 || two[0].Sub(began) < 10*time.Minute || two[0].Sub(began) > 12*time.Minute {
			t.Errorf("asked at %v and %v, begun at %s", one, two, began)
		}
	})
}

// What a person is told who looks at a gauge now. In a bubble the clock begins at midnight UTC of January 1, 2000.
func TestUpdateSays(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		m, a := newMemory(), &actor{provider: "a"}
		k := keeper(m, a)
		value, fails := 1.0, error(nil)
		began := time.Now().UTC()
		a.answer = func(_ string, site gauge.Site, now time.Time) (gauge.Found, error) {
			return one(site, began, value), fails
		}
		says := func(want string) {
			t.Helper()
			u, err := k.Update(t.Context(), aOne)
			if got := u.Say(time.Now().UTC()); err != nil || got != want {
				t.Errorf("it says\n%s, %v\nand has to say\n%s", got, err, want)
			}
		}
		says("1 new reading. 1 session filled from them.")
		time.Sleep(10 * time.Minute)
		says("It was asked at 00:00, and is asked every 15 minutes at most: again from 00:15.")
		time.Sleep(5 * time.Minute)
		says("There is nothing new. It can be asked again from 00:30.")
		time.Sleep(20 * time.Minute)
		value = 2
		says("0 new readings, and 1 reading revised by the agency. 1 session filled from them.")
		time.Sleep(20 * time.Minute)
		fails = trouble(a, fetch.WebPage, time.Time{})
		says("The Agency of a answered with a web page instead of readings; its address may have changed. What is here stays, and it is asked again at 01:20.")
		says("The Agency of a answered with a web page instead of readings; its address may have changed. What is here stays, and it is asked again at 01:20.")
		time.Sleep(time.Hour)
		a.hangs = true
		before := time.Now()
		says("The Agency of a answered too slowly and was given up. What is here stays, and it is asked again at 02:24.")
		if took := time.Since(before); took != 40*time.Second {
			t.Errorf("given up after %s", took)
		}
		soon, cancel := context.WithTimeout(t.Context(), 20*time.Second) // whoever waits less: it is noted all the same
		defer cancel()
		if u, err := k.Update(soon, aTwo); err != nil || !u.Asked || u.Trouble != "The Agency of a answered too slowly and was given up" || soon.Err() != nil {
			t.Errorf("with less patience: %+v, %v, %v", u, err, soon.Err())
		}
		if _, err := k.Update(t.Context(), gauge.Site{Provider: "hand", Number: "1"}); err == nil || err.Error() != `Nobody is asked about gauges of "hand"; bring their readings in from a file` {
			t.Errorf("the error is %v", err)
		}
		if len(m.filled) != 2 || m.filled[0] != "a:1 1999-12-31 22:30 to 2000-01-02 01:30" {
			t.Errorf("filled %q", m.filled)
		}
	})
}

// A long time of the past comes in quarters of a year, the last one first. What was cut short goes on where it was.
func TestFetchPast(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		m, a := newMemory(), &actor{provider: "a"}
		k := keeper(m, a)
		now := time.Now().UTC() // January 1, 2000
		var progress []string
		told := func(done, of int) { progress = append(progress, fmt.Sprintf("%d of %d", done, of)) }
		fails := map[string]error{"1999-04-01 to 1999-07-01": trouble(a, fetch.Wait, now.Add(3*time.Hour))}
		tries := map[string]int{"1999-10-01 to 2000-01-01": 2} // which it breaks off before it answers
		a.answer = func(what string, site gauge.Site, now time.Time) (gauge.Found, error) {
			if tries[what]--; tries[what] >= 0 {
				return gauge.Found{}, trouble(a, fetch.Cut, time.Time{})
			}
			return one(site, now, 1), fails[what]
		}
		from := time.Date(1999, 2, 20, 0, 0, 0, 0, time.UTC)
		_, err := k.Fetch(t.Context(), aOne, []gauge.Span{{From: from, To: now.AddDate(1, 0, 0)}}, told)
		var later *gauges.Later
		if !errors.As(err, &later) || later.Say(now) != "The Agency of a asks to wait until 03:00. What is here stays." || err.Error() != "The Agency of a asks to wait until 03:00 on Sat Jan 1. What is here stays." {
			t.Errorf("the error is %v", err)
		}
		asked := func() (list []string) {
			for _, q := range a.asked {
				list = append(list, q.what)
			}
			a.asked = nil
			return list
		}
		if got, want := asked(), []string{"years", "1999-10-01 to 2000-01-01", "1999-10-01 to 2000-01-01", "1999-10-01 to 2000-01-01", "1999-07-01 to 1999-10-01", "1999-04-01 to 1999-07-01"}; !slices.Equal(got, want) {
			t.Errorf("asked %q; it has to be %q", got, want)
		}
		if want := []string{"0 of 5", "1 of 5", "2 of 5", "3 of 5"}; !slices.Equal(progress, want) {
			t.Errorf("told %q; it has to be %q", progress, want)
		}
		if _, err := k.Fetch(t.Context(), aOne, []gauge.Span{{From: from, To: now}}, nil); !errors.As(err, &later) || later.Say(now) != "The Agency of a asks to wait until 03:00. What is here stays." || len(asked()) > 0 {
			t.Errorf("at once again it says %v", err)
		}
		time.Sleep(3 * time.Hour)
		clear(fails)
		progress = nil
		if _, err := k.Fetch(t.Context(), aOne, []gauge.Span{{From: from, To: now}}, told); err != nil {
			t.Fatal(err)
		}
		if got, want := asked(), []string{"1999-04-01 to 1999-07-01", "1999-02-20 to 1999-04-01"}; !slices.Equal(got, want) {
			t.Errorf("asked %q; it has to be %q", got, want)
		}
		if want := []string{"0 of 5", "1 of 5", "2 of 5", "3 of 5", "4 of 5", "5 of 5"}; !slices.Equal(progress, want) {
			t.Errorf("told %q; it has to be %q", progress, want)
		}
		if last := m.filled[len(m.filled)-1]; last != "a:1 1999-02-19 22:30 to 2000-01-02 01:30" {
			t.Errorf("filled %q at last", last)
		}
	})
}

// What an agency does not have is told beside what it has.
func TestFetchedSays(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		m, a := newMemory(), &actor{provider: "a"}
		a.answer = func(what string, site gauge.Site, now time.Time) (gauge.Found, error) {
			if what != "years" {
				return gauge.Found{Notes: []string{"It has readings of the last month alone.", "The answer holds no readings: none."}}, nil
			}
			return one(site, now, 1), nil
		}
		k, now := keeper(m, a), time.Now()
		for _, want := range []string{"1 new reading. 2 sessions filled from them. It has readings of the last month alone.", "There was nothing that is not here already."} {
			f, err := k.Fetch(t.Context(), aOne, []gauge.Span{{From: now.AddDate(-1, 0, 0), To: now}}, nil)
			if err != nil || f.Say() != want {
				t.Errorf("it says %q, %v; it has to say %q", f.Say(), err, want)
			}
		}
	})
}

// Who gives up fetching leaves nothing that others must wait for: while the agency is asked, or while its answer is kept.
func TestFetchPastGivenUp(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		m, a := newMemory(), &actor{provider: "a"}
		k := keeper(m, a)
		now := time.Now()
		for _, what := range []string{"asked", "kept"} {
			ctx, cancel := context.WithCancel(t.Context())
			if a.answer = nil; what == "kept" {
				m.keeping = cancel
			} else {
				a.answer = func(what string, site gauge.Site, now time.Time) (gauge.Found, error) {
					if what != "years" {
						cancel()
						return gauge.Found{}, fmt.Errorf("ask: %w", ctx.Err())
					}
					return gauge.Found{}, nil
				}
			}
			now = now.AddDate(0, -6, 0) // of other quarters
			if _, err := k.Fetch(ctx, aOne, []gauge.Span{{From: now.AddDate(0, -1, 0), To: now}}, nil); !errors.Is(err, context.Canceled) {
				t.Errorf("%s: the error is %v", what, err)
			}
			a.answer, m.keeping = nil, nil
			f, err := k.Fetch(t.Context(), aOne, []gauge.Span{{From: now.AddDate(0, -1, 0), To: now}}, nil)
			if err != nil || f.Kept.New+f.Kept.Same == 0 {
				t.Errorf("%s: at once again it says %q, %v", what, f.Say(), err)
			}
		}
	})
}

// All agencies are searched at once; what one of them can't answer leaves what others do. An answer is remembered for a
// quarter of an hour.
func TestFind(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		a, b, c := &actor{provider: "a"}, &actor{provider: "b"}, &actor{provider: "c"}
		until := time.Now().Add(time.Hour)
		b.answer = func(string, gauge.Site, time.Time) (gauge.Found, error) {
			return gauge.Found{}, trouble(b, fetch.Wait, until)
		}
		c.answer = func(what string, _ gauge.Site, _ time.Time) (gauge.Found, error) {
			if strings.HasPrefix(what, "find 7") {
				return gauge.Found{}, journal.Invalidf("no such number")
			}
			return gauge.Found{}, trouble(c, fetch.Offline, time.Time{})
		}
		k := keeper(newMemory(), a, b, c)
		found, troubles := k.Find(t.Context(), agency.Query{Name: "Marrow"})
		var says []string
		for _, tr := range troubles {
			says = append(says, tr.Say(time.Now().In(until.Location())))
		}
		want := []string{"The Agency of b asks to wait until " + until.Format("15:04") + ".", "The Agency of c can't be reached; there may be no network."}
		if len(found) != 1 || !slices.Equal(says, want) {
			t.Errorf("found %v; it says\n%s\nand has to say\n%s", found, strings.Join(says, "\n"), strings.Join(want, "\n"))
		}
		_, _ = k.Find(t.Context(), agency.Query{Name: " marrow "})
		if len(a.asked) != 1 || len(b.asked) != 1 {
			t.Errorf("asked %d and %d times", len(a.asked), len(b.asked))
		}
		time.Sleep(16 * time.Minute)
		_, _ = k.Find(t.Context(), agency.Query{Name: "Marrow"})
		if len(a.asked) != 2 {
			t.Errorf("asked %d times after 16 minutes", len(a.asked))
		}
		if _, troubles := k.Find(t.Context(), agency.Query{Number: "7"}); len(troubles) != 1 { // c has no such numbers, which is no trouble
			t.Errorf("the troubles are %v", troubles)
		}
		_, troubles = keeper(newMemory(), c).Find(t.Context(), agency.Query{Number: "7"})
		if len(troubles) != 1 || troubles[0].Say(time.Now()) != `No agency that is asked has gauges with a number like "7".` {
			t.Errorf("the troubles are %v", troubles)
		}
		d, e := &actor{provider: "d"}, &actor{provider: "e"}
		k = keeper(newMemory(), d, e)
		if _, troubles := k.Find(t.Context(), agency.Query{Number: "7", Provider: "d"}); len(troubles) > 0 || len(d.asked) != 1 || len(e.asked) > 0 {
			t.Errorf("a number of d: d was asked %d times and e %d; the troubles are %v", len(d.asked), len(e.asked), troubles)
		}
		if _, troubles := k.Find(t.Context(), agency.Query{Number: "7", Provider: "county"}); len(troubles) != 1 || len(d.asked) != 1 || len(e.asked) > 0 {
			t.Errorf("a number of nobody who is asked: %v, %v, %v", troubles, d.asked, e.asked)
		}
		a.answer = func(string, gauge.Site, time.Time) (gauge.Found, error) { panic("what is this") }
		if found, troubles := keeper(newMemory(), a).Find(t.Context(), agency.Query{Number: "8"}); len(found) > 0 || len(troubles) != 1 || troubles[0].Say(time.Now()) != "The search was given up." {
			t.Errorf("what ends a search: %v, %v", found, troubles)
		}
	})
}

// A keeper that is off says so and asks nobody.
func TestOff(t *testing.T) {
	t.Parallel()
	var k *gauges.Keeper
	k.Run(t.Context())
	_, one := k.Update(t.Context(), aOne)
	_, two := k.Fetch(t.Context(), aOne, nil, nil)
	_, troubles := k.Find(t.Context(), agency.Query{Number: "1"})
	if !errors.Is(one, gauges.ErrOff) || !errors.Is(two, gauges.ErrOff) || k.Sources() != nil || len(troubles) != 1 || troubles[0].Say(time.Now()) != "Gauges are not asked: the setting gauges is off." {
		t.Errorf("%v, %v, %v, %v", one, two, k.Sources(), troubles)
	}
}
