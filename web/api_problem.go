package web

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"rigtally/journal"
)

// problemsOf says of what was sent what the journal refused: in which field, with
// what value, and what to do. sent is nil where fields are not told apart.
func problemsOf(says, fields []string, sent *journal.Draft) []problem {
	list := make([]problem, 0, len(says))
	var whole any
	if sent != nil {
		if text, err := json.Marshal(sent); err == nil {
			_ = json.Unmarshal(text, &whole) // of what was just written
		}
	}
	for i, text := range says {
		p := problem{Says: text}
		if sent != nil && i < len(fields) && fields[i] != "" {
			p.Field = fields[i]
			if !slices.Contains([]string{"angler", "guide", "water", "beat"}, p.Field) && !strings.HasPrefix(p.Field, "rigs[") {
				p.Field = "session." + p.Field
			}
			p.Value = valueAt(whole, p.Field)
		}
		list = append(list, p)
	}
	return list
}

// valueAt follows a path such as session.stints[0].minutes; nil when it leads nowhere.
func valueAt(in any, path string) any {
	for part := range strings.SplitSeq(path, ".") {
		name, index, indexed := strings.Cut(strings.TrimSuffix(part, "]"), "[")
		object, _ := in.(map[string]any)
		in = object[name]
		if indexed {
			list, _ := in.([]any)
			i, err := strconv.Atoi(index)
			if err != nil || i < 0 || i >= len(list) {
				return nil
			}
			in = list[i]
		}
	}
	return in
}

// questions are the questions that doubts raise, and the fields that they are about.
func questions(d *journal.Doubtful) (says, fields []string) {
	for _, doubt := range d.Doubts {
		says, fields = append(says, sentence(doubt.Says)+" Is that so?"), append(fields, doubt.Field)
	}
	return says, fields
}
