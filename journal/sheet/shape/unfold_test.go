package shape_test

import (
	"strings"
	"testing"

	"rigtally/journal/sheet/shape"
)

func TestUnfold(t *testing.T) {
	for _, c := range []struct {
		name     string
		rows     []string
		want     string // rows
		problems string
	}{
		{"a part without anything gives no row", []string{"Date|Rig 1 knot|Rig 1 minutes|Rig 1 fish|Rig 2 knot|Rig 2 minutes|Rig 2 fish", "d1|Blood|90|2|||", "d2|Blood|90|2|-|-|0", "d3|Blood|90|2||0:00|0", "d4|Blood|90|2|Fig 8||0", "d5|||0|none|45|"},
			"d1|Blood|90|2\nd2|Blood|90|2\nd3|Blood|90|2\nd4|Blood|90|2\nd4|Fig 8||0\nd5|none|45|\n", ""},
		{"a day without any part is one row", []string{"Date|AM fish|PM fish|Notes", "d1|0|0|blank day"}, "d1|0|blank day\n", ""},
		{"a count of the day belongs to the only rig", []string{"Date|Rig 1 knot|Rig 2 knot|Tangles", "d1|Blood||3", "d2||Fig 8|4", "d3|Blood|Fig 8|0", "d4|Blood|Fig 8|"},
			"d1|Blood|3\nd2|Fig 8|4\nd3|Blood|0\nd3|Fig 8|0\nd4|Blood|\nd4|Fig 8|\n", ""},
		{"a count or time of the day can't be split", []string{"Date|Rig 1 knot|Rig 2 knot|Tangles|Minutes", "d1|Blood|Fig 8|3|90", "d2|Blood||1|60"},
			"d2|Blood|1|60\n", "row 2, Tangles: “3” is told once for Rig 1 and Rig 2 together; write it for each of them, or one row for each\nrow 2, Minutes: “90” is told once for Rig 1 and Rig 2 together; write it for each of them, or one row for each\n"},
		{"start and end of a day are no rig's time", []string{"Date|Start|End|Rig 1 fish|Rig 2 fish", "d1|6:00|9:00|1|2", "d2|6:00|9:00|1|"},
			"d2|6:00|9:00|1\n", "row 2, End: “9:00” is told once for Rig 1 and Rig 2 together; write it for each of them, or one row for each\n"},
		{"start and end beside each rig's time", []string{"Date|Start|End|Rig 1 min|Rig 2 min", "d1|6:00|9:00|90|60"}, "d1|6:00|9:00|90\nd1|6:00|9:00|60\n", ""},
		{"start and end of each part", []string{"Date|AM start|AM end|PM start|PM end", "d1|6:00|9:00|15:00|18:00", "d2|||15:00|18:00"}, "d1|6:00|9:00\nd1|15:00|18:00\nd2|15:00|18:00\n", ""},
		{"a column of sums", []string{"Date|Rig 1 fish|Rig 2 fish|Fish", "d1|1|2|3", "d2|1||1", "d3|1|2|4", "d4||2|"},
			"d1|1\nd1|2\nd2|1\nd4|2\n", "row 4, Fish: “4” is not the sum of the fish of Rig 1 and Rig 2; correct one of them, or leave the column out\n"},
		{"a cell beyond the header", []string{"Date|AM fish|PM fish", "d1|1|2|3"}, "", "row 2: “3” is in cell 4, but the header has 3; put quotation marks around a value that has the separator in it, or give the column a header\n"},
		{"three parts of a day", []string{"Date|Morning fish|Afternoon fish|Evening fish", "d1|1||2"}, "d1|1\nd1|2\n", ""},
		{"flies of one rig", []string{"Date|Minutes|Top dropper fly|Top dropper knot|Top dropper fish|Bottom dropper fly|Bottom dropper knot|Bottom dropper fish|Point fly|Point fish", "d1|90|PTN|Blood|1|Hare|Fig 8|2|Pink|3", "d2|60|PTN|Blood|0|||0|Pink|3"},
			"d1|90|Hare|Fig 8|2|1\nd1|90|PTN|Blood|1|2\nd1|90|Pink||3|point\nd2|60|PTN|Blood|0|2\nd2|60|Pink||3|point\n", ""},
		{"flies that share counts and a knot", []string{"Date|Minutes|Knot|Dropper fish|Point fish|Tangles", "d1|90|Blood|1|2|3", "d2|60|Blood|1|2|0", "d3|60|Blood|1||2"},
			"d1|90|Blood|1|0|1\nd1|90||2|0|point\nd1||||3|rig\nd2|60|Blood|1|0|1\nd2|60||2|0|point\nd3|60|Blood|1|0|1\nd3|60|||0|point\nd3||||2|rig\n", ""},
		{"a fly that caught nothing is on the rig all the same", []string{"Date|Knot|Dropper fish|Point fish|Tangles", "d1|Blood|0|1|0", "d2|Blood||1|2"},
			"d1|Blood|0|0|1\nd1||1|0|point\nd2|Blood||0|1\nd2||1|0|point\nd2|||2|rig\n", ""},
		{"flies by name, and all else of the rig", []string{"Date|Minutes|Dropper|Point fly|Knot|Tangles", "d1|90|PTN|Pink|Blood|1", "d2|90|||Blood|2", "d3|60||Pink||0", "d4|60||Pink|Blood|3"},
			"d1|90|PTN|Blood|0|1\nd1|90|Pink||0|point\nd1||||1|rig\nd2|90||Blood|2|1\nd3|60|Pink||0|point\nd4|60||Blood|0|1\nd4|60|Pink||0|point\nd4||||3|rig\n", ""},
		{"flies that share counts where blanks are none", []string{"Date|Dropper fish|Point fish|Tangles", "d1|1|2|3", "d2|1|2|"},
			"d1|1||1\nd1|2||point\nd1||3|rig\nd2|1||1\nd2|2||point\n", ""},
	} {
		rows := table(c.rows...)
		h, _ := shape.Find(rows, nil, toy, "date")
		if h.Fold == nil {
			t.Errorf("%s: no parts: %v", c.name, h.Problems)
			continue
		}
		tab := h.Fold.Unfold(rows[h.After:])
		if got := lines(tab); got != c.want {
			t.Errorf("%s: rows\n%s, want\n%s", c.name, got, c.want)
		}
		problems := ""
		for _, p := range tab.Problems {
			problems += p.String() + "\n"
		}
		if problems != c.problems {
			t.Errorf("%s: problems\n%s, want\n%s", c.name, problems, c.problems)
		}
		number := 0
		for _, r := range tab.Rows {
			if len(r.Cells) != len(tab.Names) || r.Number < number || r.Number > len(rows) || !strings.HasPrefix(rows[r.Number-1].Cells[0], "d") {
				t.Errorf("%s: row %+v", c.name, r)
			}
			number = r.Number
		}
	}
}

// Rigs are stints of their own, flies the rows of one.
func TestStints(t *testing.T) {
	for _, c := range []struct {
		header, row string
		stints      []int
	}{
		{"Date|Rig 1 fish|Rig 2 fish", "d1|1|2", []int{1, 2, 3, 4}},
		{"Date|Dropper fish|Point fish|Tangles", "d1|1|2|3", []int{1, 1, 1, 2, 2, 2}},
	} {
		rows := table(c.header, c.row, c.row)
		h, _ := shape.Find(rows, nil, toy, "date")
		tab := h.Fold.Unfold(rows[1:])
		if len(tab.Rows) != len(c.stints) {
			t.Fatalf("%s: %+v", c.header, tab)
		}
		for i, r := range tab.Rows {
			if r.Stint != c.stints[i] {
				t.Errorf("%s: row %d is stint %d, want %d", c.header, i, r.Stint, c.stints[i])
			}
		}
	}
}
