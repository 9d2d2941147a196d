// Package pg keeps journals in PostgreSQL: all SQL of a journal is here.
package pg

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"rigtally/journal"
	"rigtally/journal/pg/link"
	"rigtally/migrations"
)

// Store is one outfit's journal in PostgreSQL, as somebody may see and change it. It may be
// used by several goroutines at once.
type Store struct {
	pool   *pool
	outfit journal.ID
	who    journal.Who
	in     room
	kept   *factsShelf // of all stores that For made of one
}

// ErrOldTables says that the tables are those of an older program. Migrate brings them up to date.
var ErrOldTables = errors.New("the journal's tables are older than this program")

// UsualConnections are used at most, unless the address says otherwise.
const UsualConnections = 10

// Open connects to a PostgreSQL whose tables are up to date, and opens the first outfit in it for its owner,
// making one on first use; else it is an ErrOldTables. Close releases the connections. Through a pooler
// that gives each transaction another connection, the address says default_query_exec_mode=cache_describe. It may say
// with pool_max_conns how many connections are used at most.
func Open(ctx context.Context, url string) (*Store, error) {
	pool, err := link.Pool(ctx, url, UsualConnections, learnTypes)
	if err != nil {
		return nil, fmt.Errorf("read the database address: %w", err)
	}
	s := &Store{pool: newPool(pool), who: journal.Keeper(), kept: &factsShelf{most: defaultFactsBytes}}
	// Who opens a journal is told at once where nobody answers, and decides whether to try again.
	answers := func(ctx context.Context) error { return explain("connect to the journal's database", pool.Ping(ctx)) }
	for _, step := range []func(context.Context) error{answers, s.checkTables, s.openOutfit} {
		if err := step(ctx); err != nil {
			pool.Close()
			return nil, err
		}
	}
	return s, nil
}

// MigrateAndOpen is Open, after Migrate where that is needed. Both addresses may be the same.
func MigrateAndOpen(ctx context.Context, keeper, url string) (*Store, error) {
	s, err := Open(ctx, url)
	if !errors.Is(err, ErrOldTables) {
		return s, err
	}
	if err := Migrate(ctx, keeper, url); err != nil {
		return nil, err
	}
	return Open(ctx, url)
}

// Close releases the connections.
func (s *Store) Close() { s.pool.Close() }

// Ready reports whether the database answers, with tables of this program's version.
func (s *Store) Ready(ctx context.Context) error { return s.checkTables(ctx) }

// Connections tells how many connections to the database work, are idle, and may be open at once.
func (s *Store) Connections() (inUse, idle, most int) {
	n := s.pool.Stat()
	return int(n.AcquiredConns()), int(n.IdleConns()), int(n.MaxConns())
}

func (s *Store) openOutfit(ctx context.Context) error {
	const find = `SELECT id FROM outfit ORDER BY created_at, id LIMIT 1`
	door := room{role: atDoor}
	err := once{s.pool, door}.QueryRow(ctx, find).Scan(&s.outfit)
	if errors.Is(err, pgx.ErrNoRows) {
		err = door.begin(ctx, s.pool, toWrite, func(tx pgx.Tx) error {
			// The lock keeps two first runs from making an outfit each.
			if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, outfitLock); err != nil {
				return err
			}
			err := tx.QueryRow(ctx, find).Scan(&s.outfit)
			if !errors.Is(err, pgx.ErrNoRows) {
				return err
			}
			s.outfit = journal.NewID()
			_, err = tx.Exec(ctx, `INSERT INTO outfit (id, name, time_zone) VALUES ($1, 'My journal', $2)`, s.outfit, localZone())
			return err
		})
	}
	s.in = roomOf(s.outfit, s.who)
	return explain("open the outfit", err)
}

// outfitLock is held by whoever makes an outfit.
const outfitLock = 0x7269677461

