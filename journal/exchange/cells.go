package exchange

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	catalogue "rigtally/journal/field"
	"rigtally/journal/words"
)

// escapeText writes a text so that no spreadsheet program takes it for a formula.
func escapeText(s string) string {
	s = strings.TrimSpace(s)
	if units.IsBlank(s) {
		return ""
	}
	return table.Guard(s)
}

// OwnJunction stands before the name of a junction that could be taken for another word.
const OwnJunction = "other:"

// JunctionWords finds junctions by their many spellings, as words.CompactKnot gives them.
func JunctionWords(w *words.Table) map[string]journal.Junction {
	d := map[string]journal.Junction{}
	for spelling, word := range w.Knots() {
		d[spelling] = journal.Junction(word)
	}
	return d
}

func intCell(v *int) string {
	if v == nil {
		return ""
	}
	return strconv.Itoa(*v)
}

func clockCell(seconds *int) string {
	if seconds == nil {
		return ""
	}
	return time.Unix(int64(*seconds), 0).UTC().Format(time.TimeOnly)
}

func placeCell(p Place) string {
	switch position := p.Position(); {
	case position == nil:
		return "rig"
	case *position == 0:
		return "point"
	default:
		return strconv.Itoa(*position)
	}
}

// junctionCell writes a junction by its own name, in a way that is read back as it was.
func junctionCell(p journal.RigPosition, known map[string]journal.Junction) string {
	if p.Junction != journal.JunctionOther {
		return string(p.Junction)
	}
	name := strings.TrimSpace(p.JunctionName)
	_, taken := known[words.CompactKnot(name)]
	if taken || units.IsBlank(name) || catalogue.Compact(name) == string(journal.JunctionOther) || strings.HasPrefix(catalogue.Plain(name), OwnJunction) {
		return OwnJunction + " " + name
	}
	return escapeText(name)
}

// uncountedCell writes what happened of kinds of which no count was kept.
func uncountedCell(r *Row) string {
	if len(r.Uncounted) == 0 {
		return ""
	}
	var list []string
	for _, f := range countColumns() {
		if f.Of == nil {
			continue
		}
		if n, ok := r.Uncounted[*f.Of]; ok {
			list = append(list, fmt.Sprintf("%s %d", f.Key, n))
		}
	}
	return strings.Join(list, "; ")
}

func keptCell(r *Row) string {
	if r.Fished.Recorded.Assumed() {
		return KeptAssumed
	}
	return KeptNoted
}
