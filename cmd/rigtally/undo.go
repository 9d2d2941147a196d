package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// mostGone is how many of the things are told that went with a step.
const mostGone = 12

// lookedBack is among how many of the latest steps the one to be taken back is looked for.
const lookedBack = 200

func stepsCommand(p *command.Program) *cobra.Command {
	return command.Group(&cobra.Command{Use: "steps", Short: "List what was done of late, and can be taken back", Example: "  rigtally steps list"}, stepsListCommand(p, "steps"))
}

func undoCommand(p *command.Program) *cobra.Command {
	var yes bool
	cmd := &cobra.Command{
		Use:   "undo [ID]",
		Short: "Take back the last thing done, or the step of an id",
		Long: fmt.Sprintf(`Take back the last thing that you did: a session logged, edited, deleted or restored,
an import as a whole, something renamed or merged, a rig, trial, claim, pull or set of
rules deleted or brought back. Again takes back what you did before that. With an id, as "rigtally steps list"
shows it, another step. What was changed since stays as it is, and is told. A step can be
taken back for %d days. At a terminal you are asked first; elsewhere --yes says that it
is meant.`, journal.UndoDays),
		Example: "  rigtally undo\n  rigtally steps list\n  rigtally undo 0198c5a2 --yes",
	}
	cmd.Flags().BoolVar(&yes, "yes", false, "take it back without asking")
	one := command.Between(0, 1, "at most the id of a step")
	list := stepsListCommand(p, "undo")
	list.Hidden = true // "steps list" is the same
	command.Group(cmd, list)
	cmd.Args = one
	p.CompleteArgs(cmd, 1, command.StepIDs)
	cmd.RunE = p.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
		step, err := stepToUndo(ctx, j, args)
		if err != nil {
			return err
		}
		if !yes {
			p.Printf("%s: %s\n", step.At.Local().Format("2006-01-02 15:04"), stepSays(step))
		}
		if err := sureToUndo(ctx, p, yes); err != nil {
			return err
		}
		undone, err := j.Undo(ctx, step.ID)
		if err != nil {
			return terminal.OfQuestion(err)
		}
		tellUndone(p, undone)
		return nil
	})
	return cmd
}

// stepToUndo is the step that is named, or else the newest of this person that stands.
func stepToUndo(ctx context.Context, j command.Journal, args []string) (step journal.Step, err error) {
	if len(args) == 1 && args[0] != command.Last {
		id, err := j.Which(ctx, pg.ListSteps, args[0])
		if err == nil {
			step, err = j.StepByID(ctx, id)
		}
		if errors.Is(err, journal.ErrNotFound) {
			err = fmt.Errorf("%w; \"rigtally steps list\" shows what can be taken back", err)
		}
		return step, err
	}
	steps, err := j.Steps(ctx, lookedBack)
	if err != nil {
		return step, err
	}
	if i := slices.IndexFunc(steps, func(s journal.Step) bool { return s.Mine && s.UndoneAt == nil }); i >= 0 {
		return steps[i], nil
	}
	return step, errors.New("there is nothing to take back; \"rigtally steps list\" shows what was done of late")
}

// sureToUndo asks where somebody can be asked.
func sureToUndo(ctx context.Context, p *command.Program, yes bool) error {
	switch {
	case yes:
		return nil
	case !p.Asks:
		return terminal.Misusef("nothing is taken back yet; to do it, add --yes")
	}
	answer, err := p.Asker(ctx).Ask(ctx, terminal.YesNo("undo", "Take it back", "yes takes it back; no leaves everything as it is.", terminal.Yes))
	if err == nil && !terminal.IsYes(answer) {
		err = terminal.ErrStopped
	}
	return err
}

func tellUndone(p *command.Program, u journal.Undone) {
	p.Printf("Taken back: %s\n", stepSays(u.Step))
	if u.Sessions > 0 {
		p.Printf("  %s as before.\n", prose.Plural(u.Sessions, "session is", "sessions are"))
	}
	if n := len(u.Gone); n > 0 {
		more := ""
		if n > mostGone {
			more = fmt.Sprintf("; and %d more", n-mostGone)
		}
		p.Printf("  Gone with it: %s%s.\n", strings.Join(u.Gone[:min(n, mostGone)], "; "), more)
	}
	for _, left := range u.Left {
		p.Printf("  Left as it is: %s\n", left)
	}
}

// stepSays is a step as people call it.
func stepSays(s journal.Step) string { return s.What }

func stepsListCommand(p *command.Program, of string) *cobra.Command {
	cmd := &cobra.Command{
		Use: "list", Short: "List what was done of late, the last first", Args: command.None,
		Example: "  rigtally " + of + " list --limit 50",
	}
	limit := limitFlag(cmd)
	cmd.RunE = p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
		steps, err := j.Steps(ctx, *limit)
		if err != nil {
			return err
		}
		if len(steps) == 0 {
			p.Printf("Nothing was done in the last %d days.\n", journal.UndoDays)
			return nil
		}
		short, err := j.Beginnings(ctx, pg.ListSteps, command.Keys(steps, func(s journal.Step) journal.ID { return s.ID }))
		if err != nil {
			return err
		}
		var rows [][]string
		for _, s := range steps {
			rows = append(rows, []string{s.At.Local().Format("2006-01-02 15:04"), stepSays(s), stepBy(s), short[s.ID], stepStands(s)})
		}
		return p.Table([]string{"When", "What", "By", "Id", ""}, rows)
	})
	return cmd
}

func stepBy(s journal.Step) string {
	if s.Mine && s.By == "" {
		return "you"
	}
	return s.By
}

func stepStands(s journal.Step) string {
	if s.UndoneAt == nil {
		return ""
	}
	return "taken back on " + s.UndoneAt.Local().Format(time.DateOnly)
}
