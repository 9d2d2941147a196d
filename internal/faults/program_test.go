//go:build linux

package faults_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

// process is the program at work.
type process struct {
	cmd   *exec.Cmd
	args  string
	begun time.Time
	ended chan struct{} // closed when it has

	mu  sync.Mutex
	out bytes.Buffer // what it says, errors too
	err error        // how it ended; read after ended
	at  time.Time    // when; read after ended
}

func (p *process) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.out.Write(b)
}

func (p *process) said() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.out.String()
}

// start starts the program in the round's folder.
func (r *round) start(args ...string) *process {
	r.Helper()
	program, _ := built() // or there would be no round
	cmd := exec.Command(program, args...)
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), "HOME=" + r.home, "RIGTALLY_DATA_DIR=" + r.data, "RIGTALLY_NO_BROWSER=1", "PORT=0", "COLUMNS=0", "TZ=UTC"}
	cmd.Dir = projectFolder() // where "make postgres" may have put a PostgreSQL
	cmd.WaitDelay = 5 * time.Second
	p := &process{cmd: cmd, args: strings.Join(args, " "), ended: make(chan struct{}), begun: time.Now()}
	cmd.Stdout, cmd.Stderr = p, p
	if err := cmd.Start(); err != nil {
		p.err, p.at = err, time.Now()
		close(p.ended)
		return p
	}
	go func() {
		p.err, p.at = cmd.Wait(), time.Now()
		close(p.ended)
	}()
	r.note("%s begins (process %d)", p.args, cmd.Process.Pid)
	return p
}

// hasEnded reports whether the process has.
func (p *process) hasEnded() bool {
	select {
	case <-p.ended:
		return true
	default:
		return false
	}
}

// wait waits for the end, which must come within the limit, and reports whether the program did what was asked. A panic
// is a fault always.
func (r *round) wait(p *process) (done bool) {
	r.Helper()
	ctx, cancel := context.WithTimeout(r.Context(), *promise)
	defer cancel()
	select {
	case <-p.ended:
	case <-ctx.Done():
		r.Errorf("%s hangs: it has not ended within %s. It said:\n%s\nProcesses:\n%s\nServer log:\n%s", p.args, *promise, p.said(), r.list(), r.serverLog())
		r.killAll()
		<-p.ended
		r.FailNow()
	}
	return r.end(p)
}

// end tells how a process ended.
func (r *round) end(p *process) (done bool) {
	r.Helper()
	how := "well"
	var exit *exec.ExitError
	if errors.As(p.err, &exit) {
		how = exit.String() + ": " + lastLines(p.said(), 3)
	} else if p.err != nil {
		how = p.err.Error()
	}
	r.note("%s ended %s, after %.2f s", p.args, how, p.at.Sub(p.begun).Seconds())
	if said := p.said(); strings.Contains(said, "panic:") || strings.Contains(said, "goroutine ") {
		r.Errorf("%s panicked:\n%s", p.args, said)
	}
	return p.err == nil
}

// must runs a command that has to do what is asked, within the limit, and returns what it says.
func (r *round) must(args ...string) string {
	r.Helper()
	p := r.start(args...)
	if !r.wait(p) {
		r.Fatalf("%s failed: %v\n%s\nServer log:\n%s", p.args, p.err, p.said(), r.serverLog())
	}
	return p.said()
}

// serverLog is the end of the server's log.
func (r *round) serverLog() string {
	text, _ := os.ReadFile(filepath.Join(r.data, "server.log"))
	return lastLines(string(text), 30)
}

func lastLines(text string, n int) string {
	all := strings.Split(strings.TrimSpace(text), "\n")
	return strings.Join(all[max(0, len(all)-n):], "\n")
}

func projectFolder() string {
	dir, err := filepath.Abs(filepath.Join("..", ".."))
	if err != nil {
		return "."
	}
	return dir
}
