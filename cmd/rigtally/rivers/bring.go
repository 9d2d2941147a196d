package rivers

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/gauges/read"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// bringing is what "rigtally gauges import" was asked for.
type bringing struct {
	rivers
	gauge, quantity, unit, zone, dates, water string
}

func (r rivers) bring() *cobra.Command {
	b := &bringing{rivers: r}
	cmd := &cobra.Command{
		Use:   "import FILE…",
		Short: "Bring in readings of gauges from files",
		Long: `Bring in readings of gauges from files, for all outfits of this journal: the tab-delimited files, JSON and CSV
of the U.S. Geological Survey, JSON and CSV of the Environment Agency and of Hub'Eau, WaterML, and any table of
times and values as CSV, with a header as "time,flow (cfs),temperature (degC)", also packed with gzip or zip.
- reads standard input.

All the files are read whole before anything is kept, and kept in one go. Readings that are there already stay as
they are; those that the file tells otherwise are revised. Only flow, stage and water temperature are taken.`,
		Example: `  rigtally gauges import readings.rdb
  rigtally gauges import logger.csv --gauge mine:1 --zone America/Denver --water "Little Marrow"
  rigtally gauges import levels.csv --gauge mine:1 --quantity stage --unit ft --zone Etc/GMT+7`,
		Args: command.Between(1, -1, "the file"),
	}
	flags := cmd.Flags()
	flags.StringVar(&b.gauge, "gauge", "", "whose readings, where a file doesn't say: who runs the gauge and its `number`, as usgs:01234567 or mine:1")
	flags.StringVar(&b.quantity, "quantity", "", "what the values are, where a file doesn't say: `flow`, stage or temperature")
	flags.StringVar(&b.unit, "unit", "", "`unit` of the values, where a file doesn't say: cfs, m3/s, l/s, ft, m, cm, mm, degC or degF")
	flags.StringVar(&b.zone, "zone", "", "IANA `name` of the zone of times without an offset, as America/Denver, or Etc/GMT+7 for standard time all year (default: the water's)")
	flags.StringVar(&b.dates, "dates", "", "which `order` dates as 10/1/1999 are in, where no row of a file tells: day-first or month-first")
	flags.StringVar(&b.water, "water", "", "`name` of a water that takes what the gauge measures; it is linked to it")
	command.Complete(cmd, "quantity", command.Words(gauge.Quantities()))
	command.Complete(cmd, "dates", []string{dayFirst, monthFirst})
	r.CompleteFrom(cmd, "water", command.WaterNames)
	r.CompleteFrom(cmd, "gauge", siteNames)
	cmd.RunE = r.InJournal(b.run)
	return cmd
}

// What --dates takes.
const dayFirst, monthFirst = "day-first", "month-first"

func (b *bringing) run(ctx context.Context, j command.Journal, files []string) error {
	defer debug.SetGCPercent(debug.SetGCPercent(20)) // files of a hundred megabytes become several
	opt, w, err := b.options(ctx, j)
	if err != nil {
		return err
	}
	var all []gauge.Found
	left := read.MaxReadings
	for _, name := range files {
		found, err := b.file(ctx, name, opt, left)
		if err != nil {
			return err
		}
		for _, s := range found.Series {
			left -= len(s.Readings)
		}
		b.tell(name, found)
		all = append(all, found)
	}
	found := read.Join(all...)
	if len(found.Series) == 0 {
		b.Printf("\nNothing was kept.\n")
		return nil
	}
	if w != nil && len(sitesOf(found.Series)) > 1 {
		return terminal.Misusef("--water takes what one gauge measures, but the files are from %d; leave it out, and link those that are meant with rigtally gauges link", len(sitesOf(found.Series)))
	}
	kept, err := j.KeepReadings(ctx, found)
	if err != nil {
		return terminal.OfQuestion(err)
	}
	b.Printf("\n%s\n", keptSaid(kept))
	if w != nil {
		if err := b.linkWater(ctx, j, *w, sitesOf(found.Series)[0]); err != nil {
			return err
		}
	}
	return b.due(ctx, j, found)
}

