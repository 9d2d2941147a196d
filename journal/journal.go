// Package journal holds what happened on the water: its types, its rules, and the facts in
// memory that questions are answered from. It knows of no database.
package journal

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"rigtally/journal/gauge"
)

// ID identifies a row for ever. It is a UUIDv7 made by whoever first wrote the
// row down, so that a form sent twice or written offline is stored once.
type ID uuid.UUID

// NewID makes an ID that sorts by the present time.
func NewID() ID { return ID(uuid.Must(uuid.NewV7())) } // which the system's random numbers can't fail

// ParseID reads the usual text form of a UUID.
func ParseID(s string) (ID, error) {
	u, err := uuid.Parse(s)
	if err != nil {
		return ID{}, fmt.Errorf("%q is not an id; copy it whole from the page or the list", s)
	}
	return ID(u), nil
}

// IsZero reports whether the id has not been set.
func (id ID) IsZero() bool { return id == ID{} }

func (id ID) String() string { return uuid.UUID(id).String() }

// MarshalText writes the usual text form.
func (id ID) MarshalText() ([]byte, error) { return uuid.UUID(id).MarshalText() }

// UnmarshalText reads the usual text form.
func (id *ID) UnmarshalText(b []byte) error { return (*uuid.UUID)(id).UnmarshalText(b) }

// Outfit is the journal's owner: one angler, or a guide business with its clients.
type Outfit struct {
	Name     string  `json:"name"`
	Units    string  `json:"units"`     // what people see: "us" or "metric"
	TimeZone string  `json:"time_zone"` // IANA name given to waters added without one
	PriorSD  float64 `json:"prior_sd"`  // standard deviation of the log of true ratios before anything was fished, for best bets; 0 for the usual one
}

// The prior of best bets: half of the true ratios lie within exp(±0.6745·PriorSD).
const (
	PriorSD      = 0.35 // half within 0.79 to 1.27 (common practice, no source)
	LeastPriorSD = 0.05
	MostPriorSD  = 2.0
)

// Prior is the outfit's PriorSD, or the usual one.
func (o Outfit) Prior() float64 {
	if o.PriorSD == 0 {
		return PriorSD
	}
	return o.PriorSD
}

// AnglerKind says what an angler is to the outfit.
type AnglerKind string

// Angler is a person who fishes; a client is an angler too.
type Angler struct {
	ID     ID         `json:"id"`
	Name   string     `json:"name"`
	Kind   AnglerKind `json:"kind"`
	Active bool       `json:"active"`
}

// WaterKind says what sort of river or lake a water is.
type WaterKind string

// Water is a river or lake, with the beats named on it.
type Water struct {
	ID       ID           `json:"id"`
	Name     string       `json:"name"`
	Kind     WaterKind    `json:"kind"`
	TimeZone string       `json:"time_zone"`        // IANA name
	Gauges   []gauge.Link `json:"gauges,omitempty"` // in the order in which they are asked for a quantity
	Beats    []Beat       `json:"beats,omitempty"`
}

// UnmarshalJSON also reads a water as it was written when it had one gauge, in words of one's own.
func (w *Water) UnmarshalJSON(b []byte) error {
	type plain Water
	var v struct {
		plain
		Provider string `json:"gauge_provider"`
		Number   string `json:"gauge_site"`
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&v); err != nil {
		return err
	}
	*w = Water(v.plain)
	for i, l := range w.Gauges {
		w.Gauges[i].Site = gauge.NewSite(l.Provider, l.Number)
	}
	if site := gauge.NewSite(strings.ReplaceAll(v.Provider, ":", ""), v.Number); len(w.Gauges) == 0 && site.Provider != "" && site.Number != "" {
		w.Gauges = []gauge.Link{{Site: site}}
	}
	return nil
}

// Beat is a named stretch of a water.
type Beat struct {
	ID   ID     `json:"id"`
	Name string `json:"name"`
}

// Rig is how a leader is built, from the rod to the point fly. A rig that has
// been fished never changes; an edit makes the next revision of its name.
type Rig struct {
	ID              ID            `json:"id"`
	Name            string        `json:"name"`
	Revision        int           `json:"revision"` // 1 for the first
	Method          Method        `json:"method,omitempty"`
	RodLengthMM     *float64      `json:"rod_length_mm,omitempty"`
	LeaderLengthMM  *float64      `json:"leader_length_mm,omitempty"`
	SighterLengthMM *float64      `json:"sighter_length_mm,omitempty"`
	Swivel          Swivel        `json:"swivel,omitempty"`
	TippetLengthMM  *float64      `json:"tippet_length_mm,omitempty"`
	Notes           string        `json:"notes,omitempty"`
	CreatedAt       time.Time     `json:"created_at"`
	Version         int           `json:"version,omitzero"` // 1 when first stored, one more each time it is changed before it is fished
	Positions       []RigPosition `json:"positions"`        // by Position, the point first
}

