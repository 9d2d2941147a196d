package rivers

import (
	"cmp"
	"context"
	"errors"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/gauges"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

func (r rivers) update() *cobra.Command {
	var from, to string
	cmd := &cobra.Command{
		Use:   "update [SITE]",
		Short: "Ask for the latest readings of a gauge, or of all that waters are linked to",
		Long: `Ask the agencies for the latest readings of a gauge, or of all that waters are linked to. Each is asked
every 15 minutes at most. With --from, the readings since that day and the daily means of all years are
asked for too, in parts by quarters of a year; what was cut short goes on where it was.`,
		Example: "  rigtally gauges update\n  rigtally gauges update usgs:01234567 --from 2026-04-01",
		Args:    command.Between(0, 1, "one gauge, as usgs:01234567"),
	}
	cmd.Flags().StringVar(&from, "from", "", "also the readings since this `day`, as 2026-04-01")
	cmd.Flags().StringVar(&to, "to", "", "up to this `day` (default: now)")
	cmd.RunE = r.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
		days, err := r.days(from, to)
		if err != nil {
			return err
		}
		sites, err := r.asked(ctx, j, args)
		if err != nil || len(sites) == 0 {
			return err
		}
		k, err := r.keeper(j)
		if err != nil {
			return err
		}
		var failed, unfilled error
		for _, s := range sites {
			ok, left, err := r.updateOne(ctx, k, s, days)
			if err != nil {
				return err
			}
			if unfilled = cmp.Or(unfilled, left); !ok {
				failed = errors.New("not every gauge could be asked; what was answered is kept")
			}
		}
		return cmp.Or(unfilled, failed)
	})
	return r.CompleteArgs(cmd, 1, siteNames)
}

// days reads the days of a time in UTC, a day more at both ends for places ahead of it and behind; zero is none.
func (r rivers) days(from, to string) (s gauge.Span, err error) {
	if from == "" {
		if to != "" {
			return s, terminal.Misusef("--to goes with --from; say since when too")
		}
		return s, nil
	}
	first, err := journal.ParseDate(from)
	if err != nil {
		return s, terminal.Misusef("--from: %w", err)
	}
	s = gauge.Span{From: first.In(time.UTC).AddDate(0, 0, -1), To: r.Now()}
	if to != "" {
		last, err := journal.ParseDate(to)
		if err != nil {
			return s, terminal.Misusef("--to: %w", err)
		}
		s.To = last.In(time.UTC).AddDate(0, 0, 2)
	}
	if !s.From.Before(s.To) {
		return s, terminal.Misusef("there is no time from %s to %s", from, to)
	}
	return s, nil
}

// asked are the gauges that are meant: the one that was named, else those that waters are linked to.
func (r rivers) asked(ctx context.Context, j command.Journal, args []string) ([]gauge.Site, error) {
	if len(args) > 0 {
		s, err := site(args[0])
		return []gauge.Site{s}, err
	}
	states, err := j.Gauges(ctx)
	if err == nil && len(states) == 0 {
		r.Printf("No water has a gauge yet. To link one: rigtally gauges link WATER SITE\n")
	}
	var sites []gauge.Site
	for _, s := range states {
		if provider := s.Provider; provider == gauge.USGS || provider == gauge.EA || provider == gauge.Hubeau {
			sites = append(sites, s.Site)
		} else {
			r.Printf("%s: nobody is asked about gauges of %s.\n", s.Site, provider)
		}
	}
	return sites, err
}

// updateOne asks about a gauge. Not ok says that its agency could not be asked, and why is told; unfilled, why not all sessions
// took what came.
func (r rivers) updateOne(ctx context.Context, k *gauges.Keeper, s gauge.Site, days gauge.Span) (ok bool, unfilled, err error) {
	u, err := k.Update(ctx, s)
	if err != nil {
		return false, nil, terminal.OfQuestion(err)
	}
	r.Printf("%s: %s\n", s, u.Say(r.Now()))
	if days.From.IsZero() {
		return u.Trouble == "", u.Unfilled, nil
	}
	bar, done := r.Bar("Asking for " + s.String())
	fetched, err := k.Fetch(ctx, s, []gauge.Span{days}, func(n, of int) {
		if bar != nil {
			bar(int64(n), int64(of))
		}
	})
	done()
	var later *gauges.Later
	if errors.As(err, &later) {
		r.Printf("%s: %s\n", s, later.Say(r.Now()))
		return false, fetched.Unfilled, nil
	}
	if err != nil {
		return false, nil, err
	}
	r.Printf("%s, readings of these days and daily means: %s\n", s, fetched.Say())
	return u.Trouble == "", fetched.Unfilled, nil
}
