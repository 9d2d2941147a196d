package analytics

import (
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat/regress"
	"rigtally/journal"
	"rigtally/journal/facts"
)

var longCorrected = flag.Bool("corrected", false, "run the long coverage grid of corrected comparisons and print its table")

// seasons is a cell of the grid: seasons drawn with known effects of two groups or
// more and of three anglers, who do not fish the groups evenly.
type seasons struct {
	share    bool
	sessions []int   // of each group, the first being the reference
	mixed    bool    // a session has several stints, each of any group
	rate     float64 // of the reference: per hour, or a share
	fold     float64 // of every second group to the reference
	cv       float64 // of the sessions' expectations
}

func (c seasons) String() string {
	kind := "rate"
	if c.share {
		kind = "share"
	}
	return fmt.Sprintf("%s %g and %g-fold, %v sessions, mixed %t, cv %g", kind, c.rate, c.fold, c.sessions, c.mixed, c.cv)
}

func (c seasons) ratio(group int) float64 {
	if group%2 == 1 {
		return c.fold
	}
	return 1
}

var anglerEffects = []float64{1, 0.5, 1.4}

// draw makes the rows of one season, the angler given as a category.
func (c seasons) draw(rng *rand.Rand) *facts.Rows {
	anglers := len(anglerEffects)
	rows := &facts.Rows{Group: make([]int32, len(c.sessions)*anglers)}
	column := facts.Column{Factor: journal.Factor{Key: "angler"}, Of: make([]int32, len(rows.Group))}
	for a := range anglers {
		column.Levels = append(column.Levels, journal.Level{Word: fmt.Sprint(a)})
	}
	for cell := range rows.Group {
		rows.Group[cell], column.Of[cell] = int32(cell/anglers), int32(cell%anglers)
	}
	rows.Given, rows.Groups = []facts.Column{column}, make([]journal.Sums, len(c.sessions))
	for group, n := range c.sessions {
		for range n {
			angler := rng.IntN(anglers)
			if rng.IntN(3) == 0 {
				angler = group % anglers
			}
			c.session(rng, rows, group, angler)
		}
	}
	return rows
}

// session adds an outing of 2 to 6 hours.
func (c seasons) session(rng *rand.Rand, rows *facts.Rows, group, angler int) {
	level := 1.0
	if c.cv > 0 {
		a := 1 / (c.cv * c.cv)
		level = distuv.Gamma{Alpha: a, Beta: a, Src: rng}.Rand()
	}
	stints := 1 + rng.IntN(3)
	present := map[int]bool{}
	for range stints {
		if c.mixed {
			group = rng.IntN(len(c.sessions))
		}
		hours := (2 + 4*rng.Float64()) / float64(stints)
		mean := c.rate * level * c.ratio(group) * anglerEffects[angler]
		exposure, events := hours, 0.0
		if c.share {
			exposure = distuv.Poisson{Lambda: 1.5 * hours, Src: rng}.Rand()
			events = distuv.Binomial{N: exposure, P: math.Min(mean, 0.95), Src: rng}.Rand()
		} else {
			events = distuv.Poisson{Lambda: mean * hours, Src: rng}.Rand()
		}
		if exposure == 0 {
			continue
		}
		rows.Cell = append(rows.Cell, int32(group*len(anglerEffects)+angler))
		rows.Session = append(rows.Session, int32(rows.Sessions))
		rows.Events, rows.Exposure = append(rows.Events, events), append(rows.Exposure, exposure)
		rows.Groups[group].K += events
		rows.Groups[group].T += exposure
		present[group] = true
	}
	for g := range present {
		rows.Groups[g].Sessions++
	}
	if len(present) > 0 {
		rows.Sessions++
	}
}

