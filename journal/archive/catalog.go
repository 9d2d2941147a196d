// Package archive copies a journal's tables as they are, of every outfit at once: into files, out of them, and from
// one PostgreSQL into another.
package archive

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/journal/pg"
	"rigtally/migrations"
)

// versions is the table in which the migrations are noted. It is made by them, never copied.
const versions = "goose_db_version"

// Table is one of the journal's tables.
type Table struct {
	Name    string
	Columns []string // those that are stored, in the table's order; none that are computed from others
	Key     []Column // what its rows are in order by: its primary key, else all its columns

	policies bool // that bind the tables' owner too
	refers   []reference
}

// Column is a part of a key.
type Column struct {
	Name string
	Text bool // sorted as text is, which depends on a collation
}

// reference is a foreign key to another table.
type reference struct {
	to     string
	always bool // none of its columns may be null
}

// Version is the number of the last migration of a journal's tables; 0 where there are none. It may be later than
// this program knows.
func Version(ctx context.Context, conn *pgx.Conn) (int64, error) {
	var there bool
	if err := conn.QueryRow(ctx, `SELECT to_regclass('public.`+versions+`') IS NOT NULL`).Scan(&there); err != nil || !there {
		return 0, explain("read the version of the journal's tables", err)
	}
	var version int64
	err := conn.QueryRow(ctx, `SELECT coalesce(max(version_id), 0) FROM public.`+versions+` WHERE is_applied`).Scan(&version)
	return version, explain("read the version of the journal's tables", err)
}

