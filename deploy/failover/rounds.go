//go:build linux

package main

import (
	"context"
	"fmt"
	"maps"
	"strconv"
	"strings"
	"syscall"
	"time"

	"rigtally/journal"
)

// What happens to the primary.
const (
	killPostgres = "postgres" // PostgreSQL's first process is killed; its machine stays
	killNode     = "node"     // everything on the machine is killed
	stopPostgres = "stopped"  // PostgreSQL is stopped, and answers nobody
	cutOff       = "cut-off"  // the machine's cable is pulled
)

// round is what came of one.
type round struct {
	kind                        string
	next                        time.Duration // until a save that was sent since was answered for
	well                        time.Duration // until all three machines were well again
	acknowledged, lost, doubled int           // since the first round
}

const nextWithin = 3 * time.Minute

// play does something to the primary, waits for the next save, undoes it, waits until all is well, and counts.
func (c *cluster) play(ctx context.Context, kind string, p *phones) (round, error) {
	r := round{kind: kind}
	primary, err := c.well(ctx)
	if err != nil {
		return r, err
	}
	undo, err := primary.befall(ctx, kind)
	moment := time.Now()
	if err != nil {
		return r, fmt.Errorf("%s on %s: %w", kind, primary.name(), err)
	}
	err = until(ctx, nextWithin, "the next save", func() error {
		if r.next = p.after(moment); r.next == 0 {
			return fmt.Errorf("none in %v", time.Since(moment).Round(time.Second))
		}
		return nil
	})
	if err != nil {
		return r, err
	}
	rest(ctx, 2*time.Second) // with two machines
	if err := undo(); err != nil {
		return r, fmt.Errorf("bring %s back: %w", primary.name(), err)
	}
	if primary, err = c.well(ctx); err != nil {
		return r, err
	}
	r.well = time.Since(moment)
	r.acknowledged, r.lost, r.doubled, err = c.count(ctx, primary, p)
	return r, err
}

// befall does one thing to a machine and returns how it is undone.
func (n *node) befall(ctx context.Context, kind string) (undo func() error, err error) {
	switch kind {
	case killNode:
		return n.start, n.kill(ctx)
	case cutOff:
		cable := func(state string) error {
			_, err := command(context.WithoutCancel(ctx), "ip", "link", "set", n.link, state)
			return err
		}
		return func() error { return cable("up") }, cable("down")
	}
	pids, err := n.postgres(ctx)
	if err != nil {
		return nil, err
	}
	if kind == killPostgres {
		return func() error { return nil }, syscall.Kill(pids[0], syscall.SIGKILL)
	}
	for _, pid := range pids {
		_ = syscall.Kill(pid, syscall.SIGSTOP) // one that has ended meanwhile is no failure
	}
	return func() error {
		for _, pid := range pids {
			_ = syscall.Kill(pid, syscall.SIGCONT)
		}
		return nil
	}, nil
}

// count holds what the phones were answered for against what the primary's tables have.
func (c *cluster) count(ctx context.Context, primary *node, p *phones) (acknowledged, lost, doubled int, err error) {
	p.mu.Lock()
	saved := maps.Clone(p.saved)
	p.mu.Unlock()
	out, err := primary.psql(ctx, c.bin, "rigtally", "-c", `SELECT s.id, s.notes, (SELECT count(*) FROM stint t WHERE t.outfit_id = s.outfit_id AND t.session_id = s.id),
		(SELECT count(*) FROM session_change h WHERE h.outfit_id = s.outfit_id AND h.session_id = s.id), s.version FROM session s`)
	if err != nil {
		return 0, 0, 0, err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	found, notes := map[journal.ID]string{}, map[string]bool{}
	for line := range strings.Lines(out) {
		field := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		id, err := journal.ParseID(field[0])
		if err != nil || len(field) != 5 {
			return 0, 0, 0, fmt.Errorf("the tables hold %q", line)
		}
		if !p.sent[id] || notes[field[1]] || field[2] != "1" || field[3] != "1" || field[4] != "1" {
			doubled++
		}
		found[id], notes[field[1]] = field[1], true
	}
	for id, s := range saved {
		if found[id] != s.notes {
			lost++
		}
	}
	return len(saved), lost, doubled, nil
}

// String is a line of the report.
func (r round) String() string {
	return fmt.Sprintf("%-9s next save %5.1f s, three machines well %6.1f s, acknowledged %6s, lost %d, double %d", r.kind, r.next.Seconds(), r.well.Seconds(), strconv.Itoa(r.acknowledged), r.lost, r.doubled)
}
