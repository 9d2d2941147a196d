package main

import (
	"context"
	"errors"
	"fmt"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
)

func (p *program) rigsCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "rigs", Short: "List and show rigs, and hold them against rules"}
	group(cmd)
	cmd.AddCommand(
		&cobra.Command{
			Use: "list", Short: "List the rigs, the last fished first", Args: between(0, 0, ""),
			RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error { return p.withJournal(ctx, p.listRigs) }),
		},
		&cobra.Command{
			Use: "show NAME", Short: "Show how a rig is tied, its last revision", Args: between(1, 1, "the rig's name"),
			Example: `  rigtally rigs show "Blood short"`,
			RunE: p.do(func(ctx context.Context, _ *cobra.Command, args []string) error {
				return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return p.showRig(ctx, store, args[0]) })
			}),
		},
		p.rigsCheckCommand())
	return cmd
}

func (p *program) listRigs(ctx context.Context, store *pg.Store) error {
	rigs, err := store.Rigs(ctx)
	if err != nil {
		return err
	}
	if len(rigs) == 0 {
		p.printf("No rig is in the journal yet. Logging or importing a session adds those it was fished with.\n")
		return nil
	}
	t := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "Rig\tFlies\tStints\tFished\tLast")
	for _, r := range rigs {
		last := "never"
		if r.LastDay != nil {
			last = r.LastDay.String()
		}
		fmt.Fprintf(t, "%s\t%d\t%d\t%s\t%s\n", r.Title(), len(r.Positions), r.Stints, units.FormatDuration(r.Minutes), last)
	}
	return t.Flush()
}

// latestRig is the last revision of a rig by its name; its error says what is
// called much the same.
func (p *program) latestRig(ctx context.Context, store *pg.Store, name string) (journal.Rig, error) {
	rig, err := store.LatestRig(ctx, name)
	if errors.Is(err, journal.ErrNotFound) {
		contents, failed := store.Directory(ctx)
		if failed != nil {
			return rig, failed
		}
		known := namesOf(contents).rigNames()
		return rig, fmt.Errorf("%w%s", err, orElse(maybe("", closest(name, known)), "; \"rigtally rigs list\" shows them"))
	}
	return rig, err
}

func (p *program) showRig(ctx context.Context, store *pg.Store, name string) error {
	rig, err := p.latestRig(ctx, store, name)
	if err != nil {
		return err
	}
	sys, err := p.unitsFor(ctx, store)
	if err != nil {
		return err
	}
	p.printf("%s", rigText(rig, sys))
	return nil
}
