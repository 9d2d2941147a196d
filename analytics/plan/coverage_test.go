package plan

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"rigtally/analytics/invent"
)

var longPlan = flag.Bool("plans", false, "run the long grid of planners' bands and print its table")

// bands plans from invented seasons in which only tangles cost anything, and counts the bands, at three
// lengths of each, that hold the true loss.
func bands(t *testing.T, c invent.Season, seed uint64, seasons int) (told, inside, asked int) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 12))
	for range seasons {
		j := invent.Journal(c.Draw(r))
		a, err := Weigh(t.Context(), j, Request{Breaks: "0"})
		if err != nil {
			t.Fatalf("%s: %v", c, err)
		}
		asked++
		if len(a.Points) == 0 || !a.Sure {
			continue
		}
		truth := a.model(&hourly{at: func(mm float64) float64 { return c.MeanRate(j, mm) }}, &hourly{at: func(float64) float64 { return 0 }})
		for _, share := range []float64{0.1, 0.5, 0.9} {
			p := a.Points[int(share*float64(len(a.Points)-1))]
			if p.Beyond || p.Low == nil {
				continue
			}
			l, _, err := truth.loss(p.LengthMM)
			if err != nil {
				t.Fatal(err)
			}
			told++
			if *p.Low <= l.Total() && l.Total() <= *p.High {
				inside++
			}
		}
	}
	return told, inside, asked
}

// The planner's 95% band holds the true loss in at least 93%, also where tags are cut after tangles.
func TestPlannersBand(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	for i, c := range []invent.Season{
		{Sessions: 80, Rate: 0.4, CV: 0.5, Longer: 1.16},
		{Sessions: 40, Rate: 0.4, CV: 1, Longer: 1.16, Cut: true},
		{Sessions: 20, Rate: 1, CV: 0.5},
	} {
		t.Run(c.String(), func(t *testing.T) {
			t.Parallel()
			told, inside, _ := bands(t, c, uint64(i), 60)
			share := float64(inside) / float64(told)
			t.Logf("%d of %d bands hold the truth, %.1f%%", inside, told, 100*share)
			if room := 2 * math.Sqrt(0.93*0.07/60); share < 0.93-room {
				t.Errorf("%s: bands hold the truth in %.3f", c, share)
			}
		})
	}
}

// TestPlannersBandGrid is the long form (flag -plans); -v prints its table.
func TestPlannersBandGrid(t *testing.T) {
	if !*longPlan {
		t.Skip("only with -plans")
	}
	fmt.Println("| season | plans with bands | they hold the truth |")
	seed := uint64(0)
	for _, sessions := range []int{12, 20, 40, 80} {
		for _, rate := range []float64{0.4, 1} {
			for _, why := range []invent.Season{{}, {Switch: true}, {Cut: true}} {
				for _, cv := range []float64{0, 0.5, 1} {
					c := why
					c.Sessions, c.Rate, c.CV, c.Longer = sessions, rate, cv, 1.16
					seed++
					told, inside, asked := bands(t, c, seed, 200)
					share := float64(inside) / float64(told)
					fmt.Printf("| %s | %.1f%% | %.1f%% |\n", c, 100*float64(told)/float64(3*asked), 100*share)
					if share < 0.93-2*math.Sqrt(0.93*0.07/200) {
						t.Errorf("%s: bands hold the truth in %.3f", c, share)
					}
				}
			}
		}
	}
}
