package season

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// inventedSeason says how a season of three anglers is invented in which nothing that one ties or does
// makes a difference: who fishes, where, and the day do, and each angler ties by habit.
type inventedSeason struct {
	sessions int
	rate     float64 // tangles per hour
	cv       float64 // of what a session does, by a gamma distribution; 0 for heavy tails
	changes  change
}

// change says what is changed of a rig, nine times in ten, after a tangle.
type change string

const (
	nothing   change = "nothing changed"
	junctions change = "junctions changed after tangles"
	tags      change = "tags cut after tangles"
)

func (c inventedSeason) String() string {
	luck := fmt.Sprintf("CV %.1f", c.cv)
	if c.cv == 0 {
		luck = "tails heavy"
	}
	return fmt.Sprintf("%2d sessions, %.1f tangles an hour, sessions' %s, %s", c.sessions, c.rate, luck, c.changes)
}

// kept is an invented journal in memory.
type kept struct {
	*facts.Facts
	claims []journal.Claim
}

func (k kept) Claims(context.Context) ([]journal.Claim, error) { return k.claims, nil }
func (k kept) Ask(_ context.Context, q journal.Question) (journal.Answer, error) {
	return k.Facts.Ask(q)
}
func (k kept) Rows(_ context.Context, q journal.Question) (*facts.Rows, error) {
	return k.Facts.Rows(q)
}

// drawn draws what a season is made of.
type drawn struct{ *rand.Rand }

func (r drawn) id() (id journal.ID) {
	binary.LittleEndian.PutUint64(id[:8], r.Uint64())
	binary.LittleEndian.PutUint64(id[8:], r.Uint64())
	return id
}

func (r drawn) poisson(mean float64) float64 {
	return distuv.Poisson{Lambda: mean, Src: r.Rand}.Rand()
}

func (r drawn) of(n, p float64) float64 {
	k := 0.0
	for range int(n) {
		if r.Float64() < p {
			k++
		}
	}
	return k
}

// among draws a place by weights that add up to 1.
func (r drawn) among(weights ...float64) int {
	x := r.Float64()
	for i, w := range weights {
		if x -= w; x < 0 {
			return i
		}
	}
	return len(weights) - 1
}

// luck multiplies all that a session does, by 1 on average. With heavy tails one day in eight is of another kind.
func (r drawn) luck(cv float64) float64 {
	switch {
	case cv > 0:
		shape := 1 / (cv * cv)
		return distuv.Gamma{Alpha: shape, Beta: shape, Src: r.Rand}.Rand()
	case r.Float64() < 0.12:
		return math.Exp(0.4+1.1*r.NormFloat64()) / 1.28
	}
	return math.Exp(0.4*r.NormFloat64()) / 1.28
}

func (r drawn) tag(mean float64) float64 {
	return 5 * math.Round(min(300, max(100, mean+40*r.NormFloat64()))/5)
}

// tie ties a rig.
func (r drawn) tie(blood, tag float64) journal.Rig {
	p := journal.RigPosition{Position: 1, Hang: []journal.Hang{"tag", "eye", "bend"}[r.among(0.8, 0.1, 0.1)], Facing: []journal.Facing{"down", "up"}[r.among(0.65, 0.35)],
		Prop: []journal.Prop{"none", "half-hitch"}[r.among(0.7, 0.3)], Bulk: []journal.Bulk{"slim", "hackled", "legged"}[r.IntN(3)], TippetMM: new([]float64{0.1016, 0.127, 0.1524}[r.IntN(3)]),
		Junction: []journal.Junction{"figure-eight", "blood"}[r.among(1-blood, blood)], TagLengthMM: &tag}
	if p.Hang != journal.HangTag {
		p.Junction, p.Facing, p.Prop, p.TagLengthMM = "", "", "", nil
	}
	return journal.Rig{ID: r.id(), Revision: 1, Method: "tight-line nymph", Swivel: []journal.Swivel{"none", "micro swivel"}[r.among(0.6, 0.4)], Positions: []journal.RigPosition{p}}
}

