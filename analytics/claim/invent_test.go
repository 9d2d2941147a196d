package claim

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// boardSeason says how a journal is invented whose rigs make no difference:
// anglers, waters and sessions do, and the best angler prefers blood junctions.
type boardSeason struct {
	sessions int
	rate     float64 // twists per hour
	share    float64 // junction breaks of loads, and foul hookups of hookups
	cv       float64 // of what sessions do, beside angler and water
	rigs     int     // different ones
}

func (c boardSeason) String() string {
	return fmt.Sprintf("%2d sessions, %2d rigs, %.2f twists an hour, shares of %2.0f%%, sessions' CV %.1f", c.sessions, c.rigs, c.rate, 100*c.share, c.cv)
}

// outing is a stint of an invented season with one dropper.
type outing struct {
	session int32
	hours   float64
	words   map[string]string
	numbers map[string]float64
	counts  map[string][2]float64 // events and exposure, by outcome
}

// invented is a season in memory. It answers the questions of claims as a store does.
type invented struct {
	claims   []journal.Claim
	outings  []outing
	sessions int
}

// Ask adds up what Rows returns.
func (s *invented) Ask(ctx context.Context, q journal.Question) (journal.Answer, error) {
	r, err := s.Rows(ctx, q)
	if err != nil {
		return journal.Answer{}, err
	}
	return r.Answer, nil
}

func (s *invented) Claims(context.Context) ([]journal.Claim, error) { return s.claims, nil }

// Rows implements Keeper.
func (s *invented) Rows(_ context.Context, q journal.Question) (*facts.Rows, error) {
	factors := []journal.Factor{q.By[0].Factor}
	factors = append(factors, q.Given...)
	columns := make([]facts.Column, len(factors))
	for i, f := range factors {
		columns[i].Factor = f
	}
	onTag := slices.ContainsFunc(factors, func(f journal.Factor) bool {
		return slices.Contains([]string{"junction", "facing", "prop", "tag-length"}, f.Key)
	})
	cells := map[string]int32{}
	var hours, events, exposure []float64
	var cell, session []int32
	number := map[int32]int32{}
	for _, o := range s.outings {
		count := o.counts[q.Outcome.Key]
		if count[1] == 0 || onTag && o.words["hang"] != "tag" {
			continue
		}
		codes := make([]int32, len(factors))
		for i := range columns {
			codes[i] = code(&columns[i], o)
		}
		key := fmt.Sprint(codes)
		at, ok := cells[key]
		if !ok {
			at = int32(len(hours))
			cells[key] = at
			hours = append(hours, 0)
			for i := range columns {
				columns[i].Of = append(columns[i].Of, codes[i])
			}
		}
		n, ok := number[o.session]
		if !ok {
			n = int32(len(number))
			number[o.session] = n
		}
		hours[at] += o.hours
		cell, session = append(cell, at), append(session, n)
		events, exposure = append(events, count[0]), append(exposure, count[1])
	}
	return facts.NewRows(columns[:1], columns[1:], hours, cell, session, events, exposure), nil
}

// code is the place of an outing's level in a column, which grows if need be.
func code(c *facts.Column, o outing) int32 {
	level := journal.Level{Kind: journal.WordLevel, Word: o.words[c.Factor.Key]}
	if v, ok := o.numbers[c.Factor.Key]; ok {
		level = journal.Level{Kind: journal.NumberLevel, Number: v}
	}
	i := slices.Index(c.Levels, level)
	if i < 0 {
		i = len(c.Levels)
		c.Levels = append(c.Levels, level)
	}
	return int32(i)
}

// boardRig is what is drawn once for each rig.
type boardRig struct {
	words   map[string]string
	numbers map[string]float64
}

func drawWord(r *rand.Rand, weights ...any) string {
	x := r.Float64()
	for i := 0; i < len(weights); i += 2 {
		if x -= weights[i+1].(float64); x < 0 {
			return weights[i].(string)
		}
	}
	return weights[len(weights)-2].(string)
}

