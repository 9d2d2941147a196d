package door

import (
	"context"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"math"
	"runtime"
	"strings"
	"sync"
	"time"

	"golang.org/x/crypto/argon2"
)

// cost is what a hash takes, as OWASP's Password Storage Cheat Sheet has it for argon2id: 19 MiB, twice, in one lane.
type cost struct {
	memory uint32 // KiB
	times  uint32
	lanes  uint8
}

var usualCost = cost{19 * 1024, 2, 1}

const (
	saltBytes   = 16
	hashBytes   = 32
	mostWaiting = 32 // for their turn; whoever comes then is told to try again
)

// hasher makes and checks hashes of passphrases. Each takes a processor and 19 MiB for a while, so that only half of
// the processors do it at a time, and sign-ins, however many, leave the other half to pages.
type hasher struct {
	turns, waiting chan struct{}
	nobodys        string // the hash of a passphrase that nobody knows
	hashed         func() // told of each hash; for tests

	mu   sync.Mutex
	mean time.Duration // of the latest, roughly
}

func newHasher() *hasher {
	h := &hasher{turns: make(chan struct{}, max(1, min(2, runtime.GOMAXPROCS(0)/2))), waiting: make(chan struct{}, mostWaiting), hashed: func() {}}
	// Its value is drawn, since nothing is the hash of a passphrase by accident.
	h.nobodys = usualCost.write(draw(saltBytes), draw(hashBytes))
	return h
}

// crowded says that too many wait for their passphrases to be checked, and when to come again.
type crowded struct{ wait time.Duration }

func (e *crowded) Error() string { return "too many sign-ins at once" }

// turn waits until fewer passphrases are hashed.
func (h *hasher) turn(ctx context.Context) (done func(), err error) {
	select {
	case h.waiting <- struct{}{}:
		defer func() { <-h.waiting }()
	default:
		h.mu.Lock()
		defer h.mu.Unlock()
		wait := h.mean.Seconds() * mostWaiting / float64(cap(h.turns))
		return nil, &crowded{time.Duration(math.Ceil(max(1, wait))) * time.Second}
	}
	select {
	case h.turns <- struct{}{}:
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	start := time.Now()
	return func() {
		<-h.turns
		h.mu.Lock()
		defer h.mu.Unlock()
		h.mean = (7*h.mean + time.Since(start)) / 8
	}, nil
}

// make hashes a passphrase for keeping.
func (h *hasher) make(ctx context.Context, passphrase string) (string, error) {
	done, err := h.turn(ctx)
	if err != nil {
		return "", err
	}
	defer done()
	h.hashed()
	salt := draw(saltBytes)
	return usualCost.write(salt, usualCost.hash(passphrase, salt, hashBytes)), nil
}

// check reports whether a passphrase is the one that was hashed. With "", where there is none to know, it takes as
// long and is wrong.
func (h *hasher) check(ctx context.Context, passphrase, kept string) (bool, error) {
	if kept == "" {
		kept = h.nobodys
	}
	c, salt, want, err := readHash(kept)
	if err != nil {
		return false, err
	}
	done, err := h.turn(ctx)
	if err != nil {
		return false, err
	}
	defer done()
	h.hashed()
	return subtle.ConstantTimeCompare(c.hash(passphrase, salt, len(want)), want) == 1, nil
}

func (c cost) hash(passphrase string, salt []byte, bytes int) []byte {
	return argon2.IDKey([]byte(passphrase), salt, c.times, c.memory, c.lanes, uint32(bytes))
}

// The form in which hashes are kept is that of the PHC string format: they say themselves how they were made.
const phc = "$argon2id$v=%d$m=%d,t=%d,p=%d$%s"

var inPHC = base64.RawStdEncoding

func (c cost) write(salt, sum []byte) string {
	return fmt.Sprintf(phc, argon2.Version, c.memory, c.times, c.lanes, inPHC.EncodeToString(salt)+"$"+inPHC.EncodeToString(sum))
}

var errUnreadable = errors.New("a passphrase is kept in a form that this program does not know; let its owner set a new one")

func readHash(kept string) (c cost, salt, sum []byte, err error) {
	var version int
	var rest string
	if _, err := fmt.Sscanf(kept, phc, &version, &c.memory, &c.times, &c.lanes, &rest); err != nil || version != argon2.Version {
		return c, nil, nil, errUnreadable
	}
	before, after, _ := strings.Cut(rest, "$")
	salt, err = inPHC.DecodeString(before)
	if err == nil {
		sum, err = inPHC.DecodeString(after)
	}
	if err != nil || len(sum) == 0 || c.times == 0 || c.lanes == 0 {
		return c, nil, nil, errUnreadable
	}
	return c, salt, sum, nil
}
