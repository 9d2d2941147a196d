package main

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/journal/near"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// named is a kind of thing that is renamed and merged at the terminal.
type named struct {
	noun, name string // one of them, and the command that holds theirs
	kind       journal.ThingKind
	list       pg.ListKind // by which their ids are found; "" for knots, which have none
	example    [2]string   // a misspelt name, and the right one
	names      func(context.Context, command.Journal) (map[string]journal.ID, error)
}

func anglersCommand(p *command.Program) *cobra.Command {
	of := named{"angler", "anglers", journal.ThingAngler, pg.ListAnglers, [2]string{"Jon Felt", "J. Felt"}, anglerIDs}
	return command.Group(&cobra.Command{Use: "anglers", Short: "List, rename and merge anglers and guides"}, append(of.changes(p), anglersListCommand(p))...)
}

func waterNames() named {
	return named{"water", "waters", journal.ThingWater, pg.ListWaters, [2]string{"Litle Marrow", "Little Marrow"}, waterIDs}
}

func watersCommand(p *command.Program) *cobra.Command {
	return command.Group(&cobra.Command{Use: "waters", Short: "List, rename and merge waters and their beats, and set their time zones"}, append(waterNames().changes(p), watersListCommand(p), watersZoneCommand(p))...)
}

func rigNames() named {
	return named{"rig", "rigs", journal.ThingRig, pg.ListRigs, [2]string{"Blod short", "Blood short"}, rigIDs}
}

func knotsCommand(p *command.Program) *cobra.Command {
	of := named{noun: "knot", name: "knots", kind: journal.ThingKnot, example: [2]string{"seaguar", "Seaguar"}, names: knotNames}
	return command.Group(&cobra.Command{Use: "knots", Short: "List, rename and merge knots of your own names"}, append(of.changes(p), knotsListCommand(p))...)
}

func anglerIDs(ctx context.Context, j command.Journal) (map[string]journal.ID, error) {
	list, err := j.Anglers(ctx)
	return byName(list, func(a journal.Angler) (string, journal.ID) { return a.Name, a.ID }), err
}

func waterIDs(ctx context.Context, j command.Journal) (map[string]journal.ID, error) {
	list, err := j.Waters(ctx)
	return byName(list, func(w journal.Water) (string, journal.ID) { return w.Name, w.ID }), err
}

func rigIDs(ctx context.Context, j command.Journal) (map[string]journal.ID, error) {
	contents, err := j.Directory(ctx)
	slices.SortFunc(contents.Rigs, func(a, b journal.Rig) int { return a.Revision - b.Revision }) // the latest of a name counts
	return byName(contents.Rigs, func(r journal.Rig) (string, journal.ID) { return r.Name, r.ID }), err
}

func knotNames(ctx context.Context, j command.Journal) (map[string]journal.ID, error) {
	list, err := j.OwnKnots(ctx)
	return byName(list, func(name string) (string, journal.ID) { return name, journal.ID{} }), err
}

func beatIDs(ctx context.Context, j command.Journal, water journal.ID) (map[string]journal.ID, error) {
	list, err := j.Waters(ctx)
	for _, w := range list {
		if w.ID == water {
			return byName(w.Beats, func(b journal.Beat) (string, journal.ID) { return b.Name, b.ID }), err
		}
	}
	return nil, err
}

func byName[T any](list []T, of func(T) (string, journal.ID)) map[string]journal.ID {
	ids := map[string]journal.ID{}
	for _, t := range list {
		name, id := of(t)
		ids[name] = id
	}
	return ids
}

