package prose_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"rigtally/analytics/change"
	"rigtally/analytics/quality"
	"rigtally/journal"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/prose"
)

func corrected(ratio, low, high float64) *analytics.Corrected {
	p, se, df := 0.01, 0.2, 40.0
	return &analytics.Corrected{Ratio: &ratio, Low: &low, High: &high, P: &p, SELog: &se, DF: &df, Method: "Poisson, HC1 by session"}
}

func TestAnswersLikeForLikeInWords(t *testing.T) {
	t.Parallel()
	ref := named("figure-eight", analytics.Group{Events: 20, Rate: 0.667, Low: 0.41, High: 1.03})
	blood := named("blood", analytics.Group{Events: 40, Rate: 0.5, Versus: compared(stat.Differs, 0.73, 0.6, 0.9, 0.01, 0), Corrected: corrected(1.42, 1.26, 1.6)})
	lost := named("uni", analytics.Group{Events: 40, Rate: 0.5, Versus: &analytics.Comparison{Ratio: new(0.9), Low: new(0.6), High: new(1.4)}})
	ring := named("tippet ring", analytics.Group{Events: 40, Rate: 0.5, Versus: compared(stat.CannotTell, 0.9, 0.6, 1.4, 0.5, 40), Corrected: corrected(1.01, 0.5, 2)})
	a := answer(t, "tangles", ref, blood, lost, ring)
	a.Given = []analytics.Given{{Factor: factor(t, "tag-length"), Linear: true}, {Factor: factor(t, "bulk")}, {Factor: factor(t, "angler")}}
	a.Notes = []analytics.Note{
		{Kind: analytics.NoteReversal, Group: 1, Factor: factor(t, "angler")},
		{Kind: analytics.NoteExplained, Group: 2, Factor: factor(t, "water"), Words: []string{"Little Marrow"}},
		{Kind: analytics.NoteWent, Group: 3, Value: 0.8},
		{Kind: analytics.NoteGivenSame, Group: -1, Factor: factor(t, "bulk")},
	}
	want := "Like for like (tag length, bulk and angler): blood comes to a tangle every 1 h 5 min, where figure-eight has one every 1 h 30 min. Can't tell the other one from figure-eight yet."
	if got := prose.Sentence(a, units.Metric); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	beside := []string{
		"Blood: 1.42 times as often (95% interval 1.26–1.60, q = 0.010). As fished: 0.73 times.",
		"Blood: as fished it looks the other way round (0.73 times): most of that went with who fished.",
	}
	if got := prose.Beside(a, units.Metric); !slices.Equal(got, beside) {
		t.Errorf("beside it %q\nwant %q", got, beside)
	}
	table := prose.RatesTable(a, units.Metric)
	header, rows := table.Texts()
	for i, row := range rows {
		if len(row) != len(header) {
			t.Errorf("row %d has %d cells under a header of %d", i, len(row), len(header))
		}
	}
	if text := strings.Join(rows[1], " "); !strings.Contains(text, "1.42 1.26–1.60 0.010 differs — 0.73 0.60–0.90") {
		t.Errorf("like for like and as fished are not side by side: %s", text)
	}
	if text := strings.Join(rows[2], " "); !strings.Contains(text, "— — — — — 0.90 0.60–1.40") {
		t.Errorf("what can't be compared has numbers, or a verdict: %s", text)
	}
	notes := prose.Notes(a, units.Metric)
	for i, want := range []string{
		"The uni was fished only on Little Marrow, where figure-eight never was: can't tell like for like.",
		"Tippet ring: of the difference as fished, most went with which days it was fished.",
		"Bulk was the same throughout, so holding it alike changes nothing.",
	} {
		if i >= len(notes) || notes[i] != want {
			t.Errorf("notes %q\nwant %q", notes, want)
		}
	}
	var b strings.Builder
	if err := table.WriteText(&b, 80); err != nil || !strings.Contains(b.String(), "can't tell yet") {
		t.Errorf("%v: at 80 columns a verdict is folded:\n%s", err, b.String())
	}
}

