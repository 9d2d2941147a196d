package trials

import (
	"context"
	"io"
	"strconv"

	"github.com/spf13/cobra"

	"rigtally/analytics/trial"
	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

func (t trials) start() *cobra.Command {
	cmd := blank("start", "Start the next stint or session, and see what to tie", false)
	return t.ask(cmd, func(ctx context.Context, j command.Journal, tr journal.Trial) (command.Answer, error) {
		u, err := j.StartTrialUnit(ctx, tr.ID, len(tr.Units)+1, t.Now())
		if err != nil {
			return command.Answer{}, err
		}
		a, err := trial.Follow(ctx, j, tr.ID)
		if err != nil {
			return command.Answer{}, err
		}
		tie := prose.TrialArm(a, u.Arm.Index(), j.Units)
		if note := tr.Arms[u.Arm.Index()].Note; note != "" {
			tie += " (" + note + ")"
		}
		return command.Answer{
			Data: map[string]any{"trial": tr.ID, "number": u.Ordinal, "arm": u.Arm, "tie": tie, "started_at": u.StartedAt},
			Text: func(io.Writer) error {
				t.Printf("Number %d of %s. Tie arm %s: %s\n", u.Ordinal, tr.Name, u.Arm, tie)
				return nil
			},
		}, nil
	}, command.Text, command.JSON)
}

func (t trials) back() *cobra.Command {
	return t.on(blank("back", "Take the last start back; the next one has the same arm", false), func(ctx context.Context, j command.Journal, trial journal.Trial, _ []string) error {
		n := len(trial.Units)
		if n == 0 {
			return terminal.Misusef("nothing in %s has been started", trial.Name)
		}
		return t.Did(j.UndoTrialStart(ctx, trial.ID, n), "Taken back: number %d of %s. The trial notes that.\n", n, trial.Name)
	})
}

// start is a start of a trial that a command is about.
type start struct {
	journal.Trial
	number, version int // version as it was read, 0 for one not started
}

// onStart makes a command that does something with one start of a trial.
func (t trials) onStart(cmd *cobra.Command, do func(context.Context, command.Journal, start) error) *cobra.Command {
	return t.on(cmd, func(ctx context.Context, j command.Journal, trial journal.Trial, args []string) error {
		n, err := strconv.Atoi(args[0])
		if err != nil || n < 1 {
			return terminal.Misusef("%q is not the number of a start; \"rigtally trials show\" lists them", args[0])
		}
		u, _ := trial.StartedUnit(n)
		return do(ctx, j, start{trial, n, u.Version})
	})
}

func (t trials) attach() *cobra.Command {
	cmd := blank("attach", "Say what was fished in a start; without --session lists what it may be", true)
	session := cmd.Flags().String("session", "", "`id` of the session, or last")
	stint := cmd.Flags().Int("stint", 0, "`number` of the stint in it, where stints alternate")
	broke := cmd.Flags().String("broke", "", "it broke the plan, and `why`")
	return t.onStart(cmd, func(ctx context.Context, j command.Journal, s start) (err error) {
		if *session == "" {
			return t.candidates(ctx, j, s)
		}
		a := journal.Attachment{Ordinal: s.number}
		if a.SessionID, err = j.Which(ctx, pg.ListSessions, *session); err != nil {
			return err
		}
		if cmd.Flags().Changed("stint") {
			of, err := j.SessionByID(ctx, a.SessionID)
			if err != nil {
				return err
			}
			if *stint < 1 || *stint > len(of.Stints) {
				return terminal.Misusef("that session has no stint %d; it has %d", *stint, len(of.Stints))
			}
			a.StintID = &of.Stints[*stint-1].ID
		}
		as := ""
		if *broke != "" {
			as = ", as one that broke the plan"
		}
		return t.Did(j.AttachTrialUnit(ctx, s.ID, s.version, a, *broke), "Attached to number %d of %s%s.\n", s.number, s.Name, as)
	})
}

// candidates lists what a start may have been.
func (t trials) candidates(ctx context.Context, j command.Journal, s start) error {
	list, err := j.TrialCandidates(ctx, s.Trial, s.number)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		t.Printf("No session is logged from the day before number %d was started to a week after. Log it first.\n", s.number)
		return nil
	}
	short, err := j.Beginnings(ctx, pg.ListSessions, command.Keys(list, func(c journal.TrialCandidate) journal.ID { return c.SessionID }))
	if err != nil {
		return err
	}
	var rows [][]string
	for _, c := range list {
		stint, fished, arm := "–", "not noted", "neither"
		if c.Number > 0 {
			stint = strconv.Itoa(c.Number)
		}
		if c.Minutes != nil {
			fished = units.FormatDuration(*c.Minutes)
		}
		if c.Arm != "" {
			arm = string(c.Arm)
		}
		rows = append(rows, []string{c.Day.String(), c.Angler, c.Water, stint, c.Rig, fished, arm, short[c.SessionID]})
	}
	if err := t.Table([]string{"Day", "Angler", "Water", "Stint", "Rig", "Fished", "Arm", "Session"}, rows); err != nil {
		return err
	}
	number := ""
	if s.Unit == journal.ByStint {
		number = " --stint NUMBER"
	}
	t.Printf("Attach with --session ID%s.\n", number)
	return nil
}

func (t trials) broke() *cobra.Command {
	cmd := blank("broke", "Note that a start broke the plan, and why", true)
	why := cmd.Flags().String("why", "", "the `reason`, which must not be what happened to the rig")
	return t.onStart(cmd, func(ctx context.Context, j command.Journal, s start) error {
		return t.Did(j.BreakTrialUnit(ctx, s.ID, s.number, s.version, *why), "Number %d of %s does not count: %s\n", s.number, s.Name, *why)
	})
}

func (t trials) detach() *cobra.Command {
	cmd := blank("detach", "Take off what is attached to a start, or noted of it", true)
	return t.onStart(cmd, func(ctx context.Context, j command.Journal, s start) error {
		return t.Did(j.OpenTrialUnit(ctx, s.ID, s.number, s.version), "Number %d of %s waits for what was fished again.\n", s.number, s.Name)
	})
}

func (t trials) match() *cobra.Command {
	return &cobra.Command{
		Use: "match", Short: "Attach what was fished wherever there is no doubt", Args: command.None, Example: "  rigtally trials match",
		Long: "Attach what was fished wherever there is no doubt, after an import. Logging a session\ndoes it by itself.",
		RunE: t.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
			n, err := j.MatchTrials(ctx)
			return t.Did(err, "%d attached.\n", n)
		}),
	}
}
