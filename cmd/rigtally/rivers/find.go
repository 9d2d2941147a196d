package rivers

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/gauges"
	"rigtally/gauges/agency"
	"rigtally/journal/gauge"
)

func (r rivers) find() *cobra.Command {
	var place string
	cmd := &cobra.Command{
		Use:   "find [NAME|NUMBER]",
		Short: "Find gauges by words of their name, by number or near a place",
		Long: `Ask the agencies for gauges: by words of a name, by a number as 01234567 or usgs:01234567, or near
a place. Of a place they are told latitude and longitude rounded to a tenth of a degree, which is
11 km from north to south, so that no stretch of water can be made out from them.`,
		Example: "  rigtally gauges find \"invented creek\"\n  rigtally gauges find usgs:01234567\n  rigtally gauges find --near 40.12,-105.43",
		Args:    command.Between(0, -1, "a name"),
	}
	cmd.Flags().StringVar(&place, "near", "", "latitude and longitude in degrees, as `LAT,LON`: 40.12,-105.43")
	form := command.Form(cmd, command.Text, command.JSON)
	cmd.RunE = r.Do(func(ctx context.Context, args []string) error {
		q, err := query(strings.Join(args, " "), place)
		if err != nil {
			return err
		}
		k, err := r.keeper(command.Journal{})
		if err != nil {
			return err
		}
		found, troubles := k.Find(ctx, q)
		return r.tellFound(q, *form, found, troubles)
	})
	return cmd
}

// query makes one of what somebody wrote.
func query(words, place string) (q agency.Query, err error) {
	words = strings.TrimSpace(words)
	switch {
	case (words == "") == (place == ""):
		return q, terminal.Misusef("write words of a gauge's name, its number, or --near LAT,LON: one of these")
	case place != "":
		lat, lon, err := position(place)
		if err != nil {
			return q, err
		}
		q.Near = agency.Near(lat, lon)
		return q, nil
	}
	if s, err := gauge.ParseSite(words); err == nil {
		q.Provider, q.Number = s.Provider, s.Number
	} else if !strings.Contains(words, " ") && strings.ContainsAny(words, "0123456789") {
		q.Number = words
	} else {
		q.Name = words
	}
	return q, nil
}

// known is the site that somebody looked for, as they would name it to link it.
func known(q agency.Query) string {
	if q.Provider == "" {
		return "SITE"
	}
	return gauge.NewSite(q.Provider, q.Number).String()
}

func position(text string) (lat, lon float64, err error) {
	a, b, ok := strings.Cut(text, ",")
	lat, err1 := strconv.ParseFloat(strings.TrimSpace(a), 64)
	lon, err2 := strconv.ParseFloat(strings.TrimSpace(b), 64)
	if !ok || err1 != nil || err2 != nil || !(lat >= -90 && lat <= 90) || !(lon >= -180 && lon <= 180) {
		return 0, 0, terminal.Misusef("--near %q is no place; write latitude and longitude in degrees, south and west below zero, as 40.12,-105.43", text)
	}
	return lat, lon, nil
}

func (r rivers) tellFound(q agency.Query, form string, found []gauge.Gauge, troubles []gauges.Trouble) error {
	var words []string
	for _, t := range troubles {
		words = append(words, t.Say(r.Now()))
	}
	if len(found) == 0 && len(words) > 0 {
		return fmt.Errorf("%s A gauge whose number you know can be linked all the same, and read from files: rigtally gauges link WATER %s, then rigtally gauges import FILE", strings.Join(words, " "), known(q))
	}
	if form == command.JSON {
		if found == nil {
			found = []gauge.Gauge{}
		}
		return r.JSON(map[string]any{"gauges": found, "troubles": words})
	}
	if q.Near != nil {
		r.Printf("Agencies were asked for gauges near %.1f, %.1f, the place rounded to a tenth of a degree.\n\n", q.Near.Latitude, q.Near.Longitude)
	}
	if len(found) == 0 {
		r.Printf("No gauge was found. Write one word of its name alone, its number, or --near LAT,LON.\n")
		return nil
	}
	rows := command.Keys(found, func(g gauge.Gauge) []string {
		at, measures := "", "not told"
		if g.Latitude != nil && g.Longitude != nil {
			at = fmt.Sprintf("%.3f, %.3f", *g.Latitude, *g.Longitude)
		}
		if len(g.Measures) > 0 {
			measures = takes(g.Measures)
		}
		return []string{g.Site.String(), g.Name, measures, at}
	})
	if err := r.Table([]string{"Gauge", "Name", "Measures", "At"}, rows); err != nil {
		return err
	}
	words = append(words, r.credits(command.Keys(found, func(g gauge.Gauge) string { return g.Site.String() }))...)
	for _, text := range words {
		r.Printf("%s\n", text)
	}
	r.Printf("\nTo take what one measures: rigtally gauges link WATER %s\n", found[0].Site)
	return nil
}
