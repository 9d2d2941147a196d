// Package invent draws seasons with known effects, for tests: nothing in them was ever fished. Only tests may import it.
package invent

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// Season says how a season is drawn: three anglers who fish differently well, three waters, two junctions,
// and tags of several lengths.
type Season struct {
	Sessions int
	Rate     float64 // tangles per hour of the middle angler on the first water with figure-eight; for a share, of hookups
	Share    bool    // what happens is a share of hookups, of which there are 1.2 an hour
	Ratio    float64 // of blood to figure-eight; 0 is 1
	Longer   float64 // ratio for each 25 mm more of tag; 0 is 1
	CV       float64 // of what sessions do beside angler and water, gamma distributed
	Heavy    bool    // that, with a heavy tail instead
	StintCV  float64 // of stints within a session
	Trend    float64 // log ratio between the last minute of a session and its first
	Switch   bool    // after a tangle the other junction is tied, nine times in ten
	Cut      bool    // after a tangle the tag is cut by 15 to 60 mm, nine times in ten
	Prefer   bool    // the best angler mostly ties blood, the worst mostly figure-eight
}

// String tells a cell of a table.
func (c Season) String() string {
	spread := fmt.Sprintf("CV %g", c.CV)
	if c.Heavy {
		spread = "heavy tails"
	}
	text := fmt.Sprintf("%d sessions, %g an hour, %s", c.Sessions, c.Rate, spread)
	if c.Share {
		text = fmt.Sprintf("%d sessions, share %g, %s", c.Sessions, c.Rate, spread)
	}
	for _, part := range []struct {
		is   bool
		says string
	}{{c.StintCV > 0, fmt.Sprintf("stints' CV %g", c.StintCV)}, {c.Trend != 0, fmt.Sprintf("%.2g-fold in a session", math.Exp(c.Trend))},
		{c.Switch, "switched after a tangle"}, {c.Cut, "cut after a tangle"}, {c.Prefer, "preferences"}} {
		if part.is {
			text += ", " + part.says
		}
	}
	return text
}

// Stint is what was fished without a change.
type Stint struct {
	Session, Angler, Water int
	Junction               int // 0 figure-eight, 1 blood
	LengthMM               float64
	Hours                  float64
	Events, Exposure       float64
}

// The words of the levels.
var (
	Junctions = []string{"figure-eight", "blood"}
	anglers   = []string{"Anna", "Bert", "Cora"}
	waters    = []string{"Alder", "Birch", "Cedar"}
)

func or1(v float64) float64 {
	if v == 0 {
		return 1
	}
	return v
}

// multiplier draws what a session, or a stint, does to its rate: 1 on average.
func multiplier(r *rand.Rand, cv float64, heavy bool) float64 {
	switch {
	case heavy:
		mean, sd := 0.0, 0.4
		if r.Float64() < 0.12 {
			mean, sd = 0.4, 1.1
		}
		return math.Exp(mean+sd*r.NormFloat64()) / 1.33
	case cv == 0:
		return 1
	}
	a := 1 / (cv * cv)
	return distuv.Gamma{Alpha: a, Beta: a, Src: r}.Rand()
}

// Draw fishes a season.
func (c Season) Draw(r *rand.Rand) []Stint {
	var all []Stint
	for s := range c.Sessions {
		all = append(all, c.session(r, s)...)
	}
	return all
}

func (c Season) session(r *rand.Rand, number int) (list []Stint) {
	angler := []int{0, 0, 0, 0, 1, 1, 1, 2, 2}[r.IntN(9)]
	water := []int{0, 0, 0, 0, 0, 1, 1, 1, 2, 2}[r.IntN(10)]
	blood := 0.5
	if c.Prefer {
		blood = []float64{0.75, 0.5, 0.25}[angler]
	}
	tie := func() int {
		if r.Float64() < blood {
			return 1
		}
		return 0
	}
	tag := func() float64 {
		mean := 195.0
		if c.Prefer || c.Cut {
			mean = []float64{160, 195, 230}[angler]
		}
		return math.Round(min(300, max(100, mean+40*r.NormFloat64()))/5) * 5
	}
	hours := math.Round((2+4*r.Float64())*12) / 12
	level := c.Rate * multiplier(r, c.CV, c.Heavy) * []float64{math.Exp(-0.5), 1, math.Exp(0.5)}[angler] * []float64{1, 1.3, 0.8}[water]
	junction, length := tie(), tag()
	stints := float64(2 + r.IntN(3))
	ends := c.Switch || c.Cut // a stint ends where something is changed
	for left := hours; left > 1.0/30; {
		rate := level * math.Pow(or1(c.Longer), (length-180)/25) * math.Exp(c.Trend*((hours-left)/hours-0.5)) * multiplier(r, c.StintCV, false)
		if junction == 1 {
			rate *= or1(c.Ratio)
		}
		planned := min(left, hours/stints)
		if ends {
			planned = left
		}
		st := Stint{Session: number, Angler: angler, Water: water, Junction: junction, LengthMM: length}
		tangled := c.fish(r, &st, rate, planned, ends)
		if st.Exposure > 0 {
			list = append(list, st)
		}
		left -= st.Hours
		switch {
		case !ends:
			junction = tie()
			if r.Float64() < 0.5 {
				length = tag()
			}
		case tangled && r.Float64() < 0.9:
			if c.Switch {
				junction = 1 - junction
			}
			if c.Cut {
				length = max(100, length-math.Round((15+45*r.Float64())/5)*5)
			}
		}
	}
	return list
}

