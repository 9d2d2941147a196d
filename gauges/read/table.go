package read

import (
	"bytes"
	"errors"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"
)

// table is a text in columns, each row on a line.
type table struct {
	*book
	l         *lines
	separator byte
	cells     [][]byte
	width     int
}

// table reads CSV from its first line on: of a service, known by its columns, or of anybody.
func (b *book) table(l *lines, first []byte) error {
	t := &table{book: b, l: l}
	if mark, ok := bytes.CutPrefix(bytes.ToLower(first), []byte("sep=")); ok && len(mark) == 1 { // for a spreadsheet
		next, err := l.next()
		if err != nil {
			return b.broken(err, l.place())
		}
		t.separator, first = mark[0], slices.Clone(next)
	} else {
		next, err := b.skipTitles(l, first)
		if err != nil {
			return err
		}
		if first = next; bytes.HasPrefix(first, []byte("agency_cd\t")) {
			return newRdb(b, l).read(first)
		}
		t.separator = separatorOf(first)
	}
	if err := t.record(first); err != nil {
		return err
	}
	names := make([]string, len(t.cells))
	for i, cell := range t.cells {
		names[i] = strings.Join(strings.Fields(latin(cell)), " ")
	}
	t.width = len(names)
	lower := map[string]int{}
	for i, name := range names {
		lower[strings.ToLower(name)] = i
	}
	has := func(list ...string) bool {
		for _, name := range list {
			if _, ok := lower[name]; !ok {
				return false
			}
		}
		return true
	}
	at := func(name string) func() string {
		i, ok := lower[name]
		return func() string {
			if !ok {
				return ""
			}
			return string(bytes.TrimSpace(t.cells[i]))
		}
	}
	switch {
	case has("parameter_code", "time", "value", "unit_of_measure"):
		return t.ogc(at)
	case has("measure", "value") && (has("datetime") || has("date")):
		return t.ea(at)
	case has("date_obs_elab", "resultat_obs_elab"), has("date_obs", "resultat_obs"):
		return t.hubeau(at)
	case has("date_mesure_temp", "heure_mesure_temp", "resultat"):
		return t.hubeauTemperatures(at)
	}
	return t.plain(names)
}

// latin reads a cell that isn't UTF-8 as ISO 8859-1, in which older programs write m³/s and °C.
func latin(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	runes := make([]rune, len(b))
	for i, c := range b {
		runes[i] = rune(c)
	}
	return string(runes)
}

func separatorOf(line []byte) byte {
	for _, c := range []byte(";\t,|") {
		quoted := false
		for _, b := range line {
			if b == '"' {
				quoted = !quoted
			}
			if b == c && !quoted {
				return c
			}
		}
	}
	return ','
}

// record makes cells of a row. In quotes it may go on over lines, as names do that were broken to be narrow.
func (t *table) record(text []byte) error {
	for start, n := t.l.n, 0; ; n++ {
		err := t.split(text)
		if !errors.Is(err, errOpen) {
			return err
		}
		if !t.l.whole {
			return t.cut(t.l.place())
		}
		if n > 20 {
			return t.wrongf(line(start), "a quotation mark is not closed there")
		}
		text = append(slices.Clone(text), '\n')
		more, err := t.l.next()
		if errors.Is(err, io.EOF) {
			return t.wrongf(line(start), "a quotation mark is not closed there")
		}
		if err != nil {
			return err
		}
		text = append(text, more...)
	}
}

var errOpen = errors.New("a quotation mark is not closed")

// split makes cells of a line, which are valid until the next one. Quotes may stand around a cell, and twice within.
func (t *table) split(line []byte) error {
	t.cells = t.cells[:0]
	for {
		if trimmed := bytes.TrimLeft(line, " "); len(trimmed) > 0 && trimmed[0] == '"' {
			cell, rest, ok := quoted(trimmed[1:])
			if !ok {
				return errOpen
			}
			t.cells = append(t.cells, cell)
			if rest = bytes.TrimLeft(rest, " "); len(rest) == 0 {
				return nil
			}
			if rest[0] != t.separator {
				return t.wrongf(t.l.place(), "something stands behind a closing quotation mark there")
			}
			line = rest[1:]
			continue
		}
		i := bytes.IndexByte(line, t.separator)
		if i < 0 {
			t.cells = append(t.cells, line)
			return nil
		}
		t.cells = append(t.cells, line[:i])
		line = line[i+1:]
	}
}

// quoted is what stands before the closing mark, and what behind it.
func quoted(b []byte) (cell, rest []byte, ok bool) {
	i := bytes.IndexByte(b, '"')
	switch {
	case i < 0:
		return nil, nil, false
	case i+1 == len(b) || b[i+1] != '"':
		return b[:i], b[i+1:], true
	}
	cell = slices.Clone(b[:i+1])
	for b = b[i+2:]; ; {
		i := bytes.IndexByte(b, '"')
		if i < 0 {
			return nil, nil, false
		}
		cell = append(cell, b[:i]...)
		if i+1 == len(b) || b[i+1] != '"' {
			return cell, b[i+1:], true
		}
		cell = append(cell, '"')
		b = b[i+2:]
	}
}

