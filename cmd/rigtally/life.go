package main

import (
	"context"
	"slices"

	"github.com/spf13/cobra"

	"rigtally/analytics/life"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

const lifeExample = `  rigtally life
  rigtally life --by facing --in loads
  rigtally life --by tippet --where junction=blood --format csv`

func (p *program) lifeCommand() *cobra.Command {
	var ask life.Request
	var format string
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
		Args:    between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			if err := checkFormat(format); err != nil {
				return err
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return p.life(ctx, store, ask, format) })
		}),
	}
	flags := cmd.Flags()
	flags.StringVar(&ask.By, "by", "junction", "`factor` to divide by")
	flags.StringVar(&ask.In, "in", life.Hours, "`scale` of a life: hours or loads")
	flags.StringArrayVar(&ask.Where, "where", nil, "`factor=value` that must hold when the tag is tied; may be repeated")
	flags.StringVar(&format, "format", formatText, "`form` of the answer: text, json or csv")
	complete(cmd, "by", slices.DeleteFunc(factorKeys(), func(key string) bool { return key == "tag-length" }))
	complete(cmd, "in", []string{life.Hours, life.Loads})
	complete(cmd, "format", []string{formatText, formatJSON, formatCSV})
	return cmd
}

func (p *program) life(ctx context.Context, store *pg.Store, ask life.Request, format string) (err error) {
	if ask.Units, err = p.unitsFor(ctx, store); err != nil {
		return err
	}
	answer, err := life.Follow(ctx, store, ask)
	if journal.IsInvalid(err) {
		return &usageError{err} // of the question, not of the journal
	}
	if err != nil {
		return err
	}
	switch format {
	case formatJSON:
		return p.writeJSON(answer)
	case formatCSV:
		return answer.WriteCSV(p.out)
	}
	return prose.LifeText(p.out, answer, ask.Units)
}
