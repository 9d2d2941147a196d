package gauges_test

import (
	"errors"
	"log/slog"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"rigtally/gauges"
	"rigtally/gauges/agency"
	"rigtally/journal/gauge"
)

// days are from one day up to another's midnight, as 1999-05-02.
func days(t *testing.T, from, to string) gauge.Span {
	t.Helper()
	var s gauge.Span
	for at, text := range map[*time.Time]string{&s.From: from, &s.To: to} {
		var err error
		if *at, err = time.Parse(time.DateOnly, text); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// Only what sessions need is asked for, of years that lie apart too, and what is close together at once.
func TestPartsOfThePast(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		times []gauge.Span
		want  []string
	}{
		"nothing":                {},
		"ten years apart":        {[]gauge.Span{days(t, "1989-07-01", "1989-07-04"), days(t, "1999-12-20", "1999-12-23")}, []string{"1999-12-20 to 1999-12-23", "1989-07-01 to 1989-07-04"}},
		"across a quarter's end": {[]gauge.Span{days(t, "1999-03-30", "1999-04-02")}, []string{"1999-03-30 to 1999-04-02"}},
		"four weeks apart":       {[]gauge.Span{days(t, "1999-05-31", "1999-06-03"), days(t, "1999-05-01", "1999-05-03")}, []string{"1999-05-01 to 1999-06-03"}},
		"a day more":             {[]gauge.Span{days(t, "1999-06-01", "1999-06-03"), days(t, "1999-05-01", "1999-05-03")}, []string{"1999-06-01 to 1999-06-03", "1999-05-01 to 1999-05-03"}},
		"parts of days":          {[]gauge.Span{{From: days(t, "1999-05-01", "1999-05-02").From.Add(time.Hour), To: days(t, "1999-05-01", "1999-05-02").To.Add(time.Hour)}}, []string{"1999-05-01 to 1999-05-03"}},
		"a long season":          {[]gauge.Span{days(t, "1999-03-10", "1999-03-12"), days(t, "1999-04-05", "1999-04-20"), days(t, "1999-05-10", "1999-06-20")}, []string{"1999-04-01 to 1999-06-20", "1999-03-10 to 1999-04-01"}},
		"to come":                {[]gauge.Span{days(t, "1999-12-31", "2000-01-03"), days(t, "2000-05-01", "2000-05-03")}, []string{"1999-12-31 to 2000-01-01"}},
	} {
		synctest.Test(t, func(t *testing.T) { // on January 1, 2000
			time.Sleep(time.Hour)
			m, a := newMemory(), &actor{provider: "a"}
			k := keeper(m, a)
			for again := range 2 {
				if _, err := k.Fetch(t.Context(), aOne, c.times, nil); err != nil {
					t.Errorf("%s: %v", name, err)
				}
				var asked []string
				for _, q := range a.asked {
					asked = append(asked, q.what)
				}
				want := append([]string{"years"}, c.want...)
				if !slices.Equal(asked, want) {
					t.Errorf("%s: asked for %q, want %q (%d)", name, asked, want, again)
				}
			}
		})
	}
}

// What an outfit can't be filled with stops neither the past nor the next question, stands in the log, and is tried again.
func TestFillingIsTriedAgain(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		m, a := newMemory(aOne), &actor{provider: "a"}
		a.answer = func(string, gauge.Site, time.Time) (gauge.Found, error) { return one(aOne, time.Unix(0, 0), 1), nil } // nothing new but once
		var log strings.Builder
		k := gauges.New(m, []agency.Source{a}, gauges.Options{Chance: func() float64 { return 0 }, Log: slog.New(slog.NewTextHandler(&log, nil))})
		m.unfilled = errors.New("in the outfit x: refused")
		f, err := k.Fetch(t.Context(), aOne, []gauge.Span{days(t, "1989-07-01", "1989-07-04"), days(t, "1999-12-20", "1999-12-23")}, nil)
		if err != nil || len(a.asked) != 3 || !errors.Is(f.Unfilled, m.unfilled) {
			t.Errorf("asked %d times, %v, unfilled %v", len(a.asked), err, f.Unfilled)
		}
		if !strings.Contains(log.String(), "in the outfit x: refused") {
			t.Errorf("the log has %s", log.String())
		}
		m.unfilled, m.filled = nil, nil
		if u, err := k.Update(t.Context(), aOne); err != nil || u.Unfilled != nil {
			t.Errorf("%+v, %v", u, err)
		}
		const all = "a:1 1969-12-31 22:30 to 1999-12-24 01:30"
		if !slices.Equal(m.filled, []string{all}) {
			t.Errorf("filled %q, want %q", m.filled, all)
		}
		// A program that ended in between knows nothing of it: what came lately is filled from once a day.
		m.filled = nil
		running(t, 26*time.Hour, k)
		if len(m.filled) != 2 || !strings.HasPrefix(m.filled[0], "a:1 1999-09-0") {
			t.Errorf("in a day it filled %q", m.filled)
		}
	})
}
