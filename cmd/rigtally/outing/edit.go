package outing

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// editFlags are the flags of "rigtally sessions edit" beside those of what is changed.
type editFlags struct {
	stint, fly int
	from       string
	fresh      []string
	accept     bool
	dryRun     bool
}

// editing is a session that is being edited.
type editing struct {
	*logging
	was  journal.Session
	opts editFlags
}

// EditCommand is "rigtally sessions edit".
func EditCommand(p *command.Program) *cobra.Command {
	var opts editFlags
	cmd := &cobra.Command{
		Use:   "edit ID",
		Short: "Edit a session, in your editor or with flags",
		Long: `Edit a session. Without flags it opens as a text in your editor ($VISUAL, else $EDITOR),
with all that can be told of it; what you save becomes its next version. What makes no
sense is said with its line, and the editor opens again with what you wrote. Nothing that
you wrote is lost: where it can't be stored, it is kept in a file, and --from takes it
up again.

With flags only what they name changes: --tangles 3. "" takes a thing out. A count belongs
to the stint that --stint numbers, and to the fly at --fly, where there are several.
What is noted of single fish and tangles stays as it is.`,
		Example: `  rigtally sessions edit last
  rigtally sessions edit last --tangles 3 --minutes 1h30
  rigtally sessions edit 0198c5a2 --stint 2 --landed 4 --notes "Hatch at noon"`,
		Args: command.Between(1, 1, "the session's id, or last,"),
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	usages := usagesToEdit()
	for _, key := range changeable() {
		flags.String(key, "", usages[key])
	}
	flags.IntVar(&opts.stint, "stint", 0, "`number` of the stint that is changed, where there are several")
	flags.IntVar(&opts.fly, "fly-at", wholeRig, "`position` of the fly that counts belong to: 0 the point, 1 the dropper above it, …")
	flags.StringVar(&opts.from, "from", "", "`file` to take the edited text from, instead of an editor")
	flags.StringArrayVar(&opts.fresh, "new", nil, "a `name` that is new indeed, though near one that the journal knows; may be repeated")
	flags.BoolVar(&opts.accept, "accept", false, "store what looks like a slip too")
	flags.BoolVar(&opts.dryRun, "dry-run", false, "show what would be stored, and store nothing")
	completeNames(p, cmd)
	p.CompleteArgs(cmd, 1, command.SessionIDs)
	cmd.RunE = p.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
		id, err := j.Which(ctx, pg.ListSessions, args[0])
		if err != nil {
			return err
		}
		was, err := j.SessionByID(ctx, id)
		if err != nil {
			return err
		}
		contents, err := j.Directory(ctx)
		if err != nil {
			return err
		}
		l := &logging{p, j, planner{known: In(contents), zone: contents.Outfit.TimeZone, sys: j.Units, now: p.Now(), names: newNames(opts.fresh)}, &given{accept: opts.accept, dryRun: opts.dryRun}}
		e := &editing{l, was, opts}
		said := map[string]string{}
		for _, key := range changeable() {
			if flags.Changed(key) {
				said[key] = strings.TrimSpace(flags.Lookup(key).Value.String())
			}
		}
		switch {
		case len(said) > 0 && opts.from != "":
			return terminal.Misusef("--from has the whole session; leave the other flags out, or --from")
		case len(said) > 0:
			return e.byFlags(ctx, said, flags.Changed("fly-at"))
		case flags.Changed("stint") || flags.Changed("fly-at"):
			return terminal.Misusef("nothing to change; add what changes, such as --tangles 3")
		case opts.from != "":
			return e.fromFile(ctx)
		}
		return e.inEditor(ctx)
	})
	return cmd
}

// changeable are the names of all that flags can change.
func changeable() []string {
	keys := append(sessionKeys(), stintKeys()...)
	return append(keys, placeKeys()...)
}