// localZone returns the IANA name of this machine's zone, UTC when it has none.
func localZone() string {
	if name := time.Local.String(); journal.CheckZone(name) == nil {
		return name
	}
	return "UTC"
}

// Outfit returns the journal's owner.
func (s *Store) Outfit(ctx context.Context) (journal.Outfit, error) {
	var o journal.Outfit
	err := s.once().QueryRow(ctx, `SELECT name, units, time_zone, prior_sd FROM outfit WHERE id = $1`, s.outfit).Scan(&o.Name, &o.Units, &o.TimeZone, &o.PriorSD)
	return o, explain("read the outfit", err)
}

// SetOutfit changes the outfit's name, units, time zone and prior.
func (s *Store) SetOutfit(ctx context.Context, o journal.Outfit) error {
	if err := o.Validate(); err != nil {
		return err
	}
	return s.write(ctx, "change the outfit", func(tx pgx.Tx) error {
		return s.updateOutfit(ctx, tx, o)
	})
}

func (s *Store) updateOutfit(ctx context.Context, tx pgx.Tx, o journal.Outfit) error {
	_, err := tx.Exec(ctx, `UPDATE outfit SET name = $2, units = $3, time_zone = $4, prior_sd = $5 WHERE id = $1`, s.outfit, o.Name, o.Units, o.TimeZone, o.Prior())
	return err
}

// SetUsualRig makes a rig the one that the next session is proposed with, whatever the last was fished with.
func (s *Store) SetUsualRig(ctx context.Context, rig journal.ID) error {
	return s.write(ctx, "make a rig the usual one", func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `UPDATE outfit SET usual_rig_id = $2, usual_rig_at = now() WHERE id = $1`, s.outfit, rig)
		return err
	})
}

// UsualRig is the rig that was made the usual one since the last session was logged; nil where there is none.
func (s *Store) UsualRig(ctx context.Context) (*journal.ID, error) {
	if s.who.IsClient() {
		return nil, nil // it is the outfit's
	}
	var rig *journal.ID
	err := s.once().QueryRow(ctx, `SELECT CASE WHEN usual_rig_at > coalesce((SELECT max(logged_at) FROM session WHERE outfit_id = o.id), '-infinity') THEN usual_rig_id END
		FROM outfit o WHERE o.id = $1`, s.outfit).Scan(&rig)
	return rig, explain("read the usual rig", err)
}

// errUnchanged ends a transaction of write that had nothing to do: the revision stays.
var errUnchanged = errors.New("nothing to change")

// write is the one way to change an outfit's journal. It runs f in a transaction that counts
// the outfit's revision up first, and so waits for whoever else is writing: what f reads
// stays true until it ends. Rows that f adds carry the revision.
func (s *Store) write(ctx context.Context, doing string, f func(pgx.Tx) error) error {
	return s.writing(ctx, toWrite, doing, f)
}

// store is write for what is known by its ids: f may run again after it was stored, and then finds it there. What it
// finds unchanged is answered for only once it is where each write is to be: the one before may have broken off while
// a second machine had it not yet.
func (s *Store) store(ctx context.Context, doing string, f func(pgx.Tx) error) error {
	unchanged := false
	err := s.writing(ctx, toStore, doing, func(tx pgx.Tx) error {
		err := f(tx)
		unchanged = errors.Is(err, errUnchanged)
		return err
	})
	if err != nil || !unchanged {
		return err
	}
	return explain(doing, s.in.begin(ctx, s.pool, toStore, func(tx pgx.Tx) error {
		// A lock is in the log of writes too, whose end COMMIT waits for.
		_, err := tx.Exec(ctx, `SELECT FROM outfit WHERE id = $1 FOR NO KEY UPDATE`, s.outfit)
		return err
	}))
}

