package sheet

import (
	"strings"

	"rigtally/journal"
	"rigtally/journal/exchange"
	catalogue "rigtally/journal/field"
)

// setJunction reads a knot; one that is not known is kept under its own name.
func setJunction(c *column, r *row, cell string) error {
	type knot struct {
		junction journal.Junction
		name     string
	}
	k, err := cached(c, cell, func() (knot, error) {
		name := cleanText(cell)
		if own, ok := strings.CutPrefix(catalogue.Plain(name), exchange.OwnJunction); ok && strings.TrimSpace(own) != "" {
			name = strings.TrimSpace(name[len(exchange.OwnJunction):])
		} else if j, ok := c.junctions[exchange.CompactKnot(name)]; ok {
			return knot{junction: j}, nil
		} else if catalogue.Compact(name) == string(journal.JunctionOther) {
			return knot{}, &problem{what: "does not say which", remedy: "write the junction's name itself"}
		}
		if len(name) > maxName {
			return knot{}, tooLong(maxName)
		}
		c.unknownWords[name]++
		return knot{journal.JunctionOther, name}, nil
	})
	r.Fly.Junction, r.Fly.JunctionName = k.junction, k.name
	return err
}
