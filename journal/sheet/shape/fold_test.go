package shape_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"rigtally/journal/sheet/shape"
)

// The invented sheet of two rigs a day holds what is known of it.
func TestUnfoldSample(t *testing.T) {
	rows := sample(t, "rigs-in-columns.csv")
	h, ok := shape.Find(rows, nil, toy, "date")
	if !ok || h.Fold == nil {
		t.Fatalf("no parts: %+v", h)
	}
	tab := h.Fold.Unfold(rows[h.After:])
	if len(tab.Problems) > 0 {
		t.Fatal(tab.Problems)
	}
	type sum struct {
		stints, tangles int
		minutes         float64
	}
	got := map[string]sum{}
	words := map[string]string{"dbl surgeon": "double", "fig 8": "eight", "blood": "blood"}
	for _, r := range tab.Rows {
		n, _ := strconv.Atoi(r.Cells[column(t, tab.Names, "tangles")])
		hours, _ := strconv.ParseFloat(r.Cells[column(t, tab.Names, "minutes")], 64)
		for _, knot := range []string{"all", words[strings.ToLower(r.Cells[column(t, tab.Names, "junction")])]} {
			s := got[knot]
			got[knot] = sum{s.stints + 1, s.tangles + n, s.minutes + hours*60}
		}
	}
	for knot, want := range map[string]sum{"all": {55, 28, 4980}, "double": {15, 4, 1305}, "blood": {18, 13, 1560}, "eight": {22, 11, 2115}} {
		if g := got[knot]; g.stints != want.stints || g.tangles != want.tangles || math.Abs(g.minutes-want.minutes) > 1e-6 {
			t.Errorf("%s: got %+v, want %+v", knot, g, want)
		}
	}
	if w := h.Fold.Written(column(t, tab.Names, "junction"), 1); w != "Rig 2 knot" {
		t.Errorf("written %q", w)
	}
}

