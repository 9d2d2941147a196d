package journal

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"rigtally/internal/units"
)

// What is likelier a slip than the truth, and so asked about before it is stored.
// Common practice, no source.
const (
	longTagMM      = 600
	manyTangles    = 20 // an hour
	enoughTangles  = 5  // below which a rate says nothing
	shortMinutes   = 3
	firstLikelyDay = 1990 // the year
)

// Doubt is something in a session that can be, but is likelier a slip.
type Doubt struct {
	Field    string // that it is about, as in Invalid.Fields
	Says     string // what is doubted, in a sentence without its full stop
	Position *int   // of the fly that it is about, nil when it is about none
}

// Doubtful is an error of data that are stored only once a person has said that
// they are so.
type Doubtful struct{ Doubts []Doubt }

func (e *Doubtful) Error() string {
	says := make([]string, len(e.Doubts))
	for i, d := range e.Doubts {
		says[i] = d.Says
	}
	it := "it"
	if len(says) > 1 {
		it = "them"
	}
	return strings.Join(says, "; ") + "; correct " + it + ", or confirm that this is right"
}

// IsDoubtful reports whether err tells of data that a person can confirm.
func IsDoubtful(err error) bool {
	var doubtful *Doubtful
	return errors.As(err, &doubtful)
}

// Doubts lists what a person should be asked about before the session is stored:
// tags over 60 cm, more than 20 tangles an hour from the fifth on, less than 3
// minutes, and days before 1990 or after today, as the water's calendar has it at now.
// rigs holds every rig that the stints name; one that is not there is not doubted.
func (s Session) Doubts(rigs map[ID]Rig, now time.Time) []Doubt {
	d := doubter{told: map[string]bool{}}
	loc, err := zone(s.TimeZone)
	if err != nil {
		loc = time.UTC
	}
	d.doubt(s.Day.Year < firstLikelyDay && !s.Day.IsZero(), "day", nil, "the day %s is before %d", s.Day, firstLikelyDay)
	d.doubt(s.Day.In(time.UTC).After(DateOf(now.In(loc)).In(time.UTC)), "day", nil, "the day %s has not come yet", s.Day)
	for i, st := range s.Stints {
		d.stint(fmt.Sprintf("stints[%d].", i), fmt.Sprintf("stint %d", i+1), st, rigs[st.RigID])
	}
	return d.doubts
}

type doubter struct {
	doubts []Doubt
	told   map[string]bool // by rig and position: tags as tied
}

func (d *doubter) doubt(is bool, field string, position *int, format string, args ...any) {
	if is {
		d.doubts = append(d.doubts, Doubt{field, fmt.Sprintf(format, args...), position})
	}
}

func (d *doubter) stint(path, at string, st Stint, rig Rig) {
	for _, p := range rig.Droppers() {
		key := fmt.Sprint(rig.ID, p.Position)
		if !d.told[key] {
			d.told[key] = true
			d.tag(path+"rig_id", p.Position, "as tied", p.TagLengthMM)
		}
	}
	for i, p := range st.Positions {
		d.tag(fmt.Sprintf("%spositions[%d].tag_start_mm", path, i), p.Position, "at the start of "+at, p.TagStartMM)
		d.tag(fmt.Sprintf("%spositions[%d].tag_end_mm", path, i), p.Position, "at the end of "+at, p.TagEndMM)
	}
	if st.Minutes == nil || *st.Minutes <= 0 {
		return
	}
	d.doubt(*st.Minutes < shortMinutes, path+"minutes", nil, "%s lasts less than %d minutes", at, shortMinutes)
	tangles := 0
	for _, e := range st.Events {
		if e.Kind == EventTangle {
			tangles += e.Count
		}
	}
	anHour := float64(tangles) / (*st.Minutes / 60)
	d.doubt(tangles >= enoughTangles && anHour > manyTangles, path+"events", nil,
		"%s has %d tangles in %s, which is %.0f an hour", at, tangles, units.FormatDuration(*st.Minutes), math.Ceil(anHour))
}

// tag doubts a length in mm; people read it in cm and inches.
func (d *doubter) tag(field string, position int, when string, mm *float64) {
	if mm != nil {
		d.doubt(*mm > longTagMM, field, &position, "the tag of %s is %.4g cm (%.3g in) %s, which is over 60 cm", PositionTitle(position), *mm/10, *mm/25.4, when)
	}
}
