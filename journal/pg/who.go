package pg

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"rigtally/internal/fair"
	"rigtally/journal"
	"rigtally/journal/pg/link"
)

// Database roles that transactions step down to; see the migration that makes them.
const (
	asOwner  = "rigtally_as_owner"
	asGuide  = "rigtally_as_guide"
	asClient = "rigtally_as_client"
	asReader = "rigtally_as_reader" // an outfit's rows, to be read alone
	atDoor   = "rigtally_at_door"   // people, before it is known who asks
	atGauges = "rigtally_at_gauges" // what rivers do, common to all outfits
)

// room is what a transaction may see: the rows of an outfit, of a client those of one angler, as a role of the database.
type room struct {
	role   string
	outfit journal.ID // zero: none
	client journal.ID // zero: not cut to an angler
}

// roomOf is where somebody works with an outfit's journal.
func roomOf(outfit journal.ID, w journal.Who) room {
	switch w.Role {
	case journal.RoleOwner:
		return room{role: asOwner, outfit: outfit}
	case journal.RoleGuide:
		return room{role: asGuide, outfit: outfit}
	}
	r := room{role: asClient, outfit: outfit}
	if w.Angler != nil {
		r.client = *w.Angler
	}
	return r
}

// reader is the room as it is read for questions.
func (r room) reader() room {
	if r.role != asClient {
		r.role = asReader
	}
	return r
}

// enter steps into a room until the transaction ends. It holds no text from outside: roles are constants, ids hexadecimal.
func (r room) enter() string {
	id := func(v journal.ID) string {
		if v.IsZero() {
			return ""
		}
		return v.String()
	}
	return fmt.Sprintf("SELECT set_config('role', '%s', true), set_config('rigtally.outfit', '%s', true), set_config('rigtally.client', '%s', true)", r.role, id(r.outfit), id(r.client))
}

// pool is connections to a database, of which no outfit has more than half at once. Who has one must not wait for a
// second: with all of them taken so, nobody would get on.
type pool struct {
	*pgxpool.Pool
	turns  fair.Queue[journal.ID] // at a connection; the door's have no outfit
	writes fair.Queue[journal.ID] // at writing, one of an outfit at a time, which would wait for each other with a connection each
}

// mostWaiting is how many wait for a connection, or to write, before further ones are told to come again.
const mostWaiting = 512

// WithConnections is a database's address that says how many connections are used at most.
func WithConnections(address string, most int) string {
	const key = "pool_max_conns="
	switch {
	case !strings.Contains(address, "://"): // as in "host=… dbname=…"
		return fmt.Sprintf("%s %s%d", address, key, most)
	case strings.Contains(address, "?"):
		return fmt.Sprintf("%s&%s%d", address, key, most)
	}
	return fmt.Sprintf("%s?%s%d", address, key, most)
}

func newPool(p *pgxpool.Pool) *pool {
	turns := int(p.Config().MaxConns)
	return &pool{p, fair.Queue[journal.ID]{Turns: turns, Share: max(1, turns/2), Places: mostWaiting}, fair.Queue[journal.ID]{Turns: math.MaxInt, Share: 1, Places: mostWaiting}}
}

// begin runs f in a transaction in a room, which is entered on the way of the transaction's beginning. What is lost
// before f runs is begun again, and so is all of what may run again. That nothing is stored twice is known so: before f
// ran nothing was asked for, and before COMMIT nothing is kept. Of another f it is not known what it left behind in its
// own variables, nor of another COMMIT without an answer what it did; the first is an error, the second journal.ErrUnsure
// where something is written.
func (r room) begin(ctx context.Context, pool *pool, m mode, f func(pgx.Tx) error) error {
	leave, err := pool.turns.Enter(ctx, r.outfit)
	if err != nil {
		return err
	}
	defer leave()
	return link.Again(ctx, pool.Pool, m.within, func(ctx context.Context) error {
		conn, err := pool.Acquire(ctx)
		if err != nil {
			return err
		}
		defer conn.Release()
		ran, committing := false, false
		err = pgx.BeginTxFunc(ctx, conn, pgx.TxOptions{BeginQuery: "BEGIN " + m.begin + "; " + r.enter()}, func(tx pgx.Tx) error {
			ran = true
			err := f(tx)
			committing = err == nil
			return err
		})
		if alone := link.Replicated(conn.Conn()); err == nil {
			err = alone
		}
		var refused *pgconn.PgError
		switch {
		case err == nil || !ran || m.again:
			return err
		case committing && m == toRead:
			return nil // all was read, whatever became of the end
		case committing && (link.Lost(err) || !errors.As(err, &refused)):
			err = fmt.Errorf("%w: %w", journal.ErrUnsure, err)
		}
		return link.Over(err)
	})
}

