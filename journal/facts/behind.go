package facts

// append puts what is new behind what is there.
func (b *Builder) append(f *Facts) {
	old := b.old
	oldStints, oldFlies := evenly(old.stints), evenly(old.flies)
	stints, flies, spells, parts := int32(len(oldStints)), int32(len(oldFlies)), int32(len(old.spells)), int32(len(old.parts))
	newStints, newFlies := int32(len(f.stints)), int32(len(f.flies))
	for i := range f.sessions {
		f.sessions[i].stint += stints
		f.sessions[i].end += stints
		f.sessions[i].spell += spells
		f.sessions[i].moment += int32(len(old.moments))
	}
	for i := range f.stints {
		f.stints[i].fly += flies
	}
	for i := range f.spells {
		f.spells[i].fly += flies
		f.spells[i].part += parts
	}
	f.moments = append(old.moments, f.moments...)
	if f.gauged == nil {
		f.gauged = old.gauged
	} else {
		f.gauged = append(reaching(old.gauged, len(old.sessions)), f.gauged...)
	}
	f.sessions, f.stints, f.flies = append(old.sessions, f.sessions...), append(oldStints, f.stints...), append(oldFlies, f.flies...)
	f.spells, f.shares = append(old.spells, f.spells...), append(old.shares, f.shares...)
	f.parts, f.partOf = append(old.parts, f.parts...), append(old.partOf, f.partOf...)
	f.ofStint, f.ofFly = old.ofStint.with(f.ofStint, stints, newStints), old.ofFly.with(f.ofFly, flies, newFlies)
}

// evenly is a list of an even length, with a row of nobody's at its end if need be.
func evenly[T any](list []T) []T {
	if len(list)%2 == 1 {
		var nobodys T
		list = append(list, nobodys)
	}
	return list
}

// with puts further rows behind so many, an even number.
func (t tallies) with(more tallies, rows, further int32) tallies {
	for c, column := range more.small {
		if column == nil {
			continue
		}
		t.small[c] = append(t.small[c][:rows/2], column[:(further+1)/2]...)
	}
	for _, l := range more.large {
		l.row += rows
		t.large = append(t.large, l)
	}
	return t
}
