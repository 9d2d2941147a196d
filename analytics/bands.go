package analytics

import (
	"regexp"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// maxBands keeps a question with tiny bands from asking for millions.
const maxBands = 1000

// Flow has no natural step, so its bands about double. The steps are a choice
// of ours, not of any standard.
var (
	flowEdgesM3S = []float64{0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000}
	flowEdgesCFS = []float64{25, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000}
)

// percentEdges part flows for the time of year as the U.S. Geological Survey's maps of streamflow do (from memory): much below
// normal, below, normal, above, much above.
var percentEdges = []float64{10, 25, 75, 90}

var bandWidth = regexp.MustCompile(`^([0-9]+(?:[.,][0-9]+)?)\s*(.*)$`)

// parseBy reads a factor to divide by, with the width of its bands if it has any.
func (r Request) parseBy(text string) (journal.By, error) {
	key, width, banded := strings.Cut(text, ":")
	f, err := journal.FactorByKey(strings.TrimSpace(key))
	if err != nil {
		return journal.By{}, err
	}
	by := journal.By{Factor: f}
	switch {
	case banded && (f.Quantity == journal.Words || f.Quantity == journal.Number || f.Quantity == journal.Diameter):
		return by, journal.Invalidf("%s has no bands; write %q alone", strings.ToLower(f.Title), f.Key)
	case banded:
		by.Edges, err = r.bandsOfWidth(f, strings.TrimSpace(width))
	case f.Quantity == journal.Temperature && r.Units == units.US:
		by.Edges, err = r.bandsOfWidth(f, "5F")
	case f.Quantity == journal.Temperature:
		by.Edges, err = r.bandsOfWidth(f, "2C")
	case f.Quantity == journal.Flow && r.Units == units.US:
		by.Edges, err = edges(units.Flow, units.CubicFootPerSecond, flowEdgesCFS)
	case f.Quantity == journal.Flow:
		by.Edges = flowEdgesM3S
	case f.Quantity == journal.Percent:
		by.Edges = percentEdges
	}
	return by, err
}

// bandsOfWidth returns edges at the whole multiples of a width, in the unit in
// which the width was written, so that bands start at round values there.
func (r Request) bandsOfWidth(f journal.Factor, text string) ([]float64, error) {
	quantity, unit := unitOf(f.Quantity, r.Units)
	m := bandWidth.FindStringSubmatch(text)
	known := m != nil
	if known && m[2] != "" {
		unit, known = units.ParseUnit(quantity, m[2])
	}
	if !known || unit == units.X {
		return nil, journal.Invalidf("band width %q is not understood; write a number with its unit, for example %s:%s", text, f.Key, exampleWidth(f.Quantity))
	}
	width, err := strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64)
	if err != nil || width <= 0 {
		return nil, journal.Invalidf("band width %q must be more than 0, for example %s:%s", text, f.Key, exampleWidth(f.Quantity))
	}
	first, last := bandLimits(f.Quantity, unit)
	n := int((last-first)/width) + 1
	if n > maxBands {
		return nil, journal.Invalidf("bands of %s are too narrow; ask for wider ones, for example %s:%s", text, f.Key, exampleWidth(f.Quantity))
	}
	values := make([]float64, n)
	for i := range values {
		values[i] = first + float64(i)*width
	}
	return edges(quantity, unit, values)
}

// bandLimits returns between which values bands are laid out; what lies beyond
// falls into the open bands at both ends.
func bandLimits(q journal.Quantity, unit units.Unit) (first, last float64) {
	switch {
	case q == journal.Temperature && unit == units.Fahrenheit:
		return 0, 120
	case q == journal.Temperature:
		return -10, 50
	case q == journal.Percent:
		return 0, 100
	case q == journal.Flow && unit == units.CubicMetrePerSecond:
		return 0, 5000
	case q == journal.Flow:
		return 0, 200000
	case unit == units.Inch:
		return 0, 80
	case unit == units.Centimetre:
		return 0, 200
	case unit == units.Metre || unit == units.Foot:
		return 0, 7
	}
	return 0, 2000
}

func exampleWidth(q journal.Quantity) string {
	switch q {
	case journal.Flow:
		return "5m3/s"
	case journal.Temperature:
		return "2C"
	case journal.Percent:
		return "20%"
	}
	return "25mm"
}

// edges converts values in a unit to the storage unit exactly.
func edges(q units.Quantity, unit units.Unit, values []float64) ([]float64, error) {
	out := make([]float64, len(values))
	for i, v := range values {
		si, err := units.Parser{Decimal: units.DecimalPoint}.Parse(q, strconv.FormatFloat(v, 'f', -1, 64), unit)
		if err != nil {
			return nil, journal.Invalidf("bands: %v", err)
		}
		out[i] = si
	}
	return out, nil
}
