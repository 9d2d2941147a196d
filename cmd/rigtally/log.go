package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"rigtally/journal"
	"rigtally/journal/pg"
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
	accept  bool
}

func (p *program) logCommand() *cobra.Command {
	given := &logFlags{several: map[string]*[]string{}}
	cmd := &cobra.Command{
		Use:   "log",
		Short: "Store one session, from flags or asked step by step",
		Long: `Store one session with one or more stints. Without flags, at a terminal, you are
asked step by step. Values may have units; bare numbers are inches, feet, cfs and °F
with --units us, and mm, m, m³/s and °C with --units metric.

An angler, water or rig that the journal does not know is added, and you are told so.
A count that no flag names was not kept; write 0 for none. What is likelier a slip, such
as a tag over 60 cm, is asked about, and refused where nobody can be asked without --accept.

What is typed step by step is kept in the data folder until it is stored, so that nothing
of it is lost whatever happens.`,
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
	flags.BoolVar(&given.accept, "accept", false, "store also what is likelier a slip")
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
	return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
		sys, err := p.unitsFor(ctx, store)
		if err != nil {
			return err
		}
		contents, err := store.Directory(ctx)
		if err != nil {
			return err
		}
		pl := planner{names: namesOf(contents), zone: contents.Outfit.TimeZone, sys: sys, now: p.now()}
		if told.empty() {
			return p.logAsked(ctx, store, pl, given)
		}
		session, err := pl.fromForm(told)
		if err != nil {
			return err
		}
		return p.keep(ctx, store, session, given)
	})
}

// fromForm plans what was told.
func (pl planner) fromForm(told form) (outing, error) {
	d, err := told.draft(pl.sys, journal.DateOf(pl.now))
	if err != nil {
		return outing{}, err
	}
	return pl.make(d)
}

// keep stores a plan and shows it as stored, with its id and the way back. It
// asks about what is likelier a slip.
func (p *program) keep(ctx context.Context, store *pg.Store, session outing, given *logFlags) error {
	if given.dryRun {
		text, err := session.text()
		if err != nil {
			return err
		}
		p.printf("%sNothing was stored (--dry-run).\n", text)
		return nil
	}
	stored, err := session.store(ctx, store, given.accept)
	var doubtful *journal.Doubtful
	if errors.As(err, &doubtful) {
		if err := p.confirm(ctx, doubtful); err != nil {
			return err
		}
		stored, err = session.store(ctx, store, true)
	}
	if err != nil {
		return err
	}
	contents, err := store.Directory(ctx)
	if err != nil {
		return err
	}
	session.session, session.names = stored, namesOf(contents)
	text, err := session.text()
	if err != nil {
		return err
	}
	p.printf("%sStored as %s.\nTo take it out again: rigtally sessions delete %s\n", text, stored.ID, stored.ID)
	return nil
}

// confirm asks whether what is doubted is so, and is an error unless it is.
func (p *program) confirm(ctx context.Context, d *journal.Doubtful) error {
	if !p.asks {
		return fmt.Errorf("%w (with --accept)", d)
	}
	a := p.asker(ctx)
	for _, doubt := range d.Doubts {
		a.say("%s.\n", capital(doubt.Says))
	}
	answer, err := a.ask(ctx, yesNo("so", "Is that so", "yes stores it as it is; no leaves it to be corrected.", no))
	if err == nil && !isYes(answer) {
		err = d
	}
	return err
}

// text shows the session and what the journal learns beside it.
func (p outing) text() (string, error) {
	text, err := sessionText(p.session, p.names, p.sys)
	for _, line := range p.added {
		text += "  " + line + "\n"
	}
	return text, err
}

// lastSession returns the latest session, nil in an empty journal.
func lastSession(ctx context.Context, store *pg.Store) (*journal.Session, error) {
	lines, _, err := store.SessionLines(ctx, journal.SessionFilter{Limit: 1})
	if err != nil || len(lines) == 0 {
		return nil, err
	}
	s, err := store.SessionByID(ctx, lines[0].ID)
	return &s, err
}
