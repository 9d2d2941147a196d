package trials

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"rigtally/analytics/answer"
	"rigtally/analytics/trial"
	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/prose"
)

func (t trials) plan() *cobra.Command {
	var p planning
	cmd := &cobra.Command{
		Use: "plan NAME", Short: "Plan a trial and draw its order", Args: command.Between(1, 1, "the trial's name"),
		Long: `Plan a trial and draw its order. The chance of a decision within the hours planned is
shown first, by simulation with the journal's rates and the smallest ratio worth knowing,
and so are earlier trials that asked the same; at a terminal you are then asked whether
to go on. --preview shows them and plans nothing.

The plan is fixed from then on: outcome, arms, the smallest ratio worth knowing, unit and
blocks can't be changed, or looking would bias it. In blocks of 4, as in blocks of 2, both
arms come equally often; in blocks of 2 whoever has fished the first knows the second.`,
		Example: `  rigtally trials plan "Up or down" --outcome tangles --factor facing --a up --b down --preview
  rigtally trials plan "Up or down" --outcome tangles --factor facing --a up --b down
  rigtally trials plan "Tag" --outcome tangles --factor tag-length --a "4 in" --b "6 1/2 in" --ratio 1.5
  rigtally trials plan "Two rigs" --outcome junction-break --factor rig --a "Fern fig-8" --b "Moss fig-8" --by session`,
	}
	flags, plan := cmd.Flags(), &p.plan
	flags.StringVar(&plan.Outcome, "outcome", "", "`what` is counted, such as tangles or junction-break")
	flags.StringVar(&plan.Factor, "factor", "", "`what` differs between the arms, such as facing or rig")
	flags.StringVar(&p.arms[0], "a", "", "arm A: a `level` of the factor, or a rig's name")
	flags.StringVar(&p.arms[1], "b", "", "arm B: the other")
	flags.StringVar(&plan.Arms[0].Note, "a-note", "", "`how` to tie arm A")
	flags.StringVar(&plan.Arms[1].Note, "b-note", "", "`how` to tie arm B")
	flags.Float64Var(&plan.Worth, "ratio", 1.5, "the smallest `ratio` worth knowing")
	flags.StringVar(&p.by, "by", string(journal.ByStint), "`unit` of alternation: stint or session")
	flags.IntVar(&plan.Block, "block", journal.UsualBlock, "`units` in a balanced block: 2 or 4")
	flags.Float64Var(&plan.MostHours, "most-hours", 80, "most `hours` it may take, both arms together")
	flags.StringVar(&plan.Notes, "notes", "", "your own `words`")
	flags.BoolVar(&p.preview, "preview", false, "show the chance of a decision, and plan nothing")
	command.Complete(cmd, "outcome", command.Keys(journal.TrialOutcomes(), func(o journal.Outcome) string { return o.Key }))
	command.Complete(cmd, "factor", command.Keys(journal.TrialFactors(), func(f journal.Factor) string { return f.Key }))
	command.Complete(cmd, "by", []string{string(journal.ByStint), string(journal.BySession)})
	command.Needs(cmd, "outcome", "factor", "a", "b")
	form := command.Form(cmd, command.Text, command.JSON)
	cmd.RunE = t.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
		plan.Name, plan.Unit = args[0], journal.TrialScale(p.by)
		return terminal.OfQuestion(t.planned(ctx, j, p, *form == command.JSON))
	})
	return cmd
}

// planning is a plan as it was asked for.
type planning struct {
	plan    journal.Trial
	arms    [2]string
	by      string
	preview bool
}

// planned shows what a plan may come to, and then seals it, unless it is only
// looked at or the person thinks better of it.
func (t trials) planned(ctx context.Context, j command.Journal, p planning, asJSON bool) error {
	p.plan.ID = journal.NewID()
	factor, err := journal.FactorByKey(p.plan.Factor)
	if err != nil {
		return err
	}
	for i, text := range p.arms {
		if err := readArm(ctx, j, factor, text, &p.plan.Arms[i]); err != nil {
			return err
		}
	}
	ahead, err := trial.Preview(ctx, j, p.plan)
	if err != nil {
		return err
	}
	switch {
	case asJSON && p.preview:
		return t.JSON(map[string]any{"outlook": ahead.Outlook, "earlier_trials": answer.List(ahead.Earlier)})
	case !asJSON:
		t.Printf("%s\n%s\n", prose.TrialPlan(ahead, j.Units), prose.TrialAhead(ahead))
	}
	if !asJSON && !p.preview && t.Asks {
		sure, err := t.goOn(ctx)
		if err != nil {
			return err
		}
		p.preview = !sure
	}
	if p.preview {
		t.Printf("\nNothing was planned.\n")
		return nil
	}
	held, err := j.PlanTrial(ctx, p.plan)
	if err != nil {
		return err
	}
	if !asJSON {
		t.Printf("\nPlanned: %s\nThe plan is fixed from now on, and its order is drawn and sealed:\n%s\nKeep this line if others are to check the order afterwards.\n", held.Name, held.Commitment)
		return nil
	}
	a, err := trial.Follow(ctx, j, held.ID)
	if err != nil {
		return err
	}
	return t.JSON(a)
}

// goOn asks whether to seal the plan.
func (t trials) goOn(ctx context.Context) (bool, error) {
	said, err := t.Asker(ctx).Ask(ctx, terminal.Question{Key: "plan", Text: "Plan it? Draw and seal the order", Help: "The plan can't be changed once its order is sealed.",
		Options: []string{"yes", "no"}, Fallback: "yes", Check: func(answer string) error {
			if answer != "yes" && answer != "no" {
				return errors.New("answer yes or no")
			}
			return nil
		}})
	return said == "yes", err
}

// readArm reads an arm as it was written.
func readArm(ctx context.Context, j command.Journal, factor journal.Factor, text string, arm *journal.TrialArm) error {
	if factor.Key == "rig" {
		rig, err := j.LatestRig(ctx, text)
		if err != nil {
			return fmt.Errorf("%w; \"rigtally rigs list\" shows them", err)
		}
		arm.RigID = &rig.ID
		return nil
	}
	level, err := trial.Level(factor, text, j.Units)
	arm.Level = level
	return err
}
