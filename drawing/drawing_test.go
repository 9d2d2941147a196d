package drawing_test

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"rigtally/drawing"
	"rigtally/internal/units"
	"rigtally/journal"
)

func mm(v float64) *float64 { return &v }

// An invented rig: the numbers are lengths of common practice.
func twoDroppers() journal.Rig {
	hook := 16
	return journal.Rig{Name: "Two <tags> & more", Revision: 2, Method: "tight-line nymph", RodLengthMM: mm(3048), LeaderLengthMM: mm(6096), SighterLengthMM: mm(508),
		Swivel: "micro swivel", TippetLengthMM: mm(1828.8), Positions: []journal.RigPosition{
			{Position: 0, Fly: "jig \"nymph\"", HookSize: &hook, BeadMM: mm(2.8), Bulk: "slim"},
			{Position: 1, Hang: journal.HangTag, Junction: "blood", Facing: "down", Prop: "overhand", TagLengthMM: mm(165.1), DistanceMM: mm(508), Bulk: "hackled"},
			{Position: 2, Hang: journal.HangTag, Junction: "figure-eight", Facing: "up", TagLengthMM: mm(140), DistanceMM: mm(450), Bulk: "legged"},
		}}
}

// stroke is a line of the drawing that stands for a length.
type stroke struct {
	class              string
	mm, px, perMM      float64
	fromX, fromY, x, y float64
}

// strokes parses a drawing as XML and returns every line that carries a length,
// with the scale that its group states.
func strokes(t *testing.T, drawn string) []stroke {
	t.Helper()
	var list []stroke
	var scales []float64
	d := xml.NewDecoder(strings.NewReader(drawn))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return list
		}
		if err != nil {
			t.Fatalf("the drawing is no XML: %v\n%s", err, drawn)
		}
		switch e := token.(type) {
		case xml.StartElement:
			scale := 0.0
			if len(scales) > 0 {
				scale = scales[len(scales)-1]
			}
			a := map[string]string{}
			for _, attr := range e.Attr {
				a[attr.Name.Local] = attr.Value
			}
			if v := a["data-px-per-mm"]; v != "" {
				scale = number(t, v)
			}
			scales = append(scales, scale)
			if a["data-mm"] == "" || strings.Contains(a["class"], "rig-rod") {
				continue
			}
			s := stroke{class: a["class"], mm: number(t, a["data-mm"]), perMM: scale}
			if _, err := fmt.Sscanf(strings.NewReplacer("M", "", "L", " ").Replace(a["d"]), "%g %g %g %g", &s.fromX, &s.fromY, &s.x, &s.y); err != nil {
				t.Fatalf("path %q: %v", a["d"], err)
			}
			s.px = math.Hypot(s.x-s.fromX, s.y-s.fromY)
			list = append(list, s)
		case xml.EndElement:
			scales = scales[:len(scales)-1]
		}
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Every line that stands for a length is as long as the length says, at the one
// scale of its part of the drawing.
func TestLengthsAreToScale(t *testing.T) {
	t.Parallel()
	o := drawing.Options{Units: units.Metric, ID: "a"}
	for name, drawn := range map[string]string{"sheet": drawing.Sheet(twoDroppers(), o), "strip": drawing.Strip(twoDroppers(), o, false), "tags": drawing.Tags([]float64{165, 150, 135, 120, 105}, 100, "Tags", o)} {
		list := strokes(t, drawn)
		if len(list) < 4 {
			t.Errorf("%s: %d lines carry a length", name, len(list))
		}
		for _, s := range list {
			if math.Abs(s.px-s.mm*s.perMM) > 0.01 { // coordinates are printed to a thousandth
				t.Errorf("%s: %s of %g mm is %g px long, want %g at %g px/mm", name, s.class, s.mm, s.px, s.mm*s.perMM, s.perMM)
			}
		}
	}
}

// A tag is where its facing says: sines and cosines of 35° and 145° by the
// table, 0.573576 and ±0.819152.
func TestTagsFaceTheirWay(t *testing.T) {
	t.Parallel()
	drawn := drawing.Sheet(twoDroppers(), drawing.Options{Units: units.Metric, ID: "a"})
	found := 0
	for _, s := range strokes(t, drawn) {
		down := map[float64]float64{165.1: 0.819152, 140: -0.819152}[s.mm]
		if down == 0 || !strings.Contains(s.class, "rig-tag") {
			continue
		}
		found++
		across, along := s.mm*s.perMM*0.573576, s.mm*s.perMM*down
		if math.Abs(s.x-s.fromX-across) > 0.01 || math.Abs(s.y-s.fromY-along) > 0.01 {
			t.Errorf("the tag of %g mm goes by %g, %g; want %g, %g", s.mm, s.x-s.fromX, s.y-s.fromY, across, along)
		}
	}
	if found != 2 {
		t.Errorf("%d tags are drawn", found)
	}
}