// changes are the commands that rename one of them and make two one.
func (n named) changes(p *command.Program) []*cobra.Command {
	quoted := fmt.Sprintf("%q %q", n.example[0], n.example[1])
	rename := &cobra.Command{
		Use: "rename NAME NEW", Short: "Give one of the " + n.name + " another name, everywhere", Args: command.Between(2, 2, "one of the two, the "+n.noun+"'s name and the new one,"),
		Example: "  rigtally " + n.name + " rename " + quoted,
	}
	merge := &cobra.Command{
		Use: "merge NAME INTO", Short: "Make two " + n.name + " one, which were the same all along", Args: command.Between(2, 2, "one of the two names, of the one to go and of the one that stays,"),
		Example: "  rigtally " + n.name + " merge " + quoted,
	}
	var renames, merges string // the water whose beats are meant
	if n.kind == journal.ThingWater {
		for cmd, to := range map[*cobra.Command]*string{rename: &renames, merge: &merges} {
			cmd.Flags().StringVar(to, "beat-of", "", "`name` of a water whose beats are meant")
			cmd.Example += "\n  rigtally waters " + cmd.Name() + ` "Uper glide" "Upper glide" --beat-of "Little Marrow"`
		}
	}
	rename.RunE = p.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
		thing, err := n.thing(ctx, j, args[0], renames)
		if err != nil {
			return err
		}
		changed, err := j.Rename(ctx, thing, args[1])
		return told(p, changed, terminal.OfQuestion(err))
	})
	merge.RunE = p.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
		from, err := n.thing(ctx, j, args[0], merges)
		if err != nil {
			return err
		}
		into, err := n.thing(ctx, j, args[1], merges)
		if err != nil {
			return err
		}
		changed, err := j.Merge(ctx, from, into)
		return told(p, changed, terminal.OfQuestion(err))
	})
	words := func(ctx context.Context, j command.Journal) ([]string, error) {
		ids, err := n.names(ctx, j)
		return slices.Sorted(maps.Keys(ids)), err
	}
	p.CompleteArgs(rename, 1, words)
	p.CompleteArgs(merge, 2, words)
	return []*cobra.Command{rename, merge}
}

// told says what a change came to, and how it is taken back.
func told(p *command.Program, c journal.Changed, err error) error {
	return p.Did(err, "%s\nTo take it back: rigtally undo\n", c.Told)
}

// thing finds one by its name, without regard to case, or by the beginning of its id; water is the one whose beats are
// meant, "" for the things themselves.
func (n named) thing(ctx context.Context, j command.Journal, text, water string) (journal.Thing, error) {
	of := n
	thing := journal.Thing{Kind: n.kind}
	if water != "" {
		within, err := n.thing(ctx, j, water, "")
		if err != nil {
			return thing, err
		}
		thing.Kind, thing.Water, of.noun, of.list = journal.ThingBeat, within.ID, "beat", ""
		of.names = func(ctx context.Context, j command.Journal) (map[string]journal.ID, error) {
			return beatIDs(ctx, j, within.ID)
		}
	}
	ids, err := of.names(ctx, j)
	if err != nil {
		return thing, err
	}
	all := slices.Sorted(maps.Keys(ids))
	if i := slices.IndexFunc(all, func(name string) bool { return strings.EqualFold(name, strings.TrimSpace(text)) }); i >= 0 {
		thing.Name, thing.ID = all[i], ids[all[i]]
		return thing, nil
	}
	if of.list != "" && command.IsBeginning(text) {
		if thing.ID, err = j.Which(ctx, of.list, text); !errors.Is(err, journal.ErrNotFound) {
			return thing, err
		}
	}
	if meant, ok := near.Name(text, all); ok {
		return thing, terminal.Misusef("there is no %s %q; did you mean %q?", of.noun, text, meant)
	}
	return thing, terminal.Misusef("there is no %s %q; \"rigtally %s list\" shows them", of.noun, text, n.name)
}

func anglersListCommand(p *command.Program) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "List who fished and who guided", Args: command.None, Example: "  rigtally anglers list",
		RunE: p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
			anglers, err := j.Anglers(ctx)
			if err != nil {
				return err
			}
			if len(anglers) == 0 {
				p.Printf("Nobody is in the journal yet. Logging or importing a session adds who fished.\n")
				return nil
			}
			short, err := j.Beginnings(ctx, pg.ListAnglers, command.Keys(anglers, func(a journal.Angler) journal.ID { return a.ID }))
			if err != nil {
				return err
			}
			var rows [][]string
			for _, a := range anglers {
				sessions, last, err := fished(ctx, j, journal.SessionFilter{Angler: &a.ID})
				if err != nil {
					return err
				}
				rows = append(rows, []string{a.Name, string(a.Kind), sessions, last, short[a.ID]})
			}
			return p.Table([]string{"Angler", "Kind", "Fished", "Last", "Id"}, rows)
		}),
	}
}