func TestFolds(t *testing.T) {
	for _, c := range []struct{ header, labels, names string }{
		// Rigs by number and letter, the label before, after or in parentheses.
		{"Date|Rig 1 knot|Rig 1 fish|Rig 2 knot|Rig 2 fish", "Rig 1|Rig 2", "Date|knot|fish"},
		{"Date|Knot 1|Knot 2", "Knot 1|Knot 2", "Date|Knot"},
		{"Date|Knot #1|Fish #1|Knot #2|Fish #2", "Knot #1|Knot #2", "Date|Knot|Fish"},
		{"Date|Knot (AM)|Knot (PM)", "AM|PM", "Date|Knot"},
		{"Date|AM tangles|PM tangles|Notes", "AM|PM", "Date|tangles|Notes"},
		{"Date|Morning fish|Evening fish", "Morning|Evening", "Date|fish"},
		{"Date|Setup A minutes|Setup A fish|Setup B minutes|Setup B fish", "Setup A|Setup B", "Date|minutes|fish"},
		{"Date|rig1_knot|rig1_fish|rig2_knot|rig2_fish", "rig1|rig2", "Date|knot|fish"},
		{"Date|Tag (in), rig 1|Tag (in), rig 2", "rig 1|rig 2", "Date|Tag (in)"},
		{"Date|Rig 1 tag (in)|Rig 2 tag (in)", "Rig 1|Rig 2", "Date|tag (in)"},
		{"Date|Tag AM (in)|Tag PM (in)", "AM|PM", "Date|Tag (in)"},
		{"Date|Tangles with rig 1|Tangles with rig 2", "rig 1|rig 2", "Date|Tangles"},
		{"Date|Fish in the morning|Fish in the afternoon|Fish in the evening", "morning|afternoon|evening", "Date|Fish"},
		{"Date|First rig knot|First rig fish|Second rig knot|Second rig fish", "First rig|Second rig", "Date|knot|fish"},
		{"Date|1st rig fish|2nd rig fish", "1st rig|2nd rig", "Date|fish"},
		{"Date|Rig no. 1 fish|Rig no. 2 fish", "Rig no. 1|Rig no. 2", "Date|fish"},
		{"Date|Rig 1|Rig 2|Tangles", "Rig 1|Rig 2", "Date|rig|Tangles"},
		{"Date|Start 1|End 1|Start 2|End 2|Fish", "Start 1|Start 2", "Date|Start|End|Fish"},
		{"Date|PM fish|AM fish", "AM|PM", "Date|fish"},
		{"Date|Rig 1 knot|Rig 1 score|Rig 2 knot|Rig 2 score", "Rig 1|Rig 2", "Date|knot|score"},
		// Programs number equal headers from the second on.
		{"Date|Knot|Fish|Tangles|Knot2|Fish2|Tangles2", "Knot|Knot2", "Date|Knot|Fish|Tangles"},
		{"Date|Knot|Fish|Knot.1|Fish.1", "Knot|Knot.1", "Date|Knot|Fish"},
		// Blocks of equal headers.
		{"Date|knot|tag|fish|tangles|knot|tag|fish|tangles", "columns B to E|columns F to I", "Date|knot|tag|fish|tangles"},
		{"Date|knot|fish|knot|fish|knot|fish|Notes", "columns B to C|columns D to E|columns F to G", "Date|knot|fish|Notes"},
		// Flies of one rig.
		{"Date|Top dropper fly|Top dropper knot|Bottom dropper fly|Bottom dropper knot|Point fly", "Bottom dropper=1|Top dropper=2|Point=point", "Date|fly|knot|position"},
		{"Date|Top dropper tangles|Point tangles|Point fish", "Top dropper=1|Point=point", "Date|tangles|fish|position"},
		{"Date|Top tangles|Middle tangles|Point fish", "Middle=1|Top=2|Point=point", "Date|tangles|fish|position"},
		{"Date|Dropper 1 fish|Dropper 2 fish|Point fish", "Point=point|Dropper 1=1|Dropper 2=2", "Date|fish|position"},
		{"Date|Dropper fly|Dropper tag|Dropper fish|Point fly|Point fish", "Dropper=1|Point=point", "Date|fly|tag|fish|position"},
		{"Date|Dropper fly|Dropper knot|Dropper tag|Point fly|Fish|Tangles", "Dropper=1|Point=point", "Date|fly|knot|tag|Fish|Tangles|position"},
		{"Date|Top dropper|Bottom dropper|Point fly|Knot|Tangles", "Bottom dropper=1|Top dropper=2|Point=point", "Date|fly|Knot|Tangles|position"},
		{"Date|Knot|Fish|Rig 2 knot|Rig 2 fish", "Knot|Rig 2", "Date|Knot|Fish"},
		{"Date|Rig|Rig 2|Tangles", "Rig|Rig 2", "Date|Rig|Tangles"},
		{"Date|Knot morning session|Knot evening session", "morning session|evening session", "Date|Knot"},
		// Ten languages.
		{"Datum|Montage 1 Knoten|Montage 1 Fische|Montage 2 Knoten|Montage 2 Fische", "Montage 1|Montage 2", "Datum|Knoten|Fische"},
		{"Datum|Fische vormittags|Fische nachmittags", "vormittags|nachmittags", "Datum|Fische"},
		{"Datum|Fische am Morgen|Fische am Abend", "Morgen|Abend", "Datum|Fische"},
		{"Datum|Oberer Springer Knoten|Oberer Springer Fische|Unterer Springer Knoten|Unterer Springer Fische|Endfliege Fische", "Unterer Springer=1|Oberer Springer=2|Endfliege=point", "Datum|Knoten|Fische|position"},
		{"Jour|Poissons matin|Poissons après-midi", "matin|après-midi", "Jour|Poissons"},
		{"Jour|Nœud montage 1|Nœud montage 2", "montage 1|montage 2", "Jour|Nœud"},
		{"Jour|Potence nœud|Potence poissons|Mouche de pointe poissons", "Potence=1|Mouche de pointe=point", "Jour|nœud|poissons|position"},
		{"Fecha|Peces mañana|Peces tarde", "mañana|tarde", "Fecha|Peces"},
		{"Fecha|Aparejo 1 nudo|Aparejo 2 nudo", "Aparejo 1|Aparejo 2", "Fecha|nudo"},
		{"Data|Pesci mattina|Pesci pomeriggio|Pesci sera", "mattina|pomeriggio|sera", "Data|Pesci"},
		{"Data|Nodo finale 1|Nodo finale 2", "finale 1|finale 2", "Data|Nodo"},
		{"Data|Zestaw 1 węzeł|Zestaw 2 węzeł", "Zestaw 1|Zestaw 2", "Data|węzeł"},
		{"Data|Ryby rano|Ryby po południu", "rano|po południu", "Data|Ryby"},
		{"Datum|Ryby dopoledne|Ryby odpoledne", "dopoledne|odpoledne", "Datum|Ryby"},
		{"Datum|Návazec 1 uzel|Návazec 2 uzel", "Návazec 1|Návazec 2", "Datum|uzel"},
		{"Datum|Fiskar förmiddag|Fiskar eftermiddag", "förmiddag|eftermiddag", "Datum|Fiskar"},
		{"Datum|Tafs 1 knut|Tafs 2 knut", "Tafs 1|Tafs 2", "Datum|knut"},
		{"Datum|Övre upphängare fiskar|Nedre upphängare fiskar|Ändfluga fiskar", "Nedre upphängare=1|Övre upphängare=2|Ändfluga=point", "Datum|fiskar|position"},
		{"Dato|Fisk morgen|Fisk kveld", "morgen|kveld", "Dato|Fisk"},
		{"Dato|Oppsett A knute|Oppsett B knute", "Oppsett A|Oppsett B", "Dato|knute"},
		{"Pvm|Kalat aamu|Kalat ilta", "aamu|ilta", "Pvm|Kalat"},
		{"Pvm|Peruke 1 solmu|Peruke 2 solmu", "Peruke 1|Peruke 2", "Pvm|solmu"},
	} {
		h, ok := shape.Find(table(c.header), nil, toy, "date")
		switch {
		case !ok || len(h.Problems) > 0:
			t.Errorf("%s: %v %v", c.header, ok, h.Problems)
		case h.Fold == nil:
			t.Errorf("%s: no parts", c.header)
		default:
			var labels []string
			for _, p := range h.Fold.Parts {
				labels = append(labels, strings.TrimSuffix(p.Label+"="+p.Position, "="))
			}
			if got := strings.Join(labels, "|"); got != c.labels {
				t.Errorf("%s: parts %s, want %s", c.header, got, c.labels)
			}
			if got := strings.Join(h.Fold.Names, "|"); got != c.names {
				t.Errorf("%s: names %s, want %s", c.header, got, c.names)
			}
		}
	}
}

