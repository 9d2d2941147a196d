package change

import (
	"math"
	"math/rand/v2"
	"slices"

	"rigtally/journal/facts"
)

// season says how sessions are invented. Sessions differ as in the log-normal mixture of a heavy tail, or not at all;
// an angler prefers one of two levels.
type season struct {
	sessions int
	rate     float64 // events per hour
	ratio    float64 // of the second level's rate to the first's
	usual    float64 // chance of the first level in a stint, where levels are drawn
	calm     bool    // sessions do not differ
	follow   float64 // chance that a stint ends with its first event, and that the level is changed then; 0: stints go by the clock
	cut      bool    // each change is to a level of its own, as cuts of a tag are
	clock    bool    // and every other stint ends by the clock all the same
	rising   bool    // the rate doubles through the session
	noMinute bool    // the minutes of events are not known
	onward   bool    // every session begins with the second level, and goes on to the first at one moment
	burst    float64 // events after each event, on average, within minutes
}

// invent returns the sessions of a season.
func (c season) invent(rng *rand.Rand) [][]facts.Stretch {
	var all [][]facts.Stretch
	for range c.sessions {
		all = append(all, c.session(rng))
	}
	return all
}

func (c season) session(rng *rand.Rand) (list []facts.Stretch) {
	whole := 5 * math.Round((2+4*rng.Float64())*12)
	stints := 2 + rng.IntN(3)
	u := 1.0
	if !c.calm {
		if sd, mean := 0.4, 0.0; rng.Float64() < 0.12 {
			sd, mean = 1.1, 0.4
			u = math.Exp(mean+sd*rng.NormFloat64()) / 1.33
		} else {
			u = math.Exp(mean+sd*rng.NormFloat64()) / 1.33
		}
	}
	level, done := 0, 0.0
	if c.onward || rng.Float64() > c.usual {
		level = 1
	}
	for whole-done >= 5 && len(list) < 40 {
		planned := min(whole-done, max(5, 5*math.Round(whole/float64(stints)/5)))
		stops := c.follow > 0 && !(c.clock && rng.IntN(2) == 0)
		if stops {
			planned = whole - done
		}
		st := facts.Stretch{Minutes: planned, Counted: true, Timed: !c.noMinute, End: facts.LevelKept}
		rate := c.rate / 60 * u
		if level == 1 && !c.cut {
			rate *= c.ratio
		}
		for at := 0.0; ; {
			now := rate
			if c.rising {
				now *= (2.0 / 3) * (1 + (done+at)/whole)
			}
			if at += rng.ExpFloat64() / now; at >= planned {
				break
			}
			times := []float64{at}
			for next := at; rng.Float64() < c.burst/(1+c.burst); {
				next += rng.ExpFloat64() * 8
				times = append(times, next)
			}
			for _, m := range times {
				if m < planned {
					st.Events++
					st.At = append(st.At, math.Floor(m))
				}
			}
			if stops {
				st.Minutes = max(1, math.Ceil(at))
				break
			}
		}
		slices.Sort(st.At)
		hit := stops && st.Events > 0
		done += st.Minutes
		next := level
		switch {
		case hit:
			if rng.Float64() < c.follow {
				next = 1 - level
			}
		case c.onward && level == 0:
		case c.follow == 0 || !stops:
			if next = 0; rng.Float64() > c.usual {
				next = 1
			}
		}
		if next != level || c.cut && hit {
			st.End = facts.LevelChanged
		}
		level = next
		if c.noMinute && st.Events > 0 {
			st.Timed, st.At = false, nil
		} else {
			st.Timed = true
		}
		list = append(list, st)
	}
	list[len(list)-1].End = facts.SessionOver
	return list
}

// found is what is found in sessions.
func found(sessions [][]facts.Stretch) Finding {
	var s search
	for _, list := range sessions {
		s.session(list)
	}
	return s.finding()
}
