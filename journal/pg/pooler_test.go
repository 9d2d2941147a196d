//go:build unix

package pg_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// pooled puts a PgBouncer before a database, which gives each transaction one of two connections, and returns its address.
func pooled(t *testing.T, url string) string {
	t.Helper()
	program, err := exec.LookPath("pgbouncer")
	if err != nil {
		t.Skip("no pgbouncer on this machine (Debian: pgbouncer)")
	}
	server, err := pgx.ParseConfig(url)
	if err != nil {
		t.Fatal(err)
	}
	dir := pgtest.DataDir(t)
	config := filepath.Join(dir, "pgbouncer.ini")
	text := fmt.Sprintf("[databases]\njournal = host=%s port=%d dbname=%s user=%s pool_size=2\n[pgbouncer]\nlisten_port = 6432\nunix_socket_dir = %s\nauth_type = any\npool_mode = transaction\nignore_startup_parameters = extra_float_digits\n",
		server.Host, server.Port, server.Database, server.User, dir)
	if err := os.WriteFile(config, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, config)
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	// For root the server's folder is open to the server's user, and PgBouncer refuses root too.
	if info, err := os.Stat(server.Host); err == nil && os.Geteuid() == 0 {
		owner := info.Sys().(*syscall.Stat_t)
		if owner.Uid == 0 {
			u, err := user.Lookup("nobody")
			if err != nil {
				t.Fatal(err)
			}
			uid, _ := strconv.ParseUint(u.Uid, 10, 32)
			owner.Uid = uint32(uid)
		}
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: owner.Uid, Gid: owner.Gid}
		if err := errors.Join(os.Chown(dir, int(owner.Uid), int(owner.Gid)), os.Chmod(dir, 0o755)); err != nil {
			t.Fatal(err)
		}
	}
	out := new(lockedBuffer)
	cmd.Stdout, cmd.Stderr = out, out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	address := fmt.Sprintf("postgres://%s@/journal?host=%s&port=6432&default_query_exec_mode=cache_describe", server.User, dir)
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	for {
		conn, err := pgx.Connect(ctx, address)
		if err == nil {
			_ = conn.Close(ctx)
			return address
		}
		select {
		case <-ctx.Done():
			t.Fatalf("the pooler does not answer: %v\n%s", err, out)
		case <-time.After(50 * time.Millisecond):
		}
	}
}

type lockedBuffer struct {
	mu   sync.Mutex
	text []byte
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.text = append(b.text, p...)
	return len(p), nil
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return string(b.text)
}

// Ensure that everything works, and nobody sees another's, where a pooler hands each transaction any of two connections.
func TestThroughAPooler(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	s, err := pg.Open(t.Context(), pooled(t, p.url))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	other, err := s.AddOutfit(t.Context(), "Another invented outfit")
	if err != nil {
		t.Fatal(err)
	}
	var work sync.WaitGroup
	for i := range p.stores {
		own := s.For(p.stores[i].Who())
		work.Go(func() {
			for round := range 15 {
				again := p.fished[i]
				again.ID, again.Version, again.LoggedAt = journal.NewID(), 0, time.Time{}
				again.Stints = append([]journal.Stint{}, again.Stints...)
				again.Stints[0].ID = journal.NewID()
				if _, err := own.SaveSession(t.Context(), again); err != nil {
					t.Errorf("client %d, round %d: %v", i, round, err)
					return
				}
				lines, n, err := own.SessionLines(t.Context(), journal.SessionFilter{})
				if err != nil || n != round+2 {
					t.Errorf("client %d sees %d sessions after %d, %v", i, n, round+2, err)
				}
				for _, l := range lines {
					if l.Angler != p.clients[i].Name {
						t.Errorf("client %d sees a session of %s", i, l.Angler)
					}
				}
				if f, err := own.Facts(t.Context()); err != nil || f.Sessions() != round+2 {
					t.Errorf("client %d: facts of %d sessions, %v", i, f.Sessions(), err)
				}
			}
		})
	}
	work.Go(func() {
		elsewhere := s.In(other, journal.Keeper())
		for range 30 {
			if lines, n, err := elsewhere.SessionLines(t.Context(), journal.SessionFilter{}); err != nil || n != 0 {
				t.Errorf("another outfit sees %v, %v", lines, err)
			}
		}
	})
	work.Wait()
	contents, err := s.Contents(t.Context())
	if err != nil || len(contents.Sessions) != 32 {
		t.Errorf("the owner sees %d sessions, %v; want 32", len(contents.Sessions), err)
	}
	// A bulk copy goes through tables of the transaction's own; ids are the outfit's.
	into := s.In(other, journal.Keeper())
	if err := into.Add(t.Context(), journal.Addition{Anglers: contents.Anglers, Waters: contents.Waters, Rigs: contents.Rigs, Sessions: contents.Sessions}, nil); err != nil {
		t.Fatal(err)
	}
	if copied, err := into.Contents(t.Context()); err != nil || len(copied.Sessions) != 32 {
		t.Errorf("%d sessions were copied, %v", len(copied.Sessions), err)
	}
}
