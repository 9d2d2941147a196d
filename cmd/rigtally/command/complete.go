package command

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"rigtally/internal/pgserver"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// completeWithin is how long a shell may wait for words of the journal.
const completeWithin = 5 * time.Second

// Offer lists words of an open journal for a shell to complete with; what follows a tab in one explains it.
type Offer func(context.Context, Journal) ([]string, error)

// CompleteFrom completes a flag with words of the journal.
func (p *Program) CompleteFrom(cmd *cobra.Command, flag string, words Offer) {
	_ = cmd.RegisterFlagCompletionFunc(flag, p.completion(words, -1)) // fails for an unknown flag only
}

// CompleteArgs completes the first arguments, so many, with words of the journal.
func (p *Program) CompleteArgs(cmd *cobra.Command, most int, words Offer) *cobra.Command {
	cmd.ValidArgsFunction = p.completion(words, most)
	return cmd
}

// completion asks the journal, unless there is none yet: completing makes none. What fails completes nothing.
func (p *Program) completion(words Offer, most int) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, _ string) (list []string, _ cobra.ShellCompDirective) {
		if most >= 0 && len(args) >= most {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		ctx, cancel := context.WithTimeout(cmd.Context(), completeWithin)
		defer cancel()
		var err error
		if p.Settings, err = ReadSettings(cmd.Flags(), p.Env); err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		if status, err := pgserver.Inspect(p.Server()); p.Settings.DatabaseURL == "" && (err != nil || status.Major == 0) {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		_ = p.Open(ctx, func(ctx context.Context, j Journal) (err error) {
			list, err = words(ctx, j)
			return err
		})
		return list, cobra.ShellCompDirectiveNoFileComp
	}
}

// AnglerNames, WaterNames and RigNames are what sessions name.
func AnglerNames(ctx context.Context, j Journal) ([]string, error) {
	list, err := j.Anglers(ctx)
	return Keys(list, func(a journal.Angler) string { return a.Name }), err
}

// WaterNames are the names of waters.
func WaterNames(ctx context.Context, j Journal) ([]string, error) {
	list, err := j.Waters(ctx)
	return Keys(list, func(w journal.Water) string { return w.Name }), err
}

// BeatNames are the names of the beats of all waters.
func BeatNames(ctx context.Context, j Journal) (names []string, err error) {
	list, err := j.Waters(ctx)
	for _, w := range list {
		names = append(names, Keys(w.Beats, func(b journal.Beat) string { return b.Name + "\t" + w.Name })...)
	}
	return names, err
}

// RigNames are the names of rigs, the latest fished first.
func RigNames(ctx context.Context, j Journal) (names []string, err error) {
	list, err := j.Rigs(ctx)
	seen := map[string]bool{}
	for _, r := range list {
		if !seen[r.Name] {
			seen[r.Name] = true
			names = append(names, r.Name)
		}
	}
	return names, err
}

// TrialNames are the names of trials.
func TrialNames(ctx context.Context, j Journal) ([]string, error) {
	list, err := j.Trials(ctx)
	return Keys(list, func(t journal.Trial) string { return t.Name }), err
}

// SessionIDs are the short ids of the latest sessions, each with what it was.
func SessionIDs(ctx context.Context, j Journal) ([]string, error) {
	lines, _, err := j.SessionLines(ctx, journal.SessionFilter{Limit: 30})
	if err != nil {
		return nil, err
	}
	short, err := j.Beginnings(ctx, pg.ListSessions, Keys(lines, func(l journal.SessionLine) journal.ID { return l.ID }))
	words := []string{Last + "\tthe latest"}
	for _, l := range lines {
		words = append(words, short[l.ID]+"\t"+l.Day.String()+", "+l.Angler+" on "+l.Water)
	}
	return words, err
}

// StepIDs are the short ids of the latest steps, each with what it did.
func StepIDs(ctx context.Context, j Journal) ([]string, error) {
	steps, err := j.Steps(ctx, 30)
	if err != nil {
		return nil, err
	}
	short, err := j.Beginnings(ctx, pg.ListSteps, Keys(steps, func(s journal.Step) journal.ID { return s.ID }))
	return Keys(steps, func(s journal.Step) string { return short[s.ID] + "\t" + s.What }), err
}
