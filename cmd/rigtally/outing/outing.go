// Package outing is the command "rigtally log": a session told in flags or asked step by step, stored and shown.
package outing

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

const example = `  # asked step by step
  rigtally log

  # one stint (invented names)
  rigtally log --angler "J. Felt" --water "Little Marrow" --flow "160 cfs" \
    --junction blood --tag "6 1/2 in" --tippet 6X --bulk slim \
    --minutes 1h30 --landed 3 --lost 1 --tangles 1 --minutes-lost 6

  # two stints, each told by what it had
  rigtally log --angler Maud --water Tessel --date yesterday \
    --stint "rig=Blood short, minutes=90, landed=2, broke-off=fly knot=1" \
    --stint "junction=figure-eight, tag=16.5 cm, minutes=60, tangles=2, twists=1"`

// given are the flags of "rigtally log" as they were given.
type given struct {
	stints  []string
	fresh   []string             // names that are new indeed
	several map[string]*[]string // the flags that can be repeated, by key
	dryRun  bool
	accept  bool
}

// logging is one run of the command in an open journal.
type logging struct {
	*command.Program
	command.Journal
	planner
	given *given
}

// Command is "rigtally log".
func Command(p *command.Program) *cobra.Command {
	told := &given{several: map[string]*[]string{}}
	cmd := &cobra.Command{
		Use:   "log",
		Short: "Store one session, from flags or asked step by step",
		Long: `Store one session with one or more stints. Without flags, at a terminal, you are
asked step by step. Values may have units; bare numbers are inches, feet, cfs and °F
with --units us, and mm, m, m³/s and °C with --units metric.

An angler, water, beat, knot or rig that is not in the journal is added, and it says so.
A name near one that the journal knows is asked about; elsewhere it is refused without
--new. A count that no flag names was not counted; write 0 for none. What looks like a
slip, such as a tag over 60 cm, is asked about; where nobody can be asked, it is refused
without --accept.

What is typed step by step is kept in the data folder until it is stored, so that nothing
is lost whatever happens.`,
		Example: example,
		Args:    command.None,
	}
	all := cmd.Flags()
	all.SortFlags = false
	for _, f := range sessionEntries() {
		all.String(f.key, "", f.usage)
	}
	for _, f := range stintEntries() {
		if f.key == "broke-off" || f.key == "snag-broke" {
			told.several[f.key] = all.StringArray(f.key, nil, f.usage)
		} else {
			all.String(f.key, "", f.usage)
		}
	}
	all.StringArrayVar(&told.stints, "stint", nil, "one stint as `key=value, …` with the names of the flags above; may be repeated")
	all.StringArrayVar(&told.fresh, "new", nil, "a `name` that is new indeed, though near one that the journal knows; may be repeated")
	all.BoolVar(&told.accept, "accept", false, "store what looks like a slip too")
	all.BoolVar(&told.dryRun, "dry-run", false, "show what would be stored, and store nothing")
	completeNames(p, cmd)
	cmd.RunE = p.Do(func(ctx context.Context, _ []string) error {
		form, err := readForm(all, told)
		if err != nil {
			return err
		}
		if form.empty() && !p.Asks {
			return terminal.Misusef("there is nothing to log; give at least --angler, --water, --minutes and a rig, or run it at a terminal to be asked step by step")
		}
		return p.Open(ctx, func(ctx context.Context, j command.Journal) error {
			contents, err := j.Directory(ctx)
			if err != nil {
				return err
			}
			l := &logging{p, j, planner{known: In(contents), zone: contents.Outfit.TimeZone, sys: j.Units, now: p.Now(), names: newNames(told.fresh)}, told}
			if form.empty() {
				return l.interview(ctx)
			}
			session, err := l.settled(ctx, func() (plan, error) { return l.fromForm(form) })
			if err != nil {
				return err
			}
			return l.keep(ctx, session)
		})
	})
	return cmd
}

// completeNames completes the flags that name what the journal knows.
func completeNames(p *command.Program, cmd *cobra.Command) {
	for flag, words := range map[string]command.Offer{"angler": command.AnglerNames, "guide": command.AnglerNames, "water": command.WaterNames, "beat": command.BeatNames, "rig": command.RigNames} {
		p.CompleteFrom(cmd, flag, words)
	}
	for _, f := range journal.SessionFields() {
		if len(f.Words) > 0 && cmd.Flags().Lookup(f.FlagName()) != nil {
			command.Complete(cmd, f.FlagName(), f.Words)
		}
	}
}

// fromForm plans what was told.
func (pl planner) fromForm(told form) (plan, error) {
	today, err := pl.today(told.session["water"])
	if err != nil {
		return plan{}, err
	}
	d, err := told.draft(pl.sys, today)
	if err != nil {
		return plan{}, err
	}
	return pl.make(d)
}

// keep stores a plan and shows it as stored, with its id and the way back. It
// asks about what is likelier a slip.
func (l *logging) keep(ctx context.Context, session plan) error {
	if l.given.dryRun {
		text, err := session.text()
		if err != nil {
			return err
		}
		l.Printf("%sNothing was stored (--dry-run).\n", text)
		return nil
	}
	stored, err := session.store(ctx, l.Store, l.given.accept)
	var doubtful *journal.Doubtful
	if errors.As(err, &doubtful) {
		if err := l.confirm(ctx, doubtful); err != nil {
			return err
		}
		stored, err = session.store(ctx, l.Store, true)
	}
	if err != nil {
		return err
	}
	contents, err := l.Directory(ctx)
	if err != nil {
		return err
	}
	session.session, session.known = stored, In(contents)
	text, err := session.text()
	if err != nil {
		return err
	}
	return l.tellStored(ctx, text, stored)
}

// tellStored shows a session as it was stored, with its id and the way back.
func (l *logging) tellStored(ctx context.Context, text string, s journal.Session) error {
	short, err := l.Beginnings(ctx, pg.ListSessions, []journal.ID{s.ID})
	if err != nil {
		return err
	}
	fills, err := l.Fills(ctx, s.ID)
	if err != nil {
		return err
	}
	if took := prose.Took(fills[s.ID], l.Units); took != "" {
		text += took + "\n"
	}
	if s.Version > 1 {
		l.Printf("%sStored as version %d of %s.\nTo take it back:\n  rigtally undo\n", text, s.Version, short[s.ID])
		return nil
	}
	l.Printf("%sStored as %s.\nTo change it, or to take it out again:\n  rigtally sessions edit %s\n  rigtally sessions delete %s\n", text, short[s.ID], short[s.ID], short[s.ID])
	return nil
}

// confirm asks whether what is doubted is so, and is an error unless it is.
func (l *logging) confirm(ctx context.Context, d *journal.Doubtful) error {
	if !l.Asks {
		return fmt.Errorf("%w (with --accept)", d)
	}
	a := l.Asker(ctx)
	for _, doubt := range d.Doubts {
		a.Say("%s.\n", capital(doubt.Says))
	}
	answer, err := a.Ask(ctx, terminal.YesNo("so", "Is that right", "yes stores it as it is; no leaves it to be corrected.", terminal.No))
	if err == nil && !terminal.IsYes(answer) {
		err = d
	}
	return err
}

// text shows the session and what the journal learns beside it.
func (p plan) text() (string, error) {
	text, err := Session(p.session, nil, p.known, p.sys)
	for _, line := range p.added {
		text += "  " + line + "\n"
	}
	return text, err
}