// The parts of the leader: 6096 mm in all, of which 508 sighter, 1828.8 tippet,
// and so 3759.2 above them.
func TestWholeLeaderAddsUp(t *testing.T) {
	t.Parallel()
	want := map[float64]bool{6096: false, 508: false, 1828.8: false}
	butt := false
	for _, s := range strokes(t, drawing.Sheet(twoDroppers(), drawing.Options{Units: units.Metric, ID: "a"})) {
		if _, ok := want[s.mm]; ok {
			want[s.mm] = true
		}
		butt = butt || math.Abs(s.mm-3759.2) < 1e-9
	}
	for mm, seen := range want {
		if !seen {
			t.Errorf("no line stands for %g mm", mm)
		}
	}
	if !butt {
		t.Error("no line stands for the 3759.2 mm above the sighter")
	}
}

// Twice the tag is twice the line, all else alike, at the same scale or not.
func TestLongerTagIsDrawnLonger(t *testing.T) {
	t.Parallel()
	ratio := func(tag float64) float64 {
		rig := twoDroppers()
		rig.Positions[1].TagLengthMM = &tag
		var tagPx, gapPx float64
		for _, s := range strokes(t, drawing.Sheet(rig, drawing.Options{Units: units.US, ID: "a"})) {
			switch {
			case s.mm == tag && strings.Contains(s.class, "rig-tag"):
				tagPx = s.px
			case s.mm == 450 && strings.Contains(s.class, "rig-line"):
				gapPx = s.px
			}
		}
		return tagPx / gapPx
	}
	for _, tag := range []float64{100, 200, 400} {
		if got := ratio(tag); math.Abs(got-tag/450) > 1e-3 {
			t.Errorf("a tag of %g mm is %g times the 450 mm below it, want %g", tag, got, tag/450)
		}
	}
}

// What is not noted is dashed and carries no length, and is said to be missing.
func TestUnknownStaysUnknown(t *testing.T) {
	t.Parallel()
	rig := journal.Rig{Positions: []journal.RigPosition{{Position: 0}, {Position: 1, Hang: journal.HangTag}}}
	drawn := drawing.Sheet(rig, drawing.Options{Units: units.Metric, ID: "a"})
	for _, s := range strokes(t, drawn) {
		if !strings.Contains(s.class, "rig-scale") {
			t.Errorf("%s stands for %g mm that nobody noted", s.class, s.mm)
		}
	}
	if n := strings.Count(drawn, "not noted"); n < 5 {
		t.Errorf("the drawing says %d times that something is not noted", n)
	}
	notes := strings.Join(drawing.Notes(rig, units.Metric), " ")
	for _, want := range []string{"the rod", "the whole leader", "the tippet", "the tag of dropper 1", "the distance below dropper 1"} {
		if !strings.Contains(notes, want) {
			t.Errorf("%q does not say that %s is missing", notes, want)
		}
	}
}

// A rig of which only the dropper is noted has line below it, to a point that
// nobody noted.
func TestALoneDropperHasLineBelow(t *testing.T) {
	t.Parallel()
	rig := journal.Rig{Positions: []journal.RigPosition{{Position: 1, Hang: journal.HangTag, TagLengthMM: mm(165), DistanceMM: mm(500)}}}
	o := drawing.Options{Units: units.Metric, ID: "a"}
	below := false
	for _, s := range strokes(t, drawing.Sheet(rig, o)) {
		below = below || s.mm == 500 && strings.Contains(s.class, "rig-line") && s.y > s.fromY
	}
	if !below {
		t.Error("no line of 500 mm goes down from the dropper")
	}
	if notes := strings.Join(drawing.Notes(rig, units.Metric), " "); !strings.Contains(notes, "the point fly") {
		t.Errorf("%q does not say that the point is not noted", notes)
	}
}

// Lengths that contradict each other are said, and still drawn.
func TestContradictionsAreSaid(t *testing.T) {
	t.Parallel()
	short := twoDroppers()
	short.LeaderLengthMM = mm(2000)
	spread := twoDroppers()
	spread.TippetLengthMM = mm(600)
	for want, rig := range map[string]journal.Rig{"shorter than its sighter and tippet": short, "more line than the tippet": spread} {
		if notes := strings.Join(drawing.Notes(rig, units.Metric), " "); !strings.Contains(notes, want) {
			t.Errorf("%q, want something with %q", notes, want)
		}
		strokes(t, drawing.Sheet(rig, drawing.Options{Units: units.Metric, ID: "a"}))
	}
}

