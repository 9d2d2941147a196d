package outing

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
)

// form is a session as it was written, by key.
type form struct {
	session map[string]string
	stints  []map[string]string
}

func (f form) empty() bool { return len(f.session) == 0 && len(f.stints) == 0 }

// readForm takes the form from the flags. What is of a stint stands either in
// flags of its own, for one stint, or in --stint, for any number.
func readForm(set *pflag.FlagSet, given *given) (form, error) {
	told := form{session: map[string]string{}}
	for _, f := range sessionEntries() {
		if set.Changed(f.key) {
			told.session[f.key] = set.Lookup(f.key).Value.String()
		}
	}
	single := map[string]string{}
	for _, f := range stintEntries() {
		if !set.Changed(f.key) {
			continue
		}
		if len(given.stints) > 0 {
			return form{}, terminal.Misusef("--%s is beside --stint, so it is not clear which stint it belongs to; write it inside: --stint \"…, %s=…\"", f.key, f.key)
		}
		if several := given.several[f.key]; several != nil {
			single[f.key] = strings.Join(*several, "; ")
		} else {
			single[f.key] = set.Lookup(f.key).Value.String()
		}
	}
	for i, text := range given.stints {
		values, err := parsePairs(text)
		if err != nil {
			return form{}, terminal.Misusef("--stint number %d: %w", i+1, err)
		}
		told.stints = append(told.stints, values)
	}
	if len(told.stints) == 0 && (len(single) > 0 || len(told.session) > 0) {
		told.stints = []map[string]string{single}
	}
	return told, nil
}

// parsePairs reads "rig=Blood short, minutes=90, tag=16,5 cm". A comma that no
// key follows belongs to the value before it.
func parsePairs(text string) (map[string]string, error) {
	keys := command.Keys(stintEntries(), func(f entry[stintDraft]) string { return f.key })
	values := map[string]string{}
	last := ""
	for part := range strings.SplitSeq(text, ",") {
		key, value, ok := strings.Cut(part, "=")
		key = strings.ToLower(strings.TrimSpace(key))
		if !ok && last != "" {
			values[last] += "," + part
			continue
		}
		if !ok {
			return nil, fmt.Errorf("%q is not understood; write key=value, for example minutes=90", strings.TrimSpace(part))
		}
		if !slices.Contains(keys, key) {
			return nil, fmt.Errorf("%q is not known%s", key, terminal.Guess("", key, keys, "; write one of: "+strings.Join(keys, ", ")))
		}
		if _, twice := values[key]; twice {
			return nil, fmt.Errorf("%s is given twice; leave one out", key)
		}
		values[key], last = value, key
	}
	return values, nil
}

// draft understands the form. Blanks, such as a dash, are what was not noted.
func (f form) draft(sys units.System, today journal.Date) (draft, error) {
	d := draft{today: today, session: journal.Session{Day: today}}
	if err := fill(&d, sessionEntries(), f.session, sys); err != nil {
		return d, terminal.Misusef("--%w", err)
	}
	for i, values := range f.stints {
		sd, err := stintOf(values, sys)
		switch {
		case err != nil && len(f.stints) > 1:
			return d, terminal.Misusef("stint %d, %w", i+1, err)
		case err != nil:
			return d, terminal.Misusef("--%w", err)
		}
		d.stints = append(d.stints, sd)
	}
	return d, nil
}

func stintOf(values map[string]string, sys units.System) (stintDraft, error) {
	sd := stintDraft{fly: journal.RigPosition{Position: 1}}
	if err := fill(&sd, stintEntries(), values, sys); err != nil {
		return sd, err
	}
	for _, f := range rigEntries() {
		if v, ok := values[f.key]; ok && !units.IsBlank(v) && f.key != "position" {
			sd.told = append(sd.told, f.key)
		}
	}
	if sd.fly.Position > 0 && sd.fly.Hang == "" {
		sd.fly.Hang = journal.HangTag
	}
	return sd, nil
}

// fill sets what has a value. Its error begins with the key.
func fill[T any](d *T, entries []entry[T], values map[string]string, sys units.System) error {
	for _, f := range entries {
		value := strings.TrimSpace(values[f.key])
		if units.IsBlank(value) {
			continue
		}
		if err := f.set(d, value, sys); err != nil {
			return fmt.Errorf("%s: %w", f.key, err)
		}
	}
	return nil
}
