package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// pullFlags are the parts of a pull as flags.
type pullFlags struct {
	junction, facing, prop, tippet, material, on, ending, at, angler, day, label, note, force string
	wet, dry                                                                                  bool
}

func (f *pullFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.junction, "junction", "", "`knot` or hardware, by a known name or one of your own; none: a line without a knot")
	flags.StringVar(&f.facing, "facing", "", "which `way` the tag leaves: down, up or side")
	flags.StringVar(&f.prop, "prop", "", "`hitch` that holds the tag off: none, half-hitch or overhand")
	flags.StringVar(&f.tippet, "tippet", "", "`size` of the line, as 6X or 0.127mm")
	flags.StringVar(&f.material, "material", "", "`what` it is made of: nylon or fluorocarbon")
	flags.StringVar(&f.on, "pulled-on", "", "`part` that the scale pulled on: tag or \"main line\"")
	flags.BoolVar(&f.wet, "wet", false, "the line was soaked")
	flags.BoolVar(&f.dry, "dry", false, "the line was dry")
	flags.StringVar(&f.force, "force", "", "the most that the scale showed, with its `unit`: 3.4lbf, 1.55kgf or 15.2N")
	flags.StringVar(&f.ending, "ending", "", "`how` it ended: broke, slipped or \"did not break\"")
	flags.StringVar(&f.at, "broke-at", "", "`where` it broke: junction, tag, \"main line\" or grip; says that it broke")
	flags.StringVar(&f.angler, "tied-by", "", "`name` of who tied it")
	flags.StringVar(&f.day, "date", "", "`day`, as 2026-04-30 (default: today)")
	flags.StringVar(&f.label, "label", "", "`label` of the spool or the batch")
	flags.StringVar(&f.note, "note", "", "a `note`")
	for name, words := range map[string][]string{"junction": junctionNames(), "facing": listOf(journal.Facings()), "prop": listOf(journal.Props()), "material": listOf(journal.Materials()),
		"pulled-on": listOf(journal.PulledOns()), "ending": listOf(journal.PullEndings()), "broke-at": listOf(journal.PullBreaks())} {
		complete(cmd, name, words)
	}
	cmd.MarkFlagsMutuallyExclusive("wet", "dry")
}

func listOf[T ~string](words []T) []string {
	list := make([]string, len(words))
	for i, w := range words {
		list[i] = string(w)
	}
	return list
}

func junctionNames() []string {
	list := listOf(journal.Junctions())
	list[len(list)-1] = "none"
	return list
}

// onto writes the flags that were given onto a pull.
func (f *pullFlags) onto(ctx context.Context, cmd *cobra.Command, store *pg.Store, sys units.System, p *journal.BenchPull) (err error) {
	given := cmd.Flags().Changed
	if given("junction") {
		p.Junction, p.JunctionName = junctionWord(f.junction)
		if !p.Knotted() {
			p.Facing, p.Prop, p.PulledOn = "", "", ""
		}
	}
	texts := map[string]func(){
		"facing": func() { p.Facing = journal.Facing(f.facing) }, "prop": func() { p.Prop = journal.Prop(f.prop) }, "material": func() { p.Material = journal.Material(f.material) },
		"pulled-on": func() { p.PulledOn = journal.PulledOn(f.on) }, "label": func() { p.Label = f.label }, "note": func() { p.Note = f.note },
		"wet": func() { p.Wetness = "wet" }, "dry": func() { p.Wetness = "dry" },
	}
	cmd.Flags().Visit(func(flag *pflag.Flag) {
		if set := texts[flag.Name]; set != nil {
			set()
		}
	})
	if given("ending") {
		p.Ending, p.BrokeAt = journal.PullEnding(f.ending), ""
	}
	if given("broke-at") {
		p.BrokeAt = journal.PullBreak(f.at)
		if !given("ending") {
			p.Ending = journal.PulledBroke
		}
	}
	return f.measures(ctx, cmd, store, sys, p)
}

