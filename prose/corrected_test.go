package prose_test

import (
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/prose"
)

func corrected(ratio, low, high float64) *analytics.Corrected {
	p, se, df := 0.01, 0.2, 40.0
	return &analytics.Corrected{Ratio: &ratio, Low: &low, High: &high, P: &p, SELog: &se, DF: &df, Method: "Poisson, HC1 by session"}
}

func TestCorrectedAnswersInWords(t *testing.T) {
	t.Parallel()
	ref := named("figure-eight", analytics.Group{Events: 20, Rate: 0.667, Low: 0.41, High: 1.03})
	blood := named("blood", analytics.Group{Events: 40, Rate: 0.5, Versus: compared(stat.Differs, 0.73, 0.6, 0.9, 0.01, 40), Corrected: corrected(1.42, 1.26, 1.6)})
	lost := named("uni", analytics.Group{Events: 40, Rate: 0.5, Versus: compared(stat.CannotTell, 0.9, 0.6, 1.4, 0.5, 40)})
	lost.Versus.Q = nil
	a := answer(t, "tangles", ref, blood, lost)
	a.Given = []analytics.Given{{Factor: factor(t, "tag-length"), Linear: true}, {Factor: factor(t, "bulk")}, {Factor: factor(t, "angler")}}
	a.Notes = []analytics.Note{
		{Kind: analytics.NoteReversal, Group: 1, Factor: factor(t, "angler")},
		{Kind: analytics.NoteExplained, Group: 2},
		{Kind: analytics.NoteGivenSame, Group: -1, Factor: factor(t, "bulk")},
	}
	want := "Corrected for tag length, bulk and angler: blood had 1.42 times (1.26–1.60; uncorrected 0.73) the tangles per hour of figure-eight. Can't tell the other one from figure-eight yet."
	if got := prose.Sentence(a, units.Metric); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	header, rows := prose.RatesTable(a, units.Metric).Texts()
	for i, row := range rows {
		if len(row) != len(header) {
			t.Errorf("row %d has %d cells under a header of %d", i, len(row), len(header))
		}
	}
	if text := strings.Join(rows[1], " "); !strings.Contains(text, "0.73 0.60–0.90 1.42 1.26–1.60") {
		t.Errorf("plain and corrected are not side by side: %s", text)
	}
	if text := strings.Join(rows[2], " "); !strings.Contains(text, "0.60–1.40 ? ?") {
		t.Errorf("what can't be told is not a question mark: %s", text)
	}
	notes := prose.Notes(a, units.Metric)
	for i, want := range []string{
		"Watch blood: uncorrected it has 0.73 times the tangles of figure-eight, corrected 1.42 times, the other way around. Most of that is angler",
		"Uni has no corrected ratio: it was never fished where the corrections are the same as for figure-eight",
		"Bulk was the same throughout, so correcting for it changes nothing.",
	} {
		if i >= len(notes) || !strings.HasPrefix(notes[i], want) {
			t.Errorf("notes %q\nwant %q", notes, want)
		}
	}
}

func TestEveryNoteOfACorrectionHasASentence(t *testing.T) {
	t.Parallel()
	ref := named("figure-eight", analytics.Group{Events: 20})
	blood := named("blood", analytics.Group{Events: 40, Versus: compared(stat.Differs, 0.73, 0.6, 0.9, 0.01, 40), Corrected: corrected(1.42, 1.26, 1.6)})
	for _, kind := range []analytics.NoteKind{analytics.NoteTooFewToCorrect, analytics.NoteFewToCorrect, analytics.NoteOneSession, analytics.NoteExplained,
		analytics.NoteNoneToCorrect, analytics.NotePenalised, analytics.NoteGivenSame, analytics.NoteGivenRepeats, analytics.NoteReversal, analytics.NoteStraight} {
		a := answer(t, "tangles", ref, blood)
		a.Notes = []analytics.Note{{Kind: kind, Count: 2, Group: 1, Factor: factor(t, "angler")}}
		if got := prose.Notes(a, units.US); len(got) != 1 || strings.Contains(got[0], "%!") {
			t.Errorf("%s: %q", kind, got)
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
	given := aCurve(t, 0.3)
	given.Given = []analytics.Given{{Factor: factor(t, "angler")}}
	for name, tt := range map[string]struct {
		a    analytics.CurveAnswer
		want string
	}{
		"matters": {aCurve(t, 0.01), "Tag length makes a difference (p = 0.010), and not in a straight line (p = 0.010). Lowest at 120 mm: 0.300 per hour (95% interval 0.150–0.600); with 95% probability the best is at 110–130 mm."},
		"given":   {given, "Corrected for angler: can't tell yet whether tag length makes a difference (p = 0.300). Lowest"},
		"nothing": {empty, "The journal has nothing on this question yet."},
		"one":     {one, "The tag length was always 100 mm, so there is no curve to draw."},
		"none":    {none, "No tangles in 25.0 hours, so can't tell one tag length from another yet."},
	} {
		if got := prose.CurveSentence(tt.a, units.Metric); !strings.HasPrefix(got, tt.want) {
			t.Errorf("%s:\ngot  %q\nwant %q", name, got, tt.want)
		}
	}
}

// However few rows a table of a curve has, the chances in it add up to all.
func TestTheTableOfACurveKeepsItsChances(t *testing.T) {
	t.Parallel()
	a := aCurve(t, 0.01)
	for most := 1; most <= 6; most++ {
		header, rows := prose.CurveTable(a, units.Metric, most).Texts()
		total := 0.0
		for _, r := range rows {
			if len(r) != len(header) {
				t.Fatalf("a row of %d cells under a header of %d", len(r), len(header))
			}
			switch cell := r[len(r)-1]; cell {
			case "over 99%": // as all in one row is said
				total += 100
			case "under 1%":
			default:
				v, err := units.ParseNumber(strings.TrimSuffix(cell, "%"))
				if err != nil {
					t.Fatal(err)
				}
				total += v
			}
		}
		if len(rows) > most || total < 99 || total > 101 {
			t.Errorf("at most %d rows: %q", most, rows)
		}
	}
	var b strings.Builder
	if b.WriteString(prose.SayCurve(a, units.US).Text(0)); !strings.Contains(b.String(), "25 stints, 25 hours, 12 tangles in all.") {
		t.Error(b.String())
	}
}
