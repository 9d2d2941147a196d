package journal_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
)

// Ensure that what is likelier a slip is doubted, with its field, right beyond the limit and not at it.
func TestDoubts(t *testing.T) {
	t.Parallel()
	id := journal.NewID()
	now := time.Date(2026, 4, 30, 23, 0, 0, 0, time.UTC)
	mm := func(v float64) *float64 { return &v }
	tangles := func(n int) []journal.Event { return []journal.Event{{Kind: journal.EventTangle, Count: n}} }
	for name, test := range map[string]struct {
		day     string
		tied    *float64
		stint   journal.Stint
		doubted string // field: a part of what is said
	}{
		"nothing odd":        {"2026-04-30", mm(600), journal.Stint{Minutes: mm(3), Positions: []journal.StintPosition{{Position: 1, TagStartMM: mm(600), TagEndMM: mm(600)}}}, ""},
		"tag as tied":        {"2026-04-30", mm(650), journal.Stint{}, "stints[0].rig_id: dropper 1 is 65 cm (25.6 in) as tied"},
		"tag at the start":   {"2026-04-30", mm(150), journal.Stint{Positions: []journal.StintPosition{{Position: 1, TagStartMM: mm(601)}}}, "stints[0].positions[0].tag_start_mm: 60.1 cm"},
		"tag at the end":     {"2026-04-30", mm(150), journal.Stint{Positions: []journal.StintPosition{{Position: 1, TagEndMM: mm(1500)}}}, "stints[0].positions[0].tag_end_mm: at the end of stint 1"},
		"20 an hour":         {"2026-04-30", mm(150), journal.Stint{Minutes: mm(15), Events: tangles(5)}, ""},
		"more than 20":       {"2026-04-30", mm(150), journal.Stint{Minutes: mm(14.9), Events: tangles(5)}, "stints[0].events: 5 tangles in 14 min 54 s, which is 21 an hour"},
		"few tangles":        {"2026-04-30", mm(150), journal.Stint{Minutes: mm(3), Events: tangles(4)}, ""},
		"short":              {"2026-04-30", mm(150), journal.Stint{Minutes: mm(2.9)}, "stints[0].minutes: less than 3 minutes"},
		"minutes not noted":  {"2026-04-30", mm(150), journal.Stint{Events: tangles(50)}, ""},
		"long ago":           {"1989-12-31", mm(150), journal.Stint{}, "day: 1989-12-31 is before 1990"},
		"1990":               {"1990-01-01", mm(150), journal.Stint{}, ""},
		"today on the water": {"2026-05-01", mm(150), journal.Stint{}, ""}, // it is past midnight in Oslo
		"tomorrow":           {"2026-05-02", mm(150), journal.Stint{}, "day: has not come yet"},
	} {
		day, err := journal.ParseDate(test.day)
		if err != nil {
			t.Fatal(err)
		}
		rig := journal.Rig{ID: id, Positions: []journal.RigPosition{{Position: 1, Hang: journal.HangTag, TagLengthMM: test.tied}}}
		test.stint.RigID = id
		s := journal.Session{Day: day, TimeZone: "Europe/Oslo", Stints: []journal.Stint{test.stint}}
		doubts := s.Doubts(map[journal.ID]journal.Rig{id: rig}, now)
		field, says, _ := strings.Cut(test.doubted, ": ")
		switch {
		case test.doubted == "" && len(doubts) == 0:
		case len(doubts) != 1 || doubts[0].Field != field || !strings.Contains(doubts[0].Says, says):
			t.Errorf("%s: doubted %+v, want %q", name, doubts, test.doubted)
		}
	}
}

// Ensure that a tag as tied is asked about once in a session, not in every stint.
func TestDoubtsOfARigOnce(t *testing.T) {
	t.Parallel()
	rig := journal.Rig{ID: journal.ID{1}, Positions: []journal.RigPosition{{Position: 1, Hang: journal.HangTag, TagLengthMM: new(700.0)}}}
	s := journal.Session{TimeZone: "UTC", Stints: []journal.Stint{{RigID: rig.ID}, {RigID: rig.ID}}}
	if doubts := s.Doubts(map[journal.ID]journal.Rig{rig.ID: rig}, time.Now()); len(doubts) != 1 || *doubts[0].Position != 1 {
		t.Errorf("doubted %+v", doubts)
	}
}