// after is a rig as it is tied anew after a tangle.
func (r drawn) after(rig journal.Rig, c change) journal.Rig {
	if r.Float64() > 0.9 {
		return rig
	}
	p := rig.Positions[0]
	switch {
	case c == junctions && p.Junction == "blood":
		p.Junction = "figure-eight"
	case c == junctions && p.Junction != "":
		p.Junction = "blood"
	case c == tags && p.TagLengthMM != nil:
		p.TagLengthMM = new(max(100, *p.TagLengthMM-5*float64(3+r.IntN(10))))
	}
	rig.ID, rig.Positions = r.id(), []journal.RigPosition{p}
	return rig
}

func (c inventedSeason) invent(rng *rand.Rand, claims []journal.Claim) (kept, error) {
	r := drawn{rng}
	skill, blood, tagOf := []float64{0.6, 1, 1.65}, []float64{0.75, 0.5, 0.25}, []float64{160, 195, 230}
	toll := []float64{1, 1.3, 0.8}
	var anglers []journal.Angler
	var waters []journal.Water
	for i := range skill {
		anglers = append(anglers, journal.Angler{ID: r.id(), Name: []string{"Ilse", "Maud", "Jost"}[i], Kind: "guide"})
		waters = append(waters, journal.Water{ID: r.id(), Name: []string{"Alder Brook", "Birch Run", "Cedar Lake"}[i], TimeZone: "UTC"})
	}
	b := facts.NewBuilder(nil)
	b.People(anglers, waters)
	type fished struct {
		facts.Stint
		tag    *float64
		counts journal.Counts
	}
	var stints []fished
	for n := range c.sessions {
		who, where := r.among(4.0/9, 3.0/9, 2.0/9), r.among(0.5, 0.3, 0.2)
		se := facts.Session{ID: r.id(), Angler: anglers[who].ID, Water: waters[where].ID, Day: journal.DateOf(time.Date(2026, 3, 1+3*n, 0, 0, 0, 0, time.UTC)), TimeZone: "UTC",
			FlowM3S: math.NaN(), WaterTempC: math.NaN(), FlowPercentile: math.NaN(), TempPeakC: math.NaN(), DepthM: math.NaN(), VelocityMS: math.NaN()}
		b.Session(se)
		rate := c.rate * r.luck(c.cv) * skill[who] * toll[where]
		left := math.Round(2*60 + 4*60*r.Float64())
		plan := math.Ceil(left / float64(2+r.IntN(3)))
		rig := r.tie(blood[who], r.tag(tagOf[who]))
		for k := 1; left >= 5 && k < 40; k++ {
			minutes, tangles := min(left, plan), 0.0
			if c.changes == nothing {
				tangles = r.poisson(rate * minutes / 60)
			} else if minutes = left; rate > 0 { // until the first tangle
				if at := math.Max(1, math.Ceil(60*r.ExpFloat64()/rate)); at < left {
					minutes, tangles = at, 1
				}
			}
			left -= minutes
			var counts journal.Counts
			hooked, snags := r.poisson(1.2*minutes/60), r.poisson(0.6*minutes/60)
			counts[journal.CountTangles], counts[journal.CountTwists] = tangles, r.of(tangles, 0.6)
			counts[journal.CountHookups], counts[journal.CountFoul], counts[journal.CountLanded] = hooked, r.of(hooked, 0.12), r.of(hooked, 0.7)
			counts[journal.CountLoads] = hooked + snags
			counts[journal.CountBrokeJunction] = r.of(hooked+snags, 0.05)
			b.Rig(rig)
			stints = append(stints, fished{facts.Stint{ID: r.id(), Session: se.ID, Rig: rig.ID, Ordinal: k, Seconds: new(int(60 * minutes)),
				Stroke: []journal.Stroke{"oval", "sidearm"}[r.IntN(2)]}, rig.Positions[0].TagLengthMM, counts})
			if c.changes == nothing {
				rig = r.tie(blood[who], r.tag(tagOf[who]))
			} else if tangles > 0 {
				rig = r.after(rig, c.changes)
			}
		}
	}
	for i := range stints {
		stints[i].Counts = &stints[i].counts
		b.Stint(stints[i].Stint)
	}
	for i := range stints {
		b.Fly(stints[i].ID, 1, stints[i].tag, &stints[i].counts)
	}
	f, err := b.Facts(1)
	return kept{f, claims}, err
}
