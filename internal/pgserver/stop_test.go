//go:build unix

package pgserver

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// Ensure that a server of which a helper process died stops at once in whatever state its recovery is, and that
// nothing is lost. PostgreSQL itself stays in between for good when it is told to stop in the middle.
func TestReleasedDuringRecovery(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	rows := 0
	for _, helper := range []string{"checkpointer", "background writer"} {
		for _, stage := range []string{"reinitializing", "automatic recovery", "redo"} {
			s := acquire(t, cfg)
			exec1(t, s, "CREATE TABLE IF NOT EXISTS stint AS SELECT 0 AS id WHERE false")
			exec1(t, s, "INSERT INTO stint SELECT generate_series(1, 50000)")
			rows += 50000
			killHelper(t, s, helper, stage)
			begin := time.Now()
			release(t, s)
			if took := time.Since(begin); took > time.Minute {
				t.Errorf("%s, %s: it took %v", helper, stage, took)
			}
			wantGone(t, s)
		}
	}
	if stored := value[int](t, acquire(t, cfg), "SELECT count(*) FROM stint"); stored != rows {
		t.Errorf("%d rows are there, want %d", stored, rows)
	}
}

// killHelper kills a process of PostgreSQL's own and returns once the log speaks of the stage.
func killHelper(t *testing.T, s *Server, helper, stage string) {
	t.Helper()
	pid := value[int](t, s, fmt.Sprintf("SELECT pid FROM pg_stat_activity WHERE backend_type = '%s'", helper))
	info, err := os.Stat(s.folder.log())
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	eventually(t, "the log to say "+stage, func() bool {
		raw, err := os.ReadFile(s.folder.log())
		return err == nil && strings.Contains(string(raw[min(info.Size(), int64(len(raw))):]), stage)
	})
}

func eventually(t *testing.T, what string, holds func() bool) {
	t.Helper()
	w := wait{limit: 30 * time.Second, what: "for " + what, note: t.Logf}
	if ok, err := w.until(t.Context(), func(time.Duration) (bool, error) { return holds(), nil }); !ok {
		t.Fatalf("waited %s in vain (%v)", w.what, err)
	}
}

// Ensure that a server that an earlier rigtally left in the middle of stopping does not hold up the next command.
func TestLeftStopping(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	for range 3 {
		s := acquire(t, cfg)
		killHelper(t, s, "checkpointer", "automatic recovery")
		if err := syscall.Kill(s.at.pid, syscall.SIGINT); err != nil && !errors.Is(err, syscall.ESRCH) {
			t.Fatal(err)
		}
		next := acquire(t, cfg)
		if n := value[int](t, next, "SELECT 1"); n != 1 {
			t.Error(n)
		}
		release(t, s)
		release(t, next)
		wantGone(t, next)
	}
}

