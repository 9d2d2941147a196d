package rivers

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// choice is which sessions are meant.
type choice struct {
	water, from, to string
	yes             bool
}

func (c *choice) flags(p *command.Program, cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&c.water, "water", "", "`name` of the water of the sessions (default: all)")
	flags.StringVar(&c.from, "from", "", "the first `day`, as 2025-04-01")
	flags.StringVar(&c.to, "to", "", "the last `day`")
	flags.BoolVar(&c.yes, "yes", false, "do it, don't only show it")
	p.CompleteFrom(cmd, "water", command.WaterNames)
}

func (r rivers) chosen(ctx context.Context, j command.Journal, c choice) (ask pg.FillAsk, err error) {
	if c.water != "" {
		w, err := r.water(ctx, j, c.water)
		if err != nil {
			return ask, err
		}
		ask.Water = &w.ID
	}
	for _, of := range []struct {
		flag, text string
		day        **journal.Date
	}{{"--from", c.from, &ask.From}, {"--to", c.to, &ask.To}} {
		if of.text == "" {
			continue
		}
		day, err := journal.ParseDate(of.text)
		if err != nil {
			return ask, terminal.Misusef("%s: %w", of.flag, err)
		}
		*of.day = &day
	}
	return ask, nil
}

func (r rivers) fill() *cobra.Command {
	var c choice
	cmd := &cobra.Command{
		Use:   "fill",
		Short: "Have sessions take what the gauges of their waters showed",
		Long: `Have sessions take what the gauges of their waters showed at their middle, or over the day where no times were
noted. What somebody typed stays, and counts before the gauge. It first shows what would be taken; at a terminal it
then asks, elsewhere it changes nothing without --yes.

Only readings that are in the journal count. "rigtally gauges update --from DAY" asks for earlier ones.`,
		Example: `  rigtally gauges fill
  rigtally gauges fill --water "Little Marrow" --from 2025-04-01 --to 2025-10-31
  rigtally gauges fill --yes`,
		Args: command.None,
	}
	c.flags(r.Program, cmd)
	cmd.RunE = r.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
		ask, err := r.chosen(ctx, j, c)
		if err != nil {
			return err
		}
		plan, err := j.PlanFill(ctx, ask)
		if err != nil {
			return terminal.OfQuestion(err)
		}
		if err := r.showPlan(ctx, j, plan, c.yes); err != nil || plan.Changed == 0 {
			return err
		}
		if ok, err := r.agreed(ctx, c.yes, "Have them take it", "yes has sessions take what is shown above; no changes nothing."); !ok {
			return err
		}
		plan, err = j.Fill(ctx, ask)
		return r.Did(terminal.OfQuestion(err), "\nDone: %s something else of gauges than before. To take it away again: rigtally gauges clear\n",
			prose.Several(plan.Changed, "session")+" "+prose.Verb(plan.Changed, "takes", "take"))
	})
	return cmd
}

// agreed reports whether it is to be done: by --yes, or as a person at a terminal says.
func (r rivers) agreed(ctx context.Context, yes bool, text, help string) (bool, error) {
	switch {
	case yes:
		return true, nil
	case !r.Asks:
		r.Printf("\nNothing is changed yet. To do it, add --yes.\n")
		return false, nil
	}
	answer, err := r.Asker(ctx).Ask(ctx, terminal.YesNo("go", "\n"+text+" (yes or no)", help, terminal.No))
	if err != nil {
		return false, err
	}
	if !terminal.IsYes(answer) {
		r.Printf("Nothing was changed.\n")
		return false, nil
	}
	return true, nil
}

func (r rivers) showPlan(ctx context.Context, j command.Journal, p pg.FillPlan, yes bool) error {
	if p.Sessions == 0 {
		r.Printf("None of these sessions is on a water with a gauge. To link one: rigtally gauges link WATER SITE\n")
		return nil
	}
	r.Printf("%s with a gauge.\n", prose.Plural(p.Sessions, "session is on a water", "sessions are on waters"))
	for _, t := range p.Takes {
		text := fmt.Sprintf("  %s: %s", prose.GaugeQuantity(t.Quantity), prose.Several(t.Sessions, "session"))
		if t.Typed > 0 {
			text += fmt.Sprintf("; in %d of them what was typed counts", t.Typed)
		}
		r.Printf("%s.\n", text)
	}
	var first *journal.Date
	for _, w := range p.Without {
		days := w.From.String()
		if w.To != w.From {
			days += " to " + w.To.String()
		}
		r.Printf("  Nothing for %s (%s): %s.\n", prose.Several(w.Sessions, "session"), days, w.Why)
		if first == nil || w.From.In(time.UTC).Before(first.In(time.UTC)) {
			first = &w.From
		}
	}
	switch {
	case p.Changed > 0:
		r.Printf("%s something else than before, such as:\n\n", prose.Several(p.Changed, "session")+" "+prose.Verb(p.Changed, "takes", "take"))
		if err := r.examples(ctx, j, p.Examples); err != nil {
			return err
		}
	case yes:
		r.Printf("Nothing was changed.\n")
	default:
		r.Printf("Nothing would change.\n")
	}
	if first != nil {
		r.older(*first)
	}
	return nil
}