func TestDoubtfulIsAnError(t *testing.T) {
	t.Parallel()
	err := fmt.Errorf("store it: %w", &journal.Doubtful{Doubts: []journal.Doubt{{Field: "day", Says: "the day 1089-05-01 is before 1990"}, {Says: "another"}}})
	var doubtful *journal.Doubtful
	if !errors.As(err, &doubtful) || !journal.IsDoubtful(err) || journal.IsDoubtful(errors.New("x")) {
		t.Error("it is not told apart")
	}
	if want := "the day 1089-05-01 is before 1990; another; correct them, or confirm that this is right"; doubtful.Error() != want {
		t.Errorf("it says %q, want %q", doubtful.Error(), want)
	}
}

// Ensure that two times of day make the minutes between them, past midnight up to
// 14 h, by the zone's own clock. In Oslo clocks went from 2:00 to 3:00 on
// 2026-03-29 and from 3:00 to 2:00 on 2026-10-25 (Directive 2000/84/EC).
func TestReadClock(t *testing.T) {
	t.Parallel()
	for name, test := range map[string]struct {
		day, start, end, breaks string
		minutes                 float64
		says                    string // or the error's field and a part of what it says
	}{
		"a morning":         {"2026-04-30", "7h", "10h30m", "0", 210, ""},
		"with breaks":       {"2026-04-30", "7h", "10h30m", "45m", 165, ""},
		"to the second":     {"2026-04-30", "7h", "7h7m30s", "0", 7.5, ""},
		"past midnight":     {"2026-04-30", "22h", "2h30m", "0", 270, "read as ending the next day: 4 h 30 min"},
		"with a break":      {"2026-04-30", "22h", "2h30m", "30m", 240, "read as ending the next day: 4 h 30 min, of which 4 h were fished"},
		"just 14 h":         {"2026-04-30", "19h", "9h", "0", 840, "read as ending the next day: 14 h"},
		"over 14 h":         {"2026-04-30", "19h", "9h1m", "0", 0, "end: if it is the next day's, the session lasts 14 h 1 min"},
		"no time":           {"2026-04-30", "7h", "7h", "0", 0, "end: if it is the next day's, the session lasts 24 h"},
		"all breaks":        {"2026-04-30", "7h", "9h", "2h", 0, "breaks: breaks of 2 h can't be taken off 2 h"},
		"a break before":    {"2026-04-30", "7h", "9h", "-1m", 0, "breaks: breaks of -1 min"},
		"clocks go forward": {"2026-03-29", "1h", "4h", "0", 120, ""},
		"clocks go back":    {"2026-10-24", "23h", "4h", "0", 360, "read as ending the next day: 6 h"},
		"the month's end":   {"2026-12-31", "23h", "1h", "0", 120, "read as ending the next day: 2 h"},
	} {
		duration := func(s string) time.Duration {
			d, err := time.ParseDuration(s)
			if err != nil {
				t.Fatal(err)
			}
			return d
		}
		day, err := journal.ParseDate(test.day)
		if err != nil {
			t.Fatal(err)
		}
		span, err := journal.ReadClock(day, "Europe/Oslo", duration(test.start), duration(test.end), duration(test.breaks))
		if test.minutes == 0 {
			field, says, _ := strings.Cut(test.says, ": ")
			var invalid *journal.Invalid
			if !errors.As(err, &invalid) || invalid.Fields[0] != field || !strings.Contains(invalid.Problems[0], says) {
				t.Errorf("%s: %v, want %q", name, err, test.says)
			}
			continue
		}
		if err != nil || span.Minutes != test.minutes || span.Says != test.says || !span.End.After(span.Start) {
			t.Errorf("%s: %+v, %v; want %g minutes and %q", name, span, err, test.minutes, test.says)
		}
	}
}
