package review_test

import (
	"bytes"
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/plan"
	"rigtally/analytics/season"
	"rigtally/analytics/stat"
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

// What a review says of the length of the tag is what its card says: by the minutes lost, as sure as the card, and nothing
// where that makes no difference that matters, however surely longer tags tangle more.
func TestAReviewSaysOfTheTagWhatItsCardDoes(t *testing.T) {
	t.Parallel()
	tangles, length := outcomeOf(t, "tangles"), factorOf(t, "tag-length")
	rig := journal.Rig{Name: "Long", Positions: []journal.RigPosition{{Position: 0}, {Position: 1, Hang: journal.HangTag, TagLengthMM: new(203.2)}}}
	point := func(in, loss, near float64, worse *float64) plan.Point {
		return plan.Point{LengthMM: 25.4 * in, Loss: loss, Near: &near, Worse: worse}
	}
	for name, c := range map[string]struct {
		outcome    journal.Outcome
		to         float64 // inches up to which the plan says that it makes no difference
		worse      float64
		want, lack string
	}{
		"settled":      {tangles, 7, 0.99, "Shorter tags, 6 in instead of 8 in: about 35% fewer minutes lost. Settled.", "7 in instead"},
		"best bet":     {tangles, 7, 0.876, "Shorter tags, 6 in instead of 8 in: 87% likely to lose fewer minutes. Best bet.", "Settled. Ilse"},
		"open":         {tangles, 7, 0.79, "Nothing yet says to change the rig. Open.", "horter tags"},
		"all the same": {tangles, 8, 0.99, "Tags of 6 to 8 in (minutes lost: shorter ones tangle less, but are tied again sooner).", "instead of 8 in"},
		"about fish":   {outcomeOf(t, "foul-hook"), 7, 0.99, "Shorter tags, 7 in instead of 8 in: about 15% fewer fish hooked foul. Settled.", "minutes lost. Settled"},
	} {
		matters := 0.01
		tag := plan.Answer{Best: 0, Sure: true, From: 152.4, To: 25.4 * c.to, Points: []plan.Point{point(6, 5, 0.99, nil), point(7, 5.5, 0.97, new(0.9)), point(8, 7.9, 0.3, &c.worse)}, Tangles: plan.Rate{Curve: &analytics.CurveAnswer{Outcome: tangles, Matters: &matters}}}
		f := season.Finding{Claim: -1, Outcome: c.outcome, Factor: length, Step: 25.4, Ratio: 1.2, Verdict: stat.Differs}
		a := season.Answer{Year: 2026, Angler: "Ilse", Totals: season.Totals{Sessions: 20, Days: 20}, Rigs: season.Rigs{List: []season.Rig{{Rig: rig}}},
			Evidence: []season.Evidence{{Angler: "Ilse", Sessions: 20, Findings: []season.Finding{f}, Choices: make([]analytics.RateAnswer, 1), Tag: &tag}}}
		var text bytes.Buffer
		if err := review.Write(&text, a, units.US, 0); err != nil {
			t.Fatal(err)
		}
		got := strings.Join(strings.Fields(text.String()), " ")
		if !strings.Contains(got, c.want) || strings.Contains(got, c.lack) {
			t.Errorf("%s: want %q and not %q in\n%s", name, c.want, c.lack, text.String())
		}
		if c.outcome.Key == "foul-hook" && !strings.Contains(got, "For the fewest minutes lost: 6 in.") {
			t.Errorf("%s: it does not say what the card says in\n%s", name, text.String())
		}
	}
}