func (s *Store) writing(ctx context.Context, m mode, doing string, f func(pgx.Tx) error) error {
	leave, err := s.pool.writes.Enter(ctx, s.outfit)
	if err != nil {
		return explain(doing, err)
	}
	defer leave()
	err = s.in.begin(ctx, s.pool, m, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `WITH counted AS (UPDATE outfit SET revision = revision + 1 WHERE id = $1 RETURNING revision)
			SELECT set_config('rigtally.revision', revision::text, true) FROM counted`, s.outfit)
		if err == nil && tag.RowsAffected() == 0 {
			err = journal.ErrNotFound
		}
		if err != nil {
			return fmt.Errorf("begin to write: %w", err)
		}
		return f(tx)
	})
	switch {
	case errors.Is(err, errUnchanged):
		return nil
	case err != nil && ctx.Err() != nil && !errors.Is(err, ctx.Err()): // interrupted, and not a fault of the database
		err = fmt.Errorf("%w: %w", ctx.Err(), err)
	}
	return explain(doing, err)
}

// Revision is how often the journal has been written. While it stays the same nothing has
// changed, so that an answer may be kept with it.
func (s *Store) Revision(ctx context.Context) (int64, error) {
	var revision int64
	err := s.once().QueryRow(ctx, `SELECT revision FROM outfit WHERE id = $1`, s.outfit).Scan(&revision)
	return revision, explain("ask for the journal's revision", err)
}

// read runs f on one unchanging view of the journal.
func (s *Store) read(ctx context.Context, doing string, f func(pgx.Tx) error) error {
	return explain(doing, s.in.begin(ctx, s.pool, toRead, f))
}

// view is what f makes of one unchanging view of the journal. f keeps nothing else, so that it may run again.
func view[T any](ctx context.Context, s *Store, doing string, f func(pgx.Tx) (T, error)) (v T, err error) {
	err = s.in.begin(ctx, s.pool, toView, func(tx pgx.Tx) (err error) {
		v, err = f(tx)
		return err
	})
	return v, explain(doing, err)
}

// notAllowed is what PostgreSQL answers when a role or a policy refuses.
const notAllowed = "42501"

// unstorable are codes of texts that PostgreSQL can't keep: character_not_in_repertoire, untranslatable_character.
var unstorable = []string{"22021", "22P05"}

// explain turns a driver's error into one of the journal's, and says what was
// being done. A constraint that has a sentence below becomes that sentence.
func explain(doing string, err error) error {
	var pg *pgconn.PgError
	switch {
	case err == nil:
		return nil
	case journal.IsInvalid(err):
		return err
	case errors.Is(err, journal.ErrUnsure): // whatever broke off the answer
		return fmt.Errorf("%s: %w: %w", doing, journal.ErrAway, err)
	case errors.As(err, &pg) && hindrance(pg) != "":
		return fmt.Errorf("%s: %w", doing, &journal.Hindered{Says: hindrance(pg), Cause: err})
	case errors.Is(err, pgx.ErrNoRows), errors.As(err, &pg) && pg.Code == notAllowed:
		return fmt.Errorf("%s: %w", doing, journal.ErrNotFound) // nobody learns whether something is there that is not theirs
	case errors.As(err, &pg) && pg.Code[:2] == "23":
		return fmt.Errorf("%s: %w", doing, &journal.Invalid{Problems: []string{constraintMessage(pg.ConstraintName)}})
	case errors.As(err, &pg) && slices.Contains(unstorable, pg.Code):
		return fmt.Errorf("%s: %w", doing, &journal.Invalid{Problems: []string{"a text holds signs that are no letters of any script, such as a zero byte; type it again"}})
	case link.Lost(err):
		return fmt.Errorf("%s: %w: %w", doing, journal.ErrAway, err)
	}
	return fmt.Errorf("%s: %w", doing, err)
}

