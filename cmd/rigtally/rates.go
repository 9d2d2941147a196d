package main

import (
	"context"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics"
	"rigtally/cmd/rigtally/command"
	"rigtally/journal"
	"rigtally/prose"
)

const ratesExample = `  rigtally rates tangles --by junction
  rigtally rates tangles --by tag-length:25mm --where junction=blood
  rigtally rates foul-hook --by facing,bulk --where "angler=J. Felt" --where season=2026
  rigtally rates tangles --by junction --given tag-length,bulk,angler
  rigtally rates loss --by hook-size --versus 16 --format json`

func ratesCommand(p *command.Program) *cobra.Command {
	var ask analytics.Request
	cmd := &cobra.Command{
		Use:   "rates OUTCOME --by FACTOR[,FACTOR]",
		Short: "Say how often something happens, at each level of a factor",
		Long: `Say how often something happens at each level of one or two factors, with 95%
intervals, compared with the level that was fished most (or --versus LEVEL).

Outcomes: ` + strings.Join(outcomeKeys(), ", ") + `.
Factors: ` + strings.Join(factorKeys(), ", ") + `.
A factor with a unit may be divided into bands: --by tag-length:25mm.

With --given the comparison is corrected: the differences that the given factors make are
taken out, and the corrected ratio stands beside the plain one. Words are categories; a
number is a curve (tag-length) or a straight line (tag-length:linear).

text is for people, in their units. json and csv are for programs: nothing is rounded,
and levels are as stored (mm, m³/s, °C).`,
		Example:   ratesExample,
		Args:      command.Between(1, 1, "the outcome"),
		ValidArgs: outcomeKeys(),
	}
	flags := cmd.Flags()
	flags.StringSliceVar(&ask.By, "by", nil, "`factors` to divide by, one or two")
	flags.StringArrayVar(&ask.Where, "where", nil, "`factor=value` that must hold; a range is 150mm..180mm; may be repeated")
	flags.StringSliceVar(&ask.Given, "given", nil, "`factors` whose differences are taken out of the comparison")
	flags.StringVar(&ask.Versus, "versus", "", "`level` that the others are compared with (default: the one fished most)")
	command.Complete(cmd, "by", factorKeys())
	command.Complete(cmd, "given", factorKeys())
	return p.Ask(cmd, func(ctx context.Context, j command.Journal, args []string) (command.Answer, error) {
		ask.Outcome, ask.Units = args[0], j.Units
		a, err := analytics.Rates(ctx, j, ask)
		return command.Answer{Data: a, CSV: a.WriteCSV, Text: func(w io.Writer) error { return prose.Text(w, a, j.Units) }}, err
	}, command.Text, command.JSON, command.CSV)
}

func outcomeKeys() []string {
	return command.Keys(journal.Outcomes(), func(o journal.Outcome) string { return o.Key })
}

func factorKeys() []string {
	return command.Keys(journal.Factors(), func(f journal.Factor) string { return f.Key })
}
