package journal

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// MostTrialUnits is the length of a trial's order.
const MostTrialUnits = 512

// arrangements of a balanced block, by its size.
var arrangements = map[int][]string{
	2: {"AB", "BA"},
	4: {"AABB", "ABAB", "ABBA", "BAAB", "BABA", "BBAA"},
}

// NewTrialSeed draws a seed of 256 bits.
func NewTrialSeed() string {
	b := make([]byte, 32)
	rand.Read(b) // never fails
	return hex.EncodeToString(b)
}

// order is the trial's whole order, a letter for each unit. Block n, counted from
// 1, is the arrangement whose number is the first 64 bits of SHA-256("SEED n"),
// modulo how many there are: a rule that can be worked out with any tool.
func (t Trial) order() string {
	list := arrangements[t.Block]
	var b strings.Builder
	for n := 1; b.Len() < MostTrialUnits; n++ {
		sum := sha256.Sum256(fmt.Appendf(nil, "%s %d", t.Seed, n))
		b.WriteString(list[binary.BigEndian.Uint64(sum[:8])%uint64(len(list))])
	}
	return b.String()
}

// SealedText is what the commitment is the SHA-256 of, for a trial with its seed.
// Nobody may be shown it before the trial has ended.
func (t Trial) SealedText() string {
	return fmt.Sprintf("rigtally trial order\nseed %s\norder %s\n", t.Seed, t.order())
}

// Commit hashes seed and order.
func (t Trial) Commit() string {
	sum := sha256.Sum256([]byte(t.SealedText()))
	return hex.EncodeToString(sum[:])
}

// Arm is that of a unit by the order.
func (t Trial) Arm(ordinal int) Arm { return Arm(t.order()[ordinal-1 : ordinal]) }

// ErrSeal says that a trial's order is not the one that was sealed.
var ErrSeal = errors.New("the order is not the one that was sealed when the trial was planned")

// CheckSeal reports whether the seed makes the order of the commitment, and the
// units started so far had the arms of that order. It reveals nothing. Of a trial
// whose order was cut it can only tell whether the blocks are balanced.
func (t Trial) CheckSeal() error {
	if t.OrderCut && t.Seed == "" && arrangements[t.Block] != nil {
		return t.checkBalance()
	}
	if arrangements[t.Block] == nil || t.Commit() != t.Commitment {
		return fmt.Errorf("%w: the commitment does not fit", ErrSeal)
	}
	order := t.order()
	for i, u := range t.Units {
		if i >= len(order) || string(u.Arm) != order[i:i+1] {
			return fmt.Errorf("%w: unit %d was another arm", ErrSeal, u.Ordinal)
		}
	}
	return nil
}

func (t Trial) checkBalance() error {
	for block := range slices.Chunk(t.Units, t.Block) {
		ahead := 0
		for _, u := range block {
			ahead += 1 - 2*u.Arm.Index()
		}
		if len(block) == t.Block && ahead != 0 {
			return fmt.Errorf("%w: the block that ends with unit %d has more of one arm", ErrSeal, block[len(block)-1].Ordinal)
		}
	}
	return nil
}
