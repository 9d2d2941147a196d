package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// trialFlags are the parts of a plan as flags.
type trialFlags struct {
	plan   journal.Trial
	a, b   string
	by     string
	format string
}

func trialOutcomeKeys() []string {
	var keys []string
	for _, o := range journal.TrialOutcomes() {
		keys = append(keys, o.Key)
	}
	return keys
}

func trialFactorKeys() []string {
	var keys []string
	for _, f := range journal.TrialFactors() {
		keys = append(keys, f.Key)
	}
	return keys
}

func (p *program) trialPlanCommand() *cobra.Command {
	var f trialFlags
	cmd := &cobra.Command{
		Use: "plan NAME", Short: "Plan a trial and draw its order", Args: between(1, 1, "the trial's name"),
		Long: `Plan a trial and draw its order. The plan is fixed from then on: outcome, arms, the
smallest ratio worth knowing, unit and blocks can't be changed, or looking would bend it.

In blocks of 2 each pair holds both arms, which is best where sessions differ. In
blocks of 4 it is harder to guess which comes next; take them for four stints a day.`,
		Example: `  rigtally trials plan "Up or down" --outcome tangles --factor facing --a up --b down
  rigtally trials plan "Tag" --outcome tangles --factor tag-length --a "4 in" --b "6 1/2 in" --ratio 1.5
  rigtally trials plan "Two rigs" --outcome junction-break --factor rig --a "Fern fig-8" --b "Moss fig-8" --by session`,
	}
	flags := cmd.Flags()
	flags.StringVar(&f.plan.Outcome, "outcome", "", "`what` is counted, such as tangles or junction-break")
	flags.StringVar(&f.plan.Factor, "factor", "", "`what` differs between the arms, such as facing or rig")
	flags.StringVar(&f.a, "a", "", "arm A: a `level` of the factor, or a rig's name")
	flags.StringVar(&f.b, "b", "", "arm B: the other")
	flags.StringVar(&f.plan.Arms[0].Note, "a-note", "", "`how` to tie arm A")
	flags.StringVar(&f.plan.Arms[1].Note, "b-note", "", "`how` to tie arm B")
	flags.Float64Var(&f.plan.Worth, "ratio", 1.5, "the smallest `ratio` worth knowing")
	flags.StringVar(&f.by, "by", string(journal.ByStint), "`unit` of alternation: stint or session")
	flags.IntVar(&f.plan.Block, "block", 2, "`units` in a balanced block: 2 or 4")
	flags.Float64Var(&f.plan.MostHours, "most-hours", 80, "`hours` of both arms together that it may take")
	flags.StringVar(&f.plan.Notes, "notes", "", "`words` of your own")
	addTrialFormat(cmd, &f.format, false)
	complete(cmd, "outcome", trialOutcomeKeys())
	complete(cmd, "factor", trialFactorKeys())
	complete(cmd, "by", []string{string(journal.ByStint), string(journal.BySession)})
	cmd.RunE = p.do(func(ctx context.Context, cmd *cobra.Command, args []string) error {
		if err := checkTrialFormat(f.format, false); err != nil {
			return err
		}
		for _, name := range []string{"outcome", "factor", "a", "b"} {
			if !cmd.Flags().Changed(name) {
				return usagef("--%s is missing", name)
			}
		}
		f.plan.Name, f.plan.Unit = args[0], journal.TrialScale(f.by)
		return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
			err := p.planTrial(ctx, store, f)
			if journal.IsInvalid(err) {
				return &usageError{err}
			}
			return err
		})
	})
	return cmd
}

func (p *program) planTrial(ctx context.Context, store *pg.Store, f trialFlags) error {
	sys, err := p.unitsFor(ctx, store)
	if err != nil {
		return err
	}
	plan := f.plan
	if plan.ID, err = journal.NewID(); err != nil {
		return err
	}
	factor, err := journal.FactorByKey(plan.Factor)
	if err != nil {
		return err
	}
	for i, text := range []string{f.a, f.b} {
		if err := readArm(ctx, store, factor, text, sys, &plan.Arms[i]); err != nil {
			return err
		}
	}
	planned, err := store.PlanTrial(ctx, plan)
	if err != nil {
		return err
	}
	a, err := trial.Follow(ctx, store, planned.ID)
	if err != nil {
		return err
	}
	if f.format == formatJSON {
		return p.writeJSON(a)
	}
	p.printf("Planned: %s\n%s\n", planned.Name, prose.TrialPlan(a, sys))
	if text := prose.TrialOutlook(a.Outlook); text != "" {
		p.printf("%s\n", text)
	}
	p.printf("\nThe plan is fixed from now on, and its order is drawn and sealed:\n%s\nKeep this line if others are to check the order afterwards.\n", planned.Commitment)
	return nil
}

// readArm reads an arm as it was written.
func readArm(ctx context.Context, store *pg.Store, factor journal.Factor, text string, sys units.System, arm *journal.TrialArm) error {
	if factor.Key == "rig" {
		rig, err := store.LatestRig(ctx, text)
		if err != nil {
			return fmt.Errorf("%w; \"rigtally rigs\" lists those there are", err)
		}
		arm.RigID = &rig.ID
		return nil
	}
	level, err := trial.Level(factor, text, sys)
	arm.Level = level
	return err
}
