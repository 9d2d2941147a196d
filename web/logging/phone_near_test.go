package logging

import (
	"math/rand/v2"
	"slices"
	"testing"

	"rigtally/journal/near"
)

// The phone finds the name that was meant where the journal does, so that both ask the same.
func TestPhoneFindsNearNamesAsTheJournalDoes(t *testing.T) {
	t.Parallel()
	known := []string{"J. Felt", "Maud Perrin", "Orrin", "Tessel River", "Grüne Lauter", "Upper Bend", "Jon O’Dell", "Rig 2 long tags", "Anna B.", "Anna C.", "Pool II", "Żółta Woda", "Перрлин", "Mill Run", "Straße 7", "Øvre Elv"}
	written := append([]string{"Jon Felt", "Felt, Jon", "Orin", "Tesel", "Uperbend", "Jon ODell", "Pool III", "Rig 3 long tags", "Anna", "perfection", "", "?!", "jon o'dell", "Ca Abc", "Overe Elv"}, known...)
	dice := rand.New(rand.NewPCG(1, 1))
	for range 600 { // names with a letter or two dropped, doubled or swapped
		name := []rune(known[dice.IntN(len(known))])
		for range 1 + dice.IntN(2) {
			switch i := dice.IntN(len(name) - 1); dice.IntN(3) {
			case 0:
				name = slices.Delete(name, i, i+1)
			case 1:
				name = slices.Insert(name, i, name[i])
			default:
				name[i], name[i+1] = name[i+1], name[i]
			}
		}
		written = append(written, string(name))
	}
	var got []string
	onPhone(t, `import { near } from "./near.js"; say(given.written.map((w) => near(w, given.known)));`, map[string][]string{"known": known, "written": written}, &got)
	asked := 0
	for i, name := range written {
		want, ok := near.Name(name, known)
		if ok {
			asked++
		}
		if got[i] != want {
			t.Errorf("%q: the phone finds %q, the journal %q", name, got[i], want)
		}
	}
	if asked < len(written)/2 {
		t.Errorf("only %d of %d names are near one", asked, len(written))
	}
}
