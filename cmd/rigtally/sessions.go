package main

import (
	"context"
	"errors"
	"fmt"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

func (p *program) sessionsCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "sessions", Short: "List, show, delete and restore sessions"}
	group(cmd)
	var angler, water string
	var season, limit int
	list := &cobra.Command{
		Use: "list", Short: "List the latest sessions", Args: between(0, 0, ""),
		Example: "  rigtally sessions list --angler \"J. Felt\" --season 2025 --limit 10",
	}
	list.Flags().StringVar(&angler, "angler", "", "only those of this `name`")
	list.Flags().StringVar(&water, "water", "", "only those on this `name`")
	list.Flags().IntVar(&season, "season", 0, "only those of this `year`")
	list.Flags().IntVar(&limit, "limit", 20, "at most this `number`")
	list.RunE = p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
		if limit < 1 {
			return usagef("--limit %d shows nothing; write 1 or more", limit)
		}
		return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
			return p.listSessions(ctx, store, angler, water, journal.SessionFilter{Season: season, Limit: limit})
		})
	})
	one := func(use, short string, f func(context.Context, *pg.Store, journal.ID) error) *cobra.Command {
		return &cobra.Command{
			Use: use + " ID", Short: short, Args: between(1, 1, "the session's id"),
			Example: "  rigtally sessions " + use + " 0198c5a2-7d1e-7f3a-9b57-3f5c1d2e4a60",
			RunE: p.do(func(ctx context.Context, _ *cobra.Command, args []string) error {
				id, err := journal.ParseID(args[0])
				if err != nil {
					return usagef("%w; \"rigtally sessions list\" shows them", err)
				}
				return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return f(ctx, store, id) })
			}),
		}
	}
	cmd.AddCommand(list,
		one("show", "Show a session with its stints", p.showSession),
		one("delete", fmt.Sprintf("Take a session out; it can be restored for %d days", journal.UndoDays), p.deleteSession),
		one("restore", "Bring a deleted session back", p.restoreSession),
		&cobra.Command{
			Use: "deleted", Short: "List what can be restored", Args: between(0, 0, ""),
			RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
				return p.withJournal(ctx, p.listDeleted)
			}),
		})
	return cmd
}

func (p *program) listSessions(ctx context.Context, store *pg.Store, angler, water string, f journal.SessionFilter) error {
	if angler != "" {
		a, err := store.AnglerByName(ctx, angler)
		if err != nil {
			return unknownName(err, "angler")
		}
		f.Angler = &a.ID
	}
	if water != "" {
		w, err := store.WaterByName(ctx, water)
		if err != nil {
			return unknownName(err, "water")
		}
		f.Water = &w.ID
	}
	lines, total, err := store.SessionLines(ctx, f)
	if err != nil {
		return err
	}
	if total == 0 {
		p.printf("No session to list. Log one with \"rigtally log\", or import a spreadsheet with \"rigtally import\".\n")
		return nil
	}
	t := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "Day\tAngler\tWater\tFished\tHooked\tLanded\tTangles\tId")
	for _, l := range lines {
		where := l.Water
		if l.Beat != "" {
			where += ", " + l.Beat
		}
		fished := units.FormatDuration(l.Minutes)
		if l.Untimed > 0 {
			fished += " or more"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", l.Day, l.Angler, where, fished,
			prose.TotalCell(l.Hookups), prose.TotalCell(l.Landed), prose.TotalCell(l.Tangles), l.ID)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	if total > len(lines) {
		p.printf("%d of %d sessions; --limit shows more.\n", len(lines), total)
	}
	return nil
}

func unknownName(err error, what string) error {
	if errors.Is(err, journal.ErrNotFound) {
		return fmt.Errorf("%w; write the %s's name as \"rigtally sessions list\" shows it", err, what)
	}
	return err
}

func (p *program) showSession(ctx context.Context, store *pg.Store, id journal.ID) error {
	s, err := store.SessionByID(ctx, id)
	if err != nil {
		return unknownSession(err)
	}
	sys, err := p.unitsFor(ctx, store)
	if err != nil {
		return err
	}
	contents, err := store.Directory(ctx)
	if err != nil {
		return err
	}
	text, err := sessionText(s, namesOf(contents), sys)
	if err != nil {
		return err
	}
	p.printf("%s", text)
	return nil
}

func unknownSession(err error) error {
	if errors.Is(err, journal.ErrNotFound) {
		return fmt.Errorf("%w; see \"rigtally sessions list\", and \"rigtally sessions deleted\" for what was taken out", err)
	}
	return err
}

func (p *program) deleteSession(ctx context.Context, store *pg.Store, id journal.ID) error {
	if err := store.DeleteSession(ctx, id, 0); err != nil {
		return unknownSession(err)
	}
	p.printf("The session is deleted. For %d days it can be brought back with: rigtally sessions restore %s\n", journal.UndoDays, id)
	return nil
}

func (p *program) restoreSession(ctx context.Context, store *pg.Store, id journal.ID) error {
	if err := store.RestoreSession(ctx, id, 0); err != nil {
		return unknownSession(err)
	}
	p.printf("The session is back in the journal.\n")
	return nil
}

func (p *program) listDeleted(ctx context.Context, store *pg.Store) error {
	list, err := store.DeletedSessions(ctx)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		p.printf("Nothing was deleted in the last %d days.\n", journal.UndoDays)
		return nil
	}
	contents, err := store.Directory(ctx)
	if err != nil {
		return err
	}
	n := namesOf(contents)
	t := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "Day\tAngler\tWater\tDeleted\tGone for good\tId")
	for _, d := range list {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", d.Day, n.anglers[d.AnglerID].Name, n.waters[d.WaterID].Name,
			d.DeletedAt.Format(time.DateOnly), d.DeletedAt.AddDate(0, 0, journal.UndoDays).Format(time.DateOnly), d.ID)
	}
	return t.Flush()
}
