package facts

import (
	"encoding/binary"

	"rigtally/journal"
)

// idTable numbers ids in the order in which they come, from 0. It takes a third of
// the time of a map, as the last eight bytes of an id are random (RFC 9562,
// version 7) and need no hashing; others are still told apart, only more slowly.
//
// Rows of counts mostly come in the order of what they belong to, so the few ids after
// the last one are tried first, which saves a walk through memory.
type idTable struct {
	ids   []journal.ID
	slots []int32 // one more than a place in ids, 0 for none; a power of two of them
	last  int     // place of the id asked for last
}

// number returns the number of an id and whether it is new.
func (t *idTable) number(id journal.ID) (n int32, fresh bool) {
	const few = 6
	for next := t.last + 1; next < min(t.last+1+few, len(t.ids)); next++ {
		if t.ids[next] == id {
			t.last = next
			return int32(next), false
		}
	}
	if 2*len(t.ids) >= len(t.slots) {
		t.grow()
	}
	at := t.find(id)
	if fresh = t.slots[at] == 0; fresh {
		t.ids = append(t.ids, id)
		t.slots[at] = int32(len(t.ids))
	}
	t.last = int(t.slots[at]) - 1
	return int32(t.last), fresh
}

// known returns the number of an id that the table may not hold.
func (t *idTable) known(id journal.ID) (n int32, ok bool) {
	if len(t.slots) == 0 {
		return 0, false
	}
	n = t.slots[t.find(id)] - 1
	return n, n >= 0
}

// find returns the slot of an id, or the empty one where it belongs.
func (t *idTable) find(id journal.ID) int {
	last := len(t.slots) - 1
	random := binary.LittleEndian.Uint64(id[8:])
	at := int(random^random>>32) & last
	for t.slots[at] > 0 && t.ids[t.slots[at]-1] != id {
		at = (at + 1) & last
	}
	return at
}

func (t *idTable) grow() {
	t.slots = make([]int32, max(1024, 4*len(t.slots)))
	for i, id := range t.ids {
		t.slots[t.find(id)] = int32(i + 1)
	}
}
