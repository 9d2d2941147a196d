//go:build linux

package faults_test

import (
	"sync"
	"testing"
	"time"
)

// killKinds are what something is killed in the middle of.
var killKinds = []kind{
	{"saving", fromUsed, (*round).saving},
	{"importing", fromUsed, (*round).importing},
	{"restoring", fromNothing, (*round).restoring},
	{"exporting", fromUsed, (*round).exporting},
	{"migrating", fromOld, (*round).migrating},
	{"first-start", fromNothing, (*round).firstStart},
	{"backing-up", fromUsed, (*round).backingUp},
	{"bringing-back", fromUsed, (*round).bringingBack},
	{"upgrading", fromUsed, (*round).upgrading},
}

// came is what the rounds of TestKills came to.
var came tally

// Ensure that whatever is killed, whenever, the next command works in time, what was acknowledged is there exactly once
// and as it was sent, a file is in whole or not at all, and nothing is left behind.
// go test ./internal/faults -run TestKills -kills 1000 -limit 10s -timeout 3h -v
func TestKills(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("a minute of processes")
	}
	n := *kills
	if n == 0 {
		n = 4 // 20 s of processors, with TestFullDisk
	}
	t.Run("rounds", func(t *testing.T) { rounds(t, n, killKinds, newFolder) })
	t.Log(came.String())
}

// spans are how long the commands take that are killed, undisturbed, so that kills fall all over them.
var spans sync.Map

func spanOf(what string) time.Duration {
	if d, known := spans.Load(what); known {
		return d.(time.Duration)
	}
	return time.Second
}

// strike begins a command, kills something at a random moment of it, and reports whether the command did what was
// asked all the same.
func (r *round) strike(what string, args ...string) (p *process, done bool) {
	r.Helper()
	p = r.start(args...)
	r.moment(spanOf(what))
	over := p.hasEnded()
	killed := r.kill()
	if !over {
		came.count(r.kind + ": killed " + killed)
	} else {
		came.count(r.kind + ": was over")
		spans.Store(what, p.at.Sub(p.begun))
	}
	return p, r.wait(p)
}

// goOn is what a person does next. Now and then that is struck, too.
func (r *round) goOn() {
	r.Helper()
	if r.rand.IntN(4) == 0 {
		r.strike("list", "sessions", "list")
	}
	begun := time.Now()
	r.must("sessions", "list")
	came.took("the next command after "+r.kind, time.Since(begun))
}
