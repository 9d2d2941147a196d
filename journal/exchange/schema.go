package exchange

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// schemaField describes a column as a field of a Frictionless Table Schema; unit is
// a property of our own, which that standard allows.
type schemaField struct {
	Name        string         `json:"name"`
	Title       string         `json:"title"`
	Says        string         `json:"description"`
	Type        string         `json:"type"`
	Format      string         `json:"format,omitempty"`
	Unit        string         `json:"unit,omitempty"`
	TrueValues  []string       `json:"trueValues,omitempty"`
	FalseValues []string       `json:"falseValues,omitempty"`
	Constraints map[string]any `json:"constraints,omitempty"`
}

func required() map[string]any { return map[string]any{"required": true} }

// WriteSchema writes a description of the flat CSV that programs can read, a
// Frictionless Table Schema (https://specs.frictionlessdata.io/table-schema/).
func WriteSchema(w io.Writer) error {
	var fields []schemaField
	for _, c := range FlatColumns() {
		f := c.schemaField
		f.Name, f.Title = c.Header(), cmp.Or(f.Title, titleOf(c.Key))
		fields = append(fields, f)
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	err := e.Encode(struct {
		Title       string        `json:"title"`
		Description string        `json:"description"`
		Fields      []schemaField `json:"fields"`
		Missing     []string      `json:"missingValues"`
		Key         []string      `json:"primaryKey"`
	}{
		"Stints of a rigtally journal",
		"A row for each stint and fly on its rig, and one for the whole rig where something happened on no fly in particular. " +
			"A count that is empty was not kept, which is not zero: leave such rows out of its rate. " +
			"A text that a spreadsheet program would take for a formula begins with an apostrophe.",
		fields, []string{""}, []string{"session", "stint", "position"},
	})
	if err != nil {
		return fmt.Errorf("write the description of the CSV: %w", err)
	}
	return nil
}

// titleOf makes a title of a key: tag_length, Tag length.
func titleOf(key string) string {
	text := strings.ReplaceAll(key, "_", " ")
	return strings.ToUpper(text[:1]) + text[1:]
}
