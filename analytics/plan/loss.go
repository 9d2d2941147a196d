package plan

import (
	"errors"
	"math"
	"slices"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat/wear"
)

// model is everything that a plan's losses follow from.
type model struct {
	waste, changes, least  float64
	cost                   wear.Cost // minutes
	anew                   bool
	tangles, breaks        *hourly
	level, rise, breakWide float64 // what a move multiplies tangles by; per mm, in logs; breaks
}

func (a *Answer) model(tangles, breaks *hourly) model {
	m := model{anew: a.Anew, tangles: tangles, breaks: breaks, level: 1, breakWide: 1}
	for _, key := range moved() {
		*m.of(key) = a.Input(key).Value
	}
	return m
}

// moved lists the inputs on which a length rests.
func moved() []string {
	return []string{Waste, Changes, Least, TangleMinutes, RetieMinutes, BreakMinutes}
}

// of is the place of one of these.
func (m *model) of(key string) *float64 {
	return map[string]*float64{Waste: &m.waste, Changes: &m.changes, Least: &m.least,
		TangleMinutes: &m.cost.Trouble, RetieMinutes: &m.cost.Renewal, BreakMinutes: &m.cost.Failure}[key]
}

func (m model) wear() wear.Part {
	return wear.Part{Least: m.least, Step: m.waste, Rate: m.changes, Anew: m.anew}
}

// loss is that of a tag of a length; ok is false when it is too short to be fished.
func (m model) loss(mm float64) (l wear.Loss, ok bool, err error) {
	sizes, err := m.wear().Sizes(mm)
	if errors.Is(err, wear.ErrTooSmall) {
		return l, false, nil
	}
	if err != nil {
		return l, false, err
	}
	tangles, breaks := make([]float64, len(sizes)), make([]float64, len(sizes))
	for i, at := range sizes {
		tangles[i] = m.tangles.at(at) * m.level * math.Exp(m.rise*(at-m.tangles.centre))
		breaks[i] = m.breaks.at(at) * m.breakWide
	}
	l, err = m.wear().Loss(tangles, breaks, m.cost)
	return l, true, err
}

// lose fills the points and marks those that need lengths outside low to high, or are themselves hardly fished.
func (a *Answer) lose(m model, at []float64, low, high float64) error {
	from, to := max(m.tangles.from, m.breaks.from), min(m.tangles.to, m.breaks.to)
	const slack = 1e-6 // mm
	beyond := 0
	for _, mm := range at {
		l, ok, err := m.loss(mm)
		if err != nil {
			return err
		}
		if !ok {
			continue
		}
		p := Point{LengthMM: mm, Changes: l.Changes, Tangles: l.Trouble, Breaks: l.Failure, Renewal: l.Renewal, Loss: l.Total()}
		if mm > min(high, to)+slack || mm < from-slack || mm-float64(l.Changes)*m.waste < low-slack {
			p.Beyond = true
			beyond++
		}
		a.Points = append(a.Points, p)
	}
	switch {
	case len(a.Points) == 0 || beyond == len(a.Points):
		a.note(NoteAllBeyond, beyond, max(low, from), min(high, to))
	case beyond > 0:
		a.note(NoteBeyond, beyond, max(low, from), min(high, to))
	}
	return nil
}

// spread fills bands and chances from the draws, where anything is in doubt.
func (a *Answer) spread(m model) error {
	lengths, place, err := a.lengths(m)
	if err != nil {
		return err
	}
	tangles, err := m.tangles.over(lengths)
	if err != nil {
		return err
	}
	breaks, err := m.breaks.over(lengths)
	if err != nil {
		return err
	}
	a.Tangles.Shown, a.Breaks.Shown = a.shown(m.tangles, tangles, lengths), a.shown(m.breaks, breaks, lengths)
	if m.tangles.draws == nil {
		return nil
	}
	losses, err := a.losses(m, tangles, breaks, place)
	if err != nil {
		return err
	}
	a.chances(losses)
	return nil
}

// losses are those of each point in each draw.
func (a *Answer) losses(m model, tangles, breaks [][]float64, place [][]int) ([][]float64, error) {
	losses := make([][]float64, len(a.Points))
	for i := range a.Points {
		losses[i] = make([]float64, draws)
		t, b := make([]float64, len(place[i])), make([]float64, len(place[i]))
		for k := range draws {
			for s, at := range place[i] {
				t[s], b[s] = tangles[at][k%len(tangles[at])], breaks[at][k%len(breaks[at])]
			}
			l, err := m.wear().Loss(t, b, m.cost)
			if err != nil {
				return nil, err
			}
			losses[i][k] = l.Total()
		}
	}
	return losses, nil
}

// bet says how likely the best point loses less than each other, and than the length that is fished most, under the
// prior of the curve of tangles.
func (a *Answer) bet(m model) error {
	if a.Best < 0 || m.tangles.believed == nil || m.tangles.believed.draws == nil {
		return nil
	}
	usual := 0
	for i, p := range a.Points {
		if math.Abs(p.LengthMM-m.tangles.usual) < math.Abs(a.Points[usual].LengthMM-m.tangles.usual) {
			usual = i
		}
	}
	lengths, place, err := a.lengths(m)
	if err != nil {
		return err
	}
	tangles, err := m.tangles.believed.over(lengths)
	if err != nil {
		return err
	}
	breaks, err := m.breaks.over(lengths)
	if err != nil {
		return err
	}
	losses, err := a.losses(m, tangles, breaks, place)
	if err != nil {
		return err
	}
	for i := range a.Points {
		if i == a.Best || a.Points[i].Beyond && i != usual {
			continue
		}
		worse := 0.0
		for k := range draws {
			if losses[a.Best][k] < losses[i][k] {
				worse++
			}
		}
		a.Points[i].Worse = new(worse / draws)
	}
	if usual != a.Best {
		a.Bet = &analytics.CurveBet{At: a.Points[a.Best].LengthMM, Against: a.Points[usual].LengthMM, Chance: *a.Points[usual].Worse, Prior: a.Tangles.Curve.Bet.Prior}
	}
	return nil
}

