//go:build unix

package pgserver

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// Ensure that what PostgreSQL acknowledged is there after the server was killed in the middle of a stream of
// writes.
func TestKilledServerLosesNothing(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	exec1(t, s, "CREATE TABLE stint (id int PRIMARY KEY)")
	var acknowledged int
	done := make(chan struct{})
	conn := connect(t, s.URL("postgres"))
	enough := make(chan struct{})
	go func() {
		defer close(done)
		for id := 1; ; id++ {
			if _, err := conn.Exec(context.Background(), "INSERT INTO stint VALUES ($1)", id); err != nil {
				return
			}
			acknowledged = id
			if id == 200 {
				close(enough)
			}
		}
	}()
	<-enough
	// Each of its children leads a session of its own, and ends when it notices.
	if err := syscall.Kill(s.at.pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	<-done
	again := acquire(t, cfg)
	if again.StartedIn() == 0 {
		t.Error("the killed server was taken for a running one")
	}
	if stored := value[int](t, again, "SELECT count(*) FROM stint"); stored < acknowledged {
		t.Errorf("%d rows were acknowledged, %d are there", acknowledged, stored)
	}
}

// Ensure that a busy child of a killed server, which does not notice that it is alone, is cleared away.
func TestOrphanedChildIsCleared(t *testing.T) {
	t.Parallel()
	if runtime.GOOS != "linux" {
		t.Skip("only Linux shows which folder a process works in")
	}
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	conn := connect(t, s.URL("postgres"))
	go func() {
		_, _ = conn.Exec(context.Background(), "SELECT count(*) FROM generate_series(1, 1e12::bigint) g")
	}()
	busy := fmt.Sprintf("SELECT count(*) FROM pg_stat_activity WHERE pid = %d AND state = 'active'", conn.PgConn().PID())
	for value[int](t, s, busy) == 0 {
		time.Sleep(time.Millisecond)
	}
	if err := syscall.Kill(s.at.pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	again := acquire(t, cfg)
	if n := value[int](t, again, "SELECT 1"); n != 1 || again.at.pid == s.at.pid {
		t.Errorf("got %d from process %d", n, again.at.pid)
	}
}

// Ensure that a process number in a stale postmaster.pid that now belongs to another process of the server's user
// keeps nothing from starting, and that the other process is left alone.
func TestReusedProcessNumber(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	pidFile := filepath.Join(s.folder.cluster(), "postmaster.pid")
	raw, err := os.ReadFile(pidFile)
	if err != nil {
		t.Fatal(err)
	}
	release(t, s)
	acct, err := serverAccount(s.folder)
	if err != nil {
		t.Fatal(err)
	}
	other := exec.Command("sleep", "60")
	other.SysProcAttr, other.Dir = acct.sysProcAttr(), "/"
	if err := other.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := other.Process.Kill(); err != nil {
			t.Error("the other process is gone:", err)
		}
		_ = other.Wait()
	}()
	rest := raw[len(fmt.Sprint(s.at.pid)):]
	if err := os.WriteFile(pidFile, append(fmt.Append(nil, other.Process.Pid), rest...), 0o600); err != nil {
		t.Fatal(err)
	}
	if st, err := Inspect(cfg); err != nil || st.Running {
		t.Errorf("Inspect takes process %d for the server (%v)", st.PID, err)
	}
	if again := acquire(t, cfg); again.at.pid == other.Process.Pid {
		t.Error("the other process was taken for the server")
	}
}

// Ensure that a rigtally that is killed leaves a server that the next one uses and stops.
func TestKilledHolder(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	h := startHolder(t, holdVar+"="+cfg.DataDir, nil)
	h.awaitReady(t)
	if err := h.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = h.cmd.Wait()
	told := &notes{}
	cfg.Log = told
	s := acquire(t, cfg)
	release(t, acquire(t, cfg)) // one more user is told nothing
	if n := told.count("left the journal's database running"); n != 1 {
		t.Errorf("told %d times:\n%s", n, told.text.String())
	}
	if s.StartedIn() != 0 {
		t.Error("the server died with its holder")
	}
	if n := value[int](t, s, "SELECT 1"); n != 1 {
		t.Error(n)
	}
	release(t, s)
	wantGone(t, s)
}

// Ensure that Ctrl-C at the terminal, which reaches the whole foreground group, does not reach the server.
func TestServerHasOwnSession(t *testing.T) {
	t.Parallel()
	s := acquire(t, readyConfig(t))
	group, err := syscall.Getpgid(s.at.pid)
	if err != nil || group != s.at.pid {
		t.Errorf("process group %d (%v), want the server's own, %d", group, err, s.at.pid)
	}
}

// Ensure that a database server that was killed while rigtally is open is started again by the next command, at the
// same address.
func TestRestartedUnderUser(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	if err := syscall.Kill(s.at.pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	acquire(t, cfg)
	conn, err := pgx.Connect(t.Context(), s.URL("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	_ = conn.Close(t.Context())
}
