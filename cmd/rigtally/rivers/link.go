package rivers

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

func (r rivers) link() *cobra.Command {
	var words []string
	var sensor string
	cmd := &cobra.Command{
		Use:   "link WATER SITE",
		Short: "Have a water take what a gauge measures",
		Long: `Have a water take what a gauge measures. A water may be linked to several: for each of flow, stage and
water temperature the first that has it counts. What a link takes can be said anew.`,
		Example: `  rigtally gauges link "Little Marrow" usgs:01234567
  rigtally gauges link "Little Marrow" usgs:01234568 --takes temperature`,
		Args: command.Between(2, 2, "the water's name or the gauge, as usgs:01234567,"),
	}
	cmd.Flags().StringSliceVar(&words, "takes", nil, "only these `quantities`, with commas between: flow, stage, temperature")
	cmd.Flags().StringVar(&sensor, "sensor", "", "`name` of one of several sensors (default: the first)")
	command.Complete(cmd, "takes", command.Words(gauge.Quantities()))
	cmd.RunE = r.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
		list, err := quantities(words)
		if err != nil {
			return err
		}
		w, s, err := r.waterAndSite(ctx, j, args)
		if err != nil {
			return err
		}
		l := gauge.Link{Site: s, Takes: list, Sensor: strings.TrimSpace(sensor)}
		if err := linkTo(ctx, j, w, l); err != nil {
			return err
		}
		r.Printf("%s takes %s from %s, for sessions that are logged from now on.\n", w.Name, takes(list), s)
		r.Printf("To have earlier ones take it too:\n  rigtally gauges fill --water %q\n", w.Name)
		r.next(s)
		if w.TimeZone == "UTC" {
			r.Printf("Its sessions are looked up by the clock of UTC. Where that is not the water's, set its time zone before you log:\n  rigtally waters zone %q America/Denver\n", w.Name)
		}
		return nil
	})
	return r.CompleteArgs(cmd, 1, command.WaterNames)
}

// linkTo links a water: in place of a link to the same sensor, else as its last.
func linkTo(ctx context.Context, j command.Journal, w journal.Water, l gauge.Link) error {
	_, err := j.Links(ctx, w.ID, func(list []gauge.Link) ([]gauge.Link, error) {
		if i := slices.IndexFunc(list, func(o gauge.Link) bool { return o.Site == l.Site && o.Sensor == l.Sensor }); i >= 0 {
			list[i] = l
			return list, nil
		}
		return append(list, l), nil
	})
	return terminal.OfQuestion(err)
}

// next says from where readings of a gauge come.
func (r rivers) next(s gauge.Site) {
	known := slices.Contains([]string{gauge.USGS, gauge.EA, gauge.Hubeau}, s.Provider)
	switch {
	case !known:
		r.Printf("Nobody is asked about gauges of %s. To bring their readings in from a file:\n  rigtally gauges import FILE --gauge %s\n", s.Provider, s)
	case r.Settings.Gauges.Off:
		r.Printf("Nobody is asked for its readings, since gauges is off. To bring them in from a file:\n  rigtally gauges import FILE\n")
	default:
		r.Printf("Its readings are asked for while rigtally serve runs, or now:\n  rigtally gauges update %s\n", s)
	}
}

func (r rivers) waterAndSite(ctx context.Context, j command.Journal, args []string) (journal.Water, gauge.Site, error) {
	s, err := site(args[1])
	if err != nil {
		return journal.Water{}, s, err
	}
	w, err := r.water(ctx, j, args[0])
	return w, s, err
}

func (r rivers) unlink() *cobra.Command {
	var sensor string
	cmd := &cobra.Command{
		Use:   "unlink WATER SITE",
		Short: "Have a water take nothing more from a gauge",
		Long: `Have a water take nothing more from a gauge. What sessions took of it stays with them until
"rigtally gauges clear" or "rigtally gauges fill", and its readings stay in the journal.`,
		Example: `  rigtally gauges unlink "Little Marrow" usgs:01234567`,
		Args:    command.Between(2, 2, "the water's name or the gauge, as usgs:01234567,"),
	}
	cmd.Flags().StringVar(&sensor, "sensor", "", "only the link to the sensor of this `name`")
	cmd.RunE = r.InJournal(func(ctx context.Context, j command.Journal, args []string) error {
		w, s, err := r.waterAndSite(ctx, j, args)
		if err != nil {
			return err
		}
		_, err = j.Links(ctx, w.ID, func(list []gauge.Link) ([]gauge.Link, error) {
			left := slices.DeleteFunc(slices.Clone(list), func(l gauge.Link) bool { return l.Site == s && (sensor == "" || l.Sensor == strings.TrimSpace(sensor)) })
			if len(left) == len(list) {
				return nil, fmt.Errorf("%s is not linked to %s; rigtally gauges list shows its gauges", w.Name, s)
			}
			return left, nil
		})
		return r.Did(err, "%s takes nothing more from %s.\n", w.Name, s)
	})
	return r.CompleteArgs(cmd, 2, func(ctx context.Context, j command.Journal) ([]string, error) {
		names, err := command.WaterNames(ctx, j)
		if err != nil {
			return nil, err
		}
		sites, err := siteNames(ctx, j)
		return append(names, sites...), err
	})
}