// byFlags changes what flags name.
func (e *editing) byFlags(ctx context.Context, given map[string]string, flySaid bool) error {
	now, err := tell(e.was, e.known, e.sys).clone(), error(nil)
	ofStint := map[string]bool{}
	for _, key := range append(stintKeys(), placeKeys()...) {
		ofStint[key] = true
	}
	st := &now.stints[0]
	for key := range given {
		if !ofStint[key] {
			continue
		}
		switch n := e.opts.stint; {
		case n == 0 && len(now.stints) > 1:
			return terminal.Misusef("the session has %d stints; say with --stint which one --%s belongs to", len(now.stints), key)
		case n < 0 || n > len(now.stints):
			return terminal.Misusef("--stint %d: the session has no such stint; it has %d", n, len(now.stints))
		case n > 0:
			st = &now.stints[n-1]
		}
	}
	place := st.main
	if flySaid {
		place = e.opts.fly
	}
	if st.places[place] == nil {
		st.places[place] = map[string]string{}
	}
	counts := placesKeySet()
	for key, text := range given {
		if counts[key] && !flySaid {
			if text, err = st.atMain(key, text); err != nil {
				return err
			}
		}
		to := now.session
		switch {
		case counts[key]:
			to = st.places[place]
		case ofStint[key]:
			to = st.values
		}
		if to[key] = text; text == "" {
			delete(to, key)
		}
	}
	for _, t := range tallies() { // a total that is not named goes along
		if _, said := given[t.key]; said || len(t.parts) == 0 || st.places[place][t.key] == "" {
			continue
		}
		for _, part := range t.parts {
			if _, said := given[part]; said {
				st.places[place][t.key] = moves
			}
		}
	}
	p, err := e.settled(ctx, func() (plan, error) { return e.edited(e.was, now) })
	var fault *wrong
	switch {
	case errors.As(err, &fault):
		return terminal.Misusef("--%s: %w", fault.key, fault.err)
	case err != nil:
		return err
	}
	return e.storeEdit(ctx, p)
}

func placesKeySet() map[string]bool {
	set := map[string]bool{}
	for _, key := range placeKeys() {
		set[key] = true
	}
	return set
}

// atMain is a count of the whole stint as it stands at its main place: less what the other places have of it.
func (t toldStint) atMain(key, text string) (string, error) {
	others := 0
	for place, values := range t.places {
		if place == t.main || values[key] == "" {
			continue
		}
		n, err := strconv.Atoi(values[key])
		if err != nil {
			return "", terminal.Misusef("--%s: a fly has it noted, too (%s); say with --fly-at which fly it belongs to", key, values[key])
		}
		others += n
	}
	n, err := strconv.Atoi(text)
	if others == 0 || err != nil {
		return text, nil // what is no number is told when it is read
	}
	if n < others {
		return "", terminal.Misusef("--%s %s: single flies have %d of it noted; say with --fly-at which fly has fewer", key, text, others)
	}
	return strconv.Itoa(n - others), nil
}

// storeEdit stores a session as its next version, unless nothing is changed, and shows it.
func (e *editing) storeEdit(ctx context.Context, p plan) error {
	if p.session.SaysWhat(e.was) {
		e.Printf("Nothing was changed, so nothing is stored.\n")
		return nil
	}
	err := e.keep(ctx, p)
	var conflict *journal.Conflict
	if errors.As(err, &conflict) {
		e.tellConflict(ctx, conflict)
	}
	return err
}

// tellConflict shows what the journal holds instead.
func (e *editing) tellConflict(ctx context.Context, c *journal.Conflict) {
	held, ok := c.Stored.(journal.Session)
	if !ok || c.Deleted {
		return
	}
	contents, err := e.Directory(ctx)
	if err != nil {
		return
	}
	if text, err := Session(held, nil, In(contents), e.sys); err == nil {
		e.Note("The journal has version %d by now:\n%s", held.Version, text)
	}
}

// fromFile stores what a file says.
func (e *editing) fromFile(ctx context.Context) error {
	text, err := os.ReadFile(e.opts.from)
	if err != nil {
		return fmt.Errorf("the file can't be read: %w; check its name", err)
	}
	if err := e.storePage(ctx, string(text), writePage(e.was, e.known, e.sys)); err != nil {
		return fmt.Errorf("%s: %w", e.opts.from, err)
	}
	return nil
}

// storePage stores what an edited page says.
func (e *editing) storePage(ctx context.Context, text string, shown page) error {
	w, err := readPage(text)
	if err != nil {
		return terminal.Misused(err)
	}
	if w.session != "" && w.session != e.was.ID.String() {
		return terminal.Misusef("this is another session, %s; name that one", w.session)
	}
	w.settle(tell(e.was, e.known, e.sys), shown.quiet)
	p, err := e.settled(ctx, func() (plan, error) { return e.edited(e.was, w.told) })
	if err != nil {
		return terminal.Misused(w.locate(err))
	}
	return w.locate(ofSession(e.storeEdit(ctx, p)))
}

// ofSession says of what the journal refuses which part of the session it is about.
func ofSession(err error) error {
	var invalid *journal.Invalid
	if !errors.As(err, &invalid) || len(invalid.Fields) == 0 {
		return err
	}
	var stint int
	var rest string
	if _, scanned := fmt.Sscanf(invalid.Fields[0], "stints[%d]%s", &stint, &rest); scanned != nil && rest == "" {
		return err
	}
	return &wrong{stint: stint + 1, place: wholeRig, key: "", err: err}
}
