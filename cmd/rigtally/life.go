package main

import (
	"context"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"rigtally/analytics/life"
	"rigtally/cmd/rigtally/command"
	"rigtally/prose"
)

const lifeExample = `  rigtally life
  rigtally life --by facing --in loads
  rigtally life --by tippet --where junction=blood --format csv`

func lifeCommand(p *command.Program) *cobra.Command {
	var ask life.Request
	cmd := &cobra.Command{
		Use:   "life",
		Short: "Say how long tags and their junctions last",
		Long: `Say how long tags last from tying to the break of their junction or of the tag itself,
in hours fished or in loads (hookups and snags that pulled on the junction).

Most are never seen to break: they are re-tied, taken off or the day ends. Those count as
lasting at least until then (Kaplan–Meier, with log-log bands), and groups are held
against each other by the log-rank test, with tags of one session taken together.

A tag lives from the first stint of its rig, or a re-tie or break, through all stints with the
same rig in a row. Where the moments of re-ties and breaks were not all noted, they are
spread evenly over their stint.`,
		Example: lifeExample,
		Args:    command.None,
	}
	flags := cmd.Flags()
	flags.StringVar(&ask.By, "by", "junction", "`factor` to divide by")
	flags.StringVar(&ask.In, "in", life.Hours, "`scale` of a life: hours or loads")
	flags.StringArrayVar(&ask.Where, "where", nil, "`factor=value` that must hold when the tag is tied; may be repeated")
	command.Complete(cmd, "by", slices.DeleteFunc(factorKeys(), func(key string) bool { return key == "tag-length" }))
	command.Complete(cmd, "in", []string{life.Hours, life.Loads})
	return p.Ask(cmd, func(ctx context.Context, j command.Journal, _ []string) (command.Answer, error) {
		ask.Units = j.Units
		a, err := life.Follow(ctx, j, ask)
		return command.Answer{Data: a, CSV: a.WriteCSV, Text: func(w io.Writer) error { return prose.LifeText(w, a, j.Units) }}, err
	}, command.Text, command.JSON, command.CSV)
}