// older says how readings come for sessions that find none.
func (r rivers) older(first journal.Date) {
	r.Printf("\nTo get readings for those without, before you fill in:\n")
	if !r.Settings.Gauges.Off {
		r.Printf("  rigtally gauges update --from %s\n", first)
	}
	r.Printf("  rigtally gauges import FILE\n")
}

// examples shows what some sessions take.
func (r rivers) examples(ctx context.Context, j command.Journal, list []pg.FillExample) error {
	const most = 5
	list = list[:min(most, len(list))]
	sessions, err := j.SessionsByID(ctx, command.Keys(list, func(e pg.FillExample) journal.ID { return e.Session }))
	if err != nil {
		return err
	}
	waters, err := j.Waters(ctx)
	if err != nil {
		return err
	}
	var rows [][]string
	for _, e := range list {
		says := command.Keys(e.Fills, func(f gauge.Fill) string {
			return prose.FillSentence(f, zoneOf(e.Session, sessions, waters), j.Units)
		})
		if len(says) == 0 {
			says = []string{"Nothing any more."}
		}
		rows = append(rows, []string{e.Day.String(), strings.Join(says, " ")})
	}
	return r.Table([]string{"Day", "Takes"}, rows)
}

// zoneOf is the time zone of the water of a session.
func zoneOf(id journal.ID, sessions []journal.Session, waters []journal.Water) *time.Location {
	for _, s := range sessions {
		for _, w := range waters {
			if s.ID == id && s.WaterID == w.ID {
				if zone, err := time.LoadLocation(w.TimeZone); err == nil {
					return zone
				}
			}
		}
	}
	return time.UTC
}

func (r rivers) clear() *cobra.Command {
	var c choice
	cmd := &cobra.Command{
		Use:   "clear",
		Short: "Take away what sessions took of gauges",
		Long: `Take away what sessions took of gauges. What somebody typed stays, and so do the readings: "rigtally gauges fill"
has sessions take them again. It changes nothing without --yes, or your word at a terminal.`,
		Example: `  rigtally gauges clear
  rigtally gauges clear --water "Little Marrow" --yes`,
		Args: command.None,
	}
	c.flags(r.Program, cmd)
	cmd.RunE = r.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
		ask, err := r.chosen(ctx, j, c)
		if err != nil {
			return err
		}
		n, err := filled(ctx, j, ask)
		if err != nil {
			return err
		}
		if n == 0 {
			r.Printf("None of these sessions took anything of a gauge.\n")
			return nil
		}
		r.Printf("%s something of gauges.\n", prose.Several(n, "session")+" took")
		if ok, err := r.agreed(ctx, c.yes, "Take it away", "yes takes away what these sessions took of gauges; no changes nothing."); !ok {
			return err
		}
		n, err = j.ClearFills(ctx, ask)
		return r.Did(terminal.OfQuestion(err), "\nDone: taken away from %s. To have them take it again: rigtally gauges fill\n", prose.Several(n, "session"))
	})
	return cmd
}

// filled counts the sessions that took anything.
func filled(ctx context.Context, j command.Journal, ask pg.FillAsk) (n int, err error) {
	const page = 1000
	f := journal.SessionFilter{Water: ask.Water, Limit: page}
	for {
		lines, _, err := j.SessionLines(ctx, f)
		if err != nil {
			return n, err
		}
		var ids []journal.ID
		for _, l := range lines {
			day := l.Day.In(time.UTC)
			if (ask.From == nil || !day.Before(ask.From.In(time.UTC))) && (ask.To == nil || !day.After(ask.To.In(time.UTC))) {
				ids = append(ids, l.ID)
			}
		}
		fills, err := j.Fills(ctx, ids...)
		if err != nil {
			return n, err
		}
		if n += len(fills); len(lines) < page {
			return n, nil
		}
		f.Offset += page
	}
}
