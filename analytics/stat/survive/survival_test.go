package survive

import (
	"rigtally/analytics/stat/published"

	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

type wantSurvival struct {
	Groups []struct {
		Time, Surv    []float64
		NRisk         []int `json:"n_risk"`
		NEvent        []int `json:"n_event"`
		SE, Low, High []*float64
		RobustSE      []*float64 `json:"robust_se"`
		Median        [3]*float64
	}
	Observed, Mean []float64
	Chisq, P       float64
	RobustChisq    float64 `json:"robust_chisq"`
}

type survivalData struct{ Time, Status, Group, Cluster []float64 }

func (d survivalData) groups() [][]Life {
	var all [][]Life
	for i, t := range d.Time {
		g := int(d.Group[i])
		for len(all) <= g {
			all = append(all, nil)
		}
		all[g] = append(all[g], Life{t, d.Status[i] == 1, int(d.Cluster[i])})
	}
	return all
}

func same(got float64, want *float64) bool {
	if want == nil || math.IsNaN(*want) {
		return math.IsNaN(got)
	}
	return published.Near(got, *want, published.Exact)
}

func sameOrNil(got, want *float64) bool {
	if want == nil || got == nil {
		return want == got
	}
	return published.Near(*got, *want, published.Exact)
}

func TestReferenceSurvival(t *testing.T) {
	t.Parallel()
	for _, c := range published.Sourced[survivalData, wantSurvival](t, "survival") {
		groups := c.Data.groups()
		for g, want := range c.Expected.Groups {
			s, err := KaplanMeier(groups[g], 0.95, false)
			if err != nil || len(s.Steps) != len(want.Time) {
				t.Fatalf("%s, group %d: %d steps (%v), want %d", c.ID, g, len(s.Steps), err, len(want.Time))
			}
			for i, p := range s.Steps {
				if p.Time != want.Time[i] || p.AtRisk != want.NRisk[i] || p.Ended != want.NEvent[i] || math.Abs(p.Share-want.Surv[i]) > published.Exact || p.Share > 0 && !(same(p.SE, want.SE[i]) && same(p.ClusterSE, want.RobustSE[i])) {
					t.Errorf("%s, group %d: %+v", c.ID, g, p)
				}
				if p.HasIntervals != (want.Low[i] != nil) || p.HasIntervals && !(same(p.Low, want.Low[i]) && same(p.High, want.High[i])) {
					t.Errorf("%s, group %d: limits of %+v", c.ID, g, p)
				}
			}
			at, low, high := s.TimeTo(0.5)
			if !sameOrNil(at, want.Median[0]) || !sameOrNil(low, want.Median[1]) || !sameOrNil(high, want.Median[2]) {
				t.Errorf("%s, group %d: median %v from %v to %v, want %v", c.ID, g, at, low, high, want.Median)
			}
		}
		test, err := LogRank(groups)
		if err != nil || !published.Near(test.ChiSquared, c.Expected.Chisq, published.Exact) || !published.Near(test.P, c.Expected.P, 1e-8) || test.DF != len(groups)-1 {
			t.Errorf("%s: %+v (%v)", c.ID, test, err)
		}
		if test.ClusterChiSquared == nil || !published.Near(*test.ClusterChiSquared, c.Expected.RobustChisq, published.Exact) {
			t.Errorf("%s: clustered %+v, want %g", c.ID, test.ClusterChiSquared, c.Expected.RobustChisq)
		}
		for g := range groups {
			if test.Observed[g] != c.Expected.Observed[g] || !published.Near(test.Expected[g], c.Expected.Mean[g], published.Exact) {
				t.Errorf("%s, group %d: %g ended, %g expected", c.ID, g, test.Observed[g], test.Expected[g])
			}
		}
	}
}

// The leukaemia trial (Freireich and others 1963; Gehan 1965) to the digits printed: the
// table of 6-MP in the reference output of R's MASS, and the log-rank test in Kleinbaum &
// Klein, Survival Analysis (recalled).
func TestSurvivalAsPrinted(t *testing.T) {
	t.Parallel()
	var drug, placebo []Life
	for i, v := range []float64{6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35} {
		drug = append(drug, Life{v, []bool{true, true, true, false, true, false, true, false, false, true, true, false, false, false, true, true, false, false, false, false, false}[i], i})
	}
	for i, v := range []float64{1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23} {
		placebo = append(placebo, Life{v, true, 100 + i})
	}
	s, err := KaplanMeier(drug, 0.95, false)
	if err != nil {
		t.Fatal(err)
	}
	printed := [][5]float64{{6, 0.857, 0.0764, 0.620, 0.952}, {7, 0.807, 0.0869, 0.563, 0.923}, {10, 0.753, 0.0963, 0.503, 0.889}, {13, 0.690, 0.1068, 0.432, 0.849},
		{16, 0.627, 0.1141, 0.368, 0.805}, {22, 0.538, 0.1282, 0.268, 0.747}, {23, 0.448, 0.1346, 0.188, 0.680}}
	for i, p := range s.Steps {
		want := printed[i]
		for j, got := range []float64{p.Time, p.Share, p.SE, p.Low, p.High} {
			half := 0.0005
			if j == 2 {
				half = 0.00005
			}
			if math.Abs(got-want[j]) > half*1.0001 {
				t.Errorf("at %g: %g, printed %g", p.Time, got, want[j])
			}
		}
	}
	test, err := LogRank([][]Life{drug, placebo})
	if err != nil || math.Abs(test.ChiSquared-16.79) > 0.005 || math.Abs(test.Expected[0]-19.25) > 0.005 || math.Abs(test.Expected[1]-10.75) > 0.005 {
		t.Errorf("%+v (%v)", test, err)
	}
	if s.AtRisk(20) != 8 || s.AtRisk(20.5) != 7 || s.AtRisk(36) != 0 {
		t.Errorf("at risk %d, %d, %d", s.AtRisk(20), s.AtRisk(20.5), s.AtRisk(36))
	}
}

func TestSurvivalEdges(t *testing.T) {
	t.Parallel()
	if _, err := KaplanMeier(nil, 0.95, false); !errors.Is(err, ErrNoLives) {
		t.Error(err)
	}
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := KaplanMeier([]Life{{Time: bad}}, 0.95, false); err == nil {
			t.Errorf("a life of %g passes", bad)
		}
	}
	s, err := KaplanMeier([]Life{{3, false, 1}, {5, false, 2}}, 0.95, true)
	if at, _, _ := s.TimeTo(0.5); err != nil || len(s.Steps) != 0 || at != nil {
		t.Errorf("%+v (%v)", s, err)
	}
	if p, ok := s.At(4); !ok || p.Share != 1 {
		t.Errorf("%+v", p)
	}
	if _, ok := s.At(6); ok {
		t.Error("something is known beyond the longest life")
	}
	// At the same time the end comes before what was last seen whole.
	s, err = KaplanMeier([]Life{{2, true, 1}, {2, false, 2}}, 0.95, false)
	if err != nil || s.Steps[0].AtRisk != 2 || s.Steps[0].Share != 0.5 {
		t.Errorf("%+v (%v)", s, err)
	}
	for _, groups := range [][][]Life{nil, {{{2, true, 1}}}, {{{2, true, 1}}, nil}, {{{2, false, 1}}, {{3, false, 2}}}} {
		if test, err := LogRank(groups); err == nil {
			t.Errorf("%v gives %+v", groups, test)
		}
	}
}

// Groups that are alike, but whose sessions differ much: the plain test cries wolf, the
// clustered one does not. 400 made-up seasons of 40 sessions, each in one group.
func TestLogRankByClusterKeepsItsPromise(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(7, 11))
	plain, clustered, seasons := 0, 0, 400
	for range seasons {
		groups := make([][]Life, 2)
		for session := range 40 {
			hazard := 0.4 * random.ExpFloat64() // a coefficient of variation of 1
			for range 6 {
				life := random.ExpFloat64() / hazard
				groups[session%2] = append(groups[session%2], Life{math.Max(1e-9, min(life, 4)), life < 4, session})
			}
		}
		test, err := LogRank(groups)
		if err != nil {
			t.Fatal(err)
		}
		if test.P < 0.05 {
			plain++
		}
		if *test.ClusterP < 0.05 {
			clustered++
		}
	}
	t.Logf("false alarms: plain %d, by cluster %d of %d", plain, clustered, seasons)
	// 5% of 400 is 20, and 33 or more would come by chance once in 300 times.
	if clustered > 32 || plain <= clustered {
		t.Errorf("of %d seasons without a difference the plain test finds one in %d, the clustered in %d", seasons, plain, clustered)
	}
}
