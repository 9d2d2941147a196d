package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/outing"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
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
	for name, words := range map[string][]string{
		"junction": junctionNames(), "facing": command.Words(journal.Facings()), "prop": command.Words(journal.Props()),
		"material": command.Words(journal.Materials()), "pulled-on": command.Words(journal.PulledOns()),
		"ending": command.Words(journal.PullEndings()), "broke-at": command.Words(journal.PullBreaks()),
	} {
		command.Complete(cmd, name, words)
	}
	cmd.MarkFlagsMutuallyExclusive("wet", "dry")
}

func junctionNames() []string {
	list := command.Words(journal.Junctions())
	list[len(list)-1] = "none"
	return list
}

// onto writes the flags that were given onto a pull.
func (f *pullFlags) onto(ctx context.Context, cmd *cobra.Command, j command.Journal, p *journal.BenchPull) error {
	given := cmd.Flags().Changed
	if given("junction") {
		p.Junction, p.JunctionName = junctionWord(f.junction)
		if !p.Knotted() {
			p.Facing, p.Prop, p.PulledOn = "", "", ""
		}
	}
	texts := map[string]func(){
		"facing":    func() { p.Facing = journal.Facing(f.facing) },
		"prop":      func() { p.Prop = journal.Prop(f.prop) },
		"material":  func() { p.Material = journal.Material(f.material) },
		"pulled-on": func() { p.PulledOn = journal.PulledOn(f.on) },
		"label":     func() { p.Label = f.label },
		"note":      func() { p.Note = f.note },
		"wet":       func() { p.Wetness = "wet" },
		"dry":       func() { p.Wetness = "dry" },
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
	return f.measures(ctx, cmd, j, p)
}

func (f *pullFlags) measures(ctx context.Context, cmd *cobra.Command, j command.Journal, p *journal.BenchPull) (err error) {
	given := cmd.Flags().Changed
	if given("tippet") {
		if p.TippetMM, err = units.ParseTippet(f.tippet, units.X); err != nil {
			return terminal.Misusef("--tippet: %w", err)
		}
	}
	if given("force") {
		bare := units.Unit("")
		if j.Units == units.US {
			bare = units.PoundForce
		}
		if p.ForceN, err = units.ParseForce(f.force, bare); err != nil {
			return terminal.Misusef("--force: %w", err)
		}
	}
	if given("date") {
		if p.Day, err = journal.ParseDate(f.day); err != nil {
			return terminal.Misusef("--date: %w", err)
		}
	}
	if given("tied-by") {
		tier, err := j.AnglerNamed(ctx, f.angler)
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

// save stores a pull with the flags on it; what is wrong with it is wrong use.
func (f *pullFlags) save(ctx context.Context, cmd *cobra.Command, p *command.Program, j command.Journal, pull journal.BenchPull, done string) error {
	if err := f.onto(ctx, cmd, j, &pull); err != nil {
		return err
	}
	saved, err := j.SaveBenchPull(ctx, pull)
	if err != nil {
		return terminal.OfQuestion(err)
	}
	p.Printf("%s: %s\n", done, prose.PullLine(saved, j.Units))
	return nil
}

func pullAddCommand(p *command.Program) *cobra.Command {
	var f pullFlags
	cmd := &cobra.Command{
		Use: "add --tippet SIZE --force FORCE", Short: "Record a pull", Args: command.None,
		Example: `  rigtally bench add --junction figure-eight --facing down --tippet 6X --material nylon --wet --pulled-on tag --force 1.95lbf --broke-at junction
  rigtally bench add --junction none --tippet 6X --material nylon --wet --force 2.4lbf --broke-at "main line"
  rigtally bench add --junction blood --tippet 5X --force 1.1kgf --ending slipped --tied-by "J. Felt"`,
	}
	f.add(cmd)
	command.Needs(cmd, "tippet", "force")
	cmd.RunE = p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
		id, err := journal.NewID()
		if err != nil {
			return err
		}
		return f.save(ctx, cmd, p, j, journal.BenchPull{ID: id, Day: journal.DateOf(p.Now())}, "Recorded")
	})
	return cmd
}

// keptPulls are pulls, by their ids.
func keptPulls() kept { return kept{noun: "pull", name: "bench"} }

func pullChangeCommand(p *command.Program) *cobra.Command {
	var f pullFlags
	var cmd *cobra.Command
	cmd = keptPulls().command(p, "change", "Change a pull; what no flag names stays", func(ctx context.Context, j command.Journal, id journal.ID) error {
		pull, err := j.BenchPullByID(ctx, id)
		if err != nil {
			return err
		}
		return f.save(ctx, cmd, p, j, pull, "Changed")
	})
	f.add(cmd)
	return cmd
}

func pullDeleteCommand(p *command.Program) *cobra.Command {
	return keptPulls().command(p, "delete", fmt.Sprintf("Take a pull out; it can be restored for %d days", journal.UndoDays), func(ctx context.Context, j command.Journal, id journal.ID) error {
		err := j.DeleteBenchPull(ctx, id, 0)
		if err == nil {
			p.Printf("Deleted. \"rigtally bench restore %s\" brings it back.\n", id)
		}
		return err
	})
}

func pullRestoreCommand(p *command.Program) *cobra.Command {
	return keptPulls().command(p, "restore", "Bring a deleted pull back", func(ctx context.Context, j command.Journal, id journal.ID) error {
		err := j.RestoreBenchPull(ctx, id, 0)
		if err == nil {
			p.Printf("Restored.\n")
		}
		return err
	})
}

func pullDeletedCommand(p *command.Program) *cobra.Command {
	return &cobra.Command{Use: "deleted", Short: "List what can be restored", Args: command.None,
		RunE: p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
			list, err := j.DeletedBenchPulls(ctx)
			if err != nil {
				return err
			}
			return listPulls(ctx, p, j, list, "Nothing was deleted.")
		})}
}

func pullListCommand(p *command.Program) *cobra.Command {
	cmd := &cobra.Command{Use: "list", Short: "List the latest pulls", Args: command.None}
	limit := limitFlag(cmd)
	cmd.RunE = p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
		list, err := j.BenchPulls(ctx)
		if err != nil {
			return err
		}
		slices.Reverse(list)
		err = listPulls(ctx, p, j, list[:min(*limit, len(list))], "No pull to list. Record one with \"rigtally bench add\", or import a spreadsheet with \"rigtally bench import\".")
		if err == nil && len(list) > *limit {
			p.Printf("%d of %d pulls; --limit shows more.\n", *limit, len(list))
		}
		return err
	})
	return cmd
}

func listPulls(ctx context.Context, p *command.Program, j command.Journal, list []journal.BenchPull, none string) error {
	if len(list) == 0 {
		p.Printf("%s\n", none)
		return nil
	}
	contents, err := j.Directory(ctx)
	if err != nil {
		return err
	}
	known := outing.In(contents)
	var rows [][]string
	for _, pull := range list {
		tier := ""
		if pull.AnglerID != nil {
			tier = known.Anglers[*pull.AnglerID].Name
		}
		rows = append(rows, []string{pull.Day.String(), prose.PullKnot(pull), units.FormatTippet(pull.TippetMM), units.FormatForce(pull.ForceN, j.Units),
			prose.PullEnded(pull.Ending, pull.BrokeAt), tier, pull.ID.String()})
	}
	return p.Table([]string{"Day", "Knot", "Tippet", "Force", "Ended", "Tied by", "Id"}, rows)
}
