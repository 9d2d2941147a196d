//go:build unix

package pgserver

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// The test binary also plays other rigtally processes: with this variable set to a data folder it acquires the
// server, says so, and releases it when its standard input ends.
const (
	holdVar      = "RIGTALLY_TEST_HOLD"
	temporaryVar = "RIGTALLY_TEST_TEMPORARY" // the same with a throw-away cluster
	programsVar  = "RIGTALLY_TEST_PROGRAMS"  // tells it where "make postgres" left its programs
)

func TestMain(m *testing.M) {
	if dir, ok := os.LookupEnv(holdVar); ok {
		os.Exit(hold(func(ctx context.Context) (*Server, error) {
			return Acquire(ctx, Config{DataDir: dir, Local: projectPrograms()})
		}))
	}
	if _, ok := os.LookupEnv(temporaryVar); ok {
		os.Exit(hold(func(ctx context.Context) (*Server, error) { return Temporary(ctx, Config{Local: projectPrograms()}) }))
	}
	if of, ok := os.LookupEnv(upgradeVar); ok {
		os.Exit(upgradeAndDie(of))
	}
	code := m.Run()
	_ = os.RemoveAll(ready.dir)
	os.Exit(code)
}

func hold(acquire func(context.Context) (*Server, error)) int {
	ctx := context.Background()
	s, err := acquire(ctx)
	if err != nil {
		fmt.Println("failed:", err)
		return 1
	}
	fmt.Println("ready", s.StartedIn().Milliseconds(), s.folder.dir)
	_, _ = io.Copy(io.Discard, os.Stdin)
	if err := s.Release(ctx); err != nil {
		fmt.Println("failed:", err)
		return 1
	}
	return 0
}

// holder is another process that plays rigtally.
type holder struct {
	cmd   *exec.Cmd
	stdin io.WriteCloser
	out   *bufio.Reader
}

func startHolder(t *testing.T, env string, as *syscall.Credential) *holder {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	if as != nil {
		exe = reachableCopy(t, exe)
	}
	h := &holder{cmd: exec.Command(exe)}
	h.cmd.Env = append(os.Environ(), env, programsVar+"="+projectPrograms()[0])
	h.cmd.SysProcAttr = &syscall.SysProcAttr{Credential: as}
	h.cmd.Dir = "/"
	h.cmd.Stderr = os.Stderr
	out, err1 := h.cmd.StdoutPipe()
	h.stdin, err = h.cmd.StdinPipe()
	if err := errors.Join(err, err1, h.cmd.Start()); err != nil {
		t.Fatal(err)
	}
	h.out = bufio.NewReader(out)
	t.Cleanup(func() {
		_ = h.cmd.Process.Kill()
		_ = h.cmd.Wait()
	})
	return h
}

// reachableCopy copies the test binary to where a user other than root can run it.
func reachableCopy(t *testing.T, exe string) string {
	t.Helper()
	raw, err := os.ReadFile(exe)
	if err != nil {
		t.Fatal(err)
	}
	dir := openDir(t, os.TempDir())
	path := filepath.Join(dir, "pgserver.test")
	// A process started meanwhile by another test would hold the copy open for
	// writing for a moment, and nobody could run it ("text file busy").
	syscall.ForkLock.RLock()
	defer syscall.ForkLock.RUnlock()
	if err := errors.Join(os.WriteFile(path, raw, 0o755), os.Chmod(path, 0o755)); err != nil {
		t.Fatal(err)
	}
	return path
}

// says gives the next line of the process.
func (h *holder) says(t *testing.T) string {
	t.Helper()
	line, err := h.out.ReadString('\n')
	if err != nil {
		t.Fatalf("the other process said %q, then: %v", line, err)
	}
	return strings.TrimSpace(line)
}

func (h *holder) awaitReady(t *testing.T) {
	t.Helper()
	if line := h.says(t); !strings.HasPrefix(line, "ready") {
		t.Fatal("the other process", line)
	}
}

// leave lets the process release the server and waits for its end.
func (h *holder) leave(t *testing.T) {
	t.Helper()
	h.stdin.Close()
	rest, _ := io.ReadAll(h.out)
	if err := h.cmd.Wait(); err != nil {
		t.Fatalf("the other process: %v %s", err, rest)
	}
}

