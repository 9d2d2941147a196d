//go:build linux

package faults_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// member is a process of the tree: the program, or something of its PostgreSQL.
type member struct {
	pid  int
	role string
	line string // its command line
}

// Roles of processes. Whatever else PostgreSQL runs is a helper: checkpointer, walwriter, initdb and its like.
const (
	program    = "the program"
	postmaster = "the postmaster"
	backend    = "a backend"
	helper     = "a helper"
)

// everything is killed at once, as by a power cut, though what was written stays in the system's memory.
const everything = "everything"

var victims = []string{program, postmaster, backend, helper, everything}

// tree lists the processes that work in the folder, which the dead do not.
func (f *folder) tree() []member {
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return nil
	}
	var found []member
	for _, e := range entries {
		pid, err := strconv.Atoi(e.Name())
		if err != nil || pid == os.Getpid() {
			continue
		}
		proc := filepath.Join("/proc", e.Name())
		raw, _ := os.ReadFile(filepath.Join(proc, "cmdline")) // gone meanwhile, or not ours to read
		cwd, _ := os.Readlink(filepath.Join(proc, "cwd"))
		line := strings.TrimSpace(strings.ReplaceAll(string(raw), "\x00", " "))
		if strings.HasPrefix(cwd, f.data) || strings.Contains(line, f.data) {
			found = append(found, member{pid, roleOf(line), line})
			continue
		}
		environ, _ := os.ReadFile(filepath.Join(proc, "environ"))
		if slices.Contains(strings.Split(string(environ), "\x00"), "RIGTALLY_DATA_DIR="+f.data) {
			found = append(found, member{pid, roleOf(line), line})
		}
	}
	return found
}

func roleOf(line string) string {
	name, _, _ := strings.Cut(line, " ")
	switch {
	case strings.HasPrefix(line, "postgres: ") && strings.Contains(line, "[local]"):
		return backend
	case filepath.Base(name) == "postgres" && strings.Contains(line, " -c listen_addresses="):
		return postmaster
	case filepath.Base(name) == "rigtally":
		return program
	}
	return helper
}

// list is the tree as text.
func (f *folder) list() string {
	var text strings.Builder
	for _, m := range f.tree() {
		fmt.Fprintf(&text, "%d %s: %s\n", m.pid, m.role, m.line)
	}
	return text.String()
}

// killAll ends the whole tree.
func (f *folder) killAll() {
	for range 5 { // what is being started meanwhile is seen the next time
		all := f.tree()
		for _, signal := range []syscall.Signal{syscall.SIGSTOP, syscall.SIGKILL} {
			for _, m := range all {
				_ = syscall.Kill(m.pid, signal) // gone already, at best
			}
		}
		if len(all) == 0 {
			return
		}
	}
}

// kill kills something of the tree, and says what.
func (r *round) kill() string {
	what := victims[r.rand.IntN(len(victims))]
	which := r.rand.Uint64()
	r.mu.Lock()
	r.struck = append(r.struck, time.Now())
	r.mu.Unlock()
	if what == everything {
		killed := r.list()
		r.killAll()
		r.note("killed everything:\n%s", killed)
		return what
	}
	all := r.tree()
	fit := slices.DeleteFunc(slices.Clone(all), func(m member) bool { return m.role != what })
	if len(fit) == 0 {
		fit = all // what is there
	}
	if len(fit) == 0 {
		r.note("there was nothing to kill")
		return "nothing, since it was over"
	}
	m := fit[which%uint64(len(fit))]
	if err := syscall.Kill(m.pid, syscall.SIGKILL); err != nil {
		r.note("%s was over: %v", m.role, err)
		return "nothing, since it was over"
	}
	r.note("killed %s, process %d: %s", m.role, m.pid, m.line)
	return m.role
}

// moment waits for a random part of how long something takes, and a little beyond.
func (r *round) moment(of time.Duration) {
	time.Sleep(time.Duration(r.rand.Float64() * 1.1 * float64(of)))
}
