package outing

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
)

// rig finds the rig that a stint was fished with, or plans to add the one that
// was described. start is the tag's length when it was not that of the rig as tied.
func (p *plan) rig(d stintDraft, now time.Time) (rig journal.Rig, start *float64, err error) {
	if d.rig != "" {
		if known, ok := p.known.Rig(d.rig); ok {
			start, err = d.differs(known)
			return known, start, err
		}
	}
	if len(d.told) == 0 {
		if d.rig != "" {
			return rig, nil, terminal.Misusef("the journal has no rig %q%s; name one it has, or describe this one with --junction, --tag, --tippet, --bulk, …",
				d.rig, terminal.Guess("", d.rig, p.known.RigNames(), amongKnown(p.known.RigNames())))
		}
		return rig, nil, terminal.Misusef("the rig is missing; name one with --rig, or describe it with --junction, --tag, --tippet, --bulk, …")
	}
	if d.fly.JunctionName != "" {
		if d.fly, err = p.knot(d.fly); err != nil {
			return rig, nil, err
		}
	}
	rig = d.base
	rig.Name, rig.Revision = d.rig, 1
	rig.Positions = []journal.RigPosition{d.fly}
	if rig.Name == "" {
		if like, ok := p.sameTying(rig); ok {
			return like, nil, nil
		}
		rig.Name = p.freeName(describeTying(rig, p.sys))
	}
	rig.ID = journal.NewID()
	rig.CreatedAt = now.UTC().Truncate(time.Microsecond)
	if err := rig.Validate(); err != nil {
		return rig, nil, err
	}
	p.rigs[rig.ID], p.added = rig, append(p.added, "new rig "+rig.Name)
	p.known.Rigs[rig.ID] = rig
	return rig, nil, nil
}

// knot puts the knot that was meant in the place of one of an own name, and doubts a new one that is near one known.
func (p *plan) knot(fly journal.RigPosition) (journal.RigPosition, error) {
	name, known := p.names.now(fly.JunctionName), p.known.knotNames()
	i := slices.IndexFunc(known, func(k string) bool { return strings.EqualFold(k, name) })
	if i < 0 {
		return fly, p.names.check("knot", name, known)
	}
	if fly.JunctionName = known[i]; slices.Contains(journal.Junctions(), journal.Junction(known[i])) {
		fly.Junction, fly.JunctionName = journal.Junction(known[i]), ""
	}
	return fly, nil
}

// differs refuses a description that contradicts a rig that is known, since
// such a rig never changes. Only its tag may have been shorter already.
func (d stintDraft) differs(rig journal.Rig) (start *float64, err error) {
	at, on := rig.At(d.fly.Position)
	if !on && d.placed {
		return nil, fmt.Errorf("the rig %s has no fly at position %d; leave --position out or name another rig", rig.Title(), d.fly.Position)
	}
	other := differing(journal.RigFields(), &d.base, &rig, d.told)
	for _, key := range differing(journal.FlyFields(), &d.fly, &at, d.told) {
		if key == "tag" {
			start = d.fly.TagLengthMM
		} else {
			other = append(other, key)
		}
	}
	if slices.Contains(d.told, "junction") && d.fly.Junction == at.Junction && !strings.EqualFold(d.fly.JunctionName, at.JunctionName) {
		other = append(other, "junction")
	}
	if len(other) > 0 {
		return nil, fmt.Errorf("the rig %s is in the journal with another %s, and a rig that was fished never changes; "+
			"leave that out, or give the rig as you tied it a new name with --rig", rig.Title(), strings.Join(other, " and "))
	}
	return start, nil
}

// differing are the keys of those fields that were told of one and are not so of the other.
func differing[T any](fields []field.Field[T], a, b *T, told []string) []string {
	var keys []string
	for _, f := range fields {
		if slices.Contains(told, f.FlagName()) && !f.Same(a, b) && !strings.EqualFold(f.String(a), f.String(b)) {
			keys = append(keys, f.FlagName())
		}
	}
	return keys
}

// sameTying finds a rig that is tied just alike, whatever its name.
func (p *plan) sameTying(rig journal.Rig) (journal.Rig, bool) {
	var like []journal.Rig
	for _, r := range p.known.Rigs {
		bare := r
		bare.ID, bare.Name, bare.Revision, bare.CreatedAt, bare.Notes, bare.Version = journal.ID{}, "", rig.Revision, rig.CreatedAt, "", 0
		if reflect.DeepEqual(bare, rig) {
			like = append(like, r)
		}
	}
	if len(like) == 0 {
		return rig, false
	}
	return slices.MinFunc(like, func(a, b journal.Rig) int { return strings.Compare(a.ID.String(), b.ID.String()) }), true
}

// freeName makes a name that no other rig has.
func (p *plan) freeName(name string) string {
	free := name
	for n := 2; ; n++ {
		if _, taken := p.known.Rig(free); !taken {
			return free
		}
		free = fmt.Sprintf("%s (%d)", name, n)
	}
}

// describeTying names a rig by how its fly is tied on: "blood, 6 1/2 in, 6X, slim".
func describeTying(rig journal.Rig, sys units.System) string {
	f := rig.Positions[0]
	var parts []string
	add := func(text string) {
		if text != "" {
			parts = append(parts, text)
		}
	}
	switch {
	case f.Junction == journal.JunctionOther:
		add(f.JunctionName)
	case f.Junction != "":
		add(string(f.Junction))
	case f.Position == 0:
		add("point fly")
	default:
		add("on the " + string(f.Hang))
	}
	if f.TagLengthMM != nil {
		add(units.FormatLength(*f.TagLengthMM, sys))
	}
	if f.Facing != "" {
		add("facing " + string(f.Facing))
	}
	if f.TippetMM != nil {
		add(units.ExactTippet(*f.TippetMM))
	}
	add(string(f.Bulk))
	add(f.Fly)
	return strings.Join(parts, ", ")
}
