package main

import (
	"context"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics/plan"
	"rigtally/cmd/rigtally/command"
	"rigtally/prose"
)

const planExample = `  rigtally plan
  rigtally plan --where angler="J. Felt" --changes 2 --waste "1/2 in"
  rigtally plan --given junction,bulk,angler --longest 250mm
  rigtally plan --tangles "120mm=0.3, 180mm=0.8" --breaks 0.05 --format json`

func planCommand(p *command.Program) *cobra.Command {
	ask := plan.Request{Inputs: map[string]string{}}
	typed := map[string]*string{}
	cmd := &cobra.Command{
		Use:   "plan",
		Short: "Say how long to tie a tag so that the fewest minutes are lost",
		Long: `Say at which length to tie a tag so that the fewest fishing minutes are lost to
tangles, breaks and re-ties, how sure that is, and what would change the answer.

A tag starts at a length; each fly change takes a bit off it; when the next change would
leave too little it is tied anew. A long tag is tied anew less often but tangles more.
How often tags tangle and break at each length comes from the journal's own curves,
corrected for what is given, or from --tangles and --breaks. Other numbers come from
the journal where it has at least ten notes of them, else from common practice (no
source); each can be set by its flag.

text is for people, in their units. json and csv are for programs: nothing is rounded,
and values are as stored (mm, minutes per hour).`,
		Example: planExample,
		Args:    command.None,
	}
	flags := cmd.Flags()
	for _, key := range plan.Keys() {
		typed[key] = flags.String(key, "", planFlag(key))
	}
	flags.StringVar(&ask.Tangles, "tangles", "", "tangles per hour of your own at `lengths`, such as \"120mm=0.3, 180mm=0.8\"")
	flags.StringVar(&ask.Breaks, "breaks", "", "breaks per hour of your own: a `rate`, or rates at lengths; \"constant\" or \"curve\" for the journal's")
	flags.BoolVar(&ask.Anew, "break-anew", false, "a break gives a fresh tag of full length, instead of being mended as it was")
	flags.StringVar(&ask.Longest, "longest", "", "the longest `length` to look at (default: the longest fished)")
	flags.StringSliceVar(&ask.Given, "given", []string{"angler", "water"}, "`factors` whose differences are taken out of the curves")
	flags.StringArrayVar(&ask.Where, "where", nil, "`factor=value` that must hold; may be repeated")
	command.Complete(cmd, "given", factorKeys())
	return p.Ask(cmd, func(ctx context.Context, j command.Journal, _ []string) (command.Answer, error) {
		ask.Units = j.Units
		for key, text := range typed {
			ask.Inputs[key] = *text
		}
		a, err := plan.Weigh(ctx, j, ask)
		return command.Answer{Data: a, CSV: a.WriteCSV, Text: func(w io.Writer) error { return prose.PlanText(w, a, j.Units) }}, err
	}, command.Text, command.JSON, command.CSV)
}

// planFlag says what a flag sets.
func planFlag(key string) string {
	what := "`length`"
	switch key {
	case plan.Changes:
		what = "`number`"
	case plan.TangleMinutes, plan.RetieMinutes, plan.BreakMinutes:
		what = "`minutes`"
	}
	return strings.ToLower(prose.PlanInputTitle(key)) + ": a " + what
}
