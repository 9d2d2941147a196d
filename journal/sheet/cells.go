package sheet

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	catalogue "rigtally/journal/field"
	"rigtally/journal/words"
)

// The journal's limits that are checked cell by cell, so that messages name the
// cell. The journal checks everything once more.
const (
	maxName  = 120
	maxCount = 5000
	maxFlies = 10
)

// maxCached is how many different texts of a column are remembered.
const maxCached = 20000

// problem says what is wrong with a cell.
type problem struct {
	field  string // key of the field that it is about, if not that of the cell
	what   string // continues the value: "is below zero"
	remedy string
}

func (p *problem) Error() string { return p.what + "; " + p.remedy }

func tooLong(limit int) error {
	return &problem{what: fmt.Sprintf("is longer than %d letters", limit), remedy: "shorten it"}
}

// fromUnits turns an error about a quantity into one about a cell.
func fromUnits(err error) error {
	var e *units.Error
	if errors.As(err, &e) {
		return &problem{what: e.Problem, remedy: e.Remedy}
	}
	return &problem{what: "was not understood (" + err.Error() + ")", remedy: "write it in another way"}
}

// cached reads a cell once for all cells of a column with the same text.
func cached[T any](c *column, cell string, read func() (T, error)) (T, error) {
	if hit, ok := c.cache[cell]; ok {
		v, _ := hit.value.(T)
		return v, hit.err
	}
	v, err := read()
	if len(c.cache) < maxCached {
		c.cache[cell] = cachedCell{v, err}
	}
	return v, err
}

// reading makes a reader of cells of what each text says by itself.
func reading[T any](at func(r *row) *T, read func(c *column, cell string) (T, error)) func(*column, *row, string) error {
	return func(c *column, r *row, cell string) (err error) {
		*at(r), err = cached(c, cell, func() (T, error) { return read(c, cell) })
		return err
	}
}

type cachedCell struct {
	value any
	err   error
}

func setText(limit int, clean func(string) string, at func(r *row) *string) func(*column, *row, string) error {
	return func(c *column, r *row, cell string) error {
		text := clean(cell)
		if len(text) > limit {
			return tooLong(limit)
		}
		*at(r) = text
		return nil
	}
}

// cleanName is a name without blanks round it, and with single ones in it.
func cleanName(s string) string { return strings.Join(strings.Fields(s), " ") }

func readZone(_ *column, cell string) (string, error) {
	name := strings.TrimSpace(cell)
	if _, err := time.LoadLocation(name); err != nil || name == "Local" {
		return "", &problem{what: "is not a time zone", remedy: "write an IANA name such as America/Denver, or leave it empty"}
	}
	return name, nil
}

// setNoted reads a field of the catalogue.
func setNoted(f catalogue.Field[exchange.Row]) func(*column, *row, string) error {
	return func(c *column, r *row, cell string) error {
		v, err := cached(c, cell, func() (any, error) {
			switch f.Kind {
			case catalogue.Number:
				return orNone(orMiddle(c, cell, c.number, middleOf))
			case catalogue.Whole:
				return orNone(orMiddle(c, cell, func(cell string) (*int, error) { return c.whole(bareSize(cell), int(f.Low), int(f.High)) }, middleCount))
			case catalogue.Truth:
				return c.yesOrNo(cell)
			case catalogue.Text:
				text := strings.TrimSpace(cell)
				if len(text) > int(f.High) {
					return nil, tooLong(int(f.High))
				}
				return text, nil
			}
			if w := c.words.Value(f.Key, cell); w != "" {
				return w, nil
			}
			return nil, &problem{what: "is not a word for " + f.Noun, remedy: "write one of: " + strings.Join(f.Words, ", ")}
		})
		f.Set(&r.Row, v)
		return err
	}
}

// orNone keeps a pointer to nothing from being something.
func orNone[T any](v *T, err error) (any, error) {
	if v == nil {
		return nil, err
	}
	return v, err
}

// number reads a measurement, in the column's unit when the cell names none.
func (c *column) number(cell string) (*float64, error) {
	bare := c.unit
	switch {
	case c.field.Quantity == units.Duration:
		return c.fishedTime(cell)
	case bare == "" && c.field.Quantity == units.Tippet:
		// A bare whole number is an X size, and a part of one is millimetres.
		if n, err := c.parser.Number(cell); err == nil {
			bare = units.X
			if n > 0 && n < 1 {
				bare = units.Millimetre
			}
		}
	case bare == "" && c.field.Noted.Fixed != "":
		// A bare fraction is inches, as beads are sold.
		if bare = c.field.Noted.Fixed; strings.ContainsAny(cell, "/⁄") {
			bare = units.Inch
		}
	case bare == "":
		bare = c.bare()
	}
	return c.measure(cell, bare)
}

