package bench

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/strength"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Comparison holds a group against the reference, within sets of pulls that
// are alike in everything that Answer.Alike names.
type Comparison struct {
	Sets          int               // of like pulls, with at least two of each group
	Pulls, Versus int               // in these sets, of the group and of the reference
	Difference    float64           // of the means in N, the sets weighed together
	Low, High     float64           // of its 95% interval
	T, DF, P      float64           // Welch's
	Q             float64           // P adjusted for all comparisons of the question (Benjamini & Hochberg)
	Ratio         strength.RatioSet // of the means, with Fieller's 95% interval
	Verdict       stat.Verdict
	Shift         strength.RankTest // Hodges & Lehmann's shift in N, with Mann & Whitney's P
	PullsNeeded   *int              // in each group in all, to see a difference as large as this, or of a tenth, four times in five
	MorePulls     *int              // how many of these the smaller of the two groups still lacks
}

// planStrength is the smallest ratio of strengths worth planning for.
const planStrength = 1.10

// chooseReference picks the group that others are compared with.
func (b *work) chooseReference(r Request) error {
	groups := b.answer.Groups
	if r.Versus == "" {
		most := -1
		for i, g := range groups {
			if (!g.Unknotted || len(groups) == 1) && (most < 0 || len(g.pulls) > len(groups[most].pulls)) {
				most = i
			}
		}
		b.answer.Reference = most
		return nil
	}
	var names []string
	for i, g := range groups {
		name := levelText(g.Level)
		names = append(names, name)
		if strings.EqualFold(name, strings.TrimSpace(r.Versus)) || len(g.Level) == 1 && g.Level[0].Kind == journal.NumberLevel && sameTippet(r, g.Level[0].Number) {
			b.answer.Reference = i
			return nil
		}
	}
	return journal.Invalidf("there are no pulls of %q to compare with; choose one of: %s", r.Versus, strings.Join(names, "; "))
}

func sameTippet(r Request, mm float64) bool {
	v, err := units.Parse(units.Tippet, r.Versus, units.X)
	return err == nil && math.Abs(v-mm) < 5e-4
}

// levelText names a group's levels as a command does.
func levelText(levels []journal.Level) string {
	return strings.Join(answer.Each(levels, func(l journal.Level) string {
		if l.Kind == journal.NumberLevel {
			return units.ExactTippet(l.Number)
		}
		return l.Word
	}), ",")
}

// compare holds every group of knots against the reference.
func (b *work) compare() error {
	if b.answer.Reference < 0 {
		return nil
	}
	ref := b.answer.Groups[b.answer.Reference]
	tested := 0
	p := make([]*float64, len(b.answer.Groups))
	equal := make([]stat.Interval, len(b.answer.Groups))
	for i := range b.answer.Groups {
		g := &b.answer.Groups[i]
		if i == b.answer.Reference || g.Unknotted {
			continue
		}
		c, narrow, err := b.versus(g.pulls, ref.pulls)
		if err != nil {
			return err
		}
		if c == nil {
			continue
		}
		g.Versus, equal[i], p[i] = c, narrow, &c.P
		tested++
	}
	q, err := stat.AdjustKnown(p)
	if err != nil {
		return err
	}
	for i := range q {
		if q[i] == nil {
			continue
		}
		c := b.answer.Groups[i].Versus
		c.Q, c.Verdict = *q[i], stat.JudgeWithin(*q[i], equal[i], strengthLow, strengthHigh)
		if c.Verdict == stat.Differs && c.Shift.P >= 0.20 || c.P >= 0.20 && c.Shift.P < analytics.PlanAlpha {
			b.answer.Notes = append(b.answer.Notes, Note{NoteDisagree, 0, i})
		}
	}
	if tested > 1 {
		b.answer.Notes = append(b.answer.Notes, Note{NoteMany, tested, -1})
	}
	return nil
}

// likeSets puts pulls that are alike together.
func (b *work) likeSets(x, y []journal.BenchPull) []likeSet {
	index := map[string]int{}
	var sets []likeSet
	plain := func(p journal.BenchPull) bool { return !p.Knotted() }
	bare := slices.ContainsFunc(x, plain) || slices.ContainsFunc(y, plain) // then the knots can't be alike
	deal := func(pulls []journal.BenchPull, to func(*likeSet) *[]journal.BenchPull) {
		for _, p := range pulls {
			var key []string
			for _, f := range b.alike {
				if !bare || !f.ofKnot {
					key = append(key, fmt.Sprint(f.level(p, b.tiers)))
				}
			}
			text := strings.Join(key, "\x00")
			at, known := index[text]
			if !known {
				at = len(sets)
				index[text] = at
				sets = append(sets, likeSet{})
			}
			side := to(&sets[at])
			*side = append(*side, p)
		}
	}
	deal(x, func(s *likeSet) *[]journal.BenchPull { return &s.x })
	deal(y, func(s *likeSet) *[]journal.BenchPull { return &s.y })
	return slices.DeleteFunc(sets, func(s likeSet) bool { return len(s.x) < 2 || len(s.y) < 2 })
}

type likeSet struct{ x, y []journal.BenchPull }

