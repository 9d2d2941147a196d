package page

import (
	"os"
	"testing"
)

// Every entry of the navigation has a drawing, and one that is not there is missed.
func TestTheNavigationHasIcons(t *testing.T) {
	t.Parallel()
	set, err := loadIcons(os.DirFS(".."))
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range groups {
		if _, err := set.get(g.key); err != nil {
			t.Error(err)
		}
	}
	if _, err := set.get("no-such"); err == nil {
		t.Error("an icon that is not there is not missed")
	}
}