func (f *pullFlags) measures(ctx context.Context, cmd *cobra.Command, store *pg.Store, sys units.System, p *journal.BenchPull) (err error) {
	given := cmd.Flags().Changed
	if given("tippet") {
		if p.TippetMM, err = units.ParseTippet(f.tippet, units.X); err != nil {
			return usagef("--tippet: %w", err)
		}
	}
	if given("force") {
		bare := units.Unit("")
		if sys == units.US {
			bare = units.PoundForce
		}
		if p.ForceN, err = units.ParseForce(f.force, bare); err != nil {
			return usagef("--force: %w", err)
		}
	}
	if given("date") {
		if p.Day, err = journal.ParseDate(f.day); err != nil {
			return usagef("--date: %w", err)
		}
	}
	if given("tied-by") {
		tier, err := store.AnglerNamed(ctx, f.angler)
		if err != nil {
			return err
		}
		p.AnglerID = &tier.ID
	}
	return nil
}

// junctionWord finds a junction by its name; any other name is kept as it is.
func junctionWord(name string) (journal.Junction, string) {
	name = strings.TrimSpace(name)
	if name == "" || strings.EqualFold(name, "none") || strings.EqualFold(name, "unknotted") {
		return "", ""
	}
	for _, j := range journal.Junctions() {
		if j != journal.JunctionOther && strings.EqualFold(string(j), name) {
			return j, ""
		}
	}
	return journal.JunctionOther, name
}

func (p *program) benchAddCommand() *cobra.Command {
	var f pullFlags
	cmd := &cobra.Command{
		Use: "add --tippet SIZE --force FORCE", Short: "Record a pull", Args: between(0, 0, ""),
		Example: `  rigtally bench add --junction figure-eight --facing down --tippet 6X --material nylon --wet --pulled-on tag --force 1.95lbf --broke-at junction
  rigtally bench add --junction none --tippet 6X --material nylon --wet --force 2.4lbf --broke-at "main line"
  rigtally bench add --junction blood --tippet 5X --force 1.1kgf --ending slipped --tied-by "J. Felt"`,
	}
	f.add(cmd)
	cmd.RunE = p.do(func(ctx context.Context, cmd *cobra.Command, _ []string) error {
		for _, needed := range []string{"tippet", "force"} {
			if !cmd.Flags().Changed(needed) {
				return usagef("--%s is missing", needed)
			}
		}
		id, err := journal.NewID()
		if err != nil {
			return err
		}
		pull := journal.BenchPull{ID: id, Day: journal.DateOf(p.now())}
		return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
			return p.savePull(ctx, cmd, store, &f, pull, "Recorded")
		})
	})
	return cmd
}

// savePull stores a pull with the flags on it; what is wrong with it is wrong usage.
func (p *program) savePull(ctx context.Context, cmd *cobra.Command, store *pg.Store, f *pullFlags, pull journal.BenchPull, done string) error {
	sys, err := p.unitsFor(ctx, store)
	if err != nil {
		return err
	}
	if err := f.onto(ctx, cmd, store, sys, &pull); err != nil {
		return err
	}
	saved, err := store.SaveBenchPull(ctx, pull)
	if journal.IsInvalid(err) {
		return &usageError{err}
	}
	if err != nil {
		return err
	}
	p.printf("%s: %s\n", done, prose.PullLine(saved, sys))
	return nil
}

func (p *program) benchChangeCommand() *cobra.Command {
	var f pullFlags
	cmd := p.benchOneCommand("change", "Change a pull; what no flag names stays", nil)
	f.add(cmd)
	cmd.RunE = p.do(func(ctx context.Context, cmd *cobra.Command, args []string) error {
		id, err := pullID(args[0])
		if err != nil {
			return err
		}
		return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
			pull, err := store.BenchPullByID(ctx, id)
			if err != nil {
				return unknownPull(err)
			}
			return p.savePull(ctx, cmd, store, &f, pull, "Changed")
		})
	})
	return cmd
}

