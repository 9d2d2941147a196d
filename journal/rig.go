package journal

import (
	"reflect"
	"slices"
	"strings"
	"time"
)

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
