package review_test

import (
	"bytes"
	"strings"
	"testing"

	"rigtally/analytics/season"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose/review"
)

func factorOf(t *testing.T, key string) journal.Factor {
	t.Helper()
	f, err := journal.FactorByKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func outcomeOf(t *testing.T, key string) journal.Outcome {
	t.Helper()
	o, err := journal.OutcomeByKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// The change must go the way in which the outcome gets better.
func TestChange(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		outcome, factor string
		step, ratio     float64
		level, versus   []string
		want            string
	}{
		{"tangles", "tag-length", 25.4, 1.3, nil, nil, "shorter tags"},
		{"tangles", "tag-length", 25.4, 0.8, nil, nil, "longer tags"},
		{"landed", "tag-length", 25.4, 1.3, nil, nil, "longer tags"},
		{"junction-break", "tippet", -0.0254, 1.5, nil, nil, "thicker tippet"}, // for each X finer
		{"hookups", "tippet", -0.0254, 1.5, nil, nil, "finer tippet"},
		{"loss", "hook-size", 2, 1.2, nil, nil, "larger hooks"},
		{"twists", "bulk", 0, 1.7, []string{"legged"}, []string{"slim"}, "slim flies rather than legged ones"},
		{"hookups", "bulk", 0, 1.7, []string{"legged"}, []string{"slim"}, "legged flies rather than slim ones"},
		{"twists", "prop", 0, 0.7, []string{"half-hitch", "overhand"}, []string{"none"}, "a prop (half-hitch or overhand) rather than no prop"},
		{"twists", "swivel", 0, 1.4, []string{"micro swivel"}, []string{"none"}, "no swivel rather than micro swivel"},
		{"foul-hook", "hang", 0, 1.9, []string{"eye", "bend"}, []string{"tag"}, "flies on a tag rather than in line (eye or bend)"},
		{"tangles", "junction", 0, 1.5, []string{"blood"}, []string{"figure-eight"}, "figure-eight junctions rather than blood"},
		{"tangles", "flow", 1, 1.5, nil, nil, ""}, // nobody changes the flow
		{"tangles", "angler", 0, 1.5, []string{"Ilse"}, []string{"Maud"}, ""},
	} {
		f := season.Finding{Outcome: outcomeOf(t, c.outcome), Factor: factorOf(t, c.factor), Step: c.step, Ratio: c.ratio, Level: c.level, Versus: c.versus}
		if got := review.Change(f); got != c.want {
			t.Errorf("%s by %s, %g times: %q, want %q", c.outcome, c.factor, c.ratio, got, c.want)
		}
	}
}

// What little says: nothing, an empty year, and too few sessions.
func TestSeasonReviewOfLittle(t *testing.T) {
	t.Parallel()
	day := journal.Date{Year: 2026, Month: 5, Day: 1}
	for _, c := range []struct {
		answer season.Answer
		want   []string
	}{
		{season.Answer{}, []string{"Nothing has been logged yet"}},
		{season.Answer{Year: 2025, Angler: "Ilse", Seasons: []int{2026, 2024}}, []string{"Ilse logged no session in 2025.", "unknown, not empty", "There are sessions in 2026 and 2024."}},
		{season.Answer{Year: 2025, Outfit: "Ours", Seasons: []int{2026}}, []string{"Nothing was logged in 2025."}},
		{season.Answer{Year: 2026, Angler: "Ilse", Totals: season.Totals{Sessions: 1, Days: 1, Stints: 1, Timed: 1, Hours: 1.5, First: day, Last: day,
			Fish: season.Fish{Landed: journal.Total{N: 1, Kept: 1, Stints: 1}, Hookups: journal.Total{N: 2, Kept: 1, Stints: 1}}}},
			[]string{"Ilse has too few sessions yet to tell one way of rigging from another. Open.", "Ilse landed 1 fish in 1.5 h on 1 day in 2026; no tangle.", "From 1 session logged on 1 May 2026.", "One session is very little.", "Hooks and eyes", "no earlier season in this journal"}},
		{season.Answer{Year: 2026, Angler: "Ilse", Totals: season.Totals{Sessions: 1, Days: 1, Stints: 2, Timed: 1, Hours: 1.5, First: day, Last: day,
			Fish: season.Fish{Landed: journal.Total{Stints: 2}, Hookups: journal.Total{N: 2, Kept: 1, Stints: 2}, Tangles: journal.Total{Kept: 1, Stints: 2}}},
			Quality:  season.Quality{Assumed: 1, Missing: map[journal.Kind]int{journal.KindTangles: 2, journal.KindSnags: 1}},
			Before:   &season.Before{Year: 2024, Days: 3, Hours: 10, Counted: map[string]season.Counted{"tangles": {Events: 5, Exposure: 10}}},
			Outcomes: []season.Outcome{{Outcome: journal.Outcomes()[0], Standing: season.NoneTried}}},
			[]string{"Ilse fished, without a count of fish landed, 1.5 h on 1 day in 2026; no tangle where recorded.", "On the water 1 day, 1.5 h 3 days, 10 h", "Tangles not counted not counted",
				"Tangles not recorded", "Not counted: snags in 1 of 2 stints, tangles in 2; no rate uses these. Nobody said what was counted in 1 stint"}},
	} {
		var text bytes.Buffer
		if err := review.Write(&text, c.answer, units.US, 0); err != nil {
			t.Fatal(err)
		}
		got := strings.Join(strings.Fields(text.String()), " ")
		for _, want := range c.want {
			if !strings.Contains(got, want) {
				t.Errorf("%q is not in\n%s", want, text.String())
			}
		}
	}
}
