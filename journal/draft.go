package journal

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Draft is a session as someone tells it, before the journal has been asked:
// people, water, beat and rigs may be named in place of their ids. What the
// journal does not hold of that name is new, and comes in with the session or
// not at all.
type Draft struct {
	Session Session `json:"session"`
	Angler  string  `json:"angler,omitempty"` // a name here goes before the session's id
	Guide   string  `json:"guide,omitempty"`
	Water   string  `json:"water,omitempty"`
	Beat    string  `json:"beat,omitempty"` // of the water, named or not
	// Rigs of stints that have no rig id, by the stint's index from 0. A rig without flies
	// stands for the latest one of its name. One with flies is that of its name,
	// if it is tied just so, and new otherwise.
	Rigs map[int]Rig `json:"rigs,omitempty"`
	// Confirmed says that the person has seen what is doubtful and stands by it.
	Confirmed bool `json:"confirmed,omitempty"`
}

func (d *Draft) Normalize() {
	for _, name := range []*string{&d.Angler, &d.Guide, &d.Water, &d.Beat} {
		*name = strings.TrimSpace(*name)
	}
	d.Session.Normalize()
	rigs := map[int]Rig{}
	for i, rig := range d.Rigs {
		rig.Normalize()
		rig.ID, rig.Revision, rig.Version = ID{}, 0, 0
		rigs[i] = rig
	}
	d.Rigs = rigs
}

// CheckNames checks what the draft names by itself. Its error has the field of
// each problem: "angler", "guide", "water", "beat", "rigs[0]".
func (d Draft) CheckNames() error {
	var all Invalid
	check := func(field string, err error) {
		var invalid *Invalid
		if errors.As(err, &invalid) {
			for _, problem := range invalid.Problems {
				all.Problems, all.Fields = append(all.Problems, problem), append(all.Fields, field)
			}
		}
	}
	if d.Angler != "" {
		check("angler", Angler{Name: d.Angler, Kind: Client}.Validate())
	}
	if d.Guide != "" {
		check("guide", Angler{Name: d.Guide, Kind: Guiding}.Validate())
	}
	if d.Water != "" {
		check("water", Water{Name: d.Water, Kind: WaterOther, TimeZone: "UTC"}.Validate())
	}
	if d.Beat != "" {
		check("beat", Water{Name: "w", Kind: WaterOther, TimeZone: "UTC", Beats: []Beat{{Name: d.Beat}}}.Validate())
	}
	for i, rig := range d.Rigs {
		field := fmt.Sprintf("rigs[%d]", i)
		switch {
		case i < 0 || i >= len(d.Session.Stints):
			check(field, &Invalid{Problems: []string{fmt.Sprintf("there is a rig for stint %d, but no such stint; leave it out", i+1)}})
		case len(rig.Positions) > 0:
			check(field, rig.Validate())
		case rig.Name == "":
			check(field, &Invalid{Problems: []string{fmt.Sprintf("the rig of stint %d has no name; give it one", i+1)}})
		}
	}
	if len(all.Problems) > 0 {
		return &all
	}
	return nil
}

// NamedRigs are the stints whose rig is named, in order.
func (d Draft) NamedRigs() []int {
	var list []int
	for i := range d.Rigs {
		if d.Session.Stints[i].RigID.IsZero() {
			list = append(list, i)
		}
	}
	slices.Sort(list)
	return list
}

// JoinInvalid puts what is wrong with two parts of the same thing into one error. Each
// is nil, an Invalid, or goes before the other.
func JoinInvalid(a, b error) error {
	var left, right *Invalid
	switch {
	case a == nil:
		return b
	case b == nil || !errors.As(a, &left):
		return a
	case !errors.As(b, &right):
		return b
	}
	return &Invalid{Problems: slices.Concat(left.Problems, right.Problems), Fields: slices.Concat(left.fields(), right.fields())}
}

// fields has an entry for every problem.
func (e *Invalid) fields() []string {
	if len(e.Fields) == len(e.Problems) {
		return e.Fields
	}
	return make([]string, len(e.Problems))
}

// Setup is what a journal needs before its first session: how people see it, who fishes,
// which water, and how the usual rig is tied.
type Setup struct {
	Outfit Outfit
	Angler Angler
	Water  Water
	Rig    Rig
}

// Validate checks all parts at once.
func (u Setup) Validate() error {
	err := u.Outfit.Validate()
	for _, next := range []error{u.Angler.Validate(), u.Water.Validate(), u.Rig.Validate()} {
		err = JoinInvalid(err, next)
	}
	return err
}