// fish fills a stint, which ends at its first event if need be.
func (c Season) fish(r *rand.Rand, st *Stint, rate, planned float64, ends bool) (tangled bool) {
	perHour := rate
	if c.Share {
		perHour = 1.2
	}
	for {
		wait := r.ExpFloat64() / perHour
		if st.Hours+wait >= planned {
			st.Hours = planned
			break
		}
		st.Hours += wait
		if c.Share {
			st.Exposure++
			if r.Float64() >= min(0.95, rate) {
				continue
			}
		}
		st.Events++
		if tangled = true; ends {
			st.Hours = min(planned, max(1.0/60, math.Ceil(st.Hours*60)/60)) // noted by the minute
			break
		}
	}
	if !c.Share {
		st.Exposure = st.Hours
	}
	return tangled
}

// Journal answers questions about some stints; it knows junction, tag length, angler and water.
type Journal []Stint

func word(list []string) []journal.Level {
	var levels []journal.Level
	for _, w := range list {
		levels = append(levels, journal.Level{Word: w, Kind: journal.WordLevel})
	}
	return levels
}

// Rows implements analytics.Asker.
func (j Journal) Rows(_ context.Context, q journal.Question) (*facts.Rows, error) {
	var factors []journal.Factor
	for _, by := range q.By {
		factors = append(factors, by.Factor)
	}
	factors = append(factors, q.Given...)
	columns, codes := make([]facts.Column, len(factors)), make([][]int32, len(j))
	for i := range codes {
		codes[i] = make([]int32, len(factors))
	}
	for k, f := range factors {
		columns[k].Factor = f
		lengths := map[float64]int32{}
		for i, st := range j {
			switch f.Key {
			case "junction":
				columns[k].Levels, codes[i][k] = word(Junctions), int32(st.Junction)
			case "angler":
				columns[k].Levels, codes[i][k] = word(anglers), int32(st.Angler)
			case "water":
				columns[k].Levels, codes[i][k] = word(waters), int32(st.Water)
			case "tag-length":
				at, ok := lengths[st.LengthMM]
				if !ok {
					at = int32(len(lengths))
					lengths[st.LengthMM] = at
					columns[k].Levels = append(columns[k].Levels, journal.Level{Number: st.LengthMM, Kind: journal.NumberLevel})
				}
				codes[i][k] = at
			default:
				return nil, fmt.Errorf("invented seasons know nothing of %s", f.Key)
			}
		}
	}
	cells := map[string]int32{}
	var hours, events, exposure []float64
	var cell, session []int32
	number := map[int]int32{}
	for i, st := range j {
		key := fmt.Sprint(codes[i])
		at, ok := cells[key]
		if !ok {
			at = int32(len(hours))
			cells[key], hours = at, append(hours, 0)
			for k := range columns {
				columns[k].Of = append(columns[k].Of, codes[i][k])
			}
		}
		n, ok := number[st.Session]
		if !ok {
			n = int32(len(number))
			number[st.Session] = n
		}
		hours[at] += st.Hours
		cell, session = append(cell, at), append(session, n)
		events, exposure = append(events, st.Events), append(exposure, st.Exposure)
	}
	return facts.NewRows(columns[:len(q.By)], columns[len(q.By):], hours, cell, session, events, exposure), nil
}

// Ask implements analytics.Asker.
func (j Journal) Ask(ctx context.Context, q journal.Question) (journal.Answer, error) {
	rows, err := j.Rows(ctx, q)
	if err != nil {
		return journal.Answer{}, err
	}
	return rows.Answer, nil
}

// TagSessions implements plan.Keeper: nothing was noted that a plan could go by.
func (Journal) TagSessions(context.Context, []journal.Condition) ([]facts.TagSession, error) {
	return nil, nil
}

// LogRate is the true log rate at a length and with figure-eight, of the mean of the anglers' and waters'
// effects by exposure, as a curve that is corrected for both is drawn.
func (c Season) LogRate(j Journal, lengthMM float64) float64 {
	sum, total := 0.0, 0.0
	for _, st := range j {
		total += st.Exposure
		sum += st.Exposure * (float64(st.Angler-1)*0.5 + math.Log([]float64{1, 1.3, 0.8}[st.Water]))
	}
	return math.Log(c.Rate) + sum/total + math.Log(or1(c.Longer))*(lengthMM-180)/25
}

// Outcome is the key of what happens.
func (c Season) Outcome() string {
	if c.Share {
		return "junction-break"
	}
	return "tangles"
}

// MeanRate is the true rate at a length and with figure-eight, on the mean over the anglers and waters as they were fished.
func (c Season) MeanRate(j Journal, lengthMM float64) float64 {
	sum, total := 0.0, 0.0
	for _, st := range j {
		total += st.Exposure
		sum += st.Exposure * math.Exp(float64(st.Angler-1)*0.5) * []float64{1, 1.3, 0.8}[st.Water]
	}
	return c.Rate * sum / total * math.Pow(or1(c.Longer), (lengthMM-180)/25)
}
