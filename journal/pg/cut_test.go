package pg_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"net/url"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/internal/pgserver"
	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

// Where a connection is cut.
const (
	inRequest   = "in a request"
	inAnswer    = "in an answer"
	afterCommit = "after COMMIT, before its answer"
	silence     = "silent"
)

// cutter stands between a store and its database, and cuts one connection when it is told to.
type cutter struct {
	url     string // by way of the cutter
	network string
	address string

	mu     sync.Mutex
	kind   string
	after  int           // bytes
	silent chan struct{} // while nothing goes through; closed when it does again
	cuts   atomic.Int32
}

func newCutter(t *testing.T, address string) *cutter {
	t.Helper()
	config, err := pgx.ParseConfig(address)
	if err != nil {
		t.Fatal(err)
	}
	c := &cutter{}
	c.network, c.address = pgconn.NetworkAddress(config.Host, config.Port)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close(); c.heal() })
	u := url.URL{Scheme: "postgres", User: url.User(config.User), Host: l.Addr().String(), Path: "/" + config.Database, RawQuery: "sslmode=disable"}
	c.url = u.String()
	go func() {
		for {
			client, err := l.Accept()
			if err != nil {
				return
			}
			go c.carry(client)
		}
	}()
	return c
}

// arm makes the cutter cut once, after so many bytes from now on.
func (c *cutter) arm(kind string, after int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.kind, c.after = kind, after
}

// heal lets all through again.
func (c *cutter) heal() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.kind = ""; c.silent != nil {
		close(c.silent)
		c.silent = nil
	}
}

func (c *cutter) carry(client net.Conn) {
	defer client.Close()
	server, err := net.Dial(c.network, c.address)
	if err != nil {
		return
	}
	defer server.Close()
	var committing atomic.Bool
	go c.copy(server, client, inRequest, &committing)
	c.copy(client, server, inAnswer, &committing)
}

// copy carries what one side says to the other, until it is to cut.
func (c *cutter) copy(to, from net.Conn, kind string, committing *atomic.Bool) {
	defer to.Close()
	defer from.Close()
	buffer := make([]byte, 4096)
	for {
		n, err := from.Read(buffer)
		if n > 0 && kind == inRequest {
			committing.Store(bytes.Contains(buffer[:n], []byte("commit\x00")))
		}
		pass, cut := c.rule(kind, n, committing.Load())
		if _, failed := to.Write(buffer[:pass]); failed != nil || err != nil || cut {
			return
		}
	}
}

// rule says how much of what was said goes through, and whether the connection is then cut. It waits out a silence.
func (c *cutter) rule(kind string, n int, committing bool) (pass int, cut bool) {
	c.mu.Lock()
	if c.kind == silence {
		c.kind, c.silent = "", make(chan struct{})
		c.cuts.Add(1)
	}
	if silent := c.silent; silent != nil {
		c.mu.Unlock()
		<-silent
		return 0, true
	}
	defer c.mu.Unlock()
	switch {
	case c.kind == afterCommit && kind == inAnswer && committing:
		n = 0
	case c.kind != kind:
		return n, false
	case n < c.after:
		c.after -= n
		return n, false
	}
	c.kind = ""
	c.cuts.Add(1)
	return min(n, c.after), true
}