// row reads the next line into cells.
func (t *table) row() error {
	for {
		text, err := t.l.next()
		if err != nil {
			return err
		}
		if len(bytes.TrimSpace(text)) == 0 || text[0] == '#' {
			continue
		}
		if err := t.check(text); err != nil {
			return err
		}
		if slices.ContainsFunc(t.cells, func(cell []byte) bool { return len(bytes.TrimSpace(cell)) > 0 }) {
			return nil
		}
	}
}

func (t *table) check(text []byte) error {
	if err := t.record(text); err != nil {
		return err
	}
	for len(t.cells) > t.width && len(bytes.TrimSpace(t.cells[len(t.cells)-1])) == 0 {
		t.cells = t.cells[:len(t.cells)-1] // a separator too many
	}
	switch n := len(t.cells); {
	case n == t.width:
		return nil
	case n < t.width && !t.l.whole:
		return t.cut(t.l.place())
	case bytes.HasPrefix(bytes.TrimSpace(text), []byte("<")):
		return t.wrongf(t.l.place(), "a web page begins there, where a row was expected: the service failed while it answered. Fetch it again")
	default:
		return t.wrongf(t.l.place(), "it has %d columns, and the first row %d", n, t.width)
	}
}

func (t *table) rows(take func() error) error {
	for {
		err := t.row()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err == nil {
			err = take()
		}
		if err != nil {
			return err
		}
	}
}

type columnOf func(name string) func() string

func (t *table) ogc(at columnOf) error {
	location, param, statistic, series := at("monitoring_location_id"), at("parameter_code"), at("statistic_id"), at("time_series_id")
	when, value, unit, approval, qualifier := at("time"), at("value"), at("unit_of_measure"), at("approval_status"), at("qualifier")
	return t.rows(func() error {
		return t.ogcReading(ogcRow{location(), param(), statistic(), series(), when(), t.decimal(value()), unit(), approval(), listed(qualifier())}, t.l.place)
	})
}

// five puts the zeros back before a code, which spreadsheets take off.
func five(code string) string {
	if code != "" && len(code) < 5 && allDigits(code) {
		return strings.Repeat("0", 5-len(code)) + code
	}
	return code
}

// listed takes the marks of a list off what stands in one cell: ['ESTIMATED'] or ["ICE", "ESTIMATED"].
func listed(cell string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(`[]"'{}`, r) {
			return ' '
		}
		return r
	}, cell)
}

func (t *table) ea(at columnOf) error {
	measure, when, date, value, quality, whole := at("measure"), at("datetime"), at("date"), at("value"), at("quality"), at("completeness")
	return t.rows(func() error {
		text := value()
		if strings.Contains(text, "|") {
			text = "" // several values for one time, of which none is taken
		}
		v, err := t.number(text)
		if err != nil {
			return err
		}
		return t.eaReading(measure(), when(), date(), v, quality(), whole(), t.l.place)
	})
}

func (t *table) hubeau(at columnOf) error {
	end, what := "_obs", "grandeur_hydro"
	method, quality := at("libelle_methode_obs"), at("libelle_qualification_obs")
	if at("date_obs_elab")() != "" {
		end, what, method, quality = "_obs_elab", "grandeur_hydro_elab", at("libelle_methode"), at("libelle_qualification")
	}
	station, place, of, when, value := at("code_station"), at("code_site"), at(what), at("date"+end), at("resultat"+end)
	status, statusCode, qualityCode := at("libelle_statut"), at("code_statut"), at("code_qualification_obs")
	return t.rows(func() error {
		v, err := t.number(value())
		if err != nil {
			return err
		}
		return t.hubeauReading(hubeauRow{station(), place(), of(), when(), v, method(), quality(), status(), qualityCode(), statusCode()}, t.l.place)
	})
}

func (t *table) hubeauTemperatures(at columnOf) error {
	station, day, hour, value, unit, quality := at("code_station"), at("date_mesure_temp"), at("heure_mesure_temp"), at("resultat"), at("symbole_unite"), at("libelle_qualification")
	return t.rows(func() error {
		v, err := t.number(value())
		if err != nil {
			return err
		}
		return t.hubeauTemperature(hubeauRow{station: station(), time: day() + "T" + hour(), value: v, quality: quality()}, unit(), t.l.place)
	})
}

// decimal writes a comma as a point where a spreadsheet has put it in: services never do.
func (t *table) decimal(cell string) string {
	if t.separator == ';' {
		return strings.Replace(cell, ",", ".", 1)
	}
	return cell
}

// number is NaN for an empty cell.
func (t *table) number(cell string) (float64, error) {
	cell = t.decimal(cell)
	if cell == "" || strings.EqualFold(cell, "null") || strings.EqualFold(cell, "NaN") {
		return math.NaN(), nil
	}
	v, ok := number([]byte(cell))
	if !ok {
		return 0, t.wrongf(t.l.place(), "%q is not a number", clip(cell))
	}
	return v, nil
}
