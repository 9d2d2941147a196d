package pgserver

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"
)

// errNotReady says that a server has been starting for longer than anybody waits.
var errNotReady = errors.New("PostgreSQL is not ready")

// ensureRunning starts the server unless it runs. The caller holds start.lock, so that nobody else of us starts or
// stops it meanwhile. p is nil and took 0 if it was running already.
func ensureRunning(ctx context.Context, cfg Config, f folder) (p *process, took time.Duration, err error) {
	w := cfg.wait("for PostgreSQL to answer")
	ready, err := w.until(ctx, func(waited time.Duration) (bool, error) {
		lock, err := openLock(f.serverLock())
		if err != nil {
			return false, err
		}
		defer lock.Close()
		free, err := tryLock(lock, exclusive)
		if err != nil {
			return false, err
		}
		pm, found := readPostmaster(f.cluster())
		switch alive := found && pm.alive(f.cluster()); {
		case free && !alive:
			p, took, err = startServer(ctx, cfg, f, lock)
			return true, err
		case alive && pm.status == "ready":
			return answers(ctx, pm), nil
		case alive && pm.status == "stopping":
			// Whoever began this is gone: they would hold start.lock.
			return false, stopServer(ctx, cfg, f, orderly())
		case !alive && waited > orphanGrace:
			return false, stopServer(ctx, cfg, f, byForce())
		}
		return false, nil
	})
	if err == nil && !ready {
		err = notReady(f, w.limit)
	}
	return p, took, err
}

func notReady(f folder, limit time.Duration) error {
	return fmt.Errorf("%w after %s; it may be recovering from a crash, and goes on with that by itself, so try again later; "+
		"its log %s tells how far it is; \"rigtally database stop\" ends it", errNotReady, spoken(limit), f.log())
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
	sockets, err := socketDir(cfg, f, acct)
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
	if err := p.awaitReady(ctx, cfg, f, log); err != nil {
		// A recovery that takes long would have to begin anew.
		if cfg.attached || !errors.Is(err, errNotReady) {
			p.kill()
		}
		return nil, 0, err
	}
	return p, time.Since(begin), nil
}
