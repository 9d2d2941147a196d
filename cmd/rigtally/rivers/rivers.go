// Package rivers is the commands "rigtally gauges": what river gauges measured, and what sessions take of it.
package rivers

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/gauges"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/near"
	"rigtally/prose"
)

// rivers are the commands of one run of the program.
type rivers struct{ *command.Program }

// Command is "rigtally gauges".
func Command(p *command.Program) *cobra.Command {
	r := rivers{p}
	return command.Group(&cobra.Command{
		Use:   "gauges",
		Short: "Take flow, stage and water temperature from river gauges",
		Long: `Waters take flow, stage and water temperature from the gauges that they are linked to. Sessions
that are logged from then on take what the gauge showed at their middle; "rigtally gauges fill"
has earlier ones take it too. What somebody typed stays, and counts before the gauge.

Readings come from the agencies that publish them, while "rigtally serve" runs or with
"rigtally gauges update", or from files. An agency is told the number of a gauge, the words
that one is looked for by, or a place rounded to a tenth of a degree, and nothing else.
gauges = "off" in rigtally.toml asks nobody.

` + prose.NotWhereYouStand,
		Example: `  rigtally gauges find --near 40.12,-105.43
  rigtally gauges link "Little Marrow" usgs:01234567
  rigtally gauges update
  rigtally gauges fill --water "Little Marrow"`,
	}, r.list(), r.find(), r.link(), r.unlink(), r.update(), r.bring(), r.fill(), r.clear())
}

// keeper asks agencies; where that is off, a person is told how it is turned on.
func (r rivers) keeper(j command.Journal) (*gauges.Keeper, error) {
	k, err := r.Gauges(j.Store, nil)
	if err == nil && k == nil {
		err = fmt.Errorf("%w; set it to on to ask their agencies, or bring readings in from files with rigtally gauges import", gauges.ErrOff)
	}
	return k, err
}

// water finds one by its name, or a former one.
func (r rivers) water(ctx context.Context, j command.Journal, name string) (journal.Water, error) {
	w, err := j.WaterByName(ctx, name)
	if !errors.Is(err, journal.ErrNotFound) {
		return w, err
	}
	names, err := command.WaterNames(ctx, j)
	if err != nil {
		return w, err
	}
	if meant, ok := near.Name(name, names); ok {
		return w, terminal.Misusef("there is no water %q; did you mean %q?", name, meant)
	}
	return w, terminal.Misusef("there is no water %q; \"rigtally waters list\" shows them", name)
}

// site reads one as people write it.
func site(text string) (gauge.Site, error) {
	s, err := gauge.ParseSite(text)
	if err != nil {
		return s, terminal.Misused(err)
	}
	return s, nil
}

// siteNames are those of the gauges that waters are linked to, for a shell to complete with.
func siteNames(ctx context.Context, j command.Journal) ([]string, error) {
	list, err := j.Gauges(ctx)
	return command.Keys(list, func(s gauge.State) string { return s.Site.String() + "\t" + s.Name }), err
}

// linked is a gauge of a water, with what is stored of it.
type linked struct {
	Water      string                `json:"water"`
	Gauge      string                `json:"gauge"`
	Sensor     string                `json:"sensor,omitempty"`
	Name       string                `json:"name,omitempty"`
	Takes      []gauge.Quantity      `json:"takes"` // empty: all that it measures
	Latest     map[string]latestRead `json:"latest"`
	From       *time.Time            `json:"from,omitempty"`
	To         *time.Time            `json:"to,omitempty"`
	Days       int                   `json:"days_with_readings"`
	DailyYears int                   `json:"years_of_daily_means"`
	AskedAt    *time.Time            `json:"asked_at,omitempty"`
	Trouble    string                `json:"trouble,omitempty"`

	zone *time.Location
	last map[gauge.Quantity]gauge.Reading
}

// latestRead is a reading, in the unit that its quantity is stored in.
type latestRead struct {
	At    time.Time `json:"at"`
	Value float64   `json:"value"`
	Unit  string    `json:"unit"`
	Flags []string  `json:"flags,omitempty"`
}

var storageUnits = map[gauge.Quantity]string{gauge.Flow: "m3/s", gauge.Stage: "m", gauge.Temperature: "degC"}

func (r rivers) list() *cobra.Command {
	cmd := &cobra.Command{
		Use: "list", Short: "List the waters with their gauges, and what these showed last", Args: command.None,
		Example: "  rigtally gauges list\n  rigtally gauges list --format json",
	}
	return r.Ask(cmd, func(ctx context.Context, j command.Journal, _ []string) (command.Answer, error) {
		list, bare, err := r.links(ctx, j)
		return command.Answer{Data: map[string]any{"gauges": list, "waters_without": bare}, Text: func(w io.Writer) error { return r.show(w, j, list, bare) }}, err
	}, command.Text, command.JSON)
}

// links are the gauges of all waters, and the names of those that have none.
func (r rivers) links(ctx context.Context, j command.Journal) (list []linked, bare []string, err error) {
	waters, err := j.Waters(ctx)
	if err != nil {
		return nil, nil, err
	}
	states, err := j.Gauges(ctx)
	if err != nil {
		return nil, nil, err
	}
	known := map[gauge.Site]gauge.State{}
	for _, s := range states {
		known[s.Site] = s
	}
	list, bare = []linked{}, []string{}
	for _, w := range waters {
		if len(w.Gauges) == 0 {
			bare = append(bare, w.Name)
		}
		zone, err := time.LoadLocation(w.TimeZone)
		if err != nil {
			zone = time.UTC
		}
		for _, l := range w.Gauges {
			list = append(list, linkedOf(w.Name, zone, l, known[l.Site]))
		}
	}
	return list, bare, nil
}

