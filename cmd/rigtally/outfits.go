package main

import (
	"context"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
)

func outfitsCommand(p *command.Program) *cobra.Command {
	return command.Group(&cobra.Command{Use: "outfits", Short: "List and add outfits, each with a journal of its own in the same database"},
		&cobra.Command{
			Use: "list", Short: "List the outfits", Args: command.None, Example: "  rigtally outfits list",
			RunE: p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
				all, err := j.Outfits(ctx)
				if err != nil {
					return err
				}
				rows := make([][]string, len(all))
				for i, o := range all {
					rows[i] = []string{o.Name, ""}
					if o.ID == j.OutfitID() {
						rows[i][1] = "this one"
					}
				}
				return p.Table([]string{"Outfit", ""}, rows)
			}),
		},
		&cobra.Command{
			Use: "add NAME", Short: "Add an outfit with an empty journal", Args: command.Between(1, 1, "the outfit's name"),
			Example: `  rigtally outfits add "Alder Guides"
  rigtally sessions list --outfit "Alder Guides"`,
			RunE: p.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
				_, err := j.AddOutfit(ctx, args[0])
				return p.Did(err, "The outfit %s is added. Commands work in it with --outfit %q.\n", args[0], args[0])
			}),
		})
}