func TestEveryNoteOfAComparisonHasASentence(t *testing.T) {
	t.Parallel()
	ref := named("figure-eight", analytics.Group{Events: 20})
	blood := named("blood", analytics.Group{Events: 40, Versus: compared(stat.Differs, 0.73, 0.6, 0.9, 0.01, 40), Corrected: corrected(1.42, 1.26, 1.6)})
	for _, kind := range []analytics.NoteKind{analytics.NoteTooFewToCorrect, analytics.NoteFewToCorrect, analytics.NoteOneSession, analytics.NoteExplained,
		analytics.NoteNoneToCorrect, analytics.NotePenalised, analytics.NoteGivenSame, analytics.NoteGivenRepeats, analytics.NoteReversal, analytics.NoteWent, analytics.NoteStraight} {
		a := answer(t, "tangles", ref, blood)
		a.Notes = []analytics.Note{{Kind: kind, Count: 2, Group: 1, Factor: factor(t, "angler"), Words: []string{"J. Felt"}}}
		said := append(prose.Notes(a, units.US), prose.Beside(a, units.US)[1:]...)
		if len(said) != 1 || strings.Contains(said[0], "%!") {
			t.Errorf("%s: %q", kind, said)
		}
	}
}

// aCurve is an invented one: 100 to 140 mm, lowest at 120.
func aCurve(t *testing.T, p float64) analytics.CurveAnswer {
	a := analytics.CurveAnswer{Outcome: outcome(t, "tangles"), Over: factor(t, "tag-length"), Matters: &p, Bends: &p, LeftOut: map[string]int{}}
	for i, rate := range []float64{0.5, 0.4, 0.3, 0.6, 0.9} {
		at := 100 + 10*float64(i)
		a.Points = append(a.Points, analytics.CurvePoint{At: at, Rate: rate, Low: rate / 2, High: 2 * rate, HasInterval: true})
		a.Best = append(a.Best, analytics.Chance{At: at, Probability: new([]float64{0.01, 0.29, 0.6, 0.1, 0}[i])})
		a.Rug = append(a.Rug, analytics.Rug{At: at, Exposure: 5})
	}
	a.Total = analytics.Group{Stints: 25, Exposure: 25, Events: 12}
	return a
}

func TestCurvesInWords(t *testing.T) {
	t.Parallel()
	empty, one, none := aCurve(t, 0.01), aCurve(t, 0.01), aCurve(t, 0.01)
	empty.Rug, empty.Points = nil, nil
	one.Rug, one.Points = one.Rug[:1], nil
	none.Total.Events, none.Points = 0, nil
	explained := aCurve(t, 0.3)
	explained.Points, explained.Notes = nil, []analytics.Note{{Kind: analytics.NoteExplained, Group: -1, Factor: factor(t, "angler")}}
	given := aCurve(t, 0.3)
	given.Given = []analytics.Given{{Factor: factor(t, "angler")}}
	for name, tt := range map[string]struct {
		a    analytics.CurveAnswer
		want string
	}{
		"matters":   {aCurve(t, 0.01), "Tag length makes a difference, and not in a straight line. Lowest most likely at 120 mm (60%): a tangle every 3 h 20 min; with 95% probability the best is at 110–130 mm."},
		"given":     {given, "Like for like (angler): can't tell yet whether tag length makes a difference. Lowest"},
		"explained": {explained, "Tag length and who fished go together here: nobody’s fishing tells one from the other, so there is no curve like for like."},
		"nothing":   {empty, "The journal has nothing on this question yet."},
		"one":       {one, "The tag length was always 100 mm, so there is no curve to draw."},
		"none":      {none, "No tangles in 25.0 hours, so can't tell one tag length from another yet."},
	} {
		if got := prose.CurveSentence(tt.a, units.Metric); !strings.HasPrefix(got, tt.want) {
			t.Errorf("%s:\ngot  %q\nwant %q", name, got, tt.want)
		}
	}
}

// A length that was hardly fished is not named, however low its rate; the text says how little it was.
func TestWhatWasHardlyFishedIsNotNamed(t *testing.T) {
	t.Parallel()
	a := aCurve(t, 0.01)
	a.Points[0].Rate = 0.1
	a.Rug = []analytics.Rug{{At: 100, Exposure: 1.8}, {At: 110, Exposure: 30}, {At: 120, Exposure: 30}, {At: 130, Exposure: 30}, {At: 140, Exposure: 30}}
	a.Best[0].Probability = nil
	if got := prose.CurveSentence(a, units.Metric); !strings.Contains(got, "Lowest most likely at 120 mm (60%)") {
		t.Error(got)
	}
	if got := prose.CurveBeside(a, units.Metric); got[0] != "Under 110 mm you have hardly fished: 1.8 h of 25 h." {
		t.Errorf("%q", got)
	}
	_, rows := prose.CurveTable(a, units.Metric, 5).Texts()
	if last := rows[0][len(rows[0])-1]; last != prose.None {
		t.Errorf("its chance is %s", last)
	}
	for i := range a.Best {
		a.Best[i].Probability = nil
	}
	if got := prose.CurveSentence(a, units.Metric); strings.Contains(got, "Lowest") {
		t.Error(got)
	}
}

