package analytics_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/invent"
)

// outlook is what one invented season says of how much fishing settles its question: hours in all, and whether
// it is settled, asked alone.
func outlook(t *testing.T, c invent.Season, r *rand.Rand) (hours float64, settled, told bool) {
	t.Helper()
	a, err := analytics.Rates(t.Context(), invent.Journal(c.Draw(r)), analytics.Request{Outcome: c.Outcome(), By: []string{"junction"}, Versus: "figure-eight"})
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range a.Groups {
		if g.Corrected == nil || g.Corrected.SELog == nil {
			continue
		}
		more := analytics.MoreHours(a.Total.Hours, math.Log(*g.Corrected.Ratio), *g.Corrected.SELog, math.Log(analytics.PlanRatio))
		if more == 0 { // what was fished is enough
			return a.Total.Hours, *g.Corrected.P < 0.05, true
		}
		return a.Total.Hours + more, *g.Corrected.P < 0.05, true
	}
	return 0, false, false
}

// neededHours finds by simulation the hours at which a question is settled four times in five.
func neededHours(t *testing.T, c invent.Season, seasons int) float64 {
	t.Helper()
	power := func(sessions int) (float64, float64) {
		r := rand.New(rand.NewPCG(uint64(sessions), 21))
		c.Sessions = sessions
		n, hours := 0.0, 0.0
		for range seasons {
			j := c.Draw(r)
			for _, st := range j {
				hours += st.Hours / float64(seasons)
			}
			a, err := analytics.Rates(t.Context(), invent.Journal(j), analytics.Request{Outcome: c.Outcome(), By: []string{"junction"}, Versus: "figure-eight"})
			if err != nil {
				t.Fatal(err)
			}
			for _, g := range a.Groups {
				if g.Corrected != nil && g.Corrected.P != nil && *g.Corrected.P < 0.05 {
					n++
				}
			}
		}
		return n / float64(seasons), hours
	}
	lastPower, lastHours := 0.0, 0.0
	for sessions := 20; ; sessions += sessions / 4 {
		p, hours := power(sessions)
		if p >= analytics.PlanPower {
			return lastHours + (hours-lastHours)*(analytics.PlanPower-lastPower)/(p-lastPower)
		}
		lastPower, lastHours = p, hours
	}
}

// hoursAgree holds the median of what pilots say against what simulation needs: within a quarter.
func hoursAgree(t *testing.T, c invent.Season, pilots, seasons int) {
	t.Helper()
	r := rand.New(rand.NewPCG(uint64(c.Sessions), 22))
	var said []float64
	for range pilots {
		if hours, _, ok := outlook(t, c, r); ok {
			said = append(said, hours)
		}
	}
	slices.Sort(said)
	median, needed := said[len(said)/2], neededHours(t, c, seasons)
	fmt.Printf("| %s | %.0f h | %.0f h | %.2f |\n", c, median, needed, median/needed)
	if ratio := median / needed; ratio < 0.75 || ratio > 1.25 {
		t.Errorf("%s: seasons say %.0f h, simulation needs %.0f h", c, median, needed)
	}
}

// Hours needed for a true ratio of 1.5 agree with those that simulation needs, within a quarter.
func TestHoursNeeded(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	hoursAgree(t, invent.Season{Sessions: 25, Rate: 1, CV: 0.5, Ratio: 1.5}, 60, 100)
}

// TestHoursNeededGrid is the long form (flag -like); -v prints its table.
func TestHoursNeededGrid(t *testing.T) {
	if !*longLike {
		t.Skip("only with -like")
	}
	fmt.Println("| pilot season, true ratio 1.5 | hours that its median says | hours that simulation needs | of them |")
	for _, c := range []invent.Season{
		{Sessions: 20, Rate: 1, CV: 0.5}, {Sessions: 40, Rate: 0.4, CV: 0}, {Sessions: 40, Rate: 0.4, CV: 0.5}, {Sessions: 40, Rate: 0.4, CV: 1}, {Sessions: 40, Rate: 0.4, CV: 0.5, Prefer: true},
		{Sessions: 40, Rate: 0.4, CV: 0.5, Switch: true}, {Sessions: 40, Rate: 0.3, CV: 0.5, Share: true},
	} {
		c.Ratio = 1.5
		hoursAgree(t, c, 200, 300)
	}
}
