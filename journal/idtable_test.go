package journal

import "testing"

// Ids that agree in their last bytes, as made by hand, are told apart like any others.
func TestIDTable(t *testing.T) {
	t.Parallel()
	var table idTable
	var ids []ID
	for i := range 5000 {
		id, err := NewID()
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, id, ID{0: byte(i), 1: byte(i >> 8), 15: 1})
	}
	for round := range 2 {
		for i, id := range ids {
			if n, fresh := table.number(id); int(n) != i || fresh != (round == 0) {
				t.Fatalf("round %d: id %d is number %d, new %t", round, i, n, fresh)
			}
		}
	}
}
