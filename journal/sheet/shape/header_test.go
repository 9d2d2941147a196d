package shape_test

import (
	"strings"
	"testing"
	"time"

	"rigtally/journal/sheet/shape"
)

func TestFind(t *testing.T) {
	for _, c := range []struct {
		name        string
		rows        []string
		merged      []shape.Range
		top, bottom int
		names       string // of the columns as written, or of the fold
		parts       int
	}{
		{name: "one row", rows: []string{"Date|Knot|Fish", "2025-04-05|Blood|2"}, top: 1, bottom: 1, names: "Date|Knot|Fish"},
		{name: "title and remark above", rows: []string{"Season 2025", "all minutes are rod time|", "", "Date|Knot|Fish", "2025-04-05|Blood|2"}, top: 4, bottom: 4, names: "Date|Knot|Fish"},
		{name: "title of several cells", rows: []string{"Season|2025||", "Date|Knot|Fish", "2025-04-05|Blood|2"}, top: 1, bottom: 2, names: "Date|Knot|Fish"},
		{name: "rigs above", rows: []string{"||Rig 1||Rig 2|", "Date|Angler|Knot|Fish|Knot|Fish", "2025-04-05|Orrin|Blood|2|Fig 8|1"}, top: 1, bottom: 2, names: "Date|Angler|Knot|Fish", parts: 2},
		{name: "a blank row between", rows: []string{"|Rig 1||Rig 2|", "||||", "Date|Knot|Fish|Knot|Fish", "2025-04-05|Blood|2|Fig 8|1"}, top: 1, bottom: 3, names: "Date|Knot|Fish", parts: 2},
		{name: "a title, then rigs above", rows: []string{"Season 2025", "", "|AM||PM|", "Date|Fish|Tangles|Fish|Tangles", "2025-04-05|1|2|3|4"}, top: 3, bottom: 4, names: "Date|Fish|Tangles", parts: 2},
		{name: "a day's columns behind the last rig", rows: []string{"|Rig 1||Rig 2||", "Date|Knot|Fish|Knot|Fish|Notes", "2025-04-05|Blood|2|Fig 8|1|wind"}, top: 1, bottom: 2, names: "Date|Knot|Fish|Notes", parts: 2},
		{name: "merged labels end where they end", rows: []string{"|Rig 1||Rig 2||", "Date|Knot|Fish|Knot|Fish|Tangles", "2025-04-05|Blood|2|Fig 8|1|0"},
			merged: []shape.Range{{1, 1, 1, 2}, {1, 3, 1, 4}}, top: 1, bottom: 2, names: "Date|Knot|Fish|Tangles", parts: 2},
		{name: "the date merged down", rows: []string{"Date|Rig 1||Rig 2|", "|Knot|Fish|Knot|Fish", "2025-04-05|Blood|2|Fig 8|1"},
			merged: []shape.Range{{1, 0, 2, 0}, {1, 1, 1, 2}, {1, 3, 1, 4}}, top: 1, bottom: 2, names: "Date|Knot|Fish", parts: 2},
		{name: "a group of columns", rows: []string{"|Fish|||Tag|", "Date|hooked|landed|lost|start|end", "2025-04-05|2|1|1|6|5"}, top: 1, bottom: 2, names: "Date|hooked|landed|Fish lost|Tag start|Tag end"},
		{name: "counts above, parts of the day beneath", rows: []string{"|Fish||Tangles|", "Date|AM|PM|AM|PM", "2025-04-05|1|2|3|4"}, top: 1, bottom: 2, names: "Date|Fish|Tangles", parts: 2},
		{name: "units beneath", rows: []string{"Date|Tag|Minutes|Fish", "|in|min|", "2025-04-05|6|90|1"}, top: 1, bottom: 2, names: "Date|Tag in|Minutes min|Fish"},
		{name: "no units beneath", rows: []string{"Date|Tag|Minutes|Fish", "2025-04-05|6|90|1"}, top: 1, bottom: 1, names: "Date|Tag|Minutes|Fish"},
		{name: "a first row with little in it", rows: []string{"Date|Tag|Score|Minutes|Fish", "||x||"}, top: 1, bottom: 1, names: "Date|Tag|Score|Minutes|Fish"},
		{name: "flies above", rows: []string{"|Top dropper||Bottom dropper||Point|", "Datum|Knoten|Fische|Knoten|Fische|Fliege|Fische", "5.4.2025|Blut|1|Blut|2|PT|3"}, top: 1, bottom: 2, names: "Datum|Knoten|Fische|Fliege|position", parts: 3},
		{name: "Polish rigs above", rows: []string{"|Zestaw 1||Zestaw 2|", "Data|Wezel|Ryby|Wezel|Ryby", "2025-04-05|x|1|y|2"}, top: 1, bottom: 2, names: "Data|Wezel|Ryby", parts: 2},
	} {
		h, ok := shape.Find(table(c.rows...), c.merged, toy, "date")
		if !ok || h.Top != c.top || h.Bottom != c.bottom || len(h.Problems) > 0 {
			t.Errorf("%s: ok %v, rows %d to %d, problems %v", c.name, ok, h.Top, h.Bottom, h.Problems)
			continue
		}
		names, n := h.Names, 0
		if h.Fold != nil {
			names, n = h.Fold.Names, len(h.Fold.Parts)
		}
		if got := strings.Join(names, "|"); got != c.names || n != c.parts {
			t.Errorf("%s: %s in %d parts, want %s in %d", c.name, got, n, c.names, c.parts)
		}
	}
}

