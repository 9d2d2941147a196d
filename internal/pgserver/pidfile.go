package pgserver

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// postmaster is what a server says about itself in the file postmaster.pid of its cluster. It may be stale.
type postmaster struct {
	pid       int
	started   string // seconds since 1970, as written
	port      int
	socketDir string
	status    string // starting, ready, stopping, standby
}

// readPostmaster reads postmaster.pid, whose lines PostgreSQL's source names in miscadmin.h: process, data folder,
// start time, port, socket folder, address, shared memory, status. ok is false if there is none or it is incomplete.
func readPostmaster(cluster string) (p postmaster, ok bool) {
	raw, err := os.ReadFile(filepath.Join(cluster, "postmaster.pid"))
	if err != nil {
		return postmaster{}, false
	}
	lines := strings.Split(string(raw), "\n")
	if p.pid, err = strconv.Atoi(strings.TrimSpace(lines[0])); err != nil || p.pid <= 1 {
		return postmaster{}, false
	}
	line := func(n int) string {
		if n > len(lines) {
			return ""
		}
		return strings.TrimRight(lines[n-1], " ")
	}
	p.started, p.socketDir, p.status = line(3), line(5), line(8)
	p.port, _ = strconv.Atoi(line(4)) // absent while the server starts
	return p, true
}

// alive reports whether the process that postmaster.pid names is a PostgreSQL that works in this cluster, and not
// one that was given the same number later.
func (p postmaster) alive(cluster string) bool { return worksIn(p.pid, cluster) }
