package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/outing"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

func sessionsCommand(p *command.Program) *cobra.Command {
	of := kept{noun: "session", name: "sessions", kind: pg.ListSessions, gone: pg.ListDeleted, remove: (*pg.Store).DeleteSession, restore: (*pg.Store).RestoreSession, deleted: listDeleted,
		removed:  fmt.Sprintf("The session is deleted. For %d days it can be brought back:\n  rigtally sessions restore ID", journal.UndoDays),
		restored: "The session is back in the journal."}
	show := of.command(p, "show", "Show a session with its stints", of.kind, func(ctx context.Context, j command.Journal, id journal.ID) error {
		s, err := j.SessionByID(ctx, id)
		if err != nil {
			return err
		}
		contents, err := j.Directory(ctx)
		if err != nil {
			return err
		}
		fills, err := j.Fills(ctx, id)
		if err != nil {
			return err
		}
		text, err := outing.Session(s, fills[id], outing.In(contents), j.Units)
		return p.Did(err, "%s", text)
	})
	return command.Group(&cobra.Command{Use: "sessions", Short: "List, show, edit, delete and restore sessions"}, append(of.undo(p), sessionsListCommand(p), show, outing.EditCommand(p))...)
}

// kept is a kind of thing that the journal keeps by its id, takes out and brings back.
type kept struct {
	noun              string      // one of them
	name              string      // of the command that holds theirs
	kind, gone        pg.ListKind // by which their ids are found, and those of the ones taken out
	remove, restore   func(*pg.Store, context.Context, journal.ID, int) error
	removed, restored string                                                         // what is said then, with ID for the id
	deleted           func(context.Context, *command.Program, command.Journal) error // lists what can be restored
}

// undo are the commands that take one of them out, bring it back, and list what can be brought back.
func (k kept) undo(p *command.Program) []*cobra.Command {
	doing := func(use, short string, kind pg.ListKind, do func(*pg.Store, context.Context, journal.ID, int) error, said string) *cobra.Command {
		return k.command(p, use, short, kind, func(ctx context.Context, j command.Journal, id journal.ID) error {
			return p.Did(do(j.Store, ctx, id, 0), "%s\n", strings.ReplaceAll(said, "ID", id.String()))
		})
	}
	return []*cobra.Command{
		doing("delete", fmt.Sprintf("Take a %s out; it can be restored for %d days", k.noun, journal.UndoDays), k.kind, k.remove, k.removed),
		doing("restore", "Bring a deleted "+k.noun+" back", k.gone, k.restore, k.restored),
		{Use: "deleted", Short: "List what can be restored", Args: command.None, Example: "  rigtally " + k.name + " deleted",
			RunE: p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error { return k.deleted(ctx, p, j) })},
	}
}

// command is a command about one of them.
func (k kept) command(p *command.Program, use, short string, kind pg.ListKind, f func(context.Context, command.Journal, journal.ID) error) *cobra.Command {
	cmd := &cobra.Command{
		Use: use + " ID", Short: short, Args: command.Between(1, 1, "the "+k.noun+"'s id"),
		Example: "  rigtally " + k.name + " " + use + " last\n  rigtally " + k.name + " " + use + " 0198c5a2",
		RunE: p.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
			id, err := j.Which(ctx, kind, args[0])
			if err == nil {
				err = f(ctx, j, id)
			}
			if errors.Is(err, journal.ErrNotFound) {
				return fmt.Errorf("%w; see \"rigtally %s list\", and \"rigtally %s deleted\" for what was taken out", err, k.name, k.name)
			}
			return err
		}),
	}
	if kind == pg.ListSessions {
		p.CompleteArgs(cmd, 1, command.SessionIDs)
	}
	return cmd
}

// limitFlag adds the flag --limit of a list.
func limitFlag(cmd *cobra.Command) *int {
	limit := cmd.Flags().Int("limit", 20, "at most this `number`")
	cmd.PreRunE = func(*cobra.Command, []string) error {
		if *limit < 1 {
			return terminal.Misusef("--limit %d shows nothing; write 1 or more", *limit)
		}
		return nil
	}
	return limit
}