// versus compares two groups; nil when no pulls are alike, or they do not scatter.
func (b *work) versus(x, y []journal.BenchPull) (*Comparison, stat.Interval, error) {
	sets := b.likeSets(x, y)
	used := map[journal.ID]bool{}
	var strata []strength.Stratum
	var ranked []strength.Ranked
	c := Comparison{Sets: len(sets), Verdict: stat.CannotTell}
	for _, s := range sets {
		r := strength.Ranked{}
		for _, p := range s.x {
			r.X, r.XCensored = append(r.X, p.ForceN), append(r.XCensored, p.AtLeast())
			used[p.ID] = true
		}
		for _, p := range s.y {
			r.Y, r.YCensored = append(r.Y, p.ForceN), append(r.YCensored, p.AtLeast())
		}
		ranked = append(ranked, r)
		strata = append(strata, strength.Stratum{X: r.X, Y: r.Y})
		c.Pulls, c.Versus = c.Pulls+len(r.X), c.Versus+len(r.Y)
	}
	for _, p := range x {
		if !used[p.ID] {
			b.unlike[p.ID] = true
		}
	}
	welch, err := strength.Welch(analytics.Confidence, strata...)
	if errors.Is(err, strength.ErrTooFew) || errors.Is(err, strength.ErrNoScatter) {
		return nil, stat.Interval{}, nil
	}
	if err != nil {
		return nil, stat.Interval{}, err
	}
	c.Difference, c.Low, c.High, c.T, c.DF, c.P = welch.Difference, welch.Low, welch.High, welch.T, welch.DF, welch.P
	if c.Ratio, err = strength.RatioOfMeans(analytics.Confidence, strata...); err != nil {
		return nil, stat.Interval{}, err
	}
	narrow, err := strength.RatioOfMeans(analytics.Equivalence, strata...)
	if err != nil {
		return nil, stat.Interval{}, err
	}
	if narrow.Bounds != strength.Bounded {
		narrow.Interval = stat.Interval{Low: math.Inf(-1), High: math.Inf(1)}
	}
	if c.Shift, err = strength.MannWhitney(analytics.Confidence, ranked...); err != nil {
		return nil, stat.Interval{}, err
	}
	c.plan(strata)
	return &c, narrow.Interval, nil
}

// plan works out how many pulls would settle it.
func (c *Comparison) plan(strata []strength.Stratum) {
	ratio := c.Ratio.Ratio
	if !(ratio > 0) {
		return
	}
	if math.Abs(math.Log(ratio)) < math.Log(planStrength) {
		ratio = math.Exp(math.Copysign(math.Log(planStrength), math.Log(ratio)))
	}
	n, err := stat.PullsNeeded(spreadWithin(strata, func(s strength.Stratum) []float64 { return s.X }), spreadWithin(strata, func(s strength.Stratum) []float64 { return s.Y }), ratio, analytics.PlanAlpha, analytics.PlanPower)
	if err == nil {
		more := max(0, n-min(c.Pulls, c.Versus))
		c.PullsNeeded, c.MorePulls = &n, &more
	}
}

// spreadWithin is the coefficient of variation within strata, pooled.
func spreadWithin(strata []strength.Stratum, side func(strength.Stratum) []float64) float64 {
	sum, df := 0.0, 0.0
	for _, s := range strata {
		d, err := strength.Describe(side(s))
		if err != nil || d.N < 2 || d.Mean == 0 {
			continue
		}
		sum += d.CV() * d.CV() * float64(d.N-1)
		df += float64(d.N - 1)
	}
	return math.Sqrt(sum / df)
}

// note adds what the reader must know.
func (b *work) note() {
	a := &b.answer
	add := func(kind NoteKind, count int) {
		if count > 0 {
			a.Notes = append(a.Notes, Note{kind, count, -1})
		}
	}
	slips, held, few, without, mixes := 0, 0, 0, 0, 0
	tied := map[journal.ID]bool{}
	noted := true
	for _, g := range a.Groups {
		slips, held = slips+g.Slipped, held+g.AtLeast
		if len(g.pulls) < fewPulls {
			few++
		}
		if g.Efficiency == nil && g.pulls[0].Knotted() {
			without++
		}
		if b.mixesKnots(g.pulls) {
			mixes++
		}
		for _, p := range g.pulls {
			if p.AnglerID == nil {
				noted = false
			} else {
				tied[*p.AnglerID] = true
			}
		}
	}
	add(NoteMixesKnots, mixes)
	add(NoteSlips, slips)
	add(NoteHeld, held)
	add(NoteFew, few)
	add(NoteNoReference, without)
	add(NoteUnlike, len(b.unlike))
	if noted && len(tied) == 1 {
		add(NoteOneTier, 1)
	}
}

// mixesKnots reports whether a group of a question by junction holds knots that
// face or are propped differently, which may make its mean that of their mix.
func (b *work) mixesKnots(pulls []journal.BenchPull) bool {
	for _, key := range []string{"facing", "prop"} {
		f, _ := factorByKey(key)
		own := func(other factor) bool { return other.Key == key }
		if slices.ContainsFunc(b.by, own) || slices.ContainsFunc(b.alike, own) {
			continue
		}
		if slices.ContainsFunc(pulls, func(p journal.BenchPull) bool { return f.level(p, b.tiers) != f.level(pulls[0], b.tiers) }) {
			return true
		}
	}
	return false
}
