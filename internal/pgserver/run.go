//go:build unix

package pgserver

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
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
		case alive && !cfg.upgrading && f.upgraded():
			// Of an upgrade that was killed: it takes no writes. A living one would hold start.lock.
			return false, stopServer(ctx, cfg, f, orderly())
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
	if !cfg.upgrading {
		if err := settleUpgrade(ctx, f); err != nil {
			return nil, 0, err
		}
	}
	major, err := clusterMajor(f)
	if err != nil {
		return nil, 0, err
	}
	if major == Upgraded && !cfg.past {
		return nil, 0, fmt.Errorf("the journal in %s was made by PostgreSQL %d, and this rigtally works with %d to %d; nothing was changed; "+
			"\"rigtally database upgrade\" brings it into a newer one", f.dir, major, Oldest, Newest)
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
		if err := initCluster(ctx, cfg, f, programs, acct); err != nil {
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
	p, err := launch(f, programs, acct, sockets, cfg, lock)
	if err != nil {
		return nil, 0, err
	}
	defer p.log.Close()
	if err := p.awaitReady(ctx, cfg, f); err != nil {
		// A recovery that takes long would have to begin anew.
		if cfg.attached || !errors.Is(err, errNotReady) {
			p.kill()
		}
		return nil, 0, err
	}
	return p, time.Since(begin), nil
}

// process is a server that this process started.
type process struct {
	pid    int
	exited chan struct{} // closed once it has ended and been waited for
	err    error         // how it ended; read after exited

	log      *os.File // while it starts
	logStart int64    // where its part begins, in bytes
}

// serverSettings are given at each start, so that they hold whatever the cluster's own files say.
func serverSettings(sockets string, extra []string) []string {
	settings := []string{
		"listen_addresses=",
		"port=" + strconv.Itoa(port),
		// A list; the quotes keep a comma in a name from ending an element.
		`unix_socket_directories="` + strings.ReplaceAll(sockets, `"`, `""`) + `"`,
		"unix_socket_permissions=0700",
		"fsync=on",
		"full_page_writes=on",
		"synchronous_commit=on",
		"timezone=UTC",
		"log_timezone=UTC",
		"cluster_name=rigtally",
		"log_destination=stderr",
		"logging_collector=off",
		// The log is for failures of the server. Statements and details hold what people wrote in their journal.
		"log_min_error_statement=panic",
		"log_error_verbosity=terse",
		"log_checkpoints=off",
		// Compiling a query costs more than it saves at the size of a journal.
		"jit=off",
	}
	return append(settings, extra...)
}

// launch starts the server. lock is the open server.lock, locked, which the server inherits and so holds while any
// process of it lives.
func launch(f folder, b binaries, a account, sockets string, cfg Config, lock *os.File) (*process, error) {
	log, err := openServerLog(f)
	if err != nil {
		return nil, err
	}
	args := []string{"-D", f.cluster()}
	for _, s := range serverSettings(sockets, cfg.settings) {
		args = append(args, "-c", s)
	}
	cmd := exec.Command(filepath.Join(b.dir, "postgres"), args...)
	cmd.Dir, cmd.Env, cmd.SysProcAttr = f.dir, serverEnv(), a.sysProcAttr()
	cmd.Stdout, cmd.Stderr, cmd.ExtraFiles = log, log, []*os.File{lock}
	if cfg.attached {
		tieToParent(cmd.SysProcAttr)
	}
	p := &process{exited: make(chan struct{}), log: log}
	if info, err := log.Stat(); err == nil {
		p.logStart = info.Size()
	}
	started := make(chan error)
	go func() {
		// The kernel ties the server to this thread, so the goroutine must keep it until the server has ended.
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		shedPrivileges()
		err := cmd.Start()
		if err == nil {
			p.pid = cmd.Process.Pid
		}
		started <- err
		if err == nil {
			p.err = cmd.Wait()
			close(p.exited)
		}
	}()
	if err := <-started; err != nil {
		log.Close()
		return nil, fmt.Errorf("starting PostgreSQL from %s: %w", b.dir, err)
	}
	return p, nil
}

// awaitReady waits until the server answers. One that must recover from a crash may take long: errNotReady.
func (p *process) awaitReady(ctx context.Context, cfg Config, f folder) error {
	w := cfg.wait("for PostgreSQL to start")
	ready, err := w.until(ctx, func(time.Duration) (bool, error) {
		select {
		case <-p.exited:
			return false, fmt.Errorf("PostgreSQL ended while it started (%v); its log is %s and ends with:\n%s", p.err, f.log(), tailOf(p.log, p.logStart, 12))
		default:
		}
		pm, found := readPostmaster(f.cluster())
		return found && pm.pid == p.pid && pm.status == "ready" && answers(ctx, pm), nil
	})
	if err == nil && !ready {
		err = notReady(f, w.limit)
	}
	return err
}

// answers reports whether the server accepts connections. One that refuses ours for another reason than that it is
// starting or stopping does.
func answers(ctx context.Context, pm postmaster) bool {
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	conn, err := pgconn.Connect(ctx, socketURL(pm.socketDir, pm.port, Superuser, "postgres"))
	if err != nil {
		var refused *pgconn.PgError
		return errors.As(err, &refused) && refused.Code != "57P03" // cannot_connect_now
	}
	_ = conn.Close(ctx)
	return true
}

// kill ends a server that did not come up. Its children, should it not see to them, are left to the next start.
func (p *process) kill() {
	for _, s := range atOnce() {
		_ = syscall.Kill(p.pid, s.signal) // safe at any time, as a crash is
		select {
		case <-p.exited:
			return
		case <-time.After(s.limit):
		}
	}
}