func (c *column) measure(cell string, bare units.Unit) (*float64, error) {
	v, err := c.parser.Parse(c.field.Quantity, cell, bare)
	var wrong *units.Error
	if _, plain := c.parser.Number(cell); bare == "" && plain == nil && errors.As(err, &wrong) {
		return nil, &problem{what: wrong.Problem, remedy: fmt.Sprintf("%s, or name its unit in the header; if the column tells something else, choose what", wrong.Remedy)}
	}
	if err != nil {
		return nil, fromUnits(err)
	}
	n := c.field.Noted
	switch unit := units.Kept(c.field.Quantity).Symbol(); {
	case v == 0 && c.field.Quantity == units.Length && !n.Zero:
		return nil, &problem{what: "is not a length", remedy: "leave the cell empty if it was not noted"}
	case !n.Possible(v):
		return nil, &problem{what: fmt.Sprintf("comes to %.6g %s, which can't be right (it must be %g to %g %s)", v, unit, n.Low, n.High, unit), remedy: "check the number and its unit"}
	}
	return &v, nil
}

// fishedTime reads the time fished, to the second.
func (c *column) fishedTime(cell string) (*float64, error) {
	m, err := c.minutes(cell)
	switch {
	case err != nil:
		return nil, err
	case m <= 0:
		return nil, &problem{what: "is not a time", remedy: "leave the cell empty if the time fished was not noted"}
	case m > c.field.Noted.High:
		return nil, errLongDay("the time fished")
	}
	return &m, nil
}

// readMinutesLost reads a time in whole minutes.
func readMinutesLost(c *column, cell string) (*int, error) {
	return orMiddle(c, cell, func(cell string) (*int, error) {
		m, err := c.minutes(cell)
		if err != nil {
			return nil, err
		}
		if m > 24*60 {
			return nil, errLongDay("the minutes lost")
		}
		return new(int(math.Round(m))), nil
	}, middleCount)
}

func errLongDay(what string) error {
	return &problem{what: "is more than a day", remedy: "write " + what + " of this row alone, at most 24 h"}
}

// readBreaks reads the time from start to end in which nobody fished.
func readBreaks(c *column, cell string) (*float64, error) {
	return orMiddle(c, cell, func(cell string) (*float64, error) {
		m, err := c.minutes(cell)
		return &m, err
	}, middleOf)
}

// yesOrNo reads whether something was so.
func (c *column) yesOrNo(cell string) (any, error) {
	switch {
	case c.words.Yes(cell):
		return true, nil
	case c.words.No(cell):
		return false, nil
	}
	return nil, &problem{what: "is neither yes nor no", remedy: "write yes or no, or leave it empty"}
}

func (c *column) whole(cell string, low, high int) (*int, error) {
	return c.wholeOr(cell, low, high, "leave it empty")
}

// wholeOr reads a whole number; otherwise is what to do where there is none.
func (c *column) wholeOr(cell string, low, high int, otherwise string) (*int, error) {
	remedy := fmt.Sprintf("write a whole number from %d to %d, or %s", low, high, otherwise)
	n, err := c.parser.Number(cell)
	switch {
	case err != nil:
		return nil, &problem{what: "is not a number", remedy: remedy}
	case n != math.Trunc(n):
		return nil, &problem{what: "is not a whole number", remedy: remedy}
	case n < 0 && low >= 0:
		return nil, &problem{what: "is below zero", remedy: remedy}
	case n < float64(low) || n > float64(high):
		return nil, &problem{what: "can't be", remedy: remedy}
	}
	v := int(n)
	return &v, nil
}

// setCount reads a count. Cells without one are read by Sheet.takeCount.
func setCount(of journal.Count) func(*column, *row, string) error {
	return reading(func(r *row) **int { return &r.Tally[of] }, func(c *column, cell string) (*int, error) {
		return orMiddle(c, cell, func(cell string) (*int, error) { return c.wholeOr(cell, 0, maxCount, "? where it was not counted") }, middleCount)
	})
}

var hookRE = regexp.MustCompile(`^(?:#|no\.? ?|sz\.? ?|size ?)(\d{1,2})$`)

// bareSize is a hook size without its mark: 16, #16, size 16.
func bareSize(cell string) string {
	if m := hookRE.FindStringSubmatch(strings.ToLower(strings.TrimSpace(cell))); m != nil {
		return m[1]
	}
	return cell
}

var positionRE = regexp.MustCompile(`^(?:dropper|d|fly)?([0-9])$`)