// mode is how a transaction begins, and how it may end.
type mode struct {
	begin  string
	within time.Duration // with all that is begun again
	again  bool          // may run again, whatever became of it: it reads alone, or is known by its ids and stored once
}

const (
	unchanging = "ISOLATION LEVEL REPEATABLE READ READ ONLY" // one view, whatever is written meanwhile
	aMoment    = time.Minute
)

var (
	toWrite = mode{"ISOLATION LEVEL READ COMMITTED READ WRITE", time.Hour, false}
	toStore = mode{toWrite.begin, 8 * time.Second, true} // what is known by its ids; a phone waits for 20 s
	toRead  = mode{unchanging, time.Hour, false}
	toView  = mode{unchanging, time.Hour, true} // of which nothing is kept but what is returned
)

// once asks single queries that read, each in a transaction of its own that is sent in one go.
type once struct {
	pool *pool
	in   room
}

// Query asks one; its rows must be closed.
func (o once) Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error) {
	leave, refused := o.pool.turns.Enter(ctx, o.in.outfit)
	if refused != nil { // nothing is sent
		leave = func() {}
		ended, end := context.WithCancel(ctx)
		end()
		ctx = ended
	}
	var rows onceRows
	err := link.Again(ctx, o.pool.Pool, aMoment, func(context.Context) (err error) {
		rows, err = o.ask(ctx, sql, args)
		return err
	})
	if rows.results == nil { // nothing was asked, for ctx had ended
		rows, err = o.ask(ctx, sql, args)
	}
	rows.leave, rows.refused = leave, cmp.Or(refused, rows.refused)
	if err = cmp.Or(refused, err); err != nil {
		leave() // nobody closes these
	}
	return rows, err
}

func (o once) ask(ctx context.Context, sql string, args []any) (onceRows, error) {
	ctx, cancel := context.WithTimeout(ctx, aMoment)
	batch := &pgx.Batch{}
	batch.Queue(o.in.enter())
	batch.Queue(sql, args...)
	results := o.pool.SendBatch(ctx, batch)
	_, refused := results.Exec()
	rows, err := results.Query()
	if refused != nil {
		err = refused
	}
	if err != nil {
		rows.Close()
		_ = results.Close() // gives the connection back
		cancel()
	}
	return onceRows{Rows: rows, results: results, refused: refused, cancel: cancel}, err
}

// QueryRow asks for one row, or it is pgx.ErrNoRows.
func (o once) QueryRow(ctx context.Context, sql string, args ...any) pgx.Row {
	rows, _ := o.Query(ctx, sql, args...)
	return oneRow{rows}
}

// onceRows gives the connection back with the last row.
type onceRows struct {
	pgx.Rows
	results pgx.BatchResults
	refused error  // why the room could not be entered
	leave   func() // ends the turn
	cancel  context.CancelFunc
}

func (r onceRows) Close() {
	r.Rows.Close()
	_ = r.results.Close() // what failed, the rows say
	r.cancel()
	r.leave()
}

func (r onceRows) Err() error {
	if r.refused != nil {
		return r.refused
	}
	return r.Rows.Err()
}

type oneRow struct{ rows pgx.Rows }

