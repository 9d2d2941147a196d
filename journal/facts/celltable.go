package facts

// cellTable numbers the combinations of codes of rows. It takes a third of the time
// of a map.
type cellTable struct {
	slots []cellSlot // a power of two of them
	used  int
}

type cellSlot struct {
	key  cellKey
	cell int32 // as cells has it
	used bool
}

// of returns what is kept for a key, which make says for a new one.
func (t *cellTable) of(key cellKey, make func(cellKey) int32) int32 {
	if 2*t.used >= len(t.slots) {
		t.grow()
	}
	s := t.find(key)
	if !s.used {
		*s = cellSlot{key, make(key), true}
		t.used++
	}
	return s.cell
}

// find returns the slot of a key, or the empty one where it belongs.
func (t *cellTable) find(key cellKey) *cellSlot {
	const odd = 0x9e3779b97f4a7c15 // 2⁶⁴ over the golden ratio: spreads neighbours (Knuth, The Art of Computer Programming 3, 6.4)
	hash := uint64(uint32(key.rig))<<32 | uint64(uint32(key.session))
	hash = hash*odd ^ (uint64(uint32(key.own[0]))<<32 | uint64(uint32(key.own[1])))
	hash *= odd
	last := len(t.slots) - 1
	at := int(hash>>32) & last
	for t.slots[at].used && t.slots[at].key != key {
		at = (at + 1) & last
	}
	return &t.slots[at]
}

func (t *cellTable) grow() {
	old := t.slots
	t.slots = make([]cellSlot, max(256, 4*len(old)))
	for _, s := range old {
		if s.used {
			*t.find(s.key) = s
		}
	}
}
