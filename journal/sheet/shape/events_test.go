package shape_test

import (
	"fmt"
	"strings"
	"testing"

	"rigtally/journal/sheet/shape"
)

func TestGather(t *testing.T) {
	for _, c := range []struct {
		name, want, problems string
		rows                 []string
	}{
		{name: "a row each", rows: []string{"Date|Angler|Minutes|Knot|Event", "d1|Orrin|90|Blood|tangle", "d1|Orrin|90|Blood|landed", "d1|Orrin|90|Blood|tangle", "d2|Orrin|60|Fig 8|none", "d3|Felt|45|Blood|lost"},
			want: "Date|Angler|Minutes|Knot|hookups|landed|lost|tangles\nd1|Orrin|90|Blood|1|1|0|2\nd2|Orrin|60|Fig 8|0|0|0|0\nd3|Felt|45|Blood|1|0|1|0\n"},
		{name: "blank after the first", rows: []string{"Date|Minutes|Knot|What happened|Count", "d1|90|Blood|tangle|2", "||||", "|||landed|", "d2|60|Fig 8|snag|3"},
			want: "Date|Minutes|Knot|hookups|landed|snags|tangles\nd1|90|Blood|1|1|0|2\nd2|60|Fig 8|0|0|3|0\n"},
		{name: "German", rows: []string{"Datum|Minuten|Knoten|Ereignis|Anzahl", "d1|90|Blut|Verwicklung|1", "d1|90|Blut|gelandet|2", "d2|60|Blut|nichts|"},
			want: "Datum|Minuten|Knoten|hookups|landed|tangles\nd1|90|Blut|2|2|1\nd2|60|Blut|0|0|0\n"},
		{name: "a header of its own, known by its cells", rows: []string{"Date|Minutes|Type", "d1|90|tangle", "d1|90|landed", "d1|90|snag", "d2|60|tangle"},
			want: "Date|Minutes|hookups|landed|snags|tangles\nd1|90|1|1|1|1\nd2|60|0|0|0|1\n"},
		{name: "two rigs a day", rows: []string{"Date|Minutes|Knot|Event", "d1|90|Blood|tangle", "d1|60|Fig 8|snag", "d1|90|Blood|snag"},
			want: "Date|Minutes|Knot|snags|tangles\nd1|90|Blood|1|1\nd1|60|Fig 8|1|0\n"},
		{name: "minutes that differ", rows: []string{"Date|Minutes|Knot|Event", "d1|90|Blood|tangle", "d1|60|Blood|snag", "d2|60|Blood|snag"},
			want: "Date|Minutes|Knot|snags|tangles\nd2|60|Blood|1|0\n", problems: "row 3, Minutes: “60” differs from “90” in row 2 of the same stint; write the same time in each row of a stint, or number the stints in a column named stint [2]\n"},
		{name: "a time that may be of two rigs", rows: []string{"Date|Minutes|Knot|Event", "d1|90|Blood|tangle", "d1||Blood|snag", "d1||Fig 8|snag", "d2|60|Blood|snag", "d3||Blood|snag", "d3||Fig 8|snag"},
			want:     "Date|Minutes|Knot|snags|tangles\nd2|60|Blood|1|0\nd3||Blood|1|0\nd3||Fig 8|1|0\n",
			problems: "row 2, Minutes: “90” is told in row 2, but not for each rig of that day; write the time of each rig in its rows [3]\nrow 4, Minutes: is told in row 2, but not for each rig of that day; write the time of each rig in its rows []\n"},
		{name: "a word that isn't known", rows: []string{"Date|Minutes|Event", "d1|90|tangle", "d1|90|lunch", "d1|90|snag", "d2|60|snag"},
			want: "Date|Minutes|snags|tangles\nd2|60|1|0\n", problems: "row 3, Event: “lunch” is not an event that is known; write landed, lost, broke off, tangle, snag or none, or leave the row out [2 4]\n"},
		{name: "a count that is none", rows: []string{"Date|Event|Count", "d1|tangle|some", "d2|snag|2"},
			want: "Date|snags|tangles\nd2|2|0\n", problems: "row 2, Count: “some” is not a number of events; write a whole number []\n"},
		{name: "the time lost adds up", rows: []string{"Date|Minutes|Event|Minutes lost", "d1|90|tangle|5", "d1|90|tangle|10", "d1|90|landed|", "d2|60|tangle|3 min", "d2|60|tangle|4 min", "d3|60|none|"},
			want: "Date|Minutes|Minutes lost|hookups|landed|tangles\nd1|90|15|1|1|2\nd2|60|7 min|0|0|2\nd3|60||0|0|0\n"},
		{name: "flies and notes are gathered", rows: []string{"Date|Minutes|Fly|Event|Notes", "d1|90|PTN|landed|big one", "d1|90|Hare|tangle|", "d1|90|PTN|lost|wind"},
			want: "Date|Minutes|Fly|Notes|hookups|landed|lost|tangles\nd1|90|PTN, Hare|big one; wind|2|1|1|1\n"},
		{name: "by position", rows: []string{"Date|Minutes|Knot|Position|Event", "d1|90|Blood|point|landed", "d1|90|Blood|dropper|tangle", "d1|90|Blood||snag", "d2|60|Fig 8|point|lost"},
			want: "Date|Minutes|Knot|Position|hookups|landed|lost|snags|tangles\nd1|90||point|1|1|0|0|0\nd1|90|Blood|1|0|0|0|0|1\nd1|90||rig|0|0|0|1|0\nd2|60|Fig 8|1|0|0|0|0|0\nd2|60||point|1|0|1|0|0\n"},
		{name: "by top and bottom dropper", rows: []string{"Date|Minutes|Position|Event", "d1|90|top dropper|tangle", "d1|90|bottom dropper|tangle", "d1|90|bottom dropper|snag"},
			want: "Date|Minutes|Position|snags|tangles\nd1|90|2|0|1\nd1|90|1|1|1\n"},
		{name: "fish that may have two rows", rows: []string{"Date|Event", "d1|hooked", "d1|landed", "d1|tangle", "d1|hooked", "d1|lost"},
			problems: "Event: has a row of a fish hooked before each row of how one ended, so that fish may have two rows; write one row for each fish, of how it ended []\n"},
		{name: "fish whose end isn't known", rows: []string{"Date|Event", "d1|landed", "d1|landed", "d1|hooked", "d1|lost"},
			want: "Date|hookups|landed|lost\nd1|4|2|1\n"},
		{name: "a twist is a tangle", rows: []string{"Date|Event", "d1|twist", "d1|tangle"}, want: "Date|tangles|twists\nd1|2|1\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows := table(c.rows...)
			e, problems := shape.FindEvents(rows[0].Cells, rows[1:], toy, toyEvent)
			if e == nil || len(problems) > 0 {
				t.Fatalf("no events: %v", problems)
			}
			tab := e.Gather(rows[1:])
			got := ""
			if len(tab.Names) > 0 {
				got = strings.Join(tab.Names, "|") + "\n" + lines(tab)
			}
			if got != c.want {
				t.Errorf("got\n%s, want\n%s", got, c.want)
			}
			said := ""
			for _, p := range tab.Problems {
				said += p.String() + " " + fmt.Sprint(p.With) + "\n"
			}
			if said != c.problems {
				t.Errorf("problems\n%s, want\n%s", said, c.problems)
			}
		})
	}
}

func TestNoEvents(t *testing.T) {
	for _, c := range []struct {
		name string
		rows []string
	}{
		{"counts in columns", []string{"Date|Tangles|Snags", "d1|1|2"}},
		{"an event that is none of ours", []string{"Date|Fish|Event", "d1|2|club day", "d2|1|cup"}},
		{"notes of one word", []string{"Date|Minutes|Notes", "d1|90|tangle", "d1|90|snag", "d1|60|lost", "d1|60|landed"}},
	} {
		rows := table(c.rows...)
		if e, problems := shape.FindEvents(rows[0].Cells, rows[1:], toy, toyEvent); e != nil || len(problems) > 0 {
			t.Errorf("%s: %+v %v", c.name, e, problems)
		}
	}
	rows := table("Date|Minutes|Event|Fish", "d1|90|landed|1", "d1|90|tangle|", "d1|90|snag|")
	e, problems := shape.FindEvents(rows[0].Cells, rows[1:], toy, toyEvent)
	if e != nil || len(problems) != 1 || !strings.Contains(problems[0].String(), "Event: tells what happened row by row, and “Fish” counts it") {
		t.Errorf("%+v %v", e, problems)
	}
}
