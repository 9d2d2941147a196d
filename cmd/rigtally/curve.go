package main

import (
	"context"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics"
	"rigtally/cmd/rigtally/command"
	"rigtally/journal"
	"rigtally/prose"
)

const curveExample = `  rigtally curve tangles
  rigtally curve tangles --given junction,bulk,angler --where season=2026
  rigtally curve hookups --over temperature --given water
  rigtally curve tangles --knots 120mm,160mm --boundary 80mm,240mm --format json`

func curveCommand(p *command.Program) *cobra.Command {
	var ask analytics.CurveRequest
	cmd := &cobra.Command{
		Use:   "curve OUTCOME",
		Short: "Say how something goes over tag length, tippet, flow or temperature",
		Long: `Say how often something happens over a number, as a smooth curve with its 95% band:
whether the number matters at all, whether a straight line would do, and how likely each
value is the best: the lowest, but for hookups and landed the highest.

Outcomes: ` + strings.Join(outcomeKeys(), ", ") + `.
Over: ` + strings.Join(numberKeys(), ", ") + `.

With --given the differences that other factors make are taken out; the level of the
curve is that of their average. The curve bends at two knots placed where a third and two
thirds or so of the fishing lie, and is straight beyond its boundary, unless --knots and
--boundary say otherwise (a bare number is in the unit stored: mm, m³/s, °C).

text is for people, in their units. json and csv are for programs: nothing is rounded,
and values are as stored.`,
		Example:   curveExample,
		Args:      command.Between(1, 1, "the outcome"),
		ValidArgs: outcomeKeys(),
	}
	flags := cmd.Flags()
	flags.StringVar(&ask.Over, "over", "tag-length", "`number` to go over")
	flags.StringSliceVar(&ask.Given, "given", nil, "`factors` whose differences are taken out")
	flags.StringArrayVar(&ask.Where, "where", nil, "`factor=value` that must hold; a range is 150mm..180mm; may be repeated")
	flags.StringSliceVar(&ask.Knots, "knots", nil, "`values` at which the curve bends (default: where 35% and 65% of the fishing lie)")
	flags.StringSliceVar(&ask.Boundary, "boundary", nil, "two `values` beyond which it is straight (default: where 5% and 95% of the fishing lie)")
	command.Complete(cmd, "over", numberKeys())
	command.Complete(cmd, "given", factorKeys())
	return p.Ask(cmd, func(ctx context.Context, j command.Journal, args []string) (command.Answer, error) {
		ask.Outcome, ask.Units = args[0], j.Units
		a, err := analytics.Curve(ctx, j, ask)
		return command.Answer{Data: a, CSV: a.WriteCSV, Text: func(w io.Writer) error { return prose.CurveText(w, a, j.Units) }}, err
	}, command.Text, command.JSON, command.CSV)
}

// numberKeys are the factors that a curve can go over.
func numberKeys() []string {
	return slices.DeleteFunc(factorKeys(), func(key string) bool {
		f, err := journal.FactorByKey(key)
		return err != nil || f.Quantity == journal.Words
	})
}
