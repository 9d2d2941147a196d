package pgserver

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// How long the children of a killed server may take to end by themselves, and how long to wait for a server that
// says it is ready to answer.
const (
	orphanGrace = 2 * time.Second
	answerLimit = 10 * time.Second
)

// ensureRunning starts the server unless it runs. The caller holds start.lock, so that nobody else of us starts or
// stops it meanwhile. p is nil and took 0 if it was running already.
func ensureRunning(ctx context.Context, cfg Config, f folder) (p *process, took time.Duration, err error) {
	begin := time.Now()
	for {
		lock, err := openLock(f.serverLock())
		if err != nil {
			return nil, 0, err
		}
		free, err := tryLock(lock, exclusive)
		pm, found := readPostmaster(f.cluster())
		alive := found && pm.alive(f.cluster())
		if err == nil && free && !alive {
			p, took, err = startServer(ctx, cfg, f, lock)
			return p, took, errors.Join(err, lock.Close())
		}
		if err = errors.Join(err, lock.Close()); err != nil {
			return nil, 0, err
		}
		switch waited := time.Since(begin); {
		case alive && pm.status == "ready" && answers(ctx, pm):
			return nil, 0, nil
		case alive && pm.status == "ready" && waited > answerLimit:
			return nil, 0, fmt.Errorf("PostgreSQL runs (process %d) but does not answer at %s; stop it with \"rigtally database stop\" and try again; its log is %s",
				pm.pid, socketFile(pm.socketDir), f.log())
		case !alive:
			if err := clearOrphans(f, waited); err != nil {
				return nil, 0, err
			}
		}
		if err := pause(ctx, pollEvery, "waiting for PostgreSQL"); err != nil {
			return nil, 0, err
		}
	}
}

// clearOrphans ends the children of a killed server that are still there after a while. They work on for a server
// that is gone, and keep the next one from starting.
func clearOrphans(f folder, waited time.Duration) error {
	if waited < orphanGrace {
		return nil
	}
	for _, pid := range orphans(f.cluster()) {
		if err := syscall.Kill(pid, syscall.SIGKILL); err != nil && !errors.Is(err, syscall.ESRCH) {
			return fmt.Errorf("ending process %d that a killed PostgreSQL left behind: %w", pid, err)
		}
	}
	if waited > 10*orphanGrace {
		return fmt.Errorf("processes of a killed PostgreSQL still hold the cluster %s; end them and try again", f.cluster())
	}
	return nil
}

// startServer makes the cluster if there is none and starts the server, which inherits the locked file.
func startServer(ctx context.Context, cfg Config, f folder, lock *os.File) (*process, time.Duration, error) {
	major, err := clusterMajor(f)
	if err != nil {
		return nil, 0, err
	}
	acct, err := serverAccount(f)
	if err != nil {
		return nil, 0, err
	}
	if err := acct.admit(f); err != nil {
		return nil, 0, err
	}
	programs, err := findBinaries(cfg, major)
	if err != nil {
		return nil, 0, err
	}
	if programs, err = reachable(f, programs, acct); err != nil {
		return nil, 0, err
	}
	if major == 0 {
		cfg.note("Making the journal's database in %s (PostgreSQL %d).", f.dir, programs.major)
		if err := initCluster(ctx, f, programs, acct, cfg.initdb); err != nil {
			return nil, 0, err
		}
	}
	return run(ctx, cfg, f, programs, acct, lock)
}

func run(ctx context.Context, cfg Config, f folder, programs binaries, acct account, lock *os.File) (*process, time.Duration, error) {
	clearStale(f)
	sockets, err := socketDir(f, acct)
	if err != nil {
		return nil, 0, err
	}
	if err := trimServerLog(f); err != nil {
		return nil, 0, explain(err, f.dir)
	}
	begin := time.Now()
	p, log, err := launch(f, programs, acct, sockets, cfg, lock)
	if err != nil {
		return nil, 0, err
	}
	defer log.Close()
	if err := p.awaitReady(ctx, f, log); err != nil {
		p.kill()
		return nil, 0, err
	}
	return p, time.Since(begin), nil
}

// clearStale removes what a killed server left. PostgreSQL does so too, but refuses to start if the number of the
// dead process was given to another one of the same user. We know better: nobody holds server.lock.
func clearStale(f folder) {
	if pm, found := readPostmaster(f.cluster()); found {
		removeSockets(f, pm.socketDir)
		_ = os.Remove(filepath.Join(f.cluster(), "postmaster.pid"))
	}
}

// stopServer shuts the server down and waits until nothing of it is left. The caller holds start.lock. It works for
// a server that another process started, too.
func stopServer(ctx context.Context, f folder, signal syscall.Signal) error {
	begin := time.Now()
	var last postmaster
	for {
		pm, found := readPostmaster(f.cluster())
		alive := found && pm.alive(f.cluster())
		switch {
		case alive && pm.pid != last.pid:
			if err := syscall.Kill(pm.pid, signal); err != nil && !errors.Is(err, syscall.ESRCH) {
				return fmt.Errorf("stopping PostgreSQL (process %d): %w", pm.pid, err)
			}
			last = pm
		case alive:
			begin = time.Now()
		default:
			free, err := serverLockFree(f)
			if err != nil {
				return err
			}
			if free {
				if last.socketDir != "" {
					removeSockets(f, last.socketDir)
				}
				return nil
			}
			if err := clearOrphans(f, time.Since(begin)); err != nil {
				return err
			}
		}
		if err := pause(ctx, pollEvery, "waiting for PostgreSQL to stop"); err != nil {
			return err
		}
	}
}

// serverLockFree reports whether no process of the server lives.
func serverLockFree(f folder) (bool, error) {
	lock, err := openLock(f.serverLock())
	if err != nil {
		return false, err
	}
	defer lock.Close()
	return tryLock(lock, exclusive)
}