func sessionsListCommand(p *command.Program) *cobra.Command {
	cmd := &cobra.Command{
		Use: "list", Short: "List the latest sessions", Args: command.None,
		Example: "  rigtally sessions list --angler \"J. Felt\" --season 2025 --limit 10",
	}
	angler := cmd.Flags().String("angler", "", "only those of this `name`")
	water := cmd.Flags().String("water", "", "only those on this `name`")
	season := cmd.Flags().Int("season", 0, "only those of this `year`")
	limit := limitFlag(cmd)
	p.CompleteFrom(cmd, "angler", command.AnglerNames)
	p.CompleteFrom(cmd, "water", command.WaterNames)
	cmd.RunE = p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
		f := journal.SessionFilter{Season: *season, Limit: *limit}
		if *angler != "" {
			a, err := j.AnglerByName(ctx, *angler)
			if err != nil {
				return unknownName(err, "angler")
			}
			f.Angler = &a.ID
		}
		if *water != "" {
			w, err := j.WaterByName(ctx, *water)
			if err != nil {
				return unknownName(err, "water")
			}
			f.Water = &w.ID
		}
		return listSessions(ctx, p, j, f)
	})
	return cmd
}

func unknownName(err error, what string) error {
	if errors.Is(err, journal.ErrNotFound) {
		return fmt.Errorf("%w; write the %s's name as \"rigtally sessions list\" shows it", err, what)
	}
	return err
}

func listSessions(ctx context.Context, p *command.Program, j command.Journal, f journal.SessionFilter) error {
	lines, total, err := j.SessionLines(ctx, f)
	if err != nil {
		return err
	}
	if total == 0 {
		p.Printf("No sessions to list. Log one with \"rigtally log\", or import a spreadsheet with \"rigtally import\".\n")
		return nil
	}
	short, err := j.Beginnings(ctx, pg.ListSessions, command.Keys(lines, func(l journal.SessionLine) journal.ID { return l.ID }))
	if err != nil {
		return err
	}
	var rows [][]string
	for _, l := range lines {
		where := l.Water
		if l.Beat != "" {
			where += ", " + l.Beat
		}
		fished := units.FormatDuration(l.Minutes)
		if l.Untimed > 0 {
			fished += " or more"
		}
		rows = append(rows, []string{l.Day.String(), l.Angler, where, fished, prose.TotalCell(l.Hookups), prose.TotalCell(l.Landed), prose.TotalCell(l.Tangles), short[l.ID]})
	}
	err = p.Table([]string{"Day", "Angler", "Water", "Fished", "Hooked", "Landed", "Tangles", "Id"}, rows)
	if err == nil && total > len(lines) {
		p.Printf("%d of %d sessions; --limit shows more.\n", len(lines), total)
	}
	return err
}

func listDeleted(ctx context.Context, p *command.Program, j command.Journal) error {
	list, err := j.DeletedSessions(ctx)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		p.Printf("Nothing was deleted in the last %d days.\n", journal.UndoDays)
		return nil
	}
	contents, err := j.Directory(ctx)
	if err != nil {
		return err
	}
	short, err := j.Beginnings(ctx, pg.ListDeleted, command.Keys(list, func(d journal.DeletedSession) journal.ID { return d.ID }))
	if err != nil {
		return err
	}
	known := outing.In(contents)
	var rows [][]string
	for _, d := range list {
		rows = append(rows, []string{d.Day.String(), known.Anglers[d.AnglerID].Name, known.Waters[d.WaterID].Name,
			d.DeletedAt.Format(time.DateOnly), d.DeletedAt.AddDate(0, 0, journal.UndoDays).Format(time.DateOnly), short[d.ID]})
	}
	return p.Table([]string{"Day", "Angler", "Water", "Deleted", "Gone for good", "Id"}, rows)
}
