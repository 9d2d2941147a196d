package exchange

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
)

// tell has the rows of sessions say what these took of gauges. Rows that are held against those of a file say nothing of it:
// no file brings it in.
func (n *Names) tell(taken []journal.Taken) {
	n.taken = make(map[journal.ID]*journal.Taken, len(taken))
	for i, t := range taken {
		n.taken[t.Session] = &taken[i]
	}
}

// fill is what the row's session took of a quantity, nil where that is nothing.
func (r *Row) fill(q gauge.Quantity) *gauge.Fill {
	if r.taken == nil {
		return nil
	}
	if i := slices.IndexFunc(r.taken.Fills, func(f gauge.Fill) bool { return f.Quantity == q }); i >= 0 {
		return &r.taken.Fills[i]
	}
	return nil
}

// gaugeColumns are those of what a session took of gauges. They are written alone: what is read passes over them, so that
// nothing of it becomes what somebody typed.
func gaugeColumns() []*Column {
	column := func(key, title string, field schemaField, cell func(r *Row) string) *Column {
		return &Column{Key: key, Title: title + ", which is passed over", About: OfOuting, Gauge: true, schemaField: field,
			Cell: func(r *Row) string {
				if r.taken == nil {
					return ""
				}
				return cell(r)
			}}
	}
	number := func(key, title, unit, says string, q gauge.Quantity, of func(f *gauge.Fill) *float64) *Column {
		return column(key, title, schemaField{Type: "number", Unit: unit, Says: says}, func(r *Row) string {
			f := r.fill(q)
			if f == nil || of(f) == nil {
				return ""
			}
			return strconv.FormatFloat(*of(f), 'f', -1, 64)
		})
	}
	value := func(f *gauge.Fill) *float64 { return &f.Value }
	trend := func(key, title, hours string, of func(f *gauge.Fill) *float64) *Column {
		field := schemaField{Type: "string", Constraints: map[string]any{"enum": gauge.Trends()},
			Says: "Whether the water fell or rose in the " + hours + " hours before, by the gauge's flow, else by its stage."}
		return column(key, title, field, func(r *Row) string {
			for _, q := range []gauge.Quantity{gauge.Flow, gauge.Stage} {
				if f := r.fill(q); f != nil && of(f) != nil {
					return string(gauge.TrendOf(q, of(f)))
				}
			}
			return ""
		})
	}
	return []*Column{
		number("gauge_flow_m3s", "the flow by a gauge", units.Kept(units.Flow).Symbol(),
			"Flow that the session took from a gauge, at its middle or over its day; what somebody noted stands in flow_m3s, and counts.", gauge.Flow, value),
		number("gauge_flow_percentile", "how usual the flow was by a gauge", "%",
			"In how many percent of earlier years the gauge's flow was lower on that day of the year.", gauge.Flow, func(f *gauge.Fill) *float64 { return f.Percentile }),
		trend("gauge_trend_6h", "the trend over 6 hours by a gauge", "6", func(f *gauge.Fill) *float64 { return f.Change6H }),
		trend("gauge_trend_24h", "the trend over 24 hours by a gauge", "24", func(f *gauge.Fill) *float64 { return f.Change24H }),
		number("gauge_stage_m", "the stage by a gauge", units.Kept(units.Depth).Symbol(),
			"Height of the water above the gauge's own zero, taken as the flow.", gauge.Stage, value),
		number("gauge_water_temp_c", "the water temperature by a gauge", units.Kept(units.Temperature).Symbol(),
			"Water temperature that the session took from a gauge; what somebody noted stands in water_temp_c, and counts.", gauge.Temperature, value),
		number("gauge_water_temp_peak_c", "the warmest water of the day by a gauge", units.Kept(units.Temperature).Symbol(),
			"Warmest reading of the session's day at the gauge.", gauge.Temperature, func(f *gauge.Fill) *float64 { return f.Peak }),
		column("gauge_provisional", "whether a gauge's readings were provisional",
			schemaField{Type: "boolean", TrueValues: []string{"yes"}, FalseValues: []string{"no"}, Says: "Whether any of the readings may still be revised by whoever runs the gauge."},
			func(r *Row) string {
				if slices.ContainsFunc(r.taken.Fills, gauge.Fill.Provisional) {
					return "yes"
				}
				return "no"
			}),
		column("gauge_site", "which gauge it was",
			schemaField{Type: "string", Says: "Who runs the gauge and its number, as in usgs:01234567; where there were several, those of flow, stage and water temperature in this order, with semicolons between."},
			sitesCell),
	}
}

// sitesCell names the gauges of a row, each once.
func sitesCell(r *Row) string {
	fills := slices.Clone(r.taken.Fills)
	slices.SortStableFunc(fills, func(a, b gauge.Fill) int {
		return cmp.Compare(slices.Index(gauge.Quantities(), a.Quantity), slices.Index(gauge.Quantities(), b.Quantity))
	})
	var list []string
	for _, f := range fills {
		if site := f.Site.String(); !slices.Contains(list, site) {
			list = append(list, site)
		}
	}
	return escapeText(strings.Join(list, "; "))
}