// hindrance is why PostgreSQL can do nothing, whatever it is asked, and what ends that; "" where err tells of something
// else. The codes are those of its appendix on error codes.
func hindrance(err *pgconn.PgError) string {
	switch err.Code {
	case "53100": // disk_full
		return "the disk that holds the journal is full, so nothing of this was saved; make room on it, then do this again"
	case "53000", "53200", "53300": // insufficient_resources, out_of_memory, too_many_connections
		return "the journal's database has no room for one more request just now, and nothing was half saved; try again in a few seconds"
	case "25006": // read_only_sql_transaction
		return "the journal's database may only be read at present, so nothing was saved; name the one that may be written, or let it be written again"
	case "57P01", "57P02", "57P03": // admin_shutdown, crash_shutdown, cannot_connect_now
		return "the journal's database is stopping or starting, and nothing was half saved; try again in a few seconds"
	case "58030": // io_error
		return "the disk that holds the journal can't be read or written, so nothing was saved; look at that disk, and have a backup ready"
	case notAllowed:
		// What the system refuses has the same code as what a role may not do, but the system's words.
		if strings.HasSuffix(err.Message, "Permission denied") || strings.HasSuffix(err.Message, "Read-only file system") {
			return "the journal's files can't be read or written any more, so nothing was saved; give the folder of its database its permissions back, or its disk the right to be written to"
		}
	}
	return ""
}

// constraintMessage says in words what a table's constraint refused. The rules
// in Go come first and say more; this is for what only the tables can see.
func constraintMessage(name string) string {
	switch name {
	case "angler_name_once":
		return "an angler of that name is in the journal already; choose another name"
	case "water_name_once":
		return "a water of that name is in the journal already; choose another name"
	case "beat_name_once":
		return "that water has a beat of that name already; choose another name"
	case "rig_revision_once":
		return "a rig of that name is in the journal already; edit that one, or choose another name"
	case "rig_fished_never_changes":
		return "that rig has been fished and never changes; save the change as a new revision"
	case "session_outfit_id_angler_id_fkey", "session_outfit_id_guide_id_fkey":
		return "that angler is not in this journal; choose one from the list"
	case "session_outfit_id_water_id_fkey":
		return "that water is not in this journal; choose one from the list"
	case "session_outfit_id_water_id_beat_id_fkey":
		return "that beat is not on that water; choose one from the list"
	case "stint_outfit_id_rig_id_fkey":
		return "that rig is not in this journal; choose one from the list"
	case "claim_words_once":
		return "a claim in these words is there already, on the board or retired; change or restore that one, or word this one differently"
	case "bench_pull_outfit_id_angler_id_fkey":
		return "the angler who tied it is not in this journal; choose one from the list"
	case "bench_pull_knot_only":
		return "a line without a junction has no facing, prop or tag, and can't slip; choose the junction"
	case "trial_name_once":
		return "a trial of that name is in the journal already; choose another name"
	case "trial_plan_never_changes":
		return "the plan of a trial never changes; end it and plan another one"
	case "trial_outfit_id_a_rig_id_fkey", "trial_outfit_id_b_rig_id_fkey":
		return "the rig of an arm is not in this journal; choose one from the list. A rig that a trial compares can't be deleted"
	case "trial_unit_stint_once", "trial_unit_session_once":
		return "that is attached to another number of this trial already; take it off there first"
	case "rule_set_name_once":
		return "a rule set of that name is in use already; change that one, or choose another name"
	case "rule_set_tags_in_order":
		return "the least tag length is above the greatest; swap them"
	case "member_pkey":
		return "you belong to this outfit already; open its pages instead of the invitation"
	case "person_account_once":
		return "those digits are taken by now; send it again to draw others"
	case "member_angler_once":
		return "that angler is a member already; choose another"
	case "member_outfit_id_angler_id_fkey", "invitation_outfit_id_angler_id_fkey":
		return "that angler is not in this journal; choose one from the list"
	case "session_live_or_deleted":
		return "that session is deleted; restore it first"
	case "stint_pkey", "session_pkey", "claim_pkey", "bench_pull_pkey", "trial_pkey", "rule_set_pkey":
		return "something else in the journal has that id already; reload the page and enter it again"
	}
	return "the journal refused this: " + strings.ReplaceAll(name, "_", " ")
}