// coverage counts the corrected intervals that hold the truth over n seasons. Groups
// without events are left aside: their intervals are the model's.
func (c seasons) coverage(t *testing.T, n int) (covered, tested int) {
	rng := rand.New(rand.NewPCG(7, uint64(n)))
	for range n {
		rows := c.draw(rng)
		list, err := correctedOf(rows, c.share)
		if errors.Is(err, ErrTooFew) || errors.Is(err, regress.ErrAllZero) || errors.Is(err, regress.ErrNotConverged) {
			continue
		}
		if err != nil {
			t.Fatalf("%s: %v", c, err)
		}
		for g := 1; g < len(list); g++ {
			if !list[g].Bounded || rows.Groups[g].K == 0 || rows.Groups[0].K == 0 {
				continue
			}
			tested++
			low, high := list[g].Interval(Confidence)
			if truth := math.Log(c.ratio(g)); low <= truth && truth <= high {
				covered++
			}
		}
	}
	return covered, tested
}

func correctedOf(rows *facts.Rows, share bool) ([]Correction, error) {
	o := journal.Outcome{}
	if share {
		o.Measure = journal.ShareOf
	}
	_, list, err := FitGroups(rows, Comparing{Outcome: o, Model: Frailty, Givens: []Given{{Factor: journal.Factor{Key: "angler"}}}})
	return list, err
}

// short are cells that earlier forms of the intervals failed in: small groups beside
// large ones, sessions that differ much, fourfold rates.
var short = []seasons{
	{sessions: []int{6, 6, 6, 6}, rate: 0.5, fold: 1, cv: 0.5},
	{sessions: []int{74, 6}, rate: 0.5, fold: 4, cv: 0.8},
	{sessions: []int{40, 20}, rate: 0.5, fold: 4, cv: 0.8},
	{sessions: []int{8, 8}, rate: 1, fold: 4, cv: 0.8},
	{sessions: []int{8, 8}, rate: 1, fold: 1, cv: 0.5, mixed: true},
	{share: true, sessions: []int{40, 8}, rate: 0.1, fold: 4, cv: 0.5},
}

// The intervals of corrected comparisons keep their promise: 93% in each cell, less what
// chance takes from so few seasons.
func TestCorrectedCoverage(t *testing.T) {
	t.Parallel()
	for _, c := range short {
		t.Run(c.String(), func(t *testing.T) {
			t.Parallel()
			covered, tested := c.coverage(t, 600)
			slack := 3 * math.Sqrt(0.93*0.07/float64(tested))
			if share := float64(covered) / float64(tested); share < 0.93-slack {
				t.Errorf("%d of %d intervals hold the truth, %.1f%%", covered, tested, 100*share)
			}
		})
	}
}

// TestCorrectedCoverageGrid prints the long table: go test ./analytics -run CorrectedCoverageGrid -corrected -v.
func TestCorrectedCoverageGrid(t *testing.T) {
	if !*longCorrected {
		t.Skip("only with -corrected")
	}
	const seasonsEach = 1000
	sum, cells := 0.0, 0
	for _, sizes := range [][]int{{4, 4}, {8, 8}, {6, 6, 6, 6}, {12, 12}, {20, 4}, {40, 10}, {74, 6}, {40, 20}, {24, 24, 24}, {40, 40}, {60, 60}} {
		for _, share := range []bool{false, true} {
			for _, fold := range []float64{1, 4} {
				for _, cv := range []float64{0, 0.5, 0.8} {
					for _, mixed := range []bool{false, true} {
						c := seasons{share: share, sessions: sizes, mixed: mixed, rate: 0.5, fold: fold, cv: cv}
						if share {
							c.rate = 0.1
						}
						covered, tested := c.coverage(t, seasonsEach)
						got := float64(covered) / float64(tested)
						sum, cells = sum+got, cells+1
						need := 0.93
						if slices.Min(sizes) < 6 {
							need = 0.90
						}
						mark := ""
						if got < need {
							mark = "  SHORT"
							t.Errorf("%s: %.1f%%", c, 100*got)
						}
						fmt.Printf("%5.1f%%  %s%s\n", 100*got, c, mark)
					}
				}
			}
		}
	}
	fmt.Printf("%5.1f%%  on average\n", 100*sum/float64(cells))
}