// Headers that look alike but are no rigs side by side.
func TestNoFolds(t *testing.T) {
	for _, header := range []string{
		"Date|Hook size 14|Hook size 16|Fish",
		"Date|Temp 1|Temp 2|Fish",
		"Date|AM temp|PM temp|Fish",
		"Date|Morning temp|Fish|Tangles",
		"Date|Dropper 1|Fish|Tangles",
		"Date|Fish 1|Tangles",
		"Date|Fish 1|Fish 2|Fish 3",
		"Date|Rig 1 knot|Fish",
		"Date|Fly 1|Fly 2|Tangles",
		"Date|Top dropper fly|Point fly|Fly|Tangles",
		"Date|Upper fly|Lower fly|Tangles",
		"Date|Rig 1 dropper fly|Rig 1 point fly|Rig 2 dropper fly|Rig 2 point fly|Fish",
		"Date|Tag start|Tag end|Fish",
		"Date|Start|End|Fish|Lost",
		"Date|AM notes|PM notes|Fish",
		"Date|Tag A|Fish",
		"Date|Angler 1|Angler 2|Fish",
		"Date|Rig 1|Fish",
		"Date|Day 1 fish|Day 2 fish",
		"Date|Week 1 tangles|Week 2 tangles",
		"Date|Top temp|Bottom temp|Fish",
		"Date|Clarity AM|Clarity PM|Fish",
		"Datum|Knoten|Fische|Verwicklungen|Bemerkungen",
		"Date|Notes|Fish|Notes",
	} {
		h, ok := shape.Find(table(header), nil, toy, "date")
		if !ok || h.Fold != nil || len(h.Problems) > 0 {
			t.Errorf("%s: ok %v, problems %v, fold %+v", header, ok, h.Problems, h.Fold)
		}
	}
}

// What can't be told apart is refused with what to do about it.
func TestRefusedHeaders(t *testing.T) {
	for _, c := range []struct{ header, says string }{
		{"Date|Rig 1 tag (in)|Rig 1 fish|Rig 2 tag (cm)|Rig 2 fish", "Rig 2 tag (cm): may be in another unit than “Rig 1 tag (in)”"},
		{"Date|Rig 1 hours|Rig 2 minutes", "Rig 2 minutes: may be in another unit than “Rig 1 hours”"},
		{"Date|Top fly|Top tangles|Bottom fly|Bottom tangles", "may be the point or the lowest dropper"},
		{"Date|AM top dropper fish|AM point fish|PM top dropper fish|PM point fish", "part within a part"},
		{"Date|Rig 1 fish|Rig 2 fish|AM tangles|PM tangles", "and other columns for"},
		{"Date|Rig 1 fish|Rig 1 hooked|Rig 2 fish", "tells the same as “Rig 1 fish”"},
		{"Date|Rig 1 knot|Rig 2 knot|Knot", "Knot: tells the same as “Rig 1 knot”, but for no part"},
		{"Date|Position|Top dropper fish|Point fish", "tells positions"},
		{"Date|Dropper fish|Dropper 2 fish|Point fish", "can't be placed"},
	} {
		h, _ := shape.Find(table(c.header), nil, toy, "date")
		all := ""
		for _, p := range h.Problems {
			all += p.String() + "\n"
		}
		if h.Fold != nil || !strings.Contains(all, c.says) {
			t.Errorf("%s: %s, want %s", c.header, all, c.says)
		}
	}
}

func TestLeftOutColumnIsNoPart(t *testing.T) {
	u := func(header string) string {
		if header == "Rig 2 fish" {
			return shape.LeftOut
		}
		return toy(header)
	}
	h, _ := shape.Find(table("Date|Rig 1 knot|Rig 1 fish|Rig 2 knot|Rig 2 fish"), nil, u, "date")
	if h.Fold == nil || strings.Join(h.Fold.Names, "|") != "Date|knot|fish|Rig 2 fish" {
		t.Fatalf("%+v", h)
	}
}
