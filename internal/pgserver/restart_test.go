//go:build unix

package pgserver

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
)

const startedAgain = "was started again"

// notes collects what people are told.
type notes struct {
	mu   sync.Mutex
	text strings.Builder
}

func (n *notes) Write(p []byte) (int, error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.text.Write(p)
}

func (n *notes) count(part string) int {
	n.mu.Lock()
	defer n.mu.Unlock()
	return strings.Count(n.text.String(), part)
}

// acquireKept acquires a server that is brought back when it ends.
func acquireKept(t *testing.T) (Config, *Server, *notes) {
	t.Helper()
	cfg, told := readyConfig(t), &notes{}
	cfg.Restart, cfg.Log = true, told
	return cfg, acquire(t, cfg), told
}

// runs is the server's run as its file has it now.
func runs(s *Server) postmaster {
	pm, _ := readPostmaster(s.folder.cluster())
	return pm
}

// Ensure that a killed server is brought back, time and again, and that a pool of connections that was there before
// works on.
func TestBroughtBack(t *testing.T) {
	t.Parallel()
	_, s, told := acquireKept(t)
	pool, err := pgxpool.New(t.Context(), s.URL("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	if _, err := pool.Exec(t.Context(), "CREATE TABLE water AS SELECT 'Invented Creek' AS name"); err != nil {
		t.Fatal(err)
	}
	for n := 1; n <= 4; n++ {
		if err := syscall.Kill(runs(s).pid, syscall.SIGKILL); err != nil {
			t.Fatal(err)
		}
		eventually(t, "the server to come back", func() bool { return told.count(startedAgain) == n })
		var name string
		eventually(t, "the pool to work", func() bool {
			err := pool.QueryRow(t.Context(), "SELECT name FROM water").Scan(&name)
			return err == nil
		})
		if name != "Invented Creek" {
			t.Errorf("%q is in the journal", name)
		}
	}
	if told.count("started again 4 times, never to run for 1 minute; see in its log "+s.folder.log()) != 1 {
		t.Errorf("of a server that keeps ending people were told:\n%s", told.text.String())
	}
	release(t, s)
	wantGone(t, s)
}

// Ensure that a server that recovers by itself is left to do so.
func TestRecoveryIsNoRestart(t *testing.T) {
	t.Parallel()
	_, s, told := acquireKept(t)
	before := runs(s).pid
	killHelper(t, s, "background writer", "ready to accept connections")
	if n := value[int](t, s, "SELECT 1"); n != 1 || runs(s).pid != before {
		t.Errorf("got %d from process %d, want the process %d", n, runs(s).pid, before)
	}
	release(t, s)
	wantGone(t, s)
	if told.count(startedAgain) > 0 {
		t.Error("people were told that it was started again")
	}
}

// Ensure that people are told of a server that says nothing any more, that it is used again once it does, and that what
// goes wrong again and again is told ever more rarely.
func TestSilentServer(t *testing.T) {
	t.Parallel()
	cfg, told := readyConfig(t), &notes{}
	acquire(t, cfg)
	cfg.Restart, cfg.Log, cfg.askAfter, cfg.patience = true, told, 100*time.Millisecond, 2*time.Second
	s := acquire(t, cfg)
	eventually(t, "the server's connections to be there", func() bool {
		return value[int](t, s, "SELECT count(*) FROM pg_stat_activity WHERE backend_type = 'client backend'") > 1
	})
	stopped := orphans(s.folder.cluster())
	if len(stopped) == 0 {
		t.Skip("this system does not tell which processes are the server's")
	}
	for _, pid := range stopped {
		_ = syscall.Kill(pid, syscall.SIGSTOP) // some may have ended
	}
	eventually(t, "the word", func() bool { return told.count("is away: PostgreSQL is not ready after") > 0 })
	for _, pid := range stopped {
		_ = syscall.Kill(pid, syscall.SIGCONT)
	}
	if n := value[int](t, s, "SELECT 1"); n != 1 || told.count(startedAgain) > 0 {
		t.Errorf("%d; people were told:\n%s", n, told.text.String())
	}
	var often []int
	for n := range 40 {
		if seldom(n + 1) {
			often = append(often, n+1)
		}
	}
	if !slices.Equal(often, []int{1, 2, 4, 8, 16, 32}) {
		t.Errorf("told the times %v", often)
	}
}

// Ensure that of two processes that share a killed server one brings it back and both use it.
func TestBroughtBackForTwo(t *testing.T) {
	t.Parallel()
	cfg := testConfig(t)
	var both [2]*Server
	var told [2]notes
	for i := range both {
		own := cfg
		own.Restart, own.Log = true, &told[i]
		both[i] = acquire(t, own)
	}
	other := startHolder(t, holdVar+"="+cfg.DataDir, nil)
	other.awaitReady(t)
	const made = "Making the journal's database"
	for n := 1; n <= 3; n++ {
		old := runs(both[0])
		if err := syscall.Kill(old.pid, syscall.SIGKILL); err != nil {
			t.Fatal(err)
		}
		for _, s := range both {
			eventually(t, "both to know the new run", func() bool {
				s.mu.Lock()
				defer s.mu.Unlock()
				return s.at.pid != old.pid
			})
			if got := value[int](t, s, "SELECT 1"); got != 1 {
				t.Error(got)
			}
		}
		if got := told[0].count(startedAgain) + told[1].count(startedAgain); got != n {
			t.Errorf("the server was started again %d times after it was killed %d times", got, n)
		}
	}
	if got := told[0].count(made) + told[1].count(made); got != 1 {
		t.Errorf("%d clusters were made", got)
	}
	release(t, both[0])
	release(t, both[1])
	other.leave(t)
	wantGone(t, both[0])
}

// Ensure that a server that was to be left running still is, after it was brought back.
func TestBroughtBackIsKept(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	if _, err := Start(t.Context(), cfg); err != nil {
		t.Fatal(err)
	}
	told := &notes{}
	cfg.Restart, cfg.Log = true, told
	s := acquire(t, cfg)
	if err := syscall.Kill(runs(s).pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	eventually(t, "the server to come back", func() bool { return told.count(startedAgain) == 1 })
	release(t, s)
	if st, err := Inspect(cfg); err != nil || !st.Running {
		t.Errorf("the server left with its user (%v)", err)
	}
}

// Ensure that no empty journal takes the place of one whose files are gone, and that one that is back again is used.
func TestBroughtBackWithoutFiles(t *testing.T) {
	t.Parallel()
	cfg, s, told := acquireKept(t)
	start, err := lockFile(t.Context(), cfg, s.folder.startLock(), exclusive) // nobody starts it meanwhile
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(runs(s).pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	away := s.folder.cluster() + ".away"
	if err := os.Rename(s.folder.cluster(), away); err != nil {
		t.Fatal(err)
	}
	start.Close()
	eventually(t, "the complaint", func() bool {
		return told.count("is away") > 0 && told.count(fmt.Sprintf("its files in %s are gone", s.folder.cluster())) > 0
	})
	if err := os.Rename(away, s.folder.cluster()); err != nil {
		t.Fatal(err)
	}
	eventually(t, "the server to come back", func() bool { return told.count(startedAgain) == 1 })
}
