package journal

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"math"
	"slices"
	"time"

	"rigtally/journal/field"
)

// fingerprintForm is the first byte of what is hashed. It goes up whenever
// canonical writes something else, so that no two forms are ever mistaken for
// each other. The hashes of older forms, JSON at first, match nothing: the
// session held is then read and hashed in this form.
const fingerprintForm = 1

// Fingerprint hashes what the session says, when and how often it was stored
// aside: the same session sent twice has the same one. The session must be
// normalized.
func (s Session) Fingerprint() (int64, error) {
	sum := sha256.Sum256(s.canonical())
	return int64(binary.BigEndian.Uint64(sum[:8])), nil
}

// SaysWhat reports whether two normalized sessions say the same, when and how
// often they were stored aside.
func (s Session) SaysWhat(other Session) bool { return bytes.Equal(s.canonical(), other.canonical()) }

// canonical writes a session in a form of its own, which does not change when
// JSON does: fields in a fixed order, texts and lists after their length as a
// varint, what may be missing after a byte 0 or 1, numbers as the bits of their
// double (of +0 for -0), times as microseconds, a stint's time in seconds.
func (s Session) canonical() []byte {
	c := canon{fingerprintForm}
	c.id(s.ID)
	c.id(s.AnglerID)
	c.maybeID(s.GuideID)
	c.id(s.WaterID)
	c.maybeID(s.BeatID)
	c.text(s.Day.String())
	c.time(s.Start)
	c.time(s.End)
	c.text(s.TimeZone)
	for _, v := range []*float64{s.WaterTempC, s.FlowM3S, s.StageM, s.DepthM, s.VelocityMS} {
		c.number(v)
	}
	c.truth(s.Storm)
	c.text(string(s.Clarity))
	c.text(string(s.Wind))
	c.text(string(s.Light))
	c.size(len(s.FromGauge))
	for _, g := range s.FromGauge {
		c.text(g)
	}
	c.text(s.Notes)
	c.size(len(s.Stints))
	for _, st := range s.Stints {
		c.stint(st)
	}
	further(&c, sessionFields, &s)
	return c
}

// inOrder are the fields that stand in the form's order, whatever is noted of them.
var inOrder = []string{"water_temp", "flow", "stage", "depth", "velocity", "storm", "clarity", "wind", "light", "session_notes", "minutes", "casts", "stroke", "notes"}

// further writes the fields that came later, under their keys and only where something was
// noted, so that what was stored before them keeps its form.
func further[T any](c *canon, list []field.Field[T], v *T) {
	for i := range list {
		if f := &list[i]; f.Noted(v) && !slices.Contains(inOrder, f.Key) {
			c.text(f.Key)
			c.text(f.String(v))
		}
	}
}

// canon is what canonical has written so far.
type canon []byte

func (c *canon) stint(st Stint) {
	c.id(st.ID)
	c.id(st.RigID)
	c.whole(st.Seconds())
	c.size(int(st.Recorded))
	c.whole(st.Casts)
	c.text(string(st.Stroke))
	c.text(st.Notes)
	c.size(len(st.Positions))
	for _, p := range st.Positions {
		c.size(p.Position)
		c.number(p.TagStartMM)
		c.number(p.TagEndMM)
		c.text(p.Fly)
	}
	c.size(len(st.Events))
	for _, e := range st.Events {
		c.event(e)
	}
	further(c, stintFields, &st)
}

func (c *canon) event(e Event) {
	c.whole(e.Position)
	c.text(string(e.Kind))
	c.size(e.Count)
	c.whole(e.Minute)
	c.text(string(e.Hooking))
	c.text(string(e.Ending))
	c.text(string(e.BreakPlace))
	c.text(e.Species)
	c.number(e.FishLengthMM)
	c.text(string(e.TangleKind))
	c.whole(e.MinutesLost)
	c.whole(e.Turns)
	c.number(e.CutMM)
	c.text(e.Note)
}

func (c *canon) size(n int) { *c = binary.AppendVarint(*c, int64(n)) }

func (c *canon) text(s string) {
	c.size(len(s))
	*c = append(*c, s...)
}

func (c *canon) id(id ID) { *c = append(*c, id[:]...) }

func (c *canon) truth(v bool) {
	if v {
		*c = append(*c, 1)
	} else {
		*c = append(*c, 0)
	}
}

func (c *canon) maybeID(id *ID) {
	c.truth(id != nil)
	if id != nil {
		c.id(*id)
	}
}

func (c *canon) number(v *float64) {
	c.truth(v != nil)
	if v != nil {
		*c = binary.BigEndian.AppendUint64(*c, math.Float64bits(*v+0)) // -0 + 0 is +0
	}
}

func (c *canon) whole(n *int) {
	c.truth(n != nil)
	if n != nil {
		c.size(*n)
	}
}

func (c *canon) time(t *time.Time) {
	c.truth(t != nil)
	if t != nil {
		*c = binary.BigEndian.AppendUint64(*c, uint64(t.UnixMicro()))
	}
}
