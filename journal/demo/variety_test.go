package demo_test

import (
	"slices"
	"testing"

	"rigtally/journal"
	"rigtally/journal/demo"
)

// TestTrade holds the season against the numbers the trade goes by: tags of
// 150–180 mm as tied, useful down to about 100 mm, leaders about twice the rod,
// tippet of 5X–8X and mostly 6X–7X (all common practice, no source).
func TestTrade(t *testing.T) {
	t.Parallel()
	s := demo.Generate(demo.Seed, demo.Sessions)
	var tags []float64
	fine := 0
	for _, r := range s.Rigs {
		if r.Method == "tight-line nymph" {
			if ratio := *r.LeaderLengthMM / *r.RodLengthMM; ratio < 1.7 || ratio > 2.3 {
				t.Errorf("%s: the leader is %.1f times the rod", r.Title(), ratio)
			}
		}
		for _, p := range r.Positions {
			if *p.TippetMM < 0.0762 || *p.TippetMM > 0.1524 {
				t.Errorf("%s: tippet of %g mm", r.Title(), *p.TippetMM)
			}
			if *p.TippetMM > 0.1 && *p.TippetMM < 0.13 {
				fine++
			}
			if p.TagLengthMM != nil {
				tags = append(tags, *p.TagLengthMM)
			}
		}
	}
	slices.Sort(tags)
	if m := tags[len(tags)/2]; m < 150 || m > 180 {
		t.Errorf("the middle tag is tied %g mm long", m)
	}
	if fine < len(s.Rigs) {
		t.Errorf("only %d flies on 6X or 7X", fine)
	}
	for _, session := range s.Sessions {
		for _, st := range session.Stints {
			for _, p := range st.Positions {
				if p.TagStartMM != nil && (*p.TagStartMM < 85 || *p.TagStartMM > 230) {
					t.Errorf("%s: a tag of %g mm", session.Day, *p.TagStartMM)
				}
			}
		}
	}
}

// TestVariety: the demo shows everything a journal may hold, gaps included.
func TestVariety(t *testing.T) {
	t.Parallel()
	s := demo.Generate(demo.Seed, demo.Sessions)
	seen := map[string]int{}
	for _, r := range s.Rigs {
		seen["method "+string(r.Method)]++
		seen["swivel "+string(r.Swivel)]++
		if r.Revision > 1 {
			seen["revision"]++
		}
		if len(r.Droppers()) == 2 {
			seen["two droppers"]++
		}
		for _, p := range r.Positions {
			seen["hang "+string(p.Hang)]++
			seen["junction "+string(p.Junction)]++
			seen["facing "+string(p.Facing)]++
			seen["prop "+string(p.Prop)]++
			seen["bulk "+string(p.Bulk)]++
		}
	}
	for _, session := range s.Sessions {
		count(seen, "no flow", session.FlowM3S == nil)
		count(seen, "no temperature", session.WaterTempC == nil)
		count(seen, "no start", session.Start == nil)
		count(seen, "guided", session.GuideID != nil)
		for _, st := range session.Stints {
			count(seen, "no minutes", st.Minutes == nil)
			seen["stroke "+string(st.Stroke)]++
			for _, e := range st.Events {
				count(seen, string(e.Kind)+" on no fly", e.Position == nil)
				count(seen, string(e.Kind)+" at a minute", e.Minute != nil)
				count(seen, "several at once", e.Count > 1)
				count(seen, "minutes lost", e.MinutesLost != nil)
				count(seen, "a cut", e.CutMM != nil)
				count(seen, "turns", e.Turns != nil)
				seen["broke "+string(e.BreakPlace)]++
				seen["ended "+string(e.Ending)]++
				seen["tangle "+string(e.TangleKind)]++
			}
		}
	}
	want := []string{"revision", "two droppers", "guided", "no flow", "no temperature", "no start", "no minutes", "several at once", "minutes lost", "a cut", "turns"}
	for _, k := range journal.EventKinds() {
		want = append(want, string(k)+" on no fly", string(k)+" at a minute")
	}
	want = extend(extend(want, "method ", journal.Methods()), "swivel ", journal.Swivels())
	want = extend(extend(want, "hang ", journal.Hangs()), "junction ", journal.Junctions()[:6])
	want = extend(extend(want, "facing ", journal.Facings()), "prop ", journal.Props())
	want = extend(extend(want, "bulk ", journal.Bulks()), "stroke ", journal.Strokes())
	want = extend(extend(want, "broke ", journal.BreakPlaces()), "tangle ", journal.TangleKinds())
	want = extend(extend(want, "ended ", journal.HookupEndings()), "ended ", journal.SnagEndings())
	for _, w := range want {
		if seen[w] == 0 {
			t.Errorf("nothing in the season has %q", w)
		}
	}
	for _, few := range []string{"no temperature", "no start"} {
		if seen[few] > len(s.Sessions)/10 {
			t.Errorf("%q holds for %d of %d sessions", few, seen[few], len(s.Sessions))
		}
	}
}

func count(seen map[string]int, what string, yes bool) {
	if yes {
		seen[what]++
	}
}

func extend[T ~string](list []string, prefix string, words []T) []string {
	for _, w := range words {
		list = append(list, prefix+string(w))
	}
	return list
}
