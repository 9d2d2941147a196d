package facts

import "testing"

// Every key keeps what was made for it, however many there are.
func TestCellTable(t *testing.T) {
	t.Parallel()
	var table cellTable
	var keys []cellKey
	for rig := range int32(20) {
		for session := range int32(20) {
			for own := range int32(20) {
				keys = append(keys, cellKey{rig, session, [2]int32{own, -own}})
			}
		}
	}
	made := int32(0)
	number := func(cellKey) int32 { made++; return made - 1 }
	for range 2 {
		for i, key := range keys {
			if got := table.of(key, number); got != int32(i) {
				t.Fatalf("key %v has %d, not %d", key, got, i)
			}
		}
	}
	if int(made) != len(keys) {
		t.Errorf("%d cells were made for %d keys", made, len(keys))
	}
}