// However few rows a table of a curve has, the chances in it add up to all.
func TestTheTableOfACurveKeepsItsChances(t *testing.T) {
	t.Parallel()
	a := aCurve(t, 0.01)
	for most := 1; most <= 6; most++ {
		table := prose.CurveTable(a, units.Metric, most)
		total := 0.0
		for i := range table.Rows {
			chance, _ := table.Cell(i, "best").Value.(float64)
			total += chance
		}
		if len(table.Rows) > most || math.Abs(total-1) > 1e-9 {
			t.Errorf("at most %d rows: %d, with chances of %g", most, len(table.Rows), total)
		}
	}
	var b strings.Builder
	if b.WriteString(prose.SayCurve(a, units.US).Text(0)); !strings.Contains(b.String(), "25 stints, 25 hours, 12 tangles in all.") {
		t.Error(b.String())
	}
}

func TestChanged(t *testing.T) {
	t.Parallel()
	f := change.Finding{Outcome: "tangles", Factor: "tag-length", ByMinutes: true, Changes: 44, AfterEvent: 31, Ratio: ptr(6.04), Low: ptr(3.02), High: ptr(11.4),
		With: change.Share{Stints: 70, Changed: 40}, Without: change.Share{Stints: 94, Changed: 4}}
	with := func(set func(*change.Finding)) change.Finding { g := f; set(&g); return g }
	for _, c := range []struct {
		of   change.Finding
		want string
	}{
		{f, "In 31 of 44 changes of the tag length, a tangle came in the ten minutes before: it was changed 6 times as often then as at other times (95% interval 3 to 11)."},
		{with(func(f *change.Finding) { f.High = nil }), "it was changed 6 times as often then as at other times (95% interval from 3 up)."},
		{with(func(f *change.Finding) {
			f.AfterEvent, f.Ratio, f.High, f.Expected, f.Factor, f.Outcome = 44, nil, nil, ptr(6.7), "junction", "loss"
		}),
			"In all 44 changes of the junction, a lost fish came in the ten minutes before, where about 7 of them would lie if they had nothing to do with it: it was changed at least 3 times as often then as at other times (95% interval)."},
		{with(func(f *change.Finding) { f.Ratio, f.High, f.Low = nil, nil, ptr(758.0) }), "it was changed at least 20 times as often"},
		{with(func(f *change.Finding) { f.ByMinutes, f.Outcome, f.Low = false, "foul-hook", ptr(1.54) }),
			"40 of 70 stints with a foul hookup were followed by a change of the tag length, and 4 of 94 without: for their time, the stints that ended in a change had 6 times as many foul hookups as the others (95% interval 1.54 to 11)."},
		{with(func(f *change.Finding) { f.Outcome = "downtime" }), "a tangle came"},
		{with(func(f *change.Finding) { f.Outcome = "junction-break" }), "a junction break came"},
		{change.Finding{Outcome: "tangles", Factor: "water"}, ""},
	} {
		if got := prose.Changed(c.of); !strings.Contains(got, c.want) || c.want == "" && got != "" {
			t.Errorf("%q is not in %q", c.want, got)
		}
	}
	tangles, _ := journal.OutcomeByKey("tangles")
	for _, said := range []prose.Said{prose.SayRates(analytics.RateAnswer{Outcome: tangles, Changed: &f}, units.Metric), prose.SayCurve(analytics.CurveAnswer{Outcome: tangles, Changed: &f}, units.Metric)} {
		if len(said.More) != 1 || !strings.HasPrefix(said.More[0], "In 31 of 44 changes") || !strings.HasSuffix(said.More[0], prose.LikeForLike) {
			t.Errorf("an answer says %q", said.More)
		}
	}
	if said := prose.SayRates(analytics.RateAnswer{Outcome: tangles}, units.Metric); len(said.More) > 0 {
		t.Errorf("an answer says %q without a finding", said.More)
	}
	var b strings.Builder
	if err := prose.CheckText(&b, quality.Report{Quality: journal.Quality{Sessions: 3}, Recount: journal.Recount{Stints: 8}, Changed: []change.Finding{f}}, 0); err != nil {
		t.Fatal(err)
	}
	if want := "\n" + prose.ChangedTitle + ":\n- " + prose.Changed(f) + "\n" + prose.LikeForLike + "\n"; !strings.Contains(b.String(), want) {
		t.Errorf("%q is not in\n%s", want, b.String())
	}
}