func drawRig(r *rand.Rand) boardRig {
	return boardRig{words: map[string]string{
		"hang": drawWord(r, "tag", 0.8, "eye", 0.1, "bend", 0.1), "junction": drawWord(r, "figure-eight", 0.4, "blood", 0.3, "uni", 0.3),
		"facing": drawWord(r, "down", 0.6, "up", 0.25, "side", 0.15), "prop": drawWord(r, "none", 0.6, "half-hitch", 0.25, "overhand", 0.15),
		"bulk": drawWord(r, "slim", 0.4, "hackled", 0.35, "legged", 0.25), "swivel": drawWord(r, "none", 0.5, "tippet ring", 0.3, "micro swivel", 0.2),
	}, numbers: map[string]float64{"tippet": []float64{0.1016, 0.127, 0.1524}[r.IntN(3)]}}
}

func (c boardSeason) invent(r *rand.Rand, claims []journal.Claim) *invented {
	s := &invented{claims: claims, sessions: c.sessions}
	rigs := make([]boardRig, c.rigs)
	for i := range rigs {
		rigs[i] = drawRig(r)
	}
	anglers := map[string]float64{"guide": 0.5, "client": 1.2, "friend": 1}
	waters := map[string]float64{"brook": 1, "river": 1.4}
	for n := range c.sessions {
		angler, water := drawWord(r, "guide", 0.4, "client", 0.4, "friend", 0.2), drawWord(r, "brook", 0.6, "river", 0.4)
		mean := anglers[angler] * waters[water]
		rateNow, shareNow := mean*gammaMean1(r, c.cv), mean*gammaMean1(r, c.cv)
		stints := 1 + r.IntN(3)
		hours := (2 + 4*r.Float64()) / float64(stints)
		for range stints {
			rig := rigs[r.IntN(len(rigs))]
			if angler == "guide" && rig.words["junction"] != "blood" && r.Float64() < 0.5 {
				rig = rigs[r.IntN(len(rigs))] // another try for a blood one
			}
			o := outing{session: int32(n), hours: hours, words: map[string]string{"angler": angler, "water": water, "stroke": drawWord(r, "oval", 0.4, "sidearm", 0.4, "roll", 0.2)},
				numbers: map[string]float64{"tippet": rig.numbers["tippet"], "tag-length": 100 + 6.35*float64(r.IntN(16))}, counts: map[string][2]float64{}}
			for key, word := range rig.words {
				o.words[key] = word
			}
			tangles := poisson(r, c.rate/0.6*rateNow*hours)
			o.counts["tangles"] = [2]float64{tangles, hours}
			o.counts["twists"] = [2]float64{binomial(r, tangles, 0.6), hours}
			for _, of := range []struct {
				outcome string
				perHour float64
			}{{"junction-break", 3}, {"foul-hook", 2}} {
				trials := poisson(r, of.perHour*hours)
				o.counts[of.outcome] = [2]float64{binomial(r, trials, min(0.9, c.share*shareNow)), trials}
			}
			s.outings = append(s.outings, o)
		}
	}
	return s
}

// gammaMean1 draws from a gamma distribution of mean 1 (Marsaglia & Tsang 2000,
// ACM Trans Math Softw 26:363).
func gammaMean1(r *rand.Rand, cv float64) float64 {
	if cv == 0 {
		return 1
	}
	shape := 1 / (cv * cv)
	boost := 1.0
	if shape < 1 {
		boost = math.Pow(r.Float64(), 1/shape)
		shape++
	}
	d := shape - 1.0/3
	for {
		x := r.NormFloat64()
		v := math.Pow(1+x/math.Sqrt(9*d), 3)
		if v > 0 && math.Log(1-r.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v * boost * cv * cv
		}
	}
}

// poisson draws by counting arrivals.
func poisson(r *rand.Rand, mean float64) float64 {
	n := 0.0
	for t := r.ExpFloat64(); t < mean; t += r.ExpFloat64() {
		n++
	}
	return n
}

func binomial(r *rand.Rand, n, p float64) float64 {
	k := 0.0
	for range int(n) {
		if r.Float64() < p {
			k++
		}
	}
	return k
}