// options are what the flags say, and what is known of the water.
func (b *bringing) options(ctx context.Context, j command.Journal) (opt read.Options, water *journal.Water, err error) {
	opt.Now, opt.Unit = b.Now(), b.unit
	if b.gauge != "" {
		if opt.Site, err = site(b.gauge); err != nil {
			return opt, nil, err
		}
	}
	if b.quantity != "" {
		list, err := quantities([]string{b.quantity})
		if err != nil {
			return opt, nil, err
		}
		opt.Quantity = list[0]
	}
	switch b.dates {
	case "":
	case dayFirst, monthFirst:
		opt.DayFirst = new(b.dates == dayFirst)
	default:
		return opt, nil, terminal.Misusef("--dates %q is not known; write %s or %s", b.dates, dayFirst, monthFirst)
	}
	zone := b.zone
	if b.water != "" {
		w, err := b.rivers.water(ctx, j, b.water)
		if err != nil {
			return opt, nil, err
		}
		if water = &w; zone == "" {
			zone = w.TimeZone
		}
		if opt.Site == (gauge.Site{}) && len(w.Gauges) == 1 {
			opt.Site = w.Gauges[0].Site
		}
	}
	if zone != "" {
		if opt.Zone, err = time.LoadLocation(zone); err != nil || zone == "Local" {
			return opt, nil, terminal.Misusef("--zone %q is not known; write an IANA name such as America/Denver", zone)
		}
	}
	return opt, water, nil
}

// file reads one whole.
func (b *bringing) file(ctx context.Context, name string, opt read.Options, most int) (gauge.Found, error) {
	if opt.MaxReadings = most; most <= 0 {
		return gauge.Found{}, fmt.Errorf("the files hold more than %d readings together; bring them in one after the other", read.MaxReadings)
	}
	var in io.Reader = b.In
	shown := "Standard input"
	if name != terminal.Standard {
		f, err := os.Open(name)
		if err != nil {
			return gauge.Found{}, fmt.Errorf("the file can't be opened: %w; check its name", err)
		}
		defer f.Close()
		progress, done := b.Bar("Reading " + filepath.Base(name))
		defer done()
		in, shown = watched(f, progress), filepath.Base(name)
	}
	found, err := read.Any(shown, interruptible{ctx, in}, opt)
	if read.Unsaid(err) {
		return found, fmt.Errorf("%w. The flags --gauge, --quantity, --unit, --zone and --dates say what a file doesn't; nothing was kept", err)
	}
	if err != nil {
		return found, fmt.Errorf("%w; nothing was kept", err)
	}
	return found, nil
}

// watched reads a file and tells how far it is.
func watched(f *os.File, progress func(done, total int64)) io.Reader {
	info, err := f.Stat()
	if progress == nil || err != nil || info.Size() < 1<<20 {
		return f
	}
	return &watcher{f, info.Size(), 0, progress}
}

type watcher struct {
	in          io.Reader
	total, done int64
	progress    func(done, total int64)
}

func (w *watcher) Read(p []byte) (int, error) {
	n, err := w.in.Read(p)
	w.done += int64(n)
	w.progress(min(w.done, w.total), w.total)
	return n, err
}

// interruptible ends with its context.
type interruptible struct {
	ctx context.Context
	in  io.Reader
}

func (i interruptible) Read(p []byte) (int, error) {
	if err := i.ctx.Err(); err != nil {
		return 0, err
	}
	return i.in.Read(p)
}

