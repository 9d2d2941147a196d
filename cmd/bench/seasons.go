package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"

	"rigtally/web"
)

const (
	seasonPage    = "/season"
	seasonRounds  = 9
	clients       = 64
	mostOfClients = 500 << 20 // bytes
)

// seasons times the first view of a season after something was written, and asks for it by many
// clients at once.
func (b *bench) seasons(ctx context.Context) error {
	for _, j := range []struct {
		database string
		stints   int
		most     time.Duration
	}{{"stints_1000", 1_000, 50 * time.Millisecond}, {large, largeStints, 500 * time.Millisecond}} {
		stints, err := b.invent(ctx, j.database, j.stints)
		if err != nil {
			return err
		}
		if err := b.firstViews(ctx, j.database, stints, j.most); err != nil {
			return err
		}
	}
	return b.manyClients(ctx)
}

func (b *bench) firstViews(ctx context.Context, database string, stints int, most time.Duration) error {
	store, err := b.open(ctx, database)
	if err != nil {
		return err
	}
	defer store.Close()
	server, err := web.New(store, web.Options{})
	if err != nil {
		return err
	}
	handler := server.Handler()
	last, err := store.LastSession(ctx)
	if err != nil {
		return err
	}
	var processor timed
	view := func() error { return ask(handler, seasonPage, nil) }
	times, err := inTurn(1, seasonRounds,
		func() error { return saveAgain(ctx, store, last) },
		func() error {
			before := processorTime()
			err := view()
			processor = append(processor, processorTime()-before)
			return err
		},
		view)
	if err != nil {
		return err
	}
	first, kept := times[1], times[2]
	processor = processor[1:] // as the first round does not count
	fmt.Printf("\nThe first view of a season after a session was saved, among %d stints\n  first     %s, of processors %s\n  again     %s: %.0f times as fast\n  aim       %s; %s\n",
		stints, first, processor, kept, first.median().Seconds()/kept.median().Seconds(), most, metOrMissed(first.median() <= most))
	return nil
}

// manyClients asks a server of its own, which has computed nothing yet, for one page by many clients at once.
func (b *bench) manyClients(ctx context.Context) error {
	cmd := exec.CommandContext(ctx, b.program, "serve", "--port", "0", "--database-url", b.server.ProgramURL(large))
	cmd.Env = append(os.Environ(), "RIGTALLY_NO_BROWSER=1")
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	defer func() { _ = cmd.Process.Kill(); _ = cmd.Wait() }()
	address, err := addressIn(out)
	if err != nil {
		return err
	}
	start := time.Now()
	var wait sync.WaitGroup
	answers := make([]int, clients)
	for i := range clients {
		wait.Go(func() {
			r, err := http.Get(address + seasonPage)
			if err == nil {
				_, _ = io.Copy(io.Discard, r.Body)
				r.Body.Close()
				answers[i] = r.StatusCode
			}
		})
	}
	wait.Wait()
	took := time.Since(start)
	ok := 0
	for _, status := range answers {
		if status == http.StatusOK {
			ok++
		}
	}
	peak, err := peakMemory(cmd.Process.Pid)
	if err != nil {
		return err
	}
	fmt.Printf("\n%d clients at once on a cold season among %d stints: %d answered in %s\n  memory at its highest %d MB\n  aim       under %d MB; %s\n",
		clients, b.stints[large], ok, round(took), peak>>20, mostOfClients>>20, metOrMissed(peak < mostOfClients && ok == clients))
	return nil
}

// addressIn finds the address that serve prints.
func addressIn(out io.Reader) (string, error) {
	address := regexp.MustCompile(`http://[0-9a-z.:]+`)
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if found := address.FindString(lines.Text()); found != "" {
			go func() { _, _ = io.Copy(io.Discard, out) }()
			return found, nil
		}
	}
	return "", fmt.Errorf("serve printed no address")
}

// peakMemory is the most memory that a process has held, on Linux.
func peakMemory(pid int) (int, error) {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0, fmt.Errorf("read how much memory was held: %w", err)
	}
	for line := range strings.Lines(string(status)) {
		if kb, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			n, err := strconv.Atoi(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(kb), "kB")))
			return n << 10, err
		}
	}
	return 0, fmt.Errorf("the system does not tell how much memory was held")
}
