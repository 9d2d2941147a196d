package facts

import (
	"testing"

	"rigtally/journal"
)

// Ids that agree in their last bytes, as made by hand, are told apart like any others.
func TestIDTable(t *testing.T) {
	t.Parallel()
	var table idTable
	var ids []journal.ID
	for i := range 5000 {
		id := journal.NewID()
		ids = append(ids, id, journal.ID{0: byte(i), 1: byte(i >> 8), 15: 1})
	}
	for round := range 2 {
		for i, id := range ids {
			if n, fresh := table.number(id); int(n) != i || fresh != (round == 0) {
				t.Fatalf("round %d: id %d is number %d, new %t", round, i, n, fresh)
			}
		}
	}
	for i := range 2000 { // out of order
		at := i * 7919 % len(ids)
		if n, fresh := table.number(ids[at]); int(n) != at || fresh {
			t.Fatalf("id %d is number %d, new %t", at, n, fresh)
		}
		if n, ok := table.known(ids[at]); int(n) != at || !ok {
			t.Fatalf("id %d is known as %d, %t", at, n, ok)
		}
	}
	if n, ok := table.known(journal.ID{0: 1, 15: 2}); ok {
		t.Fatalf("an id never numbered is known as %d", n)
	}
	if _, ok := new(idTable).known(ids[0]); ok {
		t.Fatal("an empty table knows an id")
	}
}