// RigPosition is one place on the leader where a fly hangs.
type RigPosition struct {
	Position     int      `json:"position"`       // 0 = point, 1 = the dropper next above it, …
	Hang         Hang     `json:"hang,omitempty"` // droppers only
	Junction     Junction `json:"junction,omitempty"`
	JunctionName string   `json:"junction_name,omitempty"` // the user's name for junction "other"
	Facing       Facing   `json:"facing,omitempty"`
	Prop         Prop     `json:"prop,omitempty"`
	TagLengthMM  *float64 `json:"tag_length_mm,omitempty"` // as tied, junction to fly
	DistanceMM   *float64 `json:"distance_mm,omitempty"`   // to the next position down
	TippetMM     *float64 `json:"tippet_mm,omitempty"`     // diameter
	Material     Material `json:"material,omitempty"`
	Fly          string   `json:"fly,omitempty"`
	HookSize     *int     `json:"hook_size,omitempty"`
	BeadMM       *float64 `json:"bead_mm,omitempty"`
	Bulk         Bulk     `json:"bulk,omitempty"`
}

// JunctionWord names the junction, also one named by the user; "" when not noted.
func (p RigPosition) JunctionWord() string {
	if p.Junction == JunctionOther {
		return p.JunctionName
	}
	return string(p.Junction)
}

// Droppers returns the positions above the point, lowest first.
func (r Rig) Droppers() []RigPosition {
	var droppers []RigPosition
	for _, p := range r.Positions {
		if p.Position > 0 {
			droppers = append(droppers, p)
		}
	}
	return droppers
}

// At returns the given position of the rig.
func (r Rig) At(position int) (RigPosition, bool) {
	for _, p := range r.Positions {
		if p.Position == position {
			return p, true
		}
	}
	return RigPosition{}, false
}

// Title names the rig and, from the second on, its revision.
func (r Rig) Title() string {
	if r.Revision > 1 {
		return fmt.Sprintf("%s (revision %d)", r.Name, r.Revision)
	}
	return r.Name
}

// Session is one outing of one angler on one water.
type Session struct {
	ID         ID         `json:"id"`
	AnglerID   ID         `json:"angler_id"`
	GuideID    *ID        `json:"guide_id,omitempty"`
	WaterID    ID         `json:"water_id"`
	BeatID     *ID        `json:"beat_id,omitempty"`
	Day        Date       `json:"day"` // on the water's calendar
	Start      *time.Time `json:"start,omitempty"`
	End        *time.Time `json:"end,omitempty"`
	TimeZone   string     `json:"time_zone"` // IANA name of the water's zone
	WaterTempC *float64   `json:"water_temp_c,omitempty"`
	FlowM3S    *float64   `json:"flow_m3s,omitempty"`
	StageM     *float64   `json:"stage_m,omitempty"`
	DepthM     *float64   `json:"depth_m,omitempty"`
	VelocityMS *float64   `json:"velocity_ms,omitempty"` // of the water where it was waded
	Storm      bool       `json:"storm,omitempty"`       // thunder or lightning was noted
	Clarity    Clarity    `json:"clarity,omitempty"`
	Wind       Wind       `json:"wind,omitempty"`
	Light      Light      `json:"light,omitempty"`
	FromGauge  []string   `json:"from_gauge,omitempty"` // conditions read from a gauge; the others were typed in
	Notes      string     `json:"notes,omitempty"`
	LoggedAt   time.Time  `json:"logged_at"`
	Version    int        `json:"version"` // 1 when first stored, one more at each edit
	Stints     []Stint    `json:"stints"`
}

// Stint is a time within a session fished with one rig as tied.
type Stint struct {
	ID         ID              `json:"id"`
	RigID      ID              `json:"rig_id"`
	Minutes    *float64        `json:"minutes,omitempty"` // to the second; nil when not noted
	Recorded   Recorded        `json:"recorded,omitzero"` // of what count was kept
	Casts      *int            `json:"casts,omitempty"`
	Stroke     Stroke          `json:"stroke,omitempty"`
	FlySpeedMS *float64        `json:"fly_speed_ms,omitempty"` // of the current at the fly
	Notes      string          `json:"notes,omitempty"`
	Positions  []StintPosition `json:"positions,omitempty"` // only those that differ from the rig
	Events     []Event         `json:"events,omitempty"`
}

// Seconds is the stint's time, nil when not noted.
func (st Stint) Seconds() *int {
	if st.Minutes == nil {
		return nil
	}
	return new(int(math.Round(*st.Minutes * 60)))
}

// MinutesOf is a time of so many seconds.
func MinutesOf(seconds *int) *float64 {
	if seconds == nil {
		return nil
	}
	return new(float64(*seconds) / 60)
}

// StintPosition says how a position of the rig stood during a stint.
type StintPosition struct {
	Position   int      `json:"position"`
	TagStartMM *float64 `json:"tag_start_mm,omitempty"` // nil: as tied
	TagEndMM   *float64 `json:"tag_end_mm,omitempty"`   // nil: follows from the cuts
	Fly        string   `json:"fly,omitempty"`          // if it differs from the rig's
}