// openDir makes a folder that every user can enter, which t.TempDir is not.
func openDir(t testing.TB, base string) string {
	t.Helper()
	dir, err := os.MkdirTemp(base, "rigtally-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return dir
}

// testConfig gives an empty data folder, in memory if possible, whose server is gone when the test ends.
func testConfig(t *testing.T) Config {
	t.Helper()
	base := os.TempDir()
	if roomIn("/dev/shm") {
		base = "/dev/shm"
	}
	return configIn(t, filepath.Join(openDir(t, base), "journal"))
}

// ready is a journal that was made once, for tests that are not about making one. It is copied.
var ready struct {
	once sync.Once
	dir  string
	err  error
}

// readyConfig is testConfig with a journal in the folder, which takes a tenth of the time that making one does.
func readyConfig(t *testing.T) Config {
	t.Helper()
	cfg := testConfig(t)
	ready.once.Do(func() {
		if ready.dir, ready.err = os.MkdirTemp(filepath.Dir(filepath.Dir(cfg.DataDir)), "rigtally-test-"); ready.err == nil {
			ready.err = errors.Join(os.Chmod(ready.dir, 0o755), makeJournal(filepath.Join(ready.dir, "journal")))
		}
	})
	if ready.err != nil {
		t.Fatal(ready.err)
	}
	if out, err := exec.Command("cp", "-a", filepath.Join(ready.dir, "journal"), cfg.DataDir).CombinedOutput(); err != nil {
		t.Fatalf("copying a journal: %v: %s", err, out)
	}
	return cfg
}

func makeJournal(dir string) error {
	ctx := context.Background()
	s, err := Acquire(ctx, Config{DataDir: dir, Local: projectPrograms()})
	if err != nil {
		return err
	}
	return s.Release(ctx)
}

func configIn(t *testing.T, dir string) Config {
	t.Helper()
	cfg := Config{DataDir: dir, Local: projectPrograms()}
	if _, err := findBinaries(cfg, 0); errors.Is(err, ErrNoPostgres) {
		t.Skip("no PostgreSQL on this machine: ", err)
	}
	t.Cleanup(func() {
		if err := Stop(context.Background(), cfg); err != nil {
			t.Error("stopping the test's server:", err)
		}
	})
	return cfg
}

// projectPrograms is the folder that "make postgres" fills, seen from this package.
func projectPrograms() []string {
	if dir, ok := os.LookupEnv(programsVar); ok {
		return []string{dir}
	}
	dir, err := filepath.Abs("../../.postgres")
	if err != nil {
		panic(err) // no current folder: no test could run
	}
	return []string{dir}
}

func acquire(t *testing.T, cfg Config) *Server {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	s, err := Acquire(ctx, cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Release(context.Background()); err != nil {
			t.Error(err)
		}
	})
	return s
}

func release(t *testing.T, s *Server) {
	t.Helper()
	if err := s.Release(t.Context()); err != nil {
		t.Fatal(err)
	}
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}

func exec1(t *testing.T, s *Server, sql string) {
	t.Helper()
	if _, err := connect(t, s.URL("postgres")).Exec(t.Context(), sql); err != nil {
		t.Fatal(err)
	}
}

func value[T any](t *testing.T, s *Server, sql string) (v T) {
	t.Helper()
	if err := connect(t, s.URL("postgres")).QueryRow(t.Context(), sql).Scan(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

// wantGone checks that neither a process nor a socket of the server is left.
func wantGone(t *testing.T, s *Server) {
	t.Helper()
	if pids := orphans(s.folder.cluster()); len(pids) > 0 {
		t.Errorf("processes %v are left", pids)
	}
	if free, err := serverLockFree(s.folder); err != nil || !free {
		t.Errorf("server.lock is held (%v)", err)
	}
	if _, err := os.Lstat(s.at.socketDir); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the socket folder %s is left (%v)", s.at.socketDir, err)
	}
}

func wantError(t *testing.T, err error, parts ...string) {
	t.Helper()
	if err == nil {
		t.Fatalf("no error; want one that mentions %q", parts)
	}
	for _, part := range parts {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("the error %q does not mention %q", err, part)
		}
	}
}