func pullID(text string) (journal.ID, error) {
	id, err := journal.ParseID(text)
	if err != nil {
		return id, usagef("%w; \"rigtally bench list\" shows them", err)
	}
	return id, nil
}

func unknownPull(err error) error {
	if errors.Is(err, journal.ErrNotFound) {
		return fmt.Errorf("%w; see \"rigtally bench list\", and \"rigtally bench deleted\" for what was taken out", err)
	}
	return err
}

func (p *program) benchOneCommand(use, short string, f func(context.Context, *pg.Store, journal.ID) error) *cobra.Command {
	return &cobra.Command{
		Use: use + " ID", Short: short, Args: between(1, 1, "the pull's id"),
		Example: "  rigtally bench " + use + " 0198c5a2-7d1e-7f3a-9b57-3f5c1d2e4a60",
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, args []string) error {
			id, err := pullID(args[0])
			if err != nil {
				return err
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return f(ctx, store, id) })
		}),
	}
}

func (p *program) benchDeleteCommand() *cobra.Command {
	return p.benchOneCommand("delete", fmt.Sprintf("Take a pull out; it can be restored for %d days", journal.UndoDays), func(ctx context.Context, store *pg.Store, id journal.ID) error {
		if err := store.DeleteBenchPull(ctx, id, 0); err != nil {
			return unknownPull(err)
		}
		p.printf("Deleted. \"rigtally bench restore %s\" brings it back.\n", id)
		return nil
	})
}

func (p *program) benchRestoreCommand() *cobra.Command {
	return p.benchOneCommand("restore", "Bring a deleted pull back", func(ctx context.Context, store *pg.Store, id journal.ID) error {
		if err := store.RestoreBenchPull(ctx, id, 0); err != nil {
			return unknownPull(err)
		}
		p.printf("Restored.\n")
		return nil
	})
}

func (p *program) benchDeletedCommand() *cobra.Command {
	return &cobra.Command{Use: "deleted", Short: "List what can be restored", Args: between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
				list, err := store.DeletedBenchPulls(ctx)
				if err != nil {
					return err
				}
				return p.listPulls(ctx, store, list, "Nothing was deleted.")
			})
		})}
}

func (p *program) benchListCommand() *cobra.Command {
	var limit int
	cmd := &cobra.Command{Use: "list", Short: "List the latest pulls", Args: between(0, 0, "")}
	cmd.Flags().IntVar(&limit, "limit", 20, "at most this `number`")
	cmd.RunE = p.do(func(ctx context.Context, _ *cobra.Command, _ []string) error {
		if limit < 1 {
			return usagef("--limit %d shows nothing; write 1 or more", limit)
		}
		return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
			list, err := store.BenchPulls(ctx)
			if err != nil {
				return err
			}
			slices.Reverse(list)
			err = p.listPulls(ctx, store, list[:min(limit, len(list))], "No pull to list. Record one with \"rigtally bench add\", or import a spreadsheet with \"rigtally bench import\".")
			if err == nil && len(list) > limit {
				p.printf("%d of %d pulls; --limit shows more.\n", limit, len(list))
			}
			return err
		})
	})
	return cmd
}

func (p *program) listPulls(ctx context.Context, store *pg.Store, list []journal.BenchPull, none string) error {
	if len(list) == 0 {
		p.printf("%s\n", none)
		return nil
	}
	sys, err := p.unitsFor(ctx, store)
	if err != nil {
		return err
	}
	contents, err := store.Directory(ctx)
	if err != nil {
		return err
	}
	who := namesOf(contents)
	t := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "Day\tKnot\tTippet\tForce\tEnded\tTied by\tId")
	for _, pull := range list {
		tier := ""
		if pull.AnglerID != nil {
			tier = who.anglers[*pull.AnglerID].Name
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", pull.Day, prose.PullKnot(pull), units.FormatTippet(pull.TippetMM), units.FormatForce(pull.ForceN, sys), prose.PullEnded(pull.Ending, pull.BrokeAt), tier, pull.ID)
	}
	return t.Flush()
}
