package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/outing"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
)

func rigsCommand(p *command.Program) *cobra.Command {
	return command.Group(&cobra.Command{Use: "rigs", Short: "List, show, rename and merge rigs, and check them against rules"}, append(rigNames().changes(p),
		&cobra.Command{
			Use: "list", Short: "List the rigs, latest fished first", Args: command.None, Example: "  rigtally rigs list",
			RunE: p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error { return listRigs(ctx, p, j) }),
		},
		p.CompleteArgs(&cobra.Command{
			Use: "show NAME", Short: "Show how a rig is tied, in its latest revision", Args: command.Between(1, 1, "the rig's name"),
			Example: `  rigtally rigs show "Blood short"`,
			RunE: p.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
				rig, err := latestRig(ctx, j, args[0])
				return p.Did(err, "%s", outing.Rig(rig, j.Units))
			}),
		}, 1, command.RigNames),
		rigsCheckCommand(p))...)
}

func listRigs(ctx context.Context, p *command.Program, j command.Journal) error {
	rigs, err := j.Rigs(ctx)
	if err != nil {
		return err
	}
	if len(rigs) == 0 {
		p.Printf("No rigs in the journal yet. Logging or importing a session adds its rigs.\n")
		return nil
	}
	short, err := j.Beginnings(ctx, pg.ListRigs, command.Keys(rigs, func(r journal.RigUse) journal.ID { return r.ID }))
	if err != nil {
		return err
	}
	var rows [][]string
	for _, r := range rigs {
		last := "never"
		if r.LastDay != nil {
			last = r.LastDay.String()
		}
		rows = append(rows, []string{r.Title(), strconv.Itoa(len(r.Positions)), strconv.Itoa(r.Stints), units.FormatDuration(r.Minutes), last, short[r.ID]})
	}
	return p.Table([]string{"Rig", "Flies", "Stints", "Fished", "Last", "Id"}, rows)
}

// latestRig is the last revision of a rig by its name; its error says what is
// called much the same.
func latestRig(ctx context.Context, j command.Journal, name string) (journal.Rig, error) {
	rig, err := j.LatestRig(ctx, name)
	if errors.Is(err, journal.ErrNotFound) && command.IsBeginning(name) {
		if rig, err = rigByID(ctx, j, name); err == nil || !errors.Is(err, journal.ErrNotFound) {
			return rig, err
		}
	}
	if errors.Is(err, journal.ErrNotFound) {
		contents, failed := j.Directory(ctx)
		if failed != nil {
			return rig, failed
		}
		return rig, fmt.Errorf("%w%s", err, terminal.Guess("", name, outing.In(contents).RigNames(), "; \"rigtally rigs list\" shows them"))
	}
	return rig, err
}

// rigByID is the revision of a rig whose id begins so.
func rigByID(ctx context.Context, j command.Journal, beginning string) (journal.Rig, error) {
	id, err := j.Which(ctx, pg.ListRigs, beginning)
	if err != nil {
		return journal.Rig{}, err
	}
	contents, err := j.Directory(ctx)
	return outing.In(contents).Rigs[id], err
}