// Prepare makes the tables of a migration's number in an empty database, by the address of who keeps it for the
// program at the other. A number that this program doesn't know, and a database that has tables, are errors.
func Prepare(ctx context.Context, keeper, program string, version int64) error {
	conn, err := pgx.Connect(ctx, keeper)
	if err != nil {
		return fmt.Errorf("connect to the database to fill: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var tables int
	err = conn.QueryRow(ctx, `SELECT count(*) FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p', 'v')`).Scan(&tables)
	if err != nil {
		return explain("look at the database to fill", err)
	}
	if tables > 0 {
		return errors.New("the database to fill is not empty; choose one that is")
	}
	return pg.MigrateTo(ctx, keeper, program, version)
}

// Tables lists the journal's tables, each after those that its rows need; of one in partitions these, which hold its rows. What others have put beside them is not
// among them: Foreign tells it.
func Tables(ctx context.Context, conn *pgx.Conn) ([]Table, error) {
	known, err := ourNames()
	if err != nil {
		return nil, err
	}
	rows, _ := conn.Query(ctx, `SELECT c.relname,
			(SELECT array_agg(attname::text ORDER BY attnum) FROM pg_attribute WHERE attrelid = c.oid AND attnum > 0 AND NOT attisdropped AND attgenerated = ''),
			coalesce((SELECT array_agg(a.attname::text ORDER BY place) FROM pg_index i, unnest(i.indkey) WITH ORDINALITY AS part (attnum, place)
				JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = part.attnum WHERE i.indrelid = c.oid AND i.indisprimary), '{}'),
			coalesce((SELECT array_agg(attname::text) FROM pg_attribute WHERE attrelid = c.oid AND attnum > 0 AND attcollation <> 0), '{}'),
			relforcerowsecurity,
			EXISTS (SELECT FROM pg_depend d JOIN pg_class s ON s.oid = d.objid AND s.relkind = 'S' WHERE d.classid = 'pg_class'::regclass AND d.refobjid = c.oid)
		FROM pg_class c WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND relname = ANY ($1) AND relname <> '`+versions+`' ORDER BY 1`, known)
	var keyed, texts []string
	var counted bool
	var all []Table
	var t Table
	_, err = pgx.ForEachRow(rows, []any{&t.Name, &t.Columns, &keyed, &texts, &t.policies, &counted}, func() error {
		if counted {
			return fmt.Errorf("the table %s draws numbers from a sequence, and those are not copied", t.Name)
		}
		if len(keyed) == 0 {
			keyed = t.Columns
		}
		for _, name := range keyed {
			t.Key = append(t.Key, Column{name, slices.Contains(texts, name)})
		}
		all, t = append(all, t), Table{}
		return nil
	})
	if err != nil {
		return nil, explain("list the journal's tables", err)
	}
	if err := learnReferences(ctx, conn, all); err != nil {
		return nil, err
	}
	return inOrder(all), nil
}

func learnReferences(ctx context.Context, conn *pgx.Conn, tables []Table) error {
	rows, _ := conn.Query(ctx, `SELECT f.relname, t.relname, (SELECT bool_and(attnotnull) FROM pg_attribute WHERE attrelid = conrelid AND attnum = ANY (conkey))
		FROM pg_constraint JOIN pg_class f ON f.oid = conrelid JOIN pg_class t ON t.oid = confrelid
		WHERE contype = 'f' AND conrelid <> confrelid AND f.relnamespace = 'public'::regnamespace`)
	var from string
	var r reference
	_, err := pgx.ForEachRow(rows, []any{&from, &r.to, &r.always}, func() error {
		if i := slices.IndexFunc(tables, func(t Table) bool { return t.Name == from }); i >= 0 {
			tables[i].refers = append(tables[i].refers, r)
		}
		return nil
	})
	return explain("list the journal's foreign keys", err)
}

// inOrder puts each table after those that it refers to. Where tables refer to each other in a circle, what may be
// null comes second.
func inOrder(tables []Table) []Table {
	var sorted []Table
	open := func(r reference) bool {
		return slices.ContainsFunc(tables, func(t Table) bool { return t.Name == r.to })
	}
	for len(tables) > 0 {
		next := slices.IndexFunc(tables, func(t Table) bool { return !slices.ContainsFunc(t.refers, open) })
		if next < 0 {
			next = slices.IndexFunc(tables, func(t Table) bool {
				return !slices.ContainsFunc(t.refers, func(r reference) bool { return r.always && open(r) })
			})
		}
		next = max(next, 0) // a circle in which nothing may be null has no order
		sorted = append(sorted, tables[next])
		tables = slices.Delete(tables, next, next+1)
	}
	return sorted
}

var made = regexp.MustCompile(`(?m)^CREATE (?:OR REPLACE )?(?:TABLE|VIEW|FUNCTION) (\w+)`)

// ourNames are the names of all tables, views and functions that migrations ever made.
func ourNames() ([]string, error) {
	files, err := fs.Glob(migrations.Files, "*.sql")
	names := []string{versions}
	for _, file := range files {
		text, err := fs.ReadFile(migrations.Files, file)
		if err != nil {
			return nil, fmt.Errorf("read the migrations: %w", err)
		}
		for _, found := range made.FindAllSubmatch(text, -1) {
			names = append(names, string(found[1]))
		}
	}
	return names, err
}

// Foreign lists what a database holds and no migration made, as in "table mine" or "extension hstore": tables, views,
// functions, types, schemas, extensions and large objects, which copies of the journal leave out.
func Foreign(ctx context.Context, conn *pgx.Conn) ([]string, error) {
	known, err := ourNames()
	if err != nil {
		return nil, err
	}
	rows, _ := conn.Query(ctx, `WITH own AS (
			SELECT oid, nspname, CASE nspname WHEN 'public' THEN '' ELSE nspname || '.' END AS within FROM pg_namespace
			WHERE nspname NOT LIKE 'pg\_%' AND nspname <> 'information_schema'),
		brought AS (SELECT classid, objid FROM pg_depend WHERE deptype IN ('e', 'i', 'a') AND refclassid <> 'pg_namespace'::regclass)
		SELECT 'schema ' || nspname FROM own WHERE nspname <> 'public'
		UNION ALL SELECT CASE relkind WHEN 'v' THEN 'view ' WHEN 'm' THEN 'materialized view ' WHEN 'S' THEN 'sequence ' WHEN 'f' THEN 'foreign table ' ELSE 'table ' END || within || relname
			FROM pg_class c JOIN own ON own.oid = relnamespace
			WHERE relkind IN ('r', 'p', 'v', 'm', 'S', 'f') AND NOT (nspname = 'public' AND relname = ANY ($1))
			AND NOT EXISTS (SELECT FROM brought WHERE classid = 'pg_class'::regclass AND objid = c.oid)
		UNION ALL SELECT 'function ' || within || proname FROM pg_proc p JOIN own ON own.oid = pronamespace
			WHERE NOT (nspname = 'public' AND proname = ANY ($1)) AND NOT EXISTS (SELECT FROM brought WHERE classid = 'pg_proc'::regclass AND objid = p.oid)
		UNION ALL SELECT 'type ' || within || typname FROM pg_type t JOIN own ON own.oid = typnamespace
			WHERE typtype IN ('d', 'e', 'r') AND NOT EXISTS (SELECT FROM brought WHERE classid = 'pg_type'::regclass AND objid = t.oid)
		UNION ALL SELECT 'extension ' || extname FROM pg_extension WHERE extname <> 'plpgsql'
		UNION ALL SELECT 'large object ' || oid FROM pg_largeobject_metadata
		ORDER BY 1`, known)
	found, err := pgx.CollectRows(rows, pgx.RowTo[string])
	return found, explain("look for what is not the journal's", err)
}

// Catalogue describes all that holds the journal's tables together, one line each, in order: columns, constraints,
// indexes, triggers, policies, functions, views, and who may do what. Journals of equal tables have equal catalogues,
// whichever PostgreSQL they are in.
func Catalogue(ctx context.Context, conn *pgx.Conn) ([]string, error) {
	known, err := ourNames()
	if err != nil {
		return nil, err
	}
	tx, err := conn.BeginTx(ctx, pgx.TxOptions{AccessMode: pgx.ReadOnly})
	if err != nil {
		return nil, explain("read the journal's catalogue", err)
	}
	defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }()
	if err := settle(ctx, tx); err != nil {
		return nil, err
	}
	rows, _ := tx.Query(ctx, `WITH ours AS (SELECT * FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p', 'v') AND relname = ANY ($1)),
		line AS (
		SELECT format('table %s, owner %s, row security %s %s%s%s', relname, pg_get_userbyid(relowner), relrowsecurity, relforcerowsecurity,
			' PARTITION BY ' || pg_get_partkeydef(oid), ' ' || pg_get_expr(relpartbound, oid)) AS text FROM ours WHERE relkind IN ('r', 'p')
		UNION ALL SELECT format('column %s.%s %s%s%s', relname, attname, format_type(atttypid, atttypmod), CASE WHEN attnotnull THEN ' NOT NULL' ELSE '' END,
			coalesce(' DEFAULT ' || pg_get_expr(adbin, adrelid), ''))
			FROM ours JOIN pg_attribute ON attrelid = ours.oid AND attnum > 0 AND NOT attisdropped LEFT JOIN pg_attrdef ON adrelid = attrelid AND adnum = attnum
		UNION ALL SELECT format('constraint %s on %s %s', conname, relname, pg_get_constraintdef(c.oid)) FROM ours JOIN pg_constraint c ON conrelid = ours.oid WHERE contype <> 'n'
		UNION ALL SELECT pg_get_indexdef(indexrelid) FROM ours JOIN pg_index ON indrelid = ours.oid
		UNION ALL SELECT format('%s %s', pg_get_triggerdef(t.oid), tgenabled) FROM ours JOIN pg_trigger t ON tgrelid = ours.oid WHERE NOT tgisinternal
		UNION ALL SELECT format('policy %s on %s %s %s to %s using %s check %s', polname, relname, polpermissive, polcmd,
			(SELECT string_agg(r::regrole::text, ',' ORDER BY r::regrole::text) FROM unnest(polroles) r), pg_get_expr(polqual, polrelid), pg_get_expr(polwithcheck, polrelid))
			FROM ours JOIN pg_policy ON polrelid = ours.oid
		UNION ALL SELECT format('view %s %s', relname, pg_get_viewdef(oid)) FROM ours WHERE relkind = 'v'
		UNION ALL SELECT format('function %s owner %s %s', oid::regprocedure, pg_get_userbyid(proowner), pg_get_functiondef(oid)) FROM pg_proc WHERE pronamespace = 'public'::regnamespace AND proname = ANY ($1)
		UNION ALL SELECT format('grant on %s to %s %s', relname, CASE grantee WHEN 0 THEN 'public' ELSE pg_get_userbyid(grantee) END, string_agg(privilege_type, ',' ORDER BY privilege_type))
			FROM ours, aclexplode(relacl) WHERE grantee <> relowner GROUP BY relname, grantee
		UNION ALL SELECT format('grant on %s.%s to %s %s', relname, attname, CASE grantee WHEN 0 THEN 'public' ELSE pg_get_userbyid(grantee) END, string_agg(privilege_type, ',' ORDER BY privilege_type))
			FROM ours JOIN pg_attribute ON attrelid = ours.oid, aclexplode(attacl) GROUP BY relname, attname, grantee
		UNION ALL SELECT format('grant on %s to %s %s', p.oid::regprocedure, CASE grantee WHEN 0 THEN 'public' ELSE pg_get_userbyid(grantee) END, privilege_type)
			FROM pg_proc p, aclexplode(proacl) WHERE pronamespace = 'public'::regnamespace AND proname = ANY ($1) AND grantee <> proowner)
		SELECT DISTINCT regexp_replace(text, '\s+', ' ', 'g') COLLATE "C" FROM line ORDER BY 1`, known)
	lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
	return lines, explain("read the journal's catalogue", err)
}

// Differences names what one of two catalogues has and the other has not, a few lines each.
func Differences(before, after []string) []string {
	var all []string
	for _, side := range []struct {
		sign        string
		of, against []string
	}{{"missing: ", before, after}, {"new: ", after, before}} {
		for _, line := range side.of {
			if _, found := slices.BinarySearch(side.against, line); !found {
				all = append(all, side.sign+line)
			}
		}
	}
	return all
}

// explain says what was being done. A database whose policies would hide rows says so instead of leaving them out.
func explain(doing string, err error) error {
	var refused *pgconn.PgError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &refused) && refused.Code == "42501" && strings.Contains(refused.Message, "row-level security"):
		return fmt.Errorf("%s: %w; use the address of a superuser, or of a user with the right BYPASSRLS", doing, err)
	}
	return fmt.Errorf("%s: %w", doing, err)
}
