package logging_test

import (
	"net/http"
	"reflect"
	"strings"
	"testing"
	"time"

	"rigtally/web/webtest"
)

// Start and end give the minutes that are left blank, breaks taken off; an end
// before its start is the next day's if that makes at most 14 h. Both are said back.
func TestStartAndEndGiveTheMinutes(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	for name, c := range map[string]struct {
		start, end, breaks, minutes, second string // of the stints; second "-" is none
		want                                []float64
		says                                []string // back, or what is wrong
	}{
		"start to end":          {"08:00", "11:30", "", "", "-", []float64{210}, []string{"Start and end give the time fished, without any breaks: 3 h 30 min."}},
		"breaks":                {"08:00", "11:30", "45", "", "-", []float64{165}, []string{"2 h 45 min"}},
		"breaks in hours":       {"08:00", "11:30", "1h30", "", "-", []float64{120}, nil},
		"seconds":               {"08:00:10", "08:07:40", "", "", "-", []float64{7.5}, []string{"7 min 30 s"}},
		"minutes go first":      {"08:00", "11:30", "45", "60", "-", []float64{60}, nil},
		"past midnight":         {"21:30", "00:15", "", "", "-", []float64{165}, []string{"taken as ending the next day: 2 h 45 min from start to end."}},
		"past midnight at 14 h": {"19:00", "09:00", "", "", "-", []float64{840}, []string{"the next day: 14 h"}},
		"the rest of two":       {"08:00", "11:00", "", "60", "", []float64{60, 120}, []string{"3 h"}},
		"neither of two":        {"08:00", "11:00", "", "", "", []float64{0, 0}, nil},
		"a slip":                {"19:00", "07:00", "", "", "-", []float64{720}, []string{"the next day: 12 h"}},
		"over 14 h":             {"19:00", "09:01", "", "", "-", nil, []string{"the end 09:01 is not after the start 19:00"}},
		"no time at all":        {"08:00", "08:00", "", "", "-", nil, []string{"is not after the start"}},
		"breaks of it all":      {"08:00", "09:00", "60", "", "-", nil, []string{"leaves this stint no time"}},
		"breaks of nothing":     {"08:00", "", "60", "", "-", nil, []string{"from start to end"}},
		"breaks of which":       {"08:00", "11:00", "30", "", "", nil, []string{"one stint without minutes"}},
	} {
		page := b.Get("/log?rig=" + b.One.ID.String())
		if c.second != "-" {
			page = b.Press("/log", webtest.Fields(page.Body), "add", nil)
		}
		entry := map[string]string{"day": "2026-05-02", "start": c.start, "end": c.end, "breaks": c.breaks, "stint.0.minutes": c.minutes, "confirmed": "yes"}
		got := b.Press("/log", webtest.Fields(page.Body), "save", entry)
		text := webtest.Complaints(got.Body)
		if len(c.want) > 0 {
			if got.Status != http.StatusSeeOther {
				t.Errorf("%s: status %d: %s", name, got.Status, text)
				continue
			}
			text = b.Get(got.Header.Get("Location")).Body
			s := b.LastLogged(t)
			for i, want := range c.want {
				if m := s.Stints[i].Minutes; m == nil && want != 0 || m != nil && *m != want {
					t.Errorf("%s: stint %d has %s minutes, want %v", name, i+1, webtest.InJSON(m), want)
				}
			}
		} else if got.Status != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d, want a refusal", name, got.Status)
		}
		for _, says := range c.says {
			if !strings.Contains(strings.ToLower(text), strings.ToLower(says)) {
				t.Errorf("%s: it does not say %q: %s", name, says, webtest.Complaints(got.Body))
			}
		}
	}
}

// A stint whose time was not noted stays so when something else is edited, and
// gets its minutes once the times are changed.
func TestEditFillsInMinutesOnlyWithTimes(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	s := b.Session
	start := s.Day.In(webtest.MustZone(t, s.TimeZone)).Add(8 * time.Hour)
	s.ID, s.Version, s.Start, s.End, s.Stints = webtest.NewID(t), 0, &start, new(start.Add(2*time.Hour)), s.Stints[:1]
	s.Stints[0].ID, s.Stints[0].Minutes, s.Stints[0].Events = webtest.NewID(t), nil, nil
	if _, err := b.Store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	address := "/sessions/" + s.ID.String() + "/edit"
	for _, c := range []struct {
		changes map[string]string
		want    *float64
	}{{map[string]string{"notes": "sun"}, nil}, {map[string]string{"end": "11:00"}, new(180.0)}} {
		if got := b.Press(address, webtest.Fields(b.Get(address).Body), "save", c.changes); got.Status != http.StatusSeeOther {
			t.Fatalf("%v: status %d: %s", c.changes, got.Status, webtest.Complaints(got.Body))
		}
		stored, err := b.Store.SessionByID(t.Context(), s.ID)
		if err != nil || !reflect.DeepEqual(stored.Stints[0].Minutes, c.want) {
			t.Errorf("%v: minutes %s, want %s; %v", c.changes, webtest.InJSON(stored.Stints[0].Minutes), webtest.InJSON(c.want), err)
		}
	}
}