// tell says what a file holds.
func (b *bringing) tell(name string, found gauge.Found) {
	if name == terminal.Standard {
		name = "Standard input"
	}
	b.Printf("%s\n", name)
	names := map[gauge.Site]string{}
	for _, g := range found.Gauges {
		names[g.Site] = g.Name
	}
	for _, s := range found.Series {
		empty, because := 0, gauge.Flags(0)
		for _, x := range s.Readings {
			if x.Value != x.Value {
				empty++
				because |= x.Flags & (gauge.Ice | gauge.Equipment | gauge.Dry)
			}
		}
		what := prose.GaugeQuantity(s.Quantity)
		if s.Sensor != "" {
			what += ", sensor " + s.Sensor
		}
		count, layout := prose.Several(len(s.Readings), "reading"), "2006-01-02 15:04"
		if s.Statistic == gauge.DailyMean {
			count, layout = prose.Several(len(s.Readings), "daily mean"), time.DateOnly
		}
		if empty > 0 {
			count += fmt.Sprintf(", %d of them without a value", empty)
			if because != 0 {
				count += " (" + strings.Join(because.Words(), ", ") + ")"
			}
		}
		zone := " UTC"
		if s.Statistic == gauge.DailyMean {
			zone = ""
		}
		of := strings.TrimSpace(s.Site.String() + " " + names[s.Site])
		first, last := s.Readings[0].At.UTC().Format(layout), s.Readings[len(s.Readings)-1].At.UTC().Format(layout)
		when := "of " + last
		if first != last {
			when = "from " + first + " to " + last
		}
		b.Printf("  %s, %s: %s, %s%s.\n", of, what, count, when, zone)
	}
	for _, n := range found.Notes {
		b.Printf("  %s\n", n)
	}
}

func keptSaid(k gauge.Kept) string {
	text := fmt.Sprintf("Kept for all outfits: %d new, %d revised, %d there already", k.New, k.Revised, k.Same)
	if k.Empty > 0 {
		text += fmt.Sprintf(", %d without a value", k.Empty)
	}
	return text + "."
}

func (b *bringing) linkWater(ctx context.Context, j command.Journal, w journal.Water, s gauge.Site) error {
	for _, l := range w.Gauges {
		if l.Site == s {
			return nil
		}
	}
	err := linkTo(ctx, j, w, gauge.Link{Site: s})
	return b.Did(err, "%s takes what %s measures, for sessions that are logged from now on.\n", w.Name, s)
}

// due has sessions of linked waters take what came in, as those that were logged since they were linked do. A reading tells
// something about the day after it, by the change since; daily means about all days from then on.
func (b *bringing) due(ctx context.Context, j command.Journal, found gauge.Found) error {
	sessions := 0
	for _, s := range found.Series {
		from, to := s.Readings[0].At.Add(-gauge.Reach), s.Readings[len(s.Readings)-1].At.Add(24*time.Hour+gauge.Reach)
		if s.Statistic == gauge.DailyMean {
			to = b.Now()
		}
		n, err := j.FillDue(ctx, s.Site, from, to)
		if err != nil {
			return fmt.Errorf("the readings are kept, but sessions could not take them: %w", err)
		}
		sessions += n
	}
	if sessions > 0 {
		b.Printf("%s taken what the readings say.\n", prose.Several(sessions, "session")+" "+prose.Verb(sessions, "has", "have"))
	}
	used, err := j.GaugesUsed(ctx)
	if err != nil {
		return err
	}
	for _, s := range sitesOf(found.Series) {
		if !slices.Contains(used, s) {
			b.Printf("No water takes what %s measures yet. To link one:\n  rigtally gauges link WATER %s\n", s, s)
		}
	}
	return b.left(ctx, j, sitesOf(found.Series))
}

// left says how many sessions of waters with one of these gauges can still take something.
func (b *bringing) left(ctx context.Context, j command.Journal, sites []gauge.Site) error {
	waters, err := j.Waters(ctx)
	any := false
	for _, w := range waters {
		if !slices.ContainsFunc(w.Gauges, func(l gauge.Link) bool { return slices.Contains(sites, l.Site) }) {
			continue
		}
		plan, err := j.PlanFill(ctx, pg.FillAsk{Water: &w.ID})
		if err != nil {
			return err
		}
		b.Printf("%s\n", prose.LeftToFill(plan.Changed, w.Name))
		any = any || plan.Changed > 0
	}
	if any {
		b.Printf("To see what that does, then have it done:\n  rigtally gauges fill\n")
	}
	return err
}
