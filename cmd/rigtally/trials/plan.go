package trials

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"rigtally/analytics/trial"
	"rigtally/cmd/rigtally/command"
	"rigtally/journal"
	"rigtally/prose"
)

func (t trials) plan() *cobra.Command {
	var plan journal.Trial
	var arms [2]string
	var by string
	cmd := &cobra.Command{
		Use: "plan NAME", Short: "Plan a trial and draw its order", Args: command.Between(1, 1, "the trial's name"),
		Long: `Plan a trial and draw its order. The plan is fixed from then on: outcome, arms, the
smallest ratio worth knowing, unit and blocks can't be changed, or looking would bias it.

In blocks of 2 each pair has both arms, which is best where sessions differ. In
blocks of 4 it is harder to guess which comes next; take them for four stints a day.`,
		Example: `  rigtally trials plan "Up or down" --outcome tangles --factor facing --a up --b down
  rigtally trials plan "Tag" --outcome tangles --factor tag-length --a "4 in" --b "6 1/2 in" --ratio 1.5
  rigtally trials plan "Two rigs" --outcome junction-break --factor rig --a "Fern fig-8" --b "Moss fig-8" --by session`,
	}
	flags := cmd.Flags()
	flags.StringVar(&plan.Outcome, "outcome", "", "`what` is counted, such as tangles or junction-break")
	flags.StringVar(&plan.Factor, "factor", "", "`what` differs between the arms, such as facing or rig")
	flags.StringVar(&arms[0], "a", "", "arm A: a `level` of the factor, or a rig's name")
	flags.StringVar(&arms[1], "b", "", "arm B: the other")
	flags.StringVar(&plan.Arms[0].Note, "a-note", "", "`how` to tie arm A")
	flags.StringVar(&plan.Arms[1].Note, "b-note", "", "`how` to tie arm B")
	flags.Float64Var(&plan.Worth, "ratio", 1.5, "the smallest `ratio` worth knowing")
	flags.StringVar(&by, "by", string(journal.ByStint), "`unit` of alternation: stint or session")
	flags.IntVar(&plan.Block, "block", 2, "`units` in a balanced block: 2 or 4")
	flags.Float64Var(&plan.MostHours, "most-hours", 80, "most `hours` it may take, both arms together")
	flags.StringVar(&plan.Notes, "notes", "", "your own `words`")
	command.Complete(cmd, "outcome", command.Keys(journal.TrialOutcomes(), func(o journal.Outcome) string { return o.Key }))
	command.Complete(cmd, "factor", command.Keys(journal.TrialFactors(), func(f journal.Factor) string { return f.Key }))
	command.Complete(cmd, "by", []string{string(journal.ByStint), string(journal.BySession)})
	command.Needs(cmd, "outcome", "factor", "a", "b")
	return t.Ask(cmd, func(ctx context.Context, j command.Journal, args []string) (command.Answer, error) {
		plan.Name, plan.Unit = args[0], journal.TrialScale(by)
		a, err := planned(ctx, j, plan, arms)
		text := func(io.Writer) error {
			t.Printf("Planned: %s\n%s\n", a.Trial.Name, prose.TrialPlan(a, j.Units))
			if text := prose.TrialOutlook(a.Outlook); text != "" {
				t.Printf("%s\n", text)
			}
			t.Printf("\nThe plan is fixed from now on, and its order is drawn and sealed:\n%s\nKeep this line if others are to check the order afterwards.\n", a.Trial.Commitment)
			return nil
		}
		return command.Answer{Data: a, Text: text}, err
	}, command.Text, command.JSON)
}

// planned stores a plan and shows how it stands.
func planned(ctx context.Context, j command.Journal, plan journal.Trial, arms [2]string) (a trial.Answer, err error) {
	plan.ID = journal.NewID()
	factor, err := journal.FactorByKey(plan.Factor)
	if err != nil {
		return a, err
	}
	for i, text := range arms {
		if err := readArm(ctx, j, factor, text, &plan.Arms[i]); err != nil {
			return a, err
		}
	}
	if plan, err = j.PlanTrial(ctx, plan); err != nil {
		return a, err
	}
	return trial.Follow(ctx, j, plan.ID)
}

// readArm reads an arm as it was written.
func readArm(ctx context.Context, j command.Journal, factor journal.Factor, text string, arm *journal.TrialArm) error {
	if factor.Key == "rig" {
		rig, err := j.LatestRig(ctx, text)
		if err != nil {
			return fmt.Errorf("%w; \"rigtally rigs\" lists them", err)
		}
		arm.RigID = &rig.ID
		return nil
	}
	level, err := trial.Level(factor, text, j.Units)
	arm.Level = level
	return err
}