// lengths lists the different lengths that tags of the points go through, and for each
// point the places of its own among them.
func (a *Answer) lengths(m model) (lengths []float64, place [][]int, err error) {
	known := map[float64]int{}
	for _, p := range a.Points {
		sizes, err := m.wear().Sizes(p.LengthMM)
		if err != nil {
			return nil, nil, err
		}
		var mine []int
		for _, size := range sizes {
			key := analytics.Tidy(size)
			at, ok := known[key]
			if !ok {
				at = len(lengths)
				known[key] = at
				lengths = append(lengths, size)
			}
			mine = append(mine, at)
		}
		place = append(place, mine)
	}
	return lengths, place, nil
}

// over are the rates at lengths in each draw, or the one rate where nothing is in doubt.
func (h *hourly) over(lengths []float64) ([][]float64, error) {
	if h.draws != nil {
		return h.draws(lengths)
	}
	all := make([][]float64, len(lengths))
	for i, mm := range lengths {
		all[i] = []float64{h.at(mm)}
	}
	return all, nil
}

// shown is the rate at the lengths of the points themselves.
func (a *Answer) shown(h *hourly, drawn [][]float64, lengths []float64) []RateBand {
	var list []RateBand
	for _, p := range a.Points {
		i := slices.Index(lengths, p.LengthMM)
		band := RateBand{RateAt: RateAt{p.LengthMM, h.at(p.LengthMM)}}
		if h.draws != nil && i >= 0 {
			band.Low, band.High = middle95(drawn[i])
		}
		list = append(list, band)
	}
	return list
}

// middle95 are the ends of the middle 95% of some draws.
func middle95(draws []float64) (low, high *float64) {
	sorted := slices.Sorted(slices.Values(draws))
	at := func(share float64) *float64 {
		return answer.Known(sorted[int(math.Round(share*float64(len(sorted)-1)))])
	}
	return at((1 - analytics.Confidence) / 2), at((1 + analytics.Confidence) / 2)
}

// chances fills what the draws say of each point; those beyond what was fished do
// not compete.
func (a *Answer) chances(losses [][]float64) {
	a.Sure = true
	best, near := make([]float64, len(a.Points)), make([]float64, len(a.Points))
	for k := range draws {
		least, at := math.Inf(1), -1
		for i, p := range a.Points {
			if !p.Beyond && losses[i][k] < least {
				least, at = losses[i][k], i
			}
		}
		if at < 0 {
			return
		}
		best[at]++
		for i := range a.Points {
			if losses[i][k] <= least+Close {
				near[i]++
			}
		}
	}
	for i := range a.Points {
		p := &a.Points[i]
		p.Low, p.High = middle95(losses[i])
		if !p.Beyond {
			p.Best, p.Near = answer.Known(best[i]/draws), answer.Known(near[i]/draws)
		}
	}
}

// better reports whether a point is rather the best: by its chance to lose least, where that is known, so that
// the one named and the chances agree.
func (a *Answer) better(p, other Point) bool {
	if p.Best != nil && other.Best != nil && *p.Best != *other.Best {
		return *p.Best > *other.Best
	}
	return p.Loss < other.Loss
}

// choose finds the best point and the range about it that is as good.
func (a *Answer) choose() {
	first, last := -1, -1
	for i, p := range a.Points {
		if p.Beyond {
			continue
		}
		if first < 0 {
			first = i
		}
		last = i
		if a.Best < 0 || a.better(p, a.Points[a.Best]) {
			a.Best = i
		}
	}
	if a.Best < 0 {
		return
	}
	good := func(i int) bool { return !a.Points[i].Beyond && a.Points[i].Loss <= a.Points[a.Best].Loss+Close }
	from, to := a.Best, a.Best
	for from > first && good(from-1) {
		from--
	}
	for to < last && good(to+1) {
		to++
	}
	a.From, a.To = a.Points[from].LengthMM, a.Points[to].LengthMM
	switch {
	case a.Best == last && last > first:
		a.note(NoteAtEnd, 0, 0, 0)
	case a.Best == first && last > first:
		a.note(NoteAtStart, 0, 0, 0)
	}
}

// tippet says how far the tippet goes with the best length.
func (a *Answer) tippet(m model) error {
	l, _, err := m.loss(a.Points[a.Best].LengthMM)
	if err != nil {
		return err
	}
	b, err := NewTippetBudget(a.Input(TippetLength).Value, a.Input(RetieCost).Value, PracticeLeastTippetMM)
	if err != nil {
		return err
	}
	tags := b.Reties + 1
	a.Tippet = Tippet{Reties: b.Reties, Changes: tags * l.Changes, Hours: float64(tags) * l.Hours, LeftMM: b.LeftMM}
	return nil
}