// A connection that is cut anywhere, at random bytes, loses nothing that was answered for, stores nothing twice, and
// keeps nobody waiting.
func TestCutAnywhere(t *testing.T) {
	t.Parallel()
	rounds := 24
	if *long {
		rounds = 200
	}
	b := newBench(t)
	cutter := newCutter(t, b.url)
	s, err := pg.Open(t.Context(), cutter.url)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	random := rand.New(rand.NewPCG(1, 2))
	stored := map[journal.ID]bool{}
	var worst time.Duration
	tries := 0
	for round := range rounds {
		d := journal.Draft{Session: b.session(t, journaltest.May1, new(60.0)), Angler: fmt.Sprint("Angler ", round), Confirmed: true}
		d.Session.AnglerID = journal.ID{}
		kind := []string{inRequest, inAnswer, afterCommit}[round%3]
		if round%24 == 23 {
			kind = silence
		}
		cutter.arm(kind, random.IntN(2500))
		for acknowledged := false; !acknowledged; { // as a phone does
			if tries++; tries > 5*rounds {
				t.Fatalf("sent %d times, and %d of %d are stored", tries, len(stored), rounds)
			}
			start := time.Now()
			_, err := s.LogSession(t.Context(), d)
			worst = max(worst, time.Since(start))
			switch {
			case err == nil:
				acknowledged, stored[d.Session.ID] = true, true
			case !errors.Is(err, journal.ErrAway):
				t.Fatalf("round %d, %s: %v", round, kind, err)
			}
			cutter.heal()
		}
	}
	if n := int(cutter.cuts.Load()); n < rounds/2 {
		t.Errorf("%d cuts in %d rounds", n, rounds)
	}
	if worst > 10*time.Second {
		t.Errorf("one waited for %v", worst)
	}
	t.Logf("%d rounds, %d cuts, sent %d times, the longest wait %v", rounds, cutter.cuts.Load(), tries, worst.Round(time.Millisecond))
	contents, err := b.store.Contents(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if len(contents.Sessions) != len(stored) || len(contents.Anglers) != rounds+1 {
		t.Errorf("%d sessions of %d anglers are stored, want %d of %d", len(contents.Sessions), len(contents.Anglers), len(stored), rounds+1)
	}
	for _, session := range contents.Sessions {
		history, err := b.store.SessionHistory(t.Context(), session.ID)
		if !stored[session.ID] || session.Version != 1 || err != nil || len(history) != 1 {
			t.Errorf("session %s: answered for %v, version %d, written %d times, %v", session.ID, stored[session.ID], session.Version, len(history), err)
		}
	}
}

// What is not known by its id is not stored again when the answer to its COMMIT is lost; who asked is told that it is
// not known.
func TestAnAnswerThatIsLost(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	cutter := newCutter(t, b.url)
	s, err := pg.Open(t.Context(), cutter.url)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	before, _ := b.store.Revision(t.Context())
	cutter.arm(afterCommit, 0)
	if err := s.SetUsualRig(t.Context(), b.rig.ID); !errors.Is(err, journal.ErrUnsure) || !errors.Is(err, journal.ErrAway) {
		t.Errorf("told %v", err)
	}
	if now, err := b.store.Revision(t.Context()); err != nil || now != before+1 {
		t.Errorf("stored %d times, %v", now-before, err)
	}
	// What was only read was read.
	cutter.arm(afterCommit, 0)
	if f, err := s.Facts(t.Context()); err != nil || f.Revision != before+1 {
		t.Errorf("the facts are not there: %v", err)
	}
	// What is cut before it has begun is begun again.
	cutter.arm(inRequest, 10)
	if err := s.SetUsualRig(t.Context(), b.rig.ID); err != nil {
		t.Error(err)
	}
	if now, err := b.store.Revision(t.Context()); err != nil || now != before+2 {
		t.Errorf("stored %d times, %v", now-before, err)
	}
	cutter.arm(inAnswer, 3)
	if _, err := s.Outfit(t.Context()); err != nil {
		t.Error(err)
	}
	if cuts := cutter.cuts.Load(); cuts != 4 {
		t.Errorf("%d cuts", cuts)
	}
}

// A server that takes its time, as a machine at work does, is waited for; it is asked meanwhile whether it is there.
func TestSlowIsNotSilent(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	holder := connect(t, b.url)
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	tx, err := holder.Begin(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{"SET LOCAL ROLE rigtally_as_owner", "SELECT set_config('rigtally.outfit', (SELECT id FROM outfit LIMIT 1)::text, true)"} {
		if _, err := tx.Exec(ctx, sql); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := tx.Exec(ctx, "UPDATE outfit SET name = 'Held'"); err != nil {
		t.Fatal(err)
	}
	released := make(chan error, 1)
	time.AfterFunc(2500*time.Millisecond, func() { released <- tx.Rollback(ctx) })
	if err := b.store.SetUsualRig(ctx, b.rig.ID); err != nil {
		t.Errorf("told %v", err)
	}
	if err := <-released; err != nil {
		t.Error(err)
	}
}

// Where a second machine is to have each write, what one has alone is not answered for: neither when the wait for the
// other is canceled, nor when the same is sent again and found there.
func TestStoredOnOneMachineAlone(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	server, err := pgserver.Temporary(ctx, pgserver.Config{}, "wal_level=replica", "max_wal_senders=2", "synchronous_commit=on", "autovacuum=off")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = server.Release(context.WithoutCancel(ctx)) })
	if err := server.EnsureDatabase(ctx, "alone"); err != nil {
		t.Fatal(err)
	}
	s, err := pg.MigrateAndOpen(ctx, server.KeeperURL("alone"), server.ProgramURL("alone"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	rig := journaltest.OneDropper("Blood")
	draft := journal.Draft{Angler: "Ilse", Water: "Alder Brook", Rigs: map[int]journal.Rig{0: rig}, Confirmed: true, Session: journal.Session{ID: journal.NewID(),
		Day: journaltest.May1, TimeZone: "UTC", Stints: []journal.Stint{{ID: journal.NewID(), Minutes: new(60.0)}}}}
	super := connect(t, server.URL("alone"))
	waitFor := func(who string) {
		for _, sql := range []string{"ALTER SYSTEM SET synchronous_standby_names = '" + who + "'", "SELECT pg_reload_conf()"} {
			if _, err := super.Exec(ctx, sql); err != nil {
				t.Fatal(err)
			}
		}
	}
	waitFor("nobody")
	canceler := connect(t, server.URL("alone"))
	stop, canceled := make(chan struct{}), make(chan int)
	go func() {
		n := 0
		for {
			select {
			case <-stop:
				canceled <- n
				return
			case <-time.After(20 * time.Millisecond):
			}
			tag, _ := canceler.Exec(ctx, "SELECT pg_cancel_backend(pid) FROM pg_stat_activity WHERE wait_event = 'SyncRep'")
			n += int(tag.RowsAffected())
		}
	}()
	_, err = s.LogSession(ctx, draft)
	if !errors.Is(err, journal.ErrAway) {
		t.Errorf("told %v", err)
	}
	if err := s.SetOutfit(ctx, journal.Outfit{Name: "Another name", Units: "us", TimeZone: "UTC"}); !errors.Is(err, journal.ErrUnsure) {
		t.Errorf("told %v of what has no id", err)
	}
	close(stop)
	if n := <-canceled; n < 3 {
		t.Errorf("%d waits were canceled", n)
	}
	if stored, err := s.SessionByID(ctx, draft.Session.ID); err != nil || stored.Version != 1 {
		t.Errorf("it is there as version %d, %v", stored.Version, err)
	}
	waitFor("")
	if stored, err := s.LogSession(ctx, draft); err != nil || stored.Version != 1 {
		t.Errorf("then told version %d, %v", stored.Version, err)
	}
}
