package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"rigtally/journal/demo"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

// tables in an order in which every reference exists before it is needed.
var tables = []string{"outfit", "angler", "water", "beat", "rig", "rig_position", "session", "stint", "stint_position", "tag_spell", "event"}

// imports times a spreadsheet of 100,000 rows, read, understood, checked and
// stored with its events and counts, against psql's \copy of the rows it becomes
// into the same tables, keys, triggers and constraints.
func (b *bench) imports(ctx context.Context) error {
	sheet, rows, err := b.spreadsheet(ctx)
	if err != nil {
		return err
	}
	var ours, theirs timed
	for i := range importRounds {
		target := fmt.Sprintf("import_%d", i)
		store, err := b.open(ctx, target)
		if err != nil {
			return err
		}
		d, err := clock(func() error { return importSheet(ctx, store, sheet) })
		store.Close()
		if err != nil {
			return err
		}
		ours = append(ours, d)
		if i == 0 {
			if err := b.dump(target); err != nil {
				return err
			}
		}
		if d, err = b.copyIn(ctx, fmt.Sprintf("copy_%d", i)); err != nil {
			return err
		}
		theirs = append(theirs, d)
	}
	compare(fmt.Sprintf("import of %d spreadsheet rows, every row checked", rows), ours, `psql \copy of the same rows, not checked by us`, theirs)
	return nil
}

// spreadsheet writes an invented outfit's seasons as a flat file of about importRows rows.
func (b *bench) spreadsheet(ctx context.Context) (sheet []byte, rows int, err error) {
	store, err := b.open(ctx, "season")
	if err != nil {
		return nil, 0, err
	}
	defer store.Close()
	rowsPerSession := 6.65 // of the demo season
	if err := demo.Load(ctx, store, demo.Generate(7, int(importRows/rowsPerSession))); err != nil {
		return nil, 0, err
	}
	var out bytes.Buffer
	if err := exchange.WriteCSV(ctx, store, &out); err != nil {
		return nil, 0, err
	}
	lines := bytes.SplitAfter(out.Bytes(), []byte("\n"))
	return out.Bytes(), len(lines) - 2, nil
}

func importSheet(ctx context.Context, store *pg.Store, csv []byte) error {
	read, err := sheet.Read(ctx, bytes.NewReader(csv), "season.csv", sheet.Options{Accept: true})
	if err != nil {
		return err
	}
	_, err = read.Import(ctx, store, sheet.How{})
	return err
}

// open makes a database with the journal's tables and opens it.
func (b *bench) open(ctx context.Context, name string) (*pg.Store, error) {
	if err := b.server.EnsureDatabase(ctx, name); err != nil {
		return nil, err
	}
	return pg.MigrateAndOpen(ctx, b.server.KeeperURL(name), b.server.ProgramURL(name))
}

// dump writes every table of a database as CSV.
func (b *bench) dump(database string) error {
	var script strings.Builder
	for _, t := range tables {
		fmt.Fprintf(&script, "\\copy %s to '%s' csv\n", t, b.csv(t))
	}
	_, err := b.script(database, script.String())
	return err
}

func (b *bench) csv(table string) string { return filepath.Join(b.dir, table+".csv") }

// copyIn times \copy of the dumped rows into fresh tables, in one transaction
// as the import is.
func (b *bench) copyIn(ctx context.Context, database string) (d time.Duration, err error) {
	if err := b.server.EnsureDatabase(ctx, database); err != nil {
		return 0, err
	}
	if err := pg.Migrate(ctx, b.server.KeeperURL(database), b.server.ProgramURL(database)); err != nil {
		return 0, err
	}
	var script strings.Builder
	script.WriteString("begin;\n")
	for _, t := range tables {
		fmt.Fprintf(&script, "\\copy %s from '%s' csv\n", t, b.csv(t))
		if t == "outfit" { // triggers look at the outfit at work
			script.WriteString("select set_config('rigtally.outfit', (select id::text from outfit), false);\n")
		}
	}
	script.WriteString("commit;\nanalyze;\n")
	return b.script(database, script.String())
}

// script runs psql on a file of commands.
func (b *bench) script(database, text string) (time.Duration, error) {
	file := filepath.Join(b.dir, "script.sql")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		return 0, err
	}
	return clock(func() error { return b.psql(b.server.URL(database), "-f", file) })
}
