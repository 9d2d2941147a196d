//go:build unix

package pgserver

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
)

// Status describes a private cluster.
type Status struct {
	DataDir   string // the data folder
	Cluster   string // the folder with PostgreSQL's own files
	Log       string // the server's log
	Major     int    // PostgreSQL's major version; 0 before the cluster is made
	Running   bool
	PID       int    // of the server; 0 if it does not run
	SocketDir string // the folder of its socket; empty if it does not run

	port int
}

// URL is the address of a database for its superuser; empty if the server does not run.
func (s Status) URL(database string) string {
	if !s.Running {
		return ""
	}
	return socketURL(s.SocketDir, s.port, Superuser, database)
}

// Inspect tells where a cluster is and whether it runs. It changes nothing, and a folder that does not exist is
// no error.
func Inspect(cfg Config) (Status, error) {
	dir, err := resolve(cfg.DataDir)
	if err != nil {
		return Status{}, err
	}
	f := folder{dir}
	s := Status{DataDir: dir, Cluster: f.cluster(), Log: f.log()}
	if known, err := ours(f); err != nil || !known {
		return s, err
	}
	if s.Major, err = clusterMajor(f); err != nil {
		return s, err
	}
	if pm, found := readPostmaster(f.cluster()); found && pm.alive(f.cluster()) {
		s.Running, s.PID, s.SocketDir, s.port = true, pm.pid, pm.socketDir, pm.port
	}
	return s, nil
}

// ours reports whether the data folder exists and is rigtally's. An empty one is not yet.
func ours(f folder) (bool, error) {
	if _, err := os.Stat(f.dir); errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return inspect(f.dir)
}

// Start makes the cluster and the databases if need be, starts the server, and leaves it running after this process
// ends and after its last user leaves, until Stop or the end of the machine's uptime.
func Start(ctx context.Context, cfg Config, databases ...string) (Status, error) {
	s, err := Acquire(ctx, cfg)
	if err != nil {
		return Status{}, err
	}
	for _, name := range databases {
		if err == nil {
			err = s.EnsureDatabase(ctx, name)
		}
	}
	if err == nil {
		err = keepRunning(s.folder, s.at)
	}
	if err := errors.Join(err, s.Release(context.WithoutCancel(ctx))); err != nil {
		return Status{}, err
	}
	return Inspect(cfg)
}

// Stop stops the server. One that does not run is no error; one that a process uses is ErrInUse, and then stops
// when its last user leaves, even if Start began it.
func Stop(ctx context.Context, cfg Config) error {
	dir, err := resolve(cfg.DataDir)
	if err != nil {
		return err
	}
	f := folder{dir}
	if known, err := ours(f); err != nil || !known {
		return err
	}
	start, err := lockFile(ctx, cfg, f.startLock(), exclusive)
	if err != nil {
		return err
	}
	defer start.Close()
	if err := os.Remove(f.keep()); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return explain(err, f.dir)
	}
	users, err := openLock(f.usersLock())
	if err != nil {
		return err
	}
	defer users.Close()
	last, err := tryLock(users, exclusive)
	if err != nil {
		return err
	}
	if !last {
		return fmt.Errorf("%w: another rigtally works with %s (perhaps \"rigtally serve\"); close it, and its database stops by itself", ErrInUse, f.dir)
	}
	return stopServer(ctx, cfg, f, orderly())
}

// identity tells one run of the server from another.
func (p postmaster) identity() string { return fmt.Sprintf("%d %s\n", p.pid, p.started) }

// keptRunning reports whether Start asked for this run of the server to be left running.
func keptRunning(f folder, pm postmaster) bool {
	raw, err := os.ReadFile(f.keep())
	return err == nil && strings.TrimSpace(string(raw)) == strings.TrimSpace(pm.identity())
}

// keepRunning leaves a mark for keptRunning.
func keepRunning(f folder, pm postmaster) error {
	if err := os.WriteFile(f.keep(), []byte(pm.identity()), 0o600); err != nil {
		return explain(err, f.dir)
	}
	return nil
}
