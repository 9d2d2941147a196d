package main

import (
	"context"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"rigtally/journal"
)

const logExample = `  # asked step by step
  rigtally log

  # one stint (invented names)
  rigtally log --angler "J. Felt" --water "Little Marrow" --flow "160 cfs" \
    --junction blood --tag "6 1/2 in" --tippet 6X --bulk slim \
    --minutes 1h30 --landed 3 --lost 1 --tangles 1 --minutes-lost 6

  # two stints, each told by what it had
  rigtally log --angler Maud --water Tessel --date yesterday \
    --stint "rig=Blood short, minutes=90, landed=2, broke-off=fly knot=1" \
    --stint "junction=figure-eight, tag=16.5 cm, minutes=60, tangles=2, twists=1"`

// logFlags are the flags of "rigtally log" as they were given.
type logFlags struct {
	stints  []string
	several map[string]*[]string // the flags that can be repeated, by key
	dryRun  bool
}

func (p *program) logCommand() *cobra.Command {
	given := &logFlags{several: map[string]*[]string{}}
	cmd := &cobra.Command{
		Use:   "log",
		Short: "Store one session, from flags or asked step by step",
		Long: `Store one session with one or more stints. Without flags, at a terminal, you are
asked step by step. Values may have units; bare numbers are inches, feet, cfs and °F
with --units us, and mm, m, m³/s and °C with --units metric.

An angler, water or rig that the journal does not know is added, and you are told so.`,
		Example: logExample,
		Args:    between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, cmd *cobra.Command, _ []string) error {
			return p.log(ctx, cmd.Flags(), given)
		}),
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	for _, f := range sessionFields(journal.Date{}) {
		flags.String(f.key, "", f.usage)
	}
	for _, f := range allStintFields() {
		if f.key == "broke-off" || f.key == "snag-broke" {
			given.several[f.key] = flags.StringArray(f.key, nil, f.usage)
		} else {
			flags.String(f.key, "", f.usage)
		}
	}
	flags.StringArrayVar(&given.stints, "stint", nil, "one stint as `key=value, …` with the names of the flags above; may be repeated")
	flags.BoolVar(&given.dryRun, "dry-run", false, "show what would be stored, and store nothing")
	return cmd
}

func (p *program) log(ctx context.Context, flags *pflag.FlagSet, given *logFlags) error {
	told, err := readForm(flags, given)
	if err != nil {
		return err
	}
	if told.empty() && !p.asks {
		return usagef("there is nothing to log; give at least --angler, --water, --minutes and a rig, or run it at a terminal to be asked step by step")
	}
	return p.withJournal(ctx, func(ctx context.Context, store *journal.Store) error {
		sys, err := p.unitsFor(ctx, store)
		if err != nil {
			return err
		}
		contents, err := store.Directory(ctx)
		if err != nil {
			return err
		}
		pl := planner{names: namesOf(contents), zone: contents.Outfit.TimeZone, sys: sys, now: p.now()}
		var session plan
		if told.empty() {
			last, err := lastSession(ctx, store)
			if err != nil {
				return err
			}
			session, err = p.askSession(ctx, pl, last)
			if err != nil {
				return err
			}
		} else if session, err = pl.fromForm(told); err != nil {
			return err
		}
		return p.keep(ctx, store, session, given.dryRun)
	})
}

// fromForm plans what was told.
func (pl planner) fromForm(told form) (plan, error) {
	d, err := told.draft(pl.sys, journal.DateOf(pl.now))
	if err != nil {
		return plan{}, err
	}
	return pl.make(d)
}

// keep stores a plan and shows it as stored, with its id and the way back.
func (p *program) keep(ctx context.Context, store *journal.Store, session plan, dryRun bool) error {
	if !dryRun {
		if err := session.store(ctx, store); err != nil {
			return err
		}
		stored, err := store.SessionByID(ctx, session.session.ID)
		if err != nil {
			return err
		}
		session.session = stored
	}
	text, err := sessionText(session.session, session.names, session.sys)
	if err != nil {
		return err
	}
	p.printf("%s", text)
	for _, line := range session.additions() {
		p.printf("  %s\n", line)
	}
	if dryRun {
		p.printf("Nothing was stored (--dry-run).\n")
		return nil
	}
	p.printf("Stored as %s.\nTo take it out again: rigtally sessions delete %s\n", session.session.ID, session.session.ID)
	return nil
}

// lastSession returns the latest session, nil in an empty journal.
func lastSession(ctx context.Context, store *journal.Store) (*journal.Session, error) {
	lines, _, err := store.SessionLines(ctx, journal.SessionFilter{Limit: 1})
	if err != nil || len(lines) == 0 {
		return nil, err
	}
	s, err := store.SessionByID(ctx, lines[0].ID)
	return &s, err
}