func watersListCommand(p *command.Program) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "List the waters, each with its beats", Args: command.None, Example: "  rigtally waters list",
		RunE: p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
			waters, err := j.Waters(ctx)
			if err != nil {
				return err
			}
			if len(waters) == 0 {
				p.Printf("No waters in the journal yet. Logging or importing a session adds its water.\n")
				return nil
			}
			short, err := j.Beginnings(ctx, pg.ListWaters, command.Keys(waters, func(w journal.Water) journal.ID { return w.ID }))
			if err != nil {
				return err
			}
			var rows [][]string
			for _, w := range waters {
				beats := command.Keys(w.Beats, func(b journal.Beat) string { return b.Name })
				sessions, last, err := fished(ctx, j, journal.SessionFilter{Water: &w.ID})
				if err != nil {
					return err
				}
				rows = append(rows, []string{w.Name, strings.Join(beats, "; "), w.TimeZone, sessions, last, short[w.ID]})
			}
			return p.Table([]string{"Water", "Beats", "Time zone", "Fished", "Last", "Id"}, rows)
		}),
	}
}

func watersZoneCommand(p *command.Program) *cobra.Command {
	cmd := &cobra.Command{
		Use: "zone NAME ZONE", Short: "Say in which time zone one of the waters is", Args: command.Between(2, 2, "one of the two, the water's name and its time zone,"),
		Long: `Say in which time zone one of the waters is, by its IANA name. Times of sessions that are logged from
then on are read in it, and held against its gauges so. Sessions keep the zone that they were logged with;
"rigtally sessions edit ID --time-zone ZONE" changes it for one; its times stay as they read.`,
		Example: `  rigtally waters zone "Little Marrow" America/Denver`,
		RunE: p.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
			zone := strings.TrimSpace(args[1])
			if err := journal.CheckZone(zone); err != nil {
				return terminal.Misused(err)
			}
			thing, err := waterNames().thing(ctx, j, args[0], "")
			if err != nil {
				return err
			}
			waters, err := j.Waters(ctx)
			if err != nil {
				return err
			}
			i := slices.IndexFunc(waters, func(w journal.Water) bool { return w.ID == thing.ID })
			if i < 0 {
				return fmt.Errorf("find the water %s: %w", args[0], journal.ErrNotFound)
			}
			w, was := waters[i], waters[i].TimeZone
			if was == zone {
				p.Printf("%s is in %s already.\n", w.Name, zone)
				return nil
			}
			w.TimeZone, w.Gauges = zone, nil // which stay
			return p.Did(terminal.OfQuestion(j.SaveWater(ctx, w)), "%s is in %s now, where it was in %s. Sessions keep the zone that they were logged with. If the times of one are in this zone:\n  rigtally sessions edit ID --time-zone %s\n", w.Name, zone, was, zone)
		}),
	}
	return p.CompleteArgs(cmd, 1, command.WaterNames)
}

// fished says how often was fished by or on what a filter names, and on which day last.
func fished(ctx context.Context, j command.Journal, of journal.SessionFilter) (sessions, last string, err error) {
	of.Limit = 1
	lines, total, err := j.SessionLines(ctx, of)
	if err != nil || total == 0 {
		return "never", "", err
	}
	return prose.Several(total, "session"), lines[0].Day.String(), nil
}

func knotsListCommand(p *command.Program) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "List the knots of your own names, and those that rigtally knows", Args: command.None, Example: "  rigtally knots list",
		RunE: p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
			own, err := j.OwnKnots(ctx)
			if err != nil {
				return err
			}
			contents, err := j.Directory(ctx)
			if err != nil {
				return err
			}
			var rows [][]string
			for _, name := range own {
				rows = append(rows, []string{name, strconv.Itoa(rigsWith(contents.Rigs, name))})
			}
			if len(rows) == 0 {
				p.Printf("No knot of your own name is in the journal.\n")
			} else if err := p.Table([]string{"Knot of your own", "Rigs tied with it"}, rows); err != nil {
				return err
			}
			known := command.Words(journal.Junctions())
			p.Printf("rigtally knows by itself: %s.\n", strings.Join(known[:len(known)-1], ", "))
			return nil
		}),
	}
}

// rigsWith counts the rigs that are tied with a knot of one's own name.
func rigsWith(rigs []journal.Rig, knot string) (n int) {
	for _, r := range rigs {
		if slices.ContainsFunc(r.Positions, func(p journal.RigPosition) bool { return strings.EqualFold(p.JunctionName, knot) }) {
			n++
		}
	}
	return n
}
