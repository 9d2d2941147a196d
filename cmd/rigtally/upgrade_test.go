package main

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver"
	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/archive"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

// inPrivate runs f on the private server of a data folder.
func inPrivate(t *testing.T, dir string, f func(ctx context.Context, s *pgserver.Server) error) {
	t.Helper()
	s, err := pgserver.Acquire(t.Context(), pgserver.Config{DataDir: dir, Local: []string{filepath.Join(projectFolder(t), ".postgres")}})
	if err != nil {
		t.Fatal(err)
	}
	err = s.EnsureDatabase(t.Context(), command.DatabaseName)
	if err == nil {
		err = f(t.Context(), s)
	}
	if err := errors.Join(err, s.Release(context.Background())); err != nil {
		t.Fatal(err)
	}
}

// inventOutfits fills a journal with two outfits.
func inventOutfits(ctx context.Context, s *pgserver.Server) error {
	store, err := pg.MigrateAndOpen(ctx, s.KeeperURL(command.DatabaseName), s.ProgramURL(command.DatabaseName))
	if err != nil {
		return err
	}
	defer store.Close()
	other, err := store.AddOutfit(ctx, "The other outfit")
	if err != nil {
		return err
	}
	for seed, of := range []*pg.Store{store, store.In(other, journal.Keeper())} {
		if _, err := demo.Fill(ctx, of, demo.Generate(uint64(seed), 12)); err != nil {
			return err
		}
		if _, err := of.Invite(ctx, journal.Invitation{Role: journal.RoleGuide, Name: "Invented guide"}); err != nil {
			return err
		}
	}
	return nil
}

func fingerprints(ctx context.Context, s *pgserver.Server) (sums []archive.Sum, err error) {
	conn, err := pgx.Connect(ctx, s.URL(command.DatabaseName))
	if err != nil {
		return nil, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	err = archive.View(ctx, conn, func(tx pgx.Tx) (err error) {
		sums, err = archive.Fingerprints(ctx, tx)
		return err
	})
	return sums, err
}

// Ensure that a journal of several outfits is the same in a newer PostgreSQL, and goes on there.
func TestDatabaseUpgrade(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	var before, after []archive.Sum
	inPrivate(t, dir, func(ctx context.Context, s *pgserver.Server) (err error) {
		if err = inventOutfits(ctx, s); err == nil {
			before, err = fingerprints(ctx, s)
		}
		return errors.Join(err, s.EnsureDatabase(ctx, archive.ScratchPrefix+"left")) // as a killed run leaves it
	})
	plan, err := pgserver.PlanUpgrade(pgserver.Config{DataDir: dir, Local: []string{filepath.Join(projectFolder(t), ".postgres")}}, 0)
	if err != nil {
		t.Fatal(err)
	}
	if plan.To == 0 {
		t.Skip("no PostgreSQL newer than ", plan.From, ` is on this machine; "make postgres" fetches one`)
	}
	if said := outputOf(t, dir, "database", "upgrade"); !strings.Contains(said, "all rows of all tables are there and the same") || !strings.Contains(said, plan.Kept) {
		t.Error(said)
	}
	if made := backupsIn(t, dir); len(made) != 1 || !strings.HasSuffix(made[0], "-upgrade.rigtally") {
		t.Errorf("before the upgrade: %v", made)
	}
	inPrivate(t, dir, func(ctx context.Context, s *pgserver.Server) (err error) {
		after, err = fingerprints(ctx, s)
		return err
	})
	if d := archive.Unequal(before, after); len(d) > 0 {
		t.Error(d)
	}
	if said := outputOf(t, dir, "undo", "--yes"); !strings.Contains(said, "Taken back") {
		t.Error(said)
	}
	if said := outputOf(t, dir, "database", "where"); !strings.Contains(said, "kept") {
		t.Errorf("where does not tell that the old cluster is kept:\n%s", said)
	}
	if said := outputOf(t, dir, "database", "upgrade", "--remove-old"); !strings.Contains(said, plan.Kept) {
		t.Error(said)
	}
}

// Ensure that what is not the journal's is named before an upgrade, and not lost without a word.
func TestDatabaseUpgradeLeavesOthers(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	inPrivate(t, dir, func(ctx context.Context, s *pgserver.Server) error {
		conn, err := pgx.Connect(ctx, s.URL(command.DatabaseName))
		if err != nil {
			return err
		}
		defer conn.Close(ctx)
		for _, sql := range []string{"CREATE TABLE mine ()", "CREATE DATABASE other", "CREATE ROLE somebody"} {
			if _, err := conn.Exec(ctx, sql); err != nil {
				return err
			}
		}
		return nil
	})
	check := outputOf(t, dir, "database", "upgrade", "--check")
	if strings.Contains(check, "were not found") {
		t.Skip(check)
	}
	got := programAt(t, dir, "database", "upgrade")
	var said strings.Builder
	got.Stderr = &said
	if err := got.Run(); err == nil {
		t.Error("the upgrade went ahead")
	}
	for _, other := range []string{"table mine", "database other", "user somebody"} {
		if !strings.Contains(check, other) || !strings.Contains(said.String(), other) {
			t.Errorf("%q is not named in:\n%s\n%s", other, check, said.String())
		}
	}
}