// Event is something that happened during a stint, Count times over.
type Event struct {
	Position     *int       `json:"position,omitempty"` // nil: the whole rig
	Kind         EventKind  `json:"kind"`
	Count        int        `json:"count"`
	Minute       *int       `json:"minute,omitempty"`      // within the stint
	Hooking      Hooking    `json:"hooking,omitempty"`     // hookup; empty when not noted
	Ending       Ending     `json:"ending,omitempty"`      // hookup, snag; empty when not noted
	BreakPlace   BreakPlace `json:"break_place,omitempty"` // when it broke off
	Species      string     `json:"species,omitempty"`
	FishLengthMM *float64   `json:"fish_length_mm,omitempty"`
	TangleKind   TangleKind `json:"tangle_kind,omitempty"`  // empty when not noted
	MinutesLost  *int       `json:"minutes_lost,omitempty"` // for all Count of them together
	Turns        *int       `json:"turns,omitempty"`        // check: turns around the line, for all Count together
	CutMM        *float64   `json:"cut_mm,omitempty"`       // fly change: tag lost at each, 0 when it cost none; nil: not noted
	Note         string     `json:"note,omitempty"`
}

// Date is a day on the calendar of the place where it was fished.
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// DateOf returns the calendar day of t in t's location.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date{y, m, d}
}

// ParseDate reads an ISO 8601 calendar day, 2026-04-30.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return Date{}, fmt.Errorf("%q is not a day of the calendar; write it as 2026-04-30", s)
	}
	return DateOf(t), nil
}

// IsZero reports whether the day has not been set.
func (d Date) IsZero() bool { return d == Date{} }

// In returns the start of the day in a location.
func (d Date) In(loc *time.Location) time.Time {
	return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, loc)
}

func (d Date) String() string { return d.In(time.UTC).Format(time.DateOnly) }

// MarshalText writes the ISO 8601 form.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads the ISO 8601 form.
func (d *Date) UnmarshalText(b []byte) (err error) {
	*d, err = ParseDate(string(b))
	return err
}

// Normalize puts a rig into the form in which it is stored and compared.
func (r *Rig) Normalize() {
	r.Name = strings.TrimSpace(r.Name)
	r.CreatedAt = r.CreatedAt.UTC().Truncate(time.Microsecond)
	r.Positions = slices.Clone(r.Positions)
	slices.SortFunc(r.Positions, func(a, b RigPosition) int { return a.Position - b.Position })
}

// SameAs reports whether two rigs are tied alike and named alike.
func (r Rig) SameAs(other Rig) bool {
	return r.Name == other.Name && r.Notes == other.Notes && r.TiedLike(other)
}

// TiedLike reports whether two rigs are tied alike, whatever they are called.
func (r Rig) TiedLike(other Rig) bool {
	r.ID, r.Name, r.Revision, r.Notes, r.CreatedAt, r.Version = other.ID, other.Name, other.Revision, other.Notes, other.CreatedAt, other.Version
	return reflect.DeepEqual(r, other)
}

// Equal reports whether two rigs are the same, how often they were changed aside.
func (r Rig) Equal(other Rig) bool {
	return r.ID == other.ID && r.Revision == other.Revision && r.CreatedAt.Equal(other.CreatedAt) && r.SameAs(other)
}

// RigUse is a rig with how much it has been fished.
type RigUse struct {
	Rig
	Stints  int
	Minutes float64 // of the stints whose minutes were noted
	LastDay *Date   // nil when never fished
}

// UndoDays is how long a deleted session can be brought back.
const UndoDays = 30

// NewDoubts are the doubts of a session that the version before it did not raise.
func (s Session) NewDoubts(before Session, rigs map[ID]Rig) []Doubt {
	now := time.Now()
	known := before.Doubts(rigs, now)
	return slices.DeleteFunc(s.Doubts(rigs, now), func(d Doubt) bool {
		return slices.ContainsFunc(known, func(k Doubt) bool { return k.Field == d.Field && k.Says == d.Says })
	})
}

// DeletedSession is a session that can still be brought back.
type DeletedSession struct {
	Session
	DeletedAt time.Time
}

// Normalize puts a session into the form in which it is stored and compared.
func (s *Session) Normalize() {
	s.LoggedAt = s.LoggedAt.UTC().Truncate(time.Microsecond)
	for _, t := range []**time.Time{&s.Start, &s.End} {
		if *t != nil {
			utc := (*t).UTC().Truncate(time.Microsecond)
			*t = &utc
		}
	}
	s.FromGauge = slices.Clone(s.FromGauge)
	slices.Sort(s.FromGauge)
	s.Stints = slices.Clone(s.Stints)
	for i := range s.Stints {
		st := &s.Stints[i]
		st.Minutes = MinutesOf(st.Seconds())
		st.Positions = slices.DeleteFunc(slices.Clone(st.Positions), func(p StintPosition) bool { return p == StintPosition{Position: p.Position} })
		slices.SortStableFunc(st.Positions, func(a, b StintPosition) int { return cmp.Compare(a.Position, b.Position) })
	}
}

func (s Session) RigIDs() []ID {
	ids := make([]ID, 0, len(s.Stints))
	for _, st := range s.Stints {
		ids = append(ids, st.RigID)
	}
	return ids
}
