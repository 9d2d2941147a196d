package prose_test

import (
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

func factor(t *testing.T, key string) journal.Factor {
	t.Helper()
	f, err := journal.FactorByKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func outcome(t *testing.T, key string) journal.Outcome {
	t.Helper()
	o, err := journal.OutcomeByKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func TestLevels(t *testing.T) {
	t.Parallel()
	number := func(v float64) journal.Level { return journal.Level{Number: v, Kind: journal.NumberLevel} }
	for _, tt := range []struct {
		factor string
		level  journal.Level
		sys    units.System
		want   string
	}{
		{"junction", journal.Level{Word: "blood"}, units.US, "blood"},
		{"tag-length", number(165.1), units.US, "6½ in"},
		{"tag-length", number(165.1), units.Metric, "165.1 mm"},
		{"tag-length", journal.Level{Number: 152.4, Upper: 177.8, Kind: journal.BandLevel}, units.US, "6–7 in"},
		{"temperature", journal.Level{Upper: -10, Kind: journal.BelowLevel}, units.Metric, "below −10 °C"},
		{"flow", journal.Level{Number: 1000, Kind: journal.AboveLevel}, units.Metric, "1000 m³/s or more"},
		{"flow-percentile", journal.Level{Number: 25, Upper: 75, Kind: journal.BandLevel}, units.US, "usual (25–75%)"},
		{"flow-percentile", journal.Level{Upper: 10, Kind: journal.BelowLevel}, units.US, "much below usual (under 10%)"},
		{"flow-percentile", journal.Level{Number: 20, Upper: 40, Kind: journal.BandLevel}, units.Metric, "20–40% of years"},
		{"flow-percentile", number(62.5), units.US, "62.5% of years"},
		{"temperature-peak", journal.Level{Number: 20, Upper: 22, Kind: journal.BandLevel}, units.Metric, "20–22 °C"},
		{"trend-6h", journal.Level{Word: "rising"}, units.US, "rising"},
		{"tippet", number(0.127), units.Metric, "6X (0.127 mm)"},
		{"hook-size", number(16), units.Metric, "size 16"},
		{"month", number(5), units.Metric, "May"},
		{"season", number(2026), units.Metric, "2026"},
	} {
		got := strings.ReplaceAll(prose.Level(factor(t, tt.factor), tt.level, tt.sys), "-", "−")
		if got != strings.ReplaceAll(tt.want, "-", "−") {
			t.Errorf("%s %+v: %q, want %q", tt.factor, tt.level, got, tt.want)
		}
	}
}

func TestConditionsOfPercents(t *testing.T) {
	t.Parallel()
	for where, want := range map[string]string{
		"flow-percentile=25%..<75%": "flow for the time of year, higher than in 25–75% of years",
		"flow-percentile=90..":      "flow for the time of year, higher than in at least 90% of years",
		"flow-percentile=..10%":     "flow for the time of year, higher than in at most 10% of years",
		"flow-percentile=50":        "flow for the time of year, higher than in 50% of years",
		"trend-24h=rising":          "water trend over 24 hours rising",
		"temperature-peak=68F..":    "warmest water of the day from 68 °F",
	} {
		q, err := analytics.Request{Outcome: "tangles", Where: []string{where}, Units: units.US}.Question()
		if err != nil {
			t.Fatal(err)
		}
		if got := prose.Condition(q.Where[0], units.US); got != want {
			t.Errorf("%s: %q, want %q", where, got, want)
		}
	}
}

// answer is an invented answer by junction: figure-eight is the reference.
func answer(t *testing.T, key string, groups ...analytics.Group) analytics.RateAnswer {
	a := analytics.RateAnswer{Outcome: outcome(t, key), By: []journal.By{{Factor: factor(t, "junction")}}, Groups: groups, LeftOut: map[string]int{}}
	for i, g := range groups {
		a.Total.Events += g.Events
		a.Total.Exposure += g.Exposure
		a.Total.Stints += g.Stints
		if g.Versus == nil {
			a.Reference = i
		}
	}
	return a
}

func named(word string, g analytics.Group) analytics.Group {
	g.Level, g.Stints, g.Sessions, g.Exposure, g.HasInterval = []journal.Level{{Word: word}}, 20, 10, 30, true
	return g
}

func compared(v stat.Verdict, ratio, low, high, q, hours float64) *analytics.Comparison {
	return &analytics.Comparison{Ratio: &ratio, Low: &low, High: &high, P: &q, Q: &q, Verdict: v, MoreHours: &hours}
}

func TestSentences(t *testing.T) {
	t.Parallel()
	ref := named("figure-eight", analytics.Group{Events: 20, Rate: 0.667, Low: 0.41, High: 1.03})
	group := func(word string, c *analytics.Comparison) analytics.Group {
		g := named(word, analytics.Group{Events: 40, Rate: 1.33, Low: 0.95, High: 1.82, Versus: c})
		if c.Verdict != "" {
			g.Corrected = corrected(*c.Ratio, *c.Low, *c.High)
		}
		return g
	}
	differs, open := compared(stat.Differs, 2, 1.15, 3.6, 0.01, 0), compared(stat.CannotTell, 1.1, 0.5, 2, 0.8, 500)
	none := named("figure-eight", analytics.Group{Rate: 0, High: 0.1})
	explained := answer(t, "tangles", ref, group("uni", &analytics.Comparison{Ratio: new(2.0)}))
	explained.Notes = []analytics.Note{{Kind: analytics.NoteExplained, Group: 1, Factor: factor(t, "angler"), Words: []string{"J. Felt"}}}
	few := answer(t, "tangles", ref, group("uni", &analytics.Comparison{}))
	few.Notes = []analytics.Note{{Kind: analytics.NoteTooFewToCorrect, Group: -1, Count: 2}}
	for _, tt := range []struct {
		name string
		a    analytics.RateAnswer
		want string
	}{
		{"nothing", answer(t, "tangles"), "The journal has nothing on this question yet."},
		{"one level", answer(t, "tangles", ref), "Figure-eight: 0.667 per hour (95% interval 0.410–1.03), from 20 tangles in 30.0 hours. It is the only junction fished"},
		{"differs", answer(t, "tangles", ref, group("blood", differs), group("uni", open)),
			"Blood comes to a tangle every 45 min, where figure-eight has one every 1 h 30 min. Can't tell the other one from figure-eight yet."},
		{"one leans", answer(t, "tangles", ref, group("blood", differs), group("uni", compared(stat.Leans, 1.6, 0.9, 3, 0.15, 80))), "Blood comes to a tangle every 45 min, where figure-eight has one every 1 h 30 min. Uni leans, not settled."},
		{"leans", answer(t, "tangles", ref, group("blood", compared(stat.Leans, 1.6, 0.9, 3, 0.15, 80))), "Blood comes to a tangle every 56 min, where figure-eight has one every 1 h 30 min. It leans that way; it is not settled."},
		{"shares", answer(t, "junction-break", named("figure-eight", analytics.Group{Events: 2, Rate: 0.07}), group("blood", differs)), "Blood comes to 14 breaks at the knot in 100 pulls by fish and snags, where figure-eight has 7."},
		{"cannot tell", answer(t, "tangles", ref, group("blood", compared(stat.CannotTell, 1.2, 0.7, 2, 0.5, 120.2))),
			"Can't tell yet which junction has more tangles: what was seen would fit no difference too. About 121 h more would tell blood from figure-eight."},
		{"same", answer(t, "tangles", ref, group("blood", compared(stat.SameForPractice, 1, 0.9, 1.1, 0.9, 0))), "No difference that matters:"},
		{"no reference events", answer(t, "tangles", none, group("blood", differs)), "Blood comes to 2.00 times the tangles per hour of figure-eight."},
		{"nobody compares them", explained, "Only J. Felt fished the uni, so nobody’s fishing compares it with figure-eight: can't tell like for like."},
		{"too few", few, "Can't tell one junction from another like for like: 2 sessions are too few."},
	} {
		if got := prose.Sentence(tt.a, units.Metric); !strings.HasPrefix(got, tt.want) {
			t.Errorf("%s:\ngot  %q\nwant %q", tt.name, got, tt.want)
		}
		header, rows := prose.RatesTable(tt.a, units.Metric).Texts()
		for _, r := range rows {
			if len(r) != len(header) {
				t.Errorf("%s: a row of %d cells under a header of %d", tt.name, len(r), len(header))
			}
		}
	}
}

// "No difference" must never be said because a p-value is large.
func TestALargePIsNoProofOfSameness(t *testing.T) {
	t.Parallel()
	a := answer(t, "tangles", named("figure-eight", analytics.Group{Events: 2}), named("blood", analytics.Group{Events: 2, Versus: compared(stat.CannotTell, 1, 0.1, 9, 1, 900), Corrected: corrected(1, 0.1, 9)}))
	if got := prose.Sentence(a, units.Metric); strings.Contains(got, "No difference that") || !strings.Contains(got, "would fit no difference too") || !strings.Contains(strings.ToLower(got), "can't tell") {
		t.Errorf("%q", got)
	}
}

func TestBestNamesTheLowestThatWasTriedAndWhetherItIsSettled(t *testing.T) {
	t.Parallel()
	group := func(name string, hours, events float64, v *analytics.Comparison) analytics.Group {
		var c *analytics.Corrected
		if v != nil && v.Verdict != "" {
			c = corrected(2*events/hours, 0.1, 0.9)
		}
		return analytics.Group{Corrected: c, Level: []journal.Level{{Word: name}}, Hours: hours, Exposure: hours, Events: events, Rate: events / hours, Low: 0.1, High: 0.9, HasInterval: true, Versus: v}
	}
	judged := func(v stat.Verdict) *analytics.Comparison {
		return &analytics.Comparison{Verdict: v, MoreHours: new(122.4)}
	}
	answer := func(v stat.Verdict) analytics.RateAnswer {
		return analytics.RateAnswer{
			Outcome: outcome(t, "tangles"), By: []journal.By{{Factor: factor(t, "junction")}},
			// blood is lower still, in hardly any time
			Groups: []analytics.Group{group("figure-eight", 200, 100, nil), group("uni", 100, 40, judged(v)), group("blood", 5, 0, judged(stat.CannotTell))},
			Total:  analytics.Group{Hours: 305, Exposure: 305, Events: 140},
		}
	}
	for v, want := range map[stat.Verdict]string{
		stat.CannotTell:      "Can't tell it from figure-eight yet; about 123 h more would tell",
		stat.Leans:           "only leans that way; about 123 h",
		stat.Differs:         "settled that it differs from figure-eight",
		stat.SameForPractice: "No difference that matters from figure-eight",
	} {
		got := prose.Best(answer(v), units.Metric)
		if !strings.HasPrefix(got, "Least so far with uni: a tangle every 2 h 30 min, in 100 hours.") || !strings.Contains(got, want) || !strings.HasSuffix(got, "The best of 2 is partly luck.") {
			t.Errorf("%v: %s", v, got)
		}
	}
	a := answer(stat.CannotTell)
	a.Outcome = outcome(t, "landed")
	if got := prose.Best(a, units.Metric); !strings.HasPrefix(got, "Most so far with figure-eight: a fish landed every 2 h, in 200 hours.") || !strings.Contains(got, "The others are compared with it") {
		t.Error(got)
	}
	// What can't be compared like for like is not named, however few tangles it had.
	a = answer("")
	if got := prose.Best(a, units.Metric); got != "" {
		t.Errorf("named without a comparison: %s", got)
	}
	a.Groups = a.Groups[:1]
	if got := prose.Best(a, units.Metric); got != "" {
		t.Errorf("of one group: %s", got)
	}
}

func TestTotals(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		n, kept, stints int
		words, cell     string
	}{
		{0, 2, 2, "no tangle", "0"},
		{1, 2, 2, "1 tangle", "1"},
		{3, 1, 2, "at least 3 tangles", "at least 3"},
		{0, 1, 2, "no tangle where recorded", "0 where recorded"},
		{0, 0, 2, "tangles not recorded", "not recorded"},
		{1, 0, 2, "at least 1 tangle", "at least 1"},
		{0, 0, 0, "no tangle", "0"},
	} {
		total := journal.Total{N: tt.n, Kept: tt.kept, Stints: tt.stints}
		if words, cell := prose.Total(total, "tangle", "tangles"), prose.TotalCell(total); words != tt.words || cell != tt.cell {
			t.Errorf("%+v: %q, %q", total, words, cell)
		}
	}
}

func TestWhatWasCaught(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		hookups, landed journal.Total
		want            string
	}{
		{journal.Total{N: 3, Kept: 1, Stints: 1}, journal.Total{N: 2, Kept: 1, Stints: 1}, "3 hookups, 2 landed"},
		{journal.Total{N: 3, Kept: 1, Stints: 1}, journal.Total{Stints: 1}, "3 hookups, landed not recorded"},
		{journal.Total{Stints: 1}, journal.Total{N: 2, Kept: 1, Stints: 1}, "hookups not recorded, 2 landed"},
		{journal.Total{Kept: 1, Stints: 1}, journal.Total{Kept: 1, Stints: 1}, "no hookup"},
	} {
		if got := prose.Caught(tt.hookups, tt.landed); got != tt.want {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}
}

func TestNoCount(t *testing.T) {
	t.Parallel()
	for want, r := range map[string]journal.Recorded{
		"":                              journal.AllRecorded(),
		"snags and tangles not counted": journal.AllRecorded().Without(journal.KindSnags, journal.KindTangles),
		"only hookups counted":          journal.RecordedOf(journal.KindHookups),
		"nothing counted":               journal.RecordedOf(),
	} {
		if got := prose.NoCount(r); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if got := prose.NoCount(journal.Recorded(0)); got != "" {
		t.Errorf("what is assumed: %q", got)
	}
}

// Where no stint could be used for want of a count, the answer says that and no zero.
func TestAnAnswerWithoutCounts(t *testing.T) {
	t.Parallel()
	a := analytics.RateAnswer{Outcome: journal.Outcomes()[0], LeftOut: map[string]int{"stints with no count kept of tangles": 1}, Reference: -1}
	if got := prose.Sentence(a, units.US); got != "Not recorded: nobody counted it, so there is nothing to say." {
		t.Error(got)
	}
	if got := prose.LeftOut(a.LeftOut); len(got) != 1 || got[0] != "1 stint that did not count tangles" {
		t.Errorf("%q", got)
	}
	a.LeftOut["stints with no minutes noted"] = 2
	if got := prose.Sentence(a, units.US); !strings.Contains(got, "has nothing on this question") {
		t.Error(got)
	}
}

func TestPaidBack(t *testing.T) {
	t.Parallel()
	rig := journal.Rig{Positions: []journal.RigPosition{{}, {Position: 1, Hang: journal.HangTag, TagLengthMM: new(165.1)}}}
	counted, not := journal.Total{N: 1, Stints: 1, Kept: 1}, journal.Total{Stints: 1}
	before := func(sessions int, minutes float64, tangles int) journal.Totals {
		return journal.Totals{Sessions: sessions, Minutes: minutes, Tangles: journal.Total{N: tangles, Stints: sessions, Kept: sessions}}
	}
	other := journal.Rig{Positions: []journal.RigPosition{{}, {Position: 1, Hang: journal.HangTag, TagLengthMM: new(203.2)}}}
	for want, stints := range map[string][]prose.Usual{
		"": nil,
		"1 tangle in 4 h; with this tag (6½ in) you usually have 4.":                            {{rig, new(240.0), counted, before(8, 1200, 20)}},
		"1 tangle in 2 h; with this tag (6½ in) you usually have less than one.":                {{rig, new(120.0), counted, before(8, 1200, 2)}},
		"First 3 h with this tag (6½ in). About 10 h say something.":                            {{rig, new(180.0), counted, before(0, 0, 0)}},
		"8 h with this tag (6½ in) so far. About 10 h, on five days or more, say something.":    {{rig, new(180.0), counted, before(2, 300, 3)}},
		"Tangles were not counted, so this session says nothing of them.":                       {{rig, new(180.0), not, before(8, 1200, 20)}},
		"Without its time, this session tells no rate. Edit it to add the minutes.":             {{rig, nil, counted, before(8, 1200, 20)}},
		"2 tangles in 2 h; with these rigs you usually have 2.":                                 {{rig, new(60.0), counted, before(8, 600, 10)}, {other, new(60.0), counted, before(8, 1200, 20)}},
		"2 tangles in 2 h, with rigs tied in several ways. About 10 h with each say something.": {{rig, new(60.0), counted, before(8, 600, 10)}, {other, new(60.0), counted, before(1, 60, 1)}},
		"First 30 min with a single fly. About 10 h say something.":                             {{journal.Rig{}, new(30.0), counted, before(0, 0, 0)}},
	} {
		if got := prose.PaidBack(stints, units.US); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
