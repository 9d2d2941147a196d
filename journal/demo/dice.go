package demo

import (
	"encoding/binary"
	"math/rand/v2"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/journal"
)

// dice draws everything that is random. Each session has dice of its own, so
// that what happens in one does not hang on how many there are before it.
type dice struct{ *rand.Rand }

func newDice(seed, stream uint64) dice { return dice{rand.New(rand.NewPCG(seed, stream))} }

func (d dice) chance(p float64) bool { return d.Float64() < p }

// between draws a whole number from low to high, both included.
func (d dice) between(low, high int) int { return low + d.IntN(high-low+1) }

func (d dice) poisson(mean float64) int {
	if mean <= 0 {
		return 0
	}
	return int(distuv.Poisson{Lambda: mean, Src: d}.Rand())
}

// gamma draws from a Gamma distribution of mean 1 and the given coefficient of variation.
func (d dice) gamma(cv float64) float64 {
	shape := 1 / (cv * cv)
	return distuv.Gamma{Alpha: shape, Beta: shape, Src: d}.Rand()
}

// id makes a UUIDv7 (RFC 9562, section 5.7) of a moment.
func (d dice) id(at time.Time) journal.ID {
	var id journal.ID
	binary.BigEndian.PutUint64(id[:8], uint64(at.UnixMilli())<<16|uint64(d.IntN(1<<12))|7<<12)
	binary.BigEndian.PutUint64(id[8:], d.Uint64()>>2|1<<63)
	return id
}

// share is a level with how often it comes.
type share[T any] struct {
	level  T
	weight float64
}

func total[T any](shares []share[T]) float64 {
	sum := 0.0
	for _, s := range shares {
		sum += s.weight
	}
	return sum
}

// at returns the level at u, from 0 to 1, of the shares laid end to end.
func at[T any](shares []share[T], u float64) T {
	u *= total(shares)
	for _, s := range shares[:len(shares)-1] {
		if u < s.weight {
			return s.level
		}
		u -= s.weight
	}
	return shares[len(shares)-1].level
}

// pick draws one level.
func pick[T any](d dice, shares []share[T]) T { return at(shares, d.Float64()) }

// deal draws n levels that keep to their shares as nearly as n allows, in random order.
func deal[T any](d dice, n int, shares []share[T]) []T {
	levels := make([]T, n)
	start := d.Float64()
	for i, j := range d.Perm(n) {
		levels[j] = at(shares, (float64(i)+start)/float64(n))
	}
	return levels
}