// Migrate brings the tables of a database up to date, one process at a time. It works by the address of who keeps
// the tables, and lets the user of the program's address step down to the roles in which it works.
func Migrate(ctx context.Context, keeper, url string) error {
	latest, err := migrations.Latest()
	if err != nil {
		return err
	}
	return MigrateTo(ctx, keeper, url, latest)
}

// rolesMade is the migration that makes the roles in which the program works.
const rolesMade = 19

// gaugesMade is the one that makes the role in which readings are kept for all.
const gaugesMade = 22

// MigrateTo is Migrate up to the migration of a number, for a copy of a journal that an earlier program has used.
func MigrateTo(ctx context.Context, keeper, url string, target int64) error {
	cfg, err := link.Parse(keeper)
	if err != nil {
		return fmt.Errorf("read the address to migrate by: %w", err)
	}
	program, err := pgx.ParseConfig(url)
	if err != nil {
		return fmt.Errorf("read the database address: %w", err)
	}
	db := stdlib.OpenDB(*cfg)
	defer db.Close()
	// goose waits for its lock in steps of seconds, so look first whether
	// there is anything to do at all.
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 60))
	if err != nil {
		return fmt.Errorf("prepare the migration lock: %w", err)
	}
	p, err := goose.NewProvider(goose.DialectPostgres, db, migrations.Files, goose.WithSessionLocker(locker))
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	current, latest, err := p.GetVersions(ctx)
	if err != nil {
		return fmt.Errorf("read the version of the journal's tables: %w", err)
	}
	if newest := max(current, target); newest > latest {
		return errNewerTables(newest, latest)
	}
	if current < target {
		if _, err := p.UpTo(ctx, target); err != nil {
			return fmt.Errorf("bring the journal's tables up to date: %w", mayNotMakeRoles(err, cfg.User))
		}
	}
	if target < rolesMade {
		return nil
	}
	roles := []string{asOwner, asGuide, asClient, asReader, atDoor}
	if target >= gaugesMade {
		roles = append(roles, atGauges)
	}
	if _, err := db.ExecContext(ctx, "GRANT "+strings.Join(roles, ", ")+" TO "+pgx.Identifier{program.User}.Sanitize()); err != nil {
		return fmt.Errorf("let the program's user %s work in the journal: %w", program.User, mayNotMakeRoles(err, cfg.User))
	}
	return nil
}

// mayNotMakeRoles says what to do where a user may not make the roles in which the program works, or hand them on.
func mayNotMakeRoles(err error, user string) error {
	var pg *pgconn.PgError
	if errors.As(err, &pg) && pg.Code == notAllowed {
		return fmt.Errorf("%w; the user %s needs the right to make roles (ALTER ROLE %s CREATEROLE), or name one who has it with migrate_url (--migrate-url); docs/server.md says how", err, user, pgx.Identifier{user}.Sanitize())
	}
	return err
}

// checkTables compares the tables' version with that of the program.
func (s *Store) checkTables(ctx context.Context) error {
	latest, err := migrations.Latest()
	if err != nil {
		return err
	}
	var current int64
	err = once{s.pool, room{role: atDoor}}.QueryRow(ctx, `SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied`).Scan(&current)
	var pg *pgconn.PgError
	// No such table, no such role, not this user's role, not this role's table.
	before := []string{"42P01", "22023", notAllowed}
	switch {
	case errors.As(err, &pg) && slices.Contains(before, pg.Code):
		return ErrOldTables
	case err != nil:
		return explain("read the version of the journal's tables", err)
	case current < latest:
		return ErrOldTables
	case current > latest:
		return errNewerTables(current, latest)
	}
	return nil
}

func errNewerTables(current, known int64) error {
	return fmt.Errorf("this journal was last used by a newer rigtally (tables of version %d, this program knows %d); use the newer program", current, known)
}