// readPosition reads which fly of the rig a row is about.
func readPosition(c *column, cell string) (exchange.Place, error) {
	switch c.words.Place(cell) {
	case "point":
		return exchange.PlacePoint, nil
	case "rig":
		return exchange.PlaceRig, nil
	case "dropper":
		return exchange.PlaceDropper, nil
	}
	if m := positionRE.FindStringSubmatch(catalogue.Compact(cell)); m != nil {
		return exchange.PlaceOf(int(m[1][0] - '0')), nil
	}
	return exchange.PlaceMissing, &problem{what: "is not a position on the rig",
		remedy: fmt.Sprintf("write point, 1 for the dropper above it, 2 … %d for those above, or rig for the whole rig", maxFlies-1)}
}

// setJunction reads a knot; one that is not known is kept under its own name.
func setJunction(c *column, r *row, cell string) error {
	type knot struct {
		junction journal.Junction
		name     string
	}
	k, err := cached(c, cell, func() (knot, error) {
		name := strings.TrimSpace(cell)
		if own, ok := strings.CutPrefix(catalogue.Plain(name), exchange.OwnJunction); ok && strings.TrimSpace(own) != "" {
			name = strings.TrimSpace(name[len(exchange.OwnJunction):])
		} else if j, ok := c.junctions[words.CompactKnot(name)]; ok {
			return knot{junction: j}, nil
		} else if catalogue.Compact(name) == string(journal.JunctionOther) {
			return knot{}, &problem{what: "does not say which", remedy: "write the junction's name itself"}
		}
		if len(name) > maxName {
			return knot{}, tooLong(maxName)
		}
		c.unknownWords[name]++
		return knot{journal.JunctionOther, name}, nil
	})
	r.Fly.Junction, r.Fly.JunctionName = k.junction, k.name
	return err
}

var (
	// 2-3, 2 to 3, 2/3?, 45-60 min, 6" to 7"; the word between in the languages of the headers.
	rangeRE = regexp.MustCompile(`^(\d+(?:[.,]\d+)?)\s*([^\d\s/.,-]*)\s*(?:-|/|\b(?:to|or|bis|oder|a|ou|o|al|do|az|til|till|tot|eller|tai)\b)\s*(\d+(?:[.,]\d+)?)\s*([^\d?]*?)\s*\??$`)
	// A spreadsheet program makes a day of 2-3.
	dateOfRange = regexp.MustCompile(`^(?:\d{4}-\d\d-\d\d|\d{1,2}[-. ]\pL{3}\.?|\pL{3}\.?[- ]\d{1,2})$`)
	dashes      = strings.NewReplacer("–", "-", "—", "-", "−", "-", "‑", "-")
)

// rangeOf returns the ends of a range, each with its unit.
func rangeOf(cell string) (low, high string, ok bool) {
	m := rangeRE.FindStringSubmatch(dashes.Replace(catalogue.Plain(strings.TrimSpace(cell))))
	if m == nil {
		return "", "", false
	}
	low, high = m[1]+" "+m[2], m[3]+" "+m[4]
	if m[2] == "" {
		low = m[1] + " " + m[4]
	}
	return strings.TrimSpace(low), strings.TrimSpace(high), true
}

// orMiddle reads a cell that holds one number. A range is refused, or taken as its
// middle where it is to be.
func orMiddle[T any](c *column, cell string, read func(cell string) (*T, error), middle func(low, high T) T) (*T, error) {
	v, err := read(cell)
	if err == nil {
		return v, nil
	}
	if dateOfRange.MatchString(strings.TrimSpace(cell)) {
		return nil, &problem{what: "is a day, which spreadsheet programs make of a range such as 2-3", remedy: "write one number"}
	}
	low, high, ok := rangeOf(cell)
	if !ok {
		return nil, err
	}
	if c.ranges != RangesMiddle {
		return nil, &problem{what: "is a range", remedy: "write one number, or have ranges taken as their middle with --ranges middle"}
	}
	from, errLow := read(low)
	to, errHigh := read(high)
	if errLow != nil || errHigh != nil || from == nil || to == nil {
		return nil, err
	}
	taken := middle(*from, *to)
	if c.middles == nil {
		c.middles = map[string]string{}
	}
	c.middles[cell] = fmt.Sprint(taken)
	return &taken, nil
}

func middleOf(low, high float64) float64 { return (low + high) / 2 }

// middleCount is the lower whole number where the middle is none.
func middleCount(low, high int) int { return (low + high) / 2 }

// sayMiddles tells how many ranges were taken as their middle.
func (s *Sheet) sayMiddles() {
	for i, c := range s.columns {
		if len(c.middles) == 0 {
			continue
		}
		n, example := 0, ""
		for cell := range s.cells(i) {
			if _, ok := c.middles[cell]; ok {
				if n++; example == "" {
					example = cell
				}
			}
		}
		lower := ""
		if c.field.Noted == nil {
			lower = ", the lower whole number where that is none"
		}
		s.choose("%s: %d ranges are taken as their middle%s, as asked for: “%s” as %s.", c.shownHeader(), n, lower, shown(example), c.middles[example])
	}
}
