package compare

import (
	"math"

	"rigtally/journal"
)

// A number is told only where, for whoever looks, leastOthers others have part in it and none of them has more than
// mostOfOne of what these have. It becomes another only once its difference from each that was told before, by itself,
// is so too. Numbers of one week have no part in common. Hence whoever takes two views from one another, and their own
// parts from that, is left with those of so many others, or with nothing.
const (
	leastOthers = 3
	mostOfOne   = 0.6
)

// mayFollow reports whether a number may become another.
func mayFollow(last, next Cell) bool {
	var hours, base []float64
	for angler := range union(last, next) {
		if was, is := last[angler], next[angler]; was != is {
			hours, base = append(hours, math.Abs(is.Hours-was.Hours)), append(base, math.Abs(is.Base-was.Base))
		}
	}
	return spread(hours) && spread(base)
}

func union(a, b Cell) map[journal.ID]bool {
	all := map[journal.ID]bool{}
	for _, c := range []Cell{a, b} {
		for id := range c {
			all[id] = true
		}
	}
	return all
}

// spread reports whether amounts are of enough people and of none too much, whichever of them looks.
func spread(amounts []float64) bool {
	for viewer := range amounts {
		others, sum, most := 0, 0.0, 0.0
		for i, v := range amounts {
			if i != viewer && v > 0 {
				others, sum, most = others+1, sum+v, math.Max(most, v)
			}
		}
		if others < leastOthers || most > mostOfOne*sum {
			return false
		}
	}
	return len(amounts) > 0
}
