package trials

import (
	"context"
	"errors"
	"io"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/prose"
)

func (t trials) rename() *cobra.Command {
	cmd := blank("rename", "Give a trial another name or other notes; the plan stays", false)
	name := cmd.Flags().String("name", "", "the new `name`")
	notes := cmd.Flags().String("notes", "", "the new `words`")
	given := cmd.Flags().Changed
	return t.on(cmd, func(ctx context.Context, j command.Journal, trial journal.Trial, _ []string) error {
		if !given("name") && !given("notes") {
			return terminal.Misusef("nothing to change; give --name or --notes")
		}
		if given("name") {
			trial.Name = *name
		}
		if given("notes") {
			trial.Notes = *notes
		}
		return t.Did(j.RenameTrial(ctx, trial.ID, trial.Version, trial.Name, trial.Notes), "Changed: %s\n", trial.Name)
	})
}

func (t trials) end() *cobra.Command {
	cmd := blank("end", "End a trial, which opens its seal; it can't be started again", false)
	why := cmd.Flags().String("why", "", "the `reason`")
	return t.on(cmd, func(ctx context.Context, j command.Journal, trial journal.Trial, _ []string) error {
		return t.Did(j.EndTrial(ctx, trial.ID, trial.Version, t.Now(), *why),
			"Ended: %s. \"rigtally trials verify\" shows the order that was sealed.\n", trial.Name)
	})
}

func (t trials) verify() *cobra.Command {
	cmd := blank("verify", "Check that the order is the one that was sealed", false)
	cmd.Long = `Check that the order is the one that was sealed when the trial was planned, and that
each start was told the arm of that order. Once the trial has ended, seed and order are
shown: the seal is their SHA-256. Block n of the order is the arrangement whose number is
the first 64 bits of SHA-256("SEED n"), modulo how many arrangements there are: AB, BA in
blocks of 2; AABB, ABAB, ABBA, BAAB, BABA, BBAA in blocks of 4.`
	return t.ask(cmd, func(ctx context.Context, j command.Journal, trial journal.Trial) (command.Answer, error) {
		broken := j.CheckTrialSeal(ctx, trial.ID)
		if broken != nil && !errors.Is(broken, journal.ErrSeal) {
			return command.Answer{}, broken
		}
		if trial.OrderCut {
			return cutSeal(t, trial), nil
		}
		data := map[string]any{"trial": trial.ID, "commitment": trial.Commitment, "holds": broken == nil, "started": len(trial.Units)}
		if trial.Ended() {
			data["sealed_text"] = trial.SealedText()
		}
		text := func(io.Writer) error {
			if broken != nil {
				return nil
			}
			t.Printf("The seal holds: %s\nAll %d started so far had the arm that was drawn.\n", trial.Commitment, len(trial.Units))
			if trial.Ended() {
				t.Printf("\nThe seal is the SHA-256 of these three lines, which anyone can work out:\n%s", trial.SealedText())
			} else {
				t.Printf("Seed and order stay sealed until the trial is ended.\n")
			}
			return nil
		}
		return command.Answer{Data: data, Text: text, Verdict: terminal.OfQuestion(broken)}, nil
	}, command.Text, command.JSON)
}

// cutSeal answers for a trial whose order was left out of the backup that it came from.
func cutSeal(t trials, trial journal.Trial) command.Answer {
	return command.Answer{
		Data: map[string]any{"trial": trial.ID, "commitment": trial.Commitment, "holds": nil, "started": len(trial.Units)},
		Text: func(io.Writer) error {
			t.Printf("The seal can't be checked here: %s\n%s\n", trial.Commitment, prose.TrialOrderCut(trial))
			return nil
		},
	}
}

func (t trials) delete() *cobra.Command {
	return t.on(blank("delete", "Delete a trial with nothing started", false), func(ctx context.Context, j command.Journal, trial journal.Trial, _ []string) error {
		return t.Did(j.DeleteTrial(ctx, trial.ID, trial.Version), "Deleted: %s\n", trial.Name)
	})
}
