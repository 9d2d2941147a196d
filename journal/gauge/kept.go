package gauge

import (
	"slices"
	"time"
)

// Kept says what became of readings that were to be stored.
type Kept struct {
	Series   int       // with anything in them
	New      int       // readings of a time that had none
	Revised  int       // of another value than was stored
	Same     int       // stored already; of some, how they came about may be told otherwise now
	Empty    int       // without a value
	From, To time.Time // of the first and the last of them; zero where there were none
}

// Add sums two up.
func (k *Kept) Add(other Kept) {
	k.Series, k.New, k.Revised, k.Same, k.Empty = k.Series+other.Series, k.New+other.New, k.Revised+other.Revised, k.Same+other.Same, k.Empty+other.Empty
	if k.From.IsZero() || !other.From.IsZero() && other.From.Before(k.From) {
		k.From = other.From
	}
	if other.To.After(k.To) {
		k.To = other.To
	}
}

// Turn is what a request is about that stands for the right to ask an agency one question about a site, whichever.
const Turn = "turn"

// Request is what a provider was asked about a site, and what came of it.
type Request struct {
	Site
	What         string    // "latest", "daily", "past 2024-05"
	ETag         string    // of the last answer
	LastModified string    // the same
	AskedAt      time.Time // zero: never
	NextAt       time.Time // until when it is to be left alone; zero: it need not be
	Failures     int       // in a row
	Trouble      string    // of the last one, for people; "" if it was answered
}

// State is what is stored of a gauge.
type State struct {
	Gauge
	Last       []Series  // of moments, each with its last usable reading alone, in the order in which sessions take of them
	From, To   time.Time // of the first and the last reading of a moment; zero where there are none
	Days       int       // with such readings
	DailyYears int       // with daily means
	Request    *Request  // the latest; nil: nobody asked
}

// LatestOf are the last usable readings of what a link takes.
func (s State) LatestOf(l Link) map[Quantity]Reading {
	of := map[Quantity]Reading{}
	for _, q := range Quantities() {
		if r, _, ok := Latest(l.Of(s.Last), q); ok {
			of[q] = r
		}
	}
	return of
}

// Of are the series that a link gives, of all of them, in their order.
func (l Link) Of(list []Series) (given []Series) {
	for _, s := range list {
		if s.Site == l.Site && l.Gives(s.Quantity) && (l.Sensor == "" || l.Sensor == s.Sensor) {
			given = append(given, s)
		}
	}
	return given
}

// Latest is the reading of a quantity that a session would take, by Take, at the moment of the last usable one of all series: of the first
// that has one then. A sensor that ended long ago gives none, and one that is a little behind gives its own.
func Latest(list []Series, q Quantity) (r Reading, of Series, ok bool) {
	var last time.Time
	for _, s := range list {
		if s.Quantity != q || s.Statistic != Instant {
			continue
		}
		for _, x := range slices.Backward(s.Readings) {
			if x.Usable() {
				if !ok || x.At.After(last) {
					last, ok = x.At, true
				}
				break
			}
		}
	}
	if !ok {
		return Reading{}, Series{}, false
	}
	for _, s := range list {
		if s.Quantity != q {
			continue
		}
		if r, _, ok := s.At(last); ok {
			return r, s, true
		}
	}
	return Reading{}, Series{}, false
}
