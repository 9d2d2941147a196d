package shape

import (
	"testing"

	"rigtally/internal/units"
	"rigtally/journal/exchange"
)

// Every column that a row can have is known for what it is, so that none is shared or
// doubled by mistake.
func TestNatures(t *testing.T) {
	keys := map[string]bool{"fish": true, "break_minutes": true}
	for _, c := range exchange.Columns() {
		keys[c.Key] = true
		is := natures[c.Key]
		for _, rule := range []struct {
			bit  nature
			want bool
		}{
			{count, c.Of != nil || c.Counted},
			{measure, c.Quantity != ""},
			{ofFly, c.About == exchange.OfRow && c.Noted != nil && c.Of == nil},
			{ofDay, c.About == exchange.OfOuting && c.Key != "start" && c.Key != "end"},
			{span, c.Key == "minutes" || c.Key == "casts"},
		} {
			if c.Of == nil && rule.bit == count && is.is(count) {
				continue // what follows from counts
			}
			if is.is(rule.bit) != rule.want {
				t.Errorf("%s: bit %d is %v", c.Key, rule.bit, !rule.want)
			}
		}
		if c.Quantity == units.Duration && !is.is(span|count) {
			t.Errorf("%s is a time that is neither", c.Key)
		}
	}
	for key := range natures {
		if !keys[key] {
			t.Errorf("no column has the key %s", key)
		}
	}
}
