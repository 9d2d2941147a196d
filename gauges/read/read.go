// Package read makes readings of the files and answers in which the agencies that run river gauges publish them, and of
// plain tables of times and values. What it reads may be anything: it is bounded in size, and nothing of a file is taken
// unless all of it could be read.
package read

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// Limits of what is read, where Options name none.
const (
	MaxBytes    = 64 << 20
	MaxReadings = 5_000_000
)

const longestLine = 64 << 10 // bytes

// Options say what a file doesn't say itself.
type Options struct {
	Site     gauge.Site     // where a file names no gauge
	Quantity gauge.Quantity // of a value column without a name
	Unit     string         // of values whose unit isn't named, as people write it: cfs, m3/s, ft, degF
	Zone     *time.Location // of times without an offset
	DayFirst *bool          // of dates as 10/1/1999, where no row tells whether the day or the month is first

	MaxBytes    int64     // MaxBytes where 0
	MaxReadings int       // MaxReadings where 0
	Now         time.Time // no reading is from later than two days after it; the clock where zero
}

// Page is one answer of a service that gives its readings or gauges in several.
type Page struct {
	gauge.Found
	Next string // address of the next one, "" after the last
}

// Any reads a file of any known kind. Its name is for messages.
//
// A file without readings is no error: Found then says so in its notes. Errors about the file are journal.Invalid.
func Any(name string, r io.Reader, opt Options) (gauge.Found, error) {
	page, err := Answer(name, r, opt)
	if err != nil {
		return gauge.Found{}, err
	}
	found := Join(page.Found)
	if page.Next != "" {
		found.Notes = append(found.Notes, "This is the first part of a longer answer; the rest was not in the file.")
	}
	return found, nil
}

// Answer is Any for one answer of several, which Join puts together. Each sensor has its name even where a page holds only one.
func Answer(name string, r io.Reader, opt Options) (Page, error) {
	b := newBook(name, opt)
	in, err := b.open(r)
	if err != nil {
		return Page{}, err
	}
	next := ""
	start := peek(in)
	switch first := bytes.TrimLeft(start, " \t\r\n"); {
	case len(first) == 0:
		// Nothing at all: valid, and empty.
	case first[0] == '{' || first[0] == '[':
		next, err = b.json(in)
	case first[0] == '<':
		err = b.markup(in, first)
	default:
		err = b.text(in)
	}
	if err != nil {
		return Page{}, err
	}
	found, err := b.found()
	return Page{found, next}, err
}

// OGC reads a feature collection of readings as the U.S. Geological Survey's Water Data service gives it.
func OGC(r io.Reader, opt Options) (Page, error) {
	return Answer("The answer of the U.S. Geological Survey", r, opt)
}

// Join puts the pages of an answer together. A sensor that is the only one of its site, quantity and statistic has no name,
// as wherever a gauge measures something once.
func Join(pages ...gauge.Found) gauge.Found {
	var all gauge.Found
	places := map[seriesKey]int{}
	known := map[gauge.Site]int{}
	noted := map[string]bool{}
	for _, p := range pages {
		for _, s := range p.Series {
			key := keyOf(s)
			if i, ok := places[key]; ok {
				all.Series[i].Readings = append(all.Series[i].Readings, s.Readings...)
				continue
			}
			places[key] = len(all.Series)
			all.Series = append(all.Series, s)
		}
		for _, g := range p.Gauges {
			if i, ok := known[g.Site]; ok {
				for _, q := range g.Measures {
					all.Gauges[i].Measures = with(all.Gauges[i].Measures, q)
				}
				continue
			}
			known[g.Site] = len(all.Gauges)
			all.Gauges = append(all.Gauges, g)
		}
		for _, n := range p.Notes {
			if !noted[n] {
				noted[n] = true
				all.Notes = append(all.Notes, n)
			}
		}
	}
	sensors := map[seriesKey]int{}
	for i := range all.Series {
		all.Series[i].Sort()
		key := keyOf(all.Series[i])
		key.sensor = ""
		sensors[key]++
	}
	for i := range all.Series {
		key := keyOf(all.Series[i])
		key.sensor = ""
		if sensors[key] == 1 {
			all.Series[i].Sensor = ""
		}
	}
	if len(pages) > 1 && len(all.Series)+len(all.Gauges) > 0 {
		all.Notes = without(all.Notes, noReadings)
	}
	return all
}

func without(list []string, end string) []string {
	var kept []string
	for _, s := range list {
		if !strings.HasSuffix(s, end) {
			kept = append(kept, s)
		}
	}
	return kept
}

// limited ends with an error, rather than early, when there is more than was allowed.
type limited struct {
	r    io.Reader
	left int64
	err  error // when there is more

	failed error // of r itself
}

func (l *limited) Read(p []byte) (int, error) {
	if l.left < 0 {
		return 0, l.err
	}
	if int64(len(p)) > l.left+1 {
		p = p[:l.left+1]
	}
	n, err := l.r.Read(p)
	if err != nil && !errors.Is(err, io.EOF) {
		l.failed = err
	}
	if l.left -= int64(n); l.left < 0 {
		return 0, l.err
	}
	return n, err
}

// broken is what a failed read means: the file is too large, or it couldn't be read.
func (b *book) broken(err error, place string) error {
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		return err
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return b.cut(place)
	}
	if b.source.failed == nil {
		return b.wrongf(place, "it can't be understood there (%v)", err)
	}
	return fmt.Errorf("read %s: %w", b.name, err)
}

// cut says that a file ends before its end.
func (b *book) cut(place string) error {
	after := ""
	if b.taken > 0 {
		after = fmt.Sprintf(" after %s readings", thousands(b.taken))
	}
	return b.wrongf(place, "it ends in the middle%s, so it was cut off; nothing of it is taken. Fetch or save it again, whole", after)
}

func thousands[N int | int64](n N) string {
	text := fmt.Sprint(n)
	for i := len(text) - 3; i > 0; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	return text
}

func megabytes(n int64) string {
	if n < 1<<20 {
		return thousands(n) + " bytes"
	}
	return thousands(int64(math.Round(float64(n)/(1<<20)))) + " MB"
}