func (r oneRow) Scan(into ...any) error {
	defer r.rows.Close()
	if !r.rows.Next() {
		if err := r.rows.Err(); err != nil {
			return err
		}
		return pgx.ErrNoRows
	}
	if err := r.rows.Scan(into...); err != nil {
		return err
	}
	r.rows.Close()
	return r.rows.Err()
}

// For is the same store for somebody else, who sees and may change what is theirs to see and change.
func (s *Store) For(w journal.Who) *Store { return s.In(s.outfit, w) }

// In is For with the journal of another outfit in the same database.
func (s *Store) In(outfit journal.ID, w journal.Who) *Store {
	return &Store{pool: s.pool, outfit: outfit, who: w, in: roomOf(outfit, w), kept: s.kept}
}

// Who is for whom the store works.
func (s *Store) Who() journal.Who { return s.who }

// OutfitID is whose journal it is.
func (s *Store) OutfitID() journal.ID { return s.outfit }

func (s *Store) once() once { return once{s.pool, s.in} }

// Listed is an outfit of a database, as who looks after the machine sees it: its name and no more.
type Listed struct {
	ID   journal.ID
	Name string
}

// door is where nobody is known yet.
func (s *Store) door() once { return once{s.pool, room{role: atDoor}} }

// Outfits lists the outfits of the database, the first made first.
func (s *Store) Outfits(ctx context.Context) ([]Listed, error) {
	list, err := listOf(ctx, s.door(), pgx.RowToStructByPos[Listed], `SELECT id, name FROM outfit ORDER BY created_at, id`)
	return list, explain("list the outfits", err)
}

// AddOutfit makes another outfit, with an empty journal of its own, and returns its id. A name that another
// one has is refused: people and commands tell outfits apart by name.
func (s *Store) AddOutfit(ctx context.Context, name string) (journal.ID, error) {
	o := journal.Outfit{Name: strings.TrimSpace(name), Units: "metric", TimeZone: localZone()}
	if err := o.Validate(); err != nil {
		return journal.ID{}, err
	}
	id := journal.NewID()
	err := room{role: atDoor}.begin(ctx, s.pool, toWrite, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, outfitLock); err != nil {
			return err
		}
		tag, err := tx.Exec(ctx, `INSERT INTO outfit (id, name, units, time_zone) SELECT $1, $2, $3, $4 WHERE NOT EXISTS (SELECT FROM outfit WHERE lower(name) = lower($2))`,
			id, o.Name, o.Units, o.TimeZone)
		if err == nil && tag.RowsAffected() == 0 {
			err = journal.Invalidf("an outfit called %s is there already; choose another name", o.Name)
		}
		return err
	})
	return id, explain("add an outfit", err)
}

// OutfitNamed is the same store in the outfit of a name, without regard to case; one that is not there is refused with
// the names of those that are.
func (s *Store) OutfitNamed(ctx context.Context, name string) (*Store, error) {
	all, err := s.Outfits(ctx)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, o := range all {
		if strings.EqualFold(o.Name, strings.TrimSpace(name)) {
			return s.In(o.ID, s.who), nil
		}
		names = append(names, o.Name)
	}
	return nil, errors.Join(fmt.Errorf("there is no outfit called %q; the outfits are: %s", name, strings.Join(names, ", ")), journal.ErrNotFound)
}

// OwnerCanSignIn reports whether an owner of the outfit has a passphrase or a passkey.
func (s *Store) OwnerCanSignIn(ctx context.Context) (bool, error) {
	var can bool
	err := once{s.pool, room{role: atDoor}}.QueryRow(ctx, `SELECT EXISTS (
		SELECT FROM member m JOIN person p ON p.id = m.person_id
		WHERE m.outfit_id = $1 AND m.role = 'owner' AND (p.passphrase <> '' OR EXISTS (SELECT FROM passkey k WHERE k.person_id = p.id)))`, s.outfit).Scan(&can)
	if err != nil {
		return false, fmt.Errorf("look for an owner who can sign in: %w", err)
	}
	return can, nil
}