// Whatever people write stays text.
func TestTextIsEscaped(t *testing.T) {
	t.Parallel()
	rig := twoDroppers()
	evil := `"><script>alert(1)</script>`
	rig.Name, rig.Swivel = evil, journal.Swivel(evil)
	for i := range rig.Positions {
		p := &rig.Positions[i]
		p.Fly, p.Junction, p.JunctionName, p.Prop, p.Bulk, p.Facing, p.Material = evil, journal.Junction(evil), evil, journal.Prop(evil), journal.Bulk(evil), journal.Facing(evil), journal.Material(evil)
	}
	o := drawing.Options{Units: units.US, ID: "a"}
	for _, drawn := range []string{drawing.Sheet(rig, o), drawing.Strip(rig, o, false), drawing.Tags([]float64{120}, 100, evil, o)} {
		strokes(t, drawn)
		if strings.Contains(drawn, "<script") || strings.Contains(drawn, `""`) {
			t.Errorf("what was written is no text:\n%s", drawn)
		}
	}
}

// Any rig is drawn within its sheet, without NaN.
func TestAnyRigIsDrawn(t *testing.T) {
	t.Parallel()
	lengths := []*float64{nil, mm(1), mm(150), mm(2000), mm(30000)}
	for _, tag := range lengths {
		for _, gap := range lengths {
			for _, leader := range lengths {
				for _, facing := range append(journal.Facings(), "") {
					rig := journal.Rig{LeaderLengthMM: leader, TippetLengthMM: gap, SighterLengthMM: tag, RodLengthMM: leader, Positions: []journal.RigPosition{{}, {Position: 1, Hang: journal.HangTag, TagLengthMM: tag, DistanceMM: gap, Facing: facing}}}
					drawn := drawing.Sheet(rig, drawing.Options{Units: units.Metric, ID: "a"}) + drawing.Strip(rig, drawing.Options{Units: units.US, ID: "b"}, true)
					if strings.Contains(drawn, "NaN") || strings.Contains(drawn, "Inf") {
						t.Fatalf("tag %v, gap %v, leader %v: %s", tag, gap, leader, drawn)
					}
				}
			}
		}
	}
}

func TestSessionAlongItsMinutes(t *testing.T) {
	t.Parallel()
	s := journal.Session{Stints: []journal.Stint{
		{Minutes: new(60.0), Events: []journal.Event{{Kind: journal.EventHookup, Count: 1, Ending: journal.Landed, Minute: new(30)}, {Kind: journal.EventTangle, Count: 1}}},
		{Minutes: new(40.0), Events: []journal.Event{{Kind: journal.EventSnag, Count: 1, Ending: journal.BrokeOff, Minute: new(20)}, {Kind: journal.EventRetie, Count: 1, Minute: new(25)}}},
	}}
	drawn := drawing.Session(s, "line")
	for _, want := range []string{"Stint 2 from minute 60.", "Fish at 30.", "Breaks at 80.", "Tag at 85.", `cx="151.8"`} { // 66 + 0.3 of the way to 352
		if !strings.Contains(drawn, want) {
			t.Errorf("%q is not in %s", want, drawn)
		}
	}
	if strings.Contains(drawn, "Tangles at") {
		t.Error("a tangle without a minute is drawn at one")
	}
	s.Stints[1].Minutes = nil
	if drawing.Session(s, "line") != "" {
		t.Error("drawn though nobody knows how long it was")
	}
}

// Two droppers are drawn to one scale, and only the one that differs.
func TestChangeIsToOneScale(t *testing.T) {
	t.Parallel()
	rig := func(mm float64) journal.Rig {
		return journal.Rig{Positions: []journal.RigPosition{{}, {Position: 1, Hang: journal.HangTag, TagLengthMM: new(90.0), Facing: "side"}, {Position: 2, Hang: journal.HangTag, TagLengthMM: &mm, Facing: "side"}}}
	}
	before, after := drawing.Change(rig(200), rig(150), drawing.Options{Units: units.Metric, ID: "c"})
	tag := regexp.MustCompile(`data-mm="([0-9.]+)" d="M([0-9.]+) ([0-9.]+)L([0-9.]+) ([0-9.]+)"`)
	var scales []float64
	for i, drawn := range []string{before, after} {
		found := tag.FindAllStringSubmatch(drawn, -1)
		if len(found) != 1 || found[0][1] != []string{"200", "150"}[i] || !strings.Contains(drawn, found[0][1]+" mm") {
			t.Fatalf("%d: %v in %s", i, found, drawn)
		}
		var v [5]float64
		for j := range v {
			v[j], _ = strconv.ParseFloat(found[0][j+1], 64)
		}
		scales = append(scales, math.Hypot(v[3]-v[1], v[4]-v[2])/v[0])
	}
	if scales[0] <= 0 || math.Abs(scales[0]/scales[1]-1) > 0.001 {
		t.Errorf("scales %v", scales)
	}
}
