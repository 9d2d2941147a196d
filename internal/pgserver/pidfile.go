//go:build unix

package pgserver

import (
	"encoding/binary"
	"io"
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

// States of a cluster, DBState in PostgreSQL's source file catalog/pg_control.h.
const (
	shutDown     = 1
	shuttingDown = 3
)

// clusterState is what a cluster's control file says of its server. It stands after an identifier of 8 bytes and two
// version numbers of 4.
func clusterState(cluster string) (uint32, error) {
	control, err := os.Open(filepath.Join(cluster, "global", "pg_control"))
	if err != nil {
		return 0, err
	}
	defer control.Close()
	var head [20]byte
	if _, err := io.ReadFull(control, head[:]); err != nil {
		return 0, err
	}
	return binary.NativeEndian.Uint32(head[16:]), nil
}

// writingOut reports whether the server in the cluster writes out what it has in memory, to end after that, or has
// done so. Of a file that can't be read the best is believed.
func writingOut(cluster string) bool {
	state, err := clusterState(cluster)
	return err != nil || state == shuttingDown || state == shutDown
}
