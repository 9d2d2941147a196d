//go:build linux

// Package faults_test runs the real program in a data folder of its own, kills whatever of it at random moments, fills
// its disk, and looks whether anything was lost, doubled or left behind.
package faults_test

import (
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

var (
	kills   = flag.Int("kills", 0, "rounds of TestKills, in each of which processes are killed (default: a few, of the kinds whose turn it is by the clock)")
	fills   = flag.Int("fills", 0, "rounds of TestFullDisk, in each of which the disk fills up (default: one; as root on Linux)")
	seed    = flag.Uint64("seed", 0, "number of the first round, which decides what it does; one that failed is played again by its own (default: by the clock)")
	only    = flag.String("kind", "", "do rounds of this kind alone")
	promise = flag.Duration("limit", time.Minute, "the longest that a command may take after a fault; 10s is promised where the machine does nothing else")
)

func TestMain(m *testing.M) {
	code := m.Run()
	if err := remove(); err != nil {
		fmt.Fprintln(os.Stderr, "removing what the rounds began from:", err)
		code = max(code, 1)
	}
	os.Exit(code)
}

// kind is a kind of round: what is going on when something is killed, and what must hold then.
type kind struct {
	name string
	from string // the data folder that it begins from
	do   func(*round)
}

// round is one of them. Its number alone decides what it does, and when, to the precision of a clock.
type round struct {
	*testing.T
	*folder
	kind   string
	number uint64
	rand   *rand.Rand
	begun  time.Time

	mu     sync.Mutex
	struck []time.Time // when something was killed
}

// note logs what happens, which is shown of a round that fails.
func (r *round) note(format string, args ...any) {
	r.Helper()
	r.Logf("%7.3f  %s", time.Since(r.begun).Seconds(), fmt.Sprintf(format, args...))
}

// killedSince reports whether something was killed since a moment.
func (r *round) killedSince(t time.Time) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return len(r.struck) > 0 && r.struck[len(r.struck)-1].After(t)
}

// rounds does some rounds of some kinds, as many at once as -parallel says.
func rounds(t *testing.T, n int, kinds []kind, make func(*testing.T, string) *folder) {
	t.Helper()
	if *only != "" {
		kinds = slices.DeleteFunc(slices.Clone(kinds), func(k kind) bool { return k.name != *only })
		if len(kinds) == 0 {
			t.Skipf("no rounds of kind %q here", *only)
		}
	}
	if _, err := built(); err != nil {
		t.Fatal(err)
	}
	first := *seed
	if first == 0 {
		first = uint64(time.Now().UnixMilli())
	}
	t.Logf("rounds %d to %d", first, first+uint64(n)-1)
	for number := first; number < first+uint64(n); number++ {
		k := kinds[number%uint64(len(kinds))]
		t.Run(fmt.Sprintf("%s-%d", k.name, number), func(t *testing.T) {
			t.Parallel()
			r := &round{T: t, kind: k.name, number: number, rand: rand.New(rand.NewPCG(number, 0)), begun: time.Now(), folder: make(t, k.from)}
			t.Cleanup(func() {
				if t.Failed() {
					t.Logf("to play it again: -run %s -seed %d, and -kind %s if that was given", strings.SplitN(t.Name(), "/", 2)[0], number, k.name)
				}
			})
			k.do(r)
		})
	}
}

// tally counts what rounds came to.
type tally struct {
	mu     sync.Mutex
	counts map[string]int
	times  map[string][]time.Duration
}

func (y *tally) count(what string) { y.add(what, 1) }

func (y *tally) add(what string, n int) {
	y.mu.Lock()
	defer y.mu.Unlock()
	if y.counts == nil {
		y.counts = map[string]int{}
	}
	y.counts[what] += n
}

func (y *tally) took(what string, d time.Duration) {
	y.mu.Lock()
	defer y.mu.Unlock()
	if y.times == nil {
		y.times = map[string][]time.Duration{}
	}
	y.times[what] = append(y.times[what], d)
}

func (y *tally) String() string {
	y.mu.Lock()
	defer y.mu.Unlock()
	var text strings.Builder
	for _, what := range slices.Sorted(maps.Keys(y.counts)) {
		fmt.Fprintf(&text, "\n%7d  %s", y.counts[what], what)
	}
	for _, what := range slices.Sorted(maps.Keys(y.times)) {
		d := slices.Sorted(slices.Values(y.times[what]))
		fmt.Fprintf(&text, "\n%s: median %.2f s, longest %.2f s of %d", what, d[len(d)/2].Seconds(), d[len(d)-1].Seconds(), len(d))
	}
	return text.String()
}

// built is the program, built once.
var built = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "rigtally-built-")
	if err != nil {
		return "", err
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		return dir, err
	}
	program := filepath.Join(dir, "rigtally")
	if out, err := exec.Command("go", "build", "-buildvcs=false", "-o", program, "rigtally/cmd/rigtally").CombinedOutput(); err != nil {
		return program, fmt.Errorf("building the program: %w\n%s", err, out)
	}
	return program, nil
})