func linkedOf(water string, zone *time.Location, l gauge.Link, s gauge.State) linked {
	v := linked{Water: water, Gauge: l.Site.String(), Sensor: l.Sensor, Name: s.Name, Takes: l.Takes, Latest: map[string]latestRead{}, Days: s.Days, DailyYears: s.DailyYears, zone: zone, last: s.LatestOf(l)}
	if v.Takes == nil {
		v.Takes = []gauge.Quantity{}
	}
	for q, last := range v.last {
		v.Latest[string(q)] = latestRead{last.At, last.Value, storageUnits[q], last.Flags.Words()}
	}
	if !s.From.IsZero() {
		v.From, v.To = &s.From, &s.To
	}
	if s.Request != nil {
		v.AskedAt, v.Trouble = &s.Request.AskedAt, s.Request.Trouble
	}
	return v
}

func (r rivers) show(w io.Writer, j command.Journal, list []linked, bare []string) error {
	if len(list) == 0 {
		_, err := fmt.Fprintf(w, "No water has a gauge yet. To find one and link it:\n  rigtally gauges find --near LAT,LON\n  rigtally gauges link WATER SITE\n")
		return err
	}
	answer := table.Table{Columns: []table.Column{{Key: "water", Title: "Water", Words: true}, {Key: "gauge", Title: "Gauge", Words: true},
		{Key: "takes", Title: "Takes", Words: true, Spare: 1}, {Key: "latest", Title: "Latest", Words: true}, {Key: "readings", Title: "Readings", Words: true, Spare: 2}}}
	now := r.Now()
	for _, l := range list {
		at := strings.TrimSpace(l.Gauge + " " + l.Name)
		if l.Sensor != "" {
			at += ", sensor " + l.Sensor
		}
		cells := []string{l.Water, at, takes(l.Takes), l.latest(now, j.Units), l.readings()}
		answer.Rows = append(answer.Rows, table.Row{Cells: command.Keys(cells, func(s string) table.Cell { return table.Cell{Text: s} })})
	}
	if err := answer.WriteText(w, r.Width()); err != nil {
		return err
	}
	fmt.Fprintln(w)
	for _, l := range list {
		if l.Trouble != "" {
			fmt.Fprintf(w, "%s: %s.\n", l.Gauge, strings.TrimSuffix(l.Trouble, "."))
		}
	}
	if len(bare) > 0 {
		fmt.Fprintf(w, "Without a gauge: %s.\n", strings.Join(bare, ", "))
	}
	if r.Settings.Gauges.Off {
		fmt.Fprintf(w, "Nobody is asked for readings: gauges is off.\n")
	}
	last := prose.NotWhereYouStand + " " + prose.Provisional
	for _, text := range r.credits(command.Keys(list, func(l linked) string { return l.Gauge })) {
		fmt.Fprintf(w, "%s\n", text)
		if strings.Contains(text, "provisional") {
			last = prose.NotWhereYouStand
		}
	}
	_, err := fmt.Fprintln(w, last)
	return err
}

// credits are what agencies want said beside their readings, for some gauges.
func (r rivers) credits(of []string) (list []string) {
	k, err := r.Gauges(nil, nil)
	if err != nil {
		return nil // told by what asks them
	}
	for _, source := range k.Sources() {
		if slices.ContainsFunc(of, func(site string) bool { return strings.HasPrefix(site, source.Provider()+":") }) {
			list = append(list, source.Credit())
		}
	}
	return list
}

// takes says what a water takes of a gauge.
func takes(list []gauge.Quantity) string {
	if len(list) == 0 {
		return "all it measures"
	}
	return strings.Join(command.Keys(list, func(q gauge.Quantity) string { return strings.ToLower(prose.GaugeQuantity(q)) }), ", ")
}

func (l linked) latest(now time.Time, sys units.System) string {
	var list []string
	for _, q := range gauge.Quantities() {
		if last, ok := l.last[q]; ok {
			list = append(list, strings.ToLower(prose.GaugeQuantity(q))+" "+prose.GaugeReading(q, last, now, l.zone, sys))
		}
	}
	if len(list) == 0 {
		return "no readings yet"
	}
	return strings.Join(list, "; ")
}

// readings says for which time there are any.
func (l linked) readings() string {
	text := "none"
	if l.From != nil {
		first, last := l.From.In(l.zone).Format(time.DateOnly), l.To.In(l.zone).Format(time.DateOnly)
		if text = first; last != first {
			text += " to " + last + ", " + prose.Several(l.Days, "day")
		}
	}
	if l.DailyYears > 0 {
		text = strings.TrimPrefix(text+"; ", "none; ") + "daily means of " + prose.Several(l.DailyYears, "year")
	}
	return text
}

// quantities reads words with commas between them, as flow,temperature.
func quantities(words []string) ([]gauge.Quantity, error) {
	var list []gauge.Quantity
	for _, word := range words {
		q := gauge.Quantity(strings.ToLower(strings.TrimSpace(word)))
		if !slices.Contains(gauge.Quantities(), q) {
			return nil, terminal.Misusef("%q is nothing that a water takes of a gauge; write flow, stage or temperature", word)
		}
		if !slices.Contains(list, q) {
			list = append(list, q)
		}
	}
	return list, nil
}

// sitesOf are the sites of series, each once.
func sitesOf(list []gauge.Series) []gauge.Site {
	sites := map[gauge.Site]bool{}
	for _, s := range list {
		sites[s.Site] = true
	}
	return slices.SortedFunc(maps.Keys(sites), gauge.Site.Compare)
}