// Ensure that a server that listens to no signal is stopped by force in the end, with its children, and that the
// next start clears up after it.
func TestStopByForce(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	exec1(t, s, "CREATE TABLE stint AS SELECT 1 AS id")
	if err := syscall.Kill(s.at.pid, syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	deaf := []step{{syscall.SIGINT, 50 * time.Millisecond}, {syscall.SIGQUIT, 50 * time.Millisecond}}
	err := stopServer(t.Context(), cfg, s.folder, deaf)
	wantError(t, err, s.folder.cluster(), "restart the machine", s.folder.log())
	if err := stopServer(t.Context(), cfg, s.folder, append(deaf, byForce()...)); err != nil {
		t.Fatal(err)
	}
	wantGone(t, s)
	if _, err := os.Lstat(filepath.Join(s.folder.cluster(), "postmaster.pid")); !errors.Is(err, fs.ErrNotExist) {
		t.Error("postmaster.pid is left", err)
	}
	if n := value[int](t, acquire(t, cfg), "SELECT id FROM stint"); n != 1 {
		t.Error(n)
	}
}

// Ensure that a wait for another rigtally ends with a sentence that names it.
func TestWaitForLockEnds(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	held, err := lockFile(t.Context(), cfg, s.folder.startLock(), exclusive)
	if err != nil {
		t.Fatal(err)
	}
	defer held.Close()
	cfg.patience = time.Second
	want := []string{fmt.Sprintf("process %d", os.Getpid()), cfg.DataDir, "1 second", "try again"}
	_, err = Acquire(t.Context(), cfg)
	wantError(t, err, want...)
	wantError(t, Stop(t.Context(), cfg), want...)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = Acquire(ctx, cfg)
	wantError(t, err, "waiting for", context.Canceled.Error()) // the lock, or the disk of a busy machine
}

// Ensure that a wait for a server that somebody else starts ends with a sentence that says what to do.
func TestWaitForServerEnds(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	pidFile := filepath.Join(s.folder.cluster(), "postmaster.pid")
	raw, err := os.ReadFile(pidFile)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(pidFile, []byte(strings.Replace(string(raw), "ready", "starting", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	impatient := cfg
	impatient.patience = time.Second
	_, err = Acquire(t.Context(), impatient)
	wantError(t, err, "not ready after 1 second", "database stop", s.folder.log())
	if !errors.Is(err, errNotReady) {
		t.Error("not errNotReady:", err)
	}
	if err := os.WriteFile(pidFile, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	if again := acquire(t, cfg); again.StartedIn() != 0 {
		t.Error("the server was started anew")
	}
}

// Ensure that a server that never gets ready is waited for so long only.
func TestStartEnds(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	release(t, acquire(t, cfg))
	programs, err := findBinaries(cfg, 0)
	if err != nil {
		t.Fatal(err)
	}
	cfg.BinDir = fakePrograms(t, programs.version+`'; [ "$1" = --version ] || exec sleep 300; : '`)
	cfg.patience, cfg.attached = time.Second, true
	_, err = Acquire(t.Context(), cfg)
	wantError(t, err, "not ready after 1 second")
	if free, err := serverLockFree(folder{cfg.DataDir}); err != nil || !free {
		t.Errorf("what was started is still there (%v)", err)
	}
}

// Ensure that a program that hangs when it is asked for its version is passed over.
func TestProbeEnds(t *testing.T) {
	t.Parallel()
	if _, ok := probe(fakePrograms(t, `'; exec sleep 300; : '`), 100*time.Millisecond); ok {
		t.Error("a program without a version was taken")
	}
}

// Ensure that the state of a cluster is read as PostgreSQL's own program reads it.
func TestWritingOut(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	programs, err := findBinaries(cfg, 0)
	if err != nil {
		t.Fatal(err)
	}
	control := filepath.Join(s.folder.cluster(), "global", "pg_control")
	raw, err := os.ReadFile(control)
	if err != nil {
		t.Fatal(err)
	}
	for state, want := range map[byte]string{shutDown: "shut down", shuttingDown: "shutting down", 4: "in crash recovery", 6: "in production"} {
		dir := t.TempDir()
		raw[16] = state // the low byte, on all machines but a few
		if err := errors.Join(os.Mkdir(filepath.Join(dir, "global"), 0o700), os.WriteFile(filepath.Join(dir, "global", "pg_control"), raw, 0o600)); err != nil {
			t.Fatal(err)
		}
		if got := writingOut(dir); got != strings.HasPrefix(want, "shut") {
			t.Errorf("%s: writing out is %v", want, got)
		}
		out, err := exec.Command(filepath.Join(programs.dir, "pg_controldata"), dir).CombinedOutput()
		if errors.Is(err, fs.ErrNotExist) {
			t.Skip("no pg_controldata on this machine")
		}
		if !strings.Contains(string(out), want+"\n") {
			t.Errorf("PostgreSQL reads the state as\n%s (%v), want %s", out, err, want)
		}
	}
}