func TestFindNothing(t *testing.T) {
	for _, rows := range [][]string{nil, {""}, {"Knot|Fish", "Blood|2"}, {"2025-04-05|Blood|2"}} {
		if h, ok := shape.Find(table(rows...), nil, toy, "date"); ok {
			t.Errorf("%q: header in row %d", rows, h.Top)
		}
	}
}

// Labels that nobody understands over equal columns may be anything, anglers for one.
func TestUnknownLabelsAreAskedAbout(t *testing.T) {
	h, _ := shape.Find(table("|Orrin||Felt|", "Date|Knot|Fish|Knot|Fish"), nil, toy, "date")
	if len(h.Problems) != 1 || !strings.Contains(h.Problems[0].What, "“Orrin”, “Felt”") || h.Fold != nil {
		t.Errorf("%+v", h)
	}
}

// A file made to keep a reader busy does not.
func TestFindSoon(t *testing.T) {
	long, wide := "Date|"+strings.Repeat("a,1;am ", 50000), "Date|"+strings.Repeat("Rig 1|fish|", 8000)
	start := time.Now()
	for range 3 {
		shape.Find(table("Rig 1"+strings.Repeat("|", 16000), wide, long), nil, toy, "date")
	}
	if took := time.Since(start); took > 10*time.Second {
		t.Errorf("took %v", took)
	}
}

// Labels in the middle of their columns would take in those of the next.
func TestLabelsInTheMiddle(t *testing.T) {
	for _, rows := range [][]string{{"||Rig 1|||Rig 2|", "Date|Knot|Fish|Tangles|Knot|Fish|Tangles"}, {"||Rig 1||Rig 2|", "Date|Fish|Tangles|Fish|Tangles"}} {
		if h, _ := shape.Find(table(rows...), nil, toy, "date"); h.Fold != nil || len(h.Problems) == 0 {
			t.Errorf("%+v", h)
		}
	}
}

func TestAgain(t *testing.T) {
	h, _ := shape.Find(table("|Rig 1||Rig 2|", "Date|Knot|Fish|Knot|Fish"), nil, toy, "date")
	for _, c := range []struct {
		row  string
		want bool
	}{{"Date|Knot|Fish|Knot|Fish|", true}, {"|Rig 1||Rig 2|", true}, {"2025-04-05|Blood|1|Blood|2", false}, {"", false}} {
		if got := h.Again(table(c.row)[0].Cells); got != c.want {
			t.Errorf("%s: %v", c.row, got)
		}
	}
}
