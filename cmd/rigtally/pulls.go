package main

import (
	"context"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/outing"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// pullFlags are the flags of a pull, each with what it says.
func pullFlags() [][2]string {
	return [][2]string{
		{"junction", "`knot` or hardware, by a known name or your own; none: a line without a knot"},
		{"facing", "which `way` the tag leaves: down, up or side"},
		{"prop", "`hitch` that holds the tag off: none, half-hitch or overhand"},
		{"tippet", "`size` of the line, as 6X or 0.127mm"},
		{"material", "`what` it is made of: nylon or fluorocarbon"},
		{"pulled-on", "`part` that the scale pulled on: tag or \"main line\""},
		{"force", "the most the scale showed, with its `unit`: 3.4lbf, 1.55kgf or 15.2N"},
		{"ending", "`how` it ended: broke, slipped or \"did not break\""},
		{"broke-at", "`where` it broke: junction, tag, \"main line\" or grip; says that it broke"},
		{"tied-by", "`name` of who tied it"},
		{"date", "`day`, as 2026-04-30 (default: today)"},
		{"label", "`label` of the spool or the batch"},
		{"note", "a `note`"},
	}
}

func addPullFlags(cmd *cobra.Command) {
	flags := cmd.Flags()
	for _, f := range pullFlags() {
		flags.String(f[0], "", f[1])
	}
	flags.Bool("wet", false, "the line was soaked")
	flags.Bool("dry", false, "the line was dry")
	cmd.MarkFlagsMutuallyExclusive("wet", "dry")
	for _, f := range journal.PullFields() {
		if words := f.Words; f.Key == "junction" {
			command.Complete(cmd, f.Key, append(words[:len(words)-1], "none"))
		} else if len(words) > 0 && f.Key != "wet" {
			command.Complete(cmd, f.FlagName(), words)
		}
	}
}

// ontoPull writes the flags that were given onto a pull.
func ontoPull(ctx context.Context, flags *pflag.FlagSet, j command.Journal, p *journal.BenchPull) error {
	said := func(name string) string { return flags.Lookup(name).Value.String() }
	given := flags.Changed
	if given("junction") {
		p.Junction, p.JunctionName = junctionWord(said("junction"))
		if !p.Knotted() {
			p.Facing, p.Prop, p.PulledOn = "", "", ""
		}
	}
	for _, wetness := range command.Words(journal.Wetnesses()) {
		if given(wetness) {
			p.Wetness = journal.Wetness(wetness)
		}
	}
	if given("ending") {
		p.BrokeAt = ""
	} else if given("broke-at") {
		p.Ending = journal.PulledBroke
	}
	for _, f := range journal.PullFields() {
		words := f.Kind == field.Text || f.Kind == field.Chosen
		if name := f.FlagName(); words && f.Key != "junction" && f.Key != "wet" && given(name) {
			f.Set(p, said(name))
		}
	}
	return measuresOfPull(ctx, flags, j, p)
}

func measuresOfPull(ctx context.Context, flags *pflag.FlagSet, j command.Journal, p *journal.BenchPull) error {
	bare := units.Unit("") // a metric scale may show N or kgf
	if j.Units == units.US {
		bare = units.PoundForce
	}
	for _, m := range []struct {
		flag string
		read func(string) error
	}{
		{"tippet", func(text string) (err error) { p.TippetMM, err = units.Parse(units.Tippet, text, units.X); return err }},
		{"force", func(text string) (err error) { p.ForceN, err = units.Parse(units.Force, text, bare); return err }},
		{"date", func(text string) (err error) { p.Day, err = journal.ParseDate(text); return err }},
	} {
		if !flags.Changed(m.flag) {
			continue
		}
		if err := m.read(flags.Lookup(m.flag).Value.String()); err != nil {
			return terminal.Misusef("--%s: %w", m.flag, err)
		}
	}
	if flags.Changed("tied-by") {
		tier, err := j.AnglerNamed(ctx, flags.Lookup("tied-by").Value.String())
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

// savePull stores a pull with the flags on it; what is wrong with it is wrong use.
func savePull(ctx context.Context, cmd *cobra.Command, p *command.Program, j command.Journal, pull journal.BenchPull, done string) error {
	if err := ontoPull(ctx, cmd.Flags(), j, &pull); err != nil {
		return err
	}
	saved, err := j.SaveBenchPull(ctx, pull)
	return p.Did(terminal.OfQuestion(err), "%s: %s\n", done, prose.PullLine(saved, j.Units))
}

func pullAddCommand(p *command.Program) *cobra.Command {
	cmd := &cobra.Command{
		Use: "add --tippet SIZE --force FORCE", Short: "Record a pull", Args: command.None,
		Example: `  rigtally bench add --junction figure-eight --facing down --tippet 6X --material nylon --wet --pulled-on tag --force 1.95lbf --broke-at junction
  rigtally bench add --junction none --tippet 6X --material nylon --wet --force 2.4lbf --broke-at "main line"
  rigtally bench add --junction blood --tippet 5X --force 1.1kgf --ending slipped --tied-by "J. Felt"`,
	}
	addPullFlags(cmd)
	command.Needs(cmd, "tippet", "force")
	cmd.RunE = p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
		return savePull(ctx, cmd, p, j, journal.BenchPull{ID: journal.NewID(), Day: journal.DateOf(p.Now())}, "Recorded")
	})
	return cmd
}

// keptPulls are pulls, by their ids.
var keptPulls = kept{noun: "pull", name: "bench", kind: pg.ListPulls, gone: pg.ListPulls, remove: (*pg.Store).DeleteBenchPull, restore: (*pg.Store).RestoreBenchPull, deleted: listDeletedPulls,
	removed: "Deleted. \"rigtally bench restore ID\" brings it back.", restored: "Restored."}

func pullChangeCommand(p *command.Program) *cobra.Command {
	var cmd *cobra.Command
	cmd = keptPulls.command(p, "change", "Change a pull; only what the flags name changes", keptPulls.kind, func(ctx context.Context, j command.Journal, id journal.ID) error {
		pull, err := j.BenchPullByID(ctx, id)
		if err != nil {
			return err
		}
		return savePull(ctx, cmd, p, j, pull, "Changed")
	})
	addPullFlags(cmd)
	return cmd
}

func listDeletedPulls(ctx context.Context, p *command.Program, j command.Journal) error {
	list, err := j.DeletedBenchPulls(ctx)
	if err != nil {
		return err
	}
	return listPulls(ctx, p, j, list, "Nothing was deleted.")
}

func pullListCommand(p *command.Program) *cobra.Command {
	cmd := &cobra.Command{Use: "list", Short: "List the latest pulls", Args: command.None, Example: "  rigtally bench list --limit 50"}
	limit := limitFlag(cmd)
	cmd.RunE = p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
		list, err := j.BenchPulls(ctx)
		if err != nil {
			return err
		}
		slices.Reverse(list)
		err = listPulls(ctx, p, j, list[:min(*limit, len(list))], "No pulls to list. Record one with \"rigtally bench add\", or import a spreadsheet with \"rigtally bench import\".")
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
	short, err := j.Beginnings(ctx, pg.ListPulls, command.Keys(list, func(pull journal.BenchPull) journal.ID { return pull.ID }))
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
		rows = append(rows, []string{pull.Day.String(), prose.PullKnot(pull), units.FormatTippet(pull.TippetMM), units.Format(units.Force, pull.ForceN, j.Units),
			prose.PullEnded(pull.Ending, pull.BrokeAt), tier, short[pull.ID]})
	}
	return p.Table([]string{"Day", "Knot", "Tippet", "Force", "Ended", "Tied by", "Id"}, rows)
}
