package importing

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet"
)

// state is what a person has decided so far.
type state struct {
	options sheet.Options
	shown   bool // how the columns were understood
	right   bool // the columns are as they should be
	update  bool
	told    bool // whether to take what was corrected
	write   bool
}

// settle asks a person at the terminal what must be decided, one question after the other, and shows what would be
// written before it is.
func (f *file) settle(ctx context.Context, st state) (state, error) {
	var past []state
	for !st.write {
		next, err := f.ask(ctx, st)
		switch {
		case errors.Is(err, terminal.ErrBack) && len(past) == 0:
			continue
		case errors.Is(err, terminal.ErrBack):
			st, past = past[len(past)-1], past[:len(past)-1]
		case err != nil:
			return st, err
		default:
			st, past = next, append(past, st)
		}
		if st.write {
			break
		}
		if err := f.read(ctx, st.options); err != nil {
			return st, err
		}
	}
	return st, nil
}

// ask asks the first question that is open.
func (f *file) ask(ctx context.Context, st state) (state, error) {
	if len(f.table.Stops) > 0 {
		return f.askStop(ctx, st, f.table.Stops[0])
	}
	if !st.right {
		if err := f.table.Report(f.Out, f.Width()); err != nil {
			return st, err
		}
		st.shown = true
		return f.askColumns(ctx, st)
	}
	if n := f.table.BadRows(); n > 0 && f.rejects == "" {
		return st, &sheet.Refused{Name: f.name, Rows: f.table.Rows, BadRows: n, Bad: f.table.Bad}
	}
	p, err := f.table.Preview(ctx, f.store)
	if err != nil {
		return st, err
	}
	if asked := p.Asked(); len(asked) > 0 {
		return f.askName(ctx, st, asked[0])
	}
	if len(p.Changed) > 0 && !st.update && !st.told {
		f.showEdits("Corrected in the sheet since it was imported:", p.Changed)
		yes, err := f.yesNo(ctx, "Take these corrections", "yes writes them as the sessions' next version; no leaves the journal as it is.", terminal.No)
		st.update, st.told = yes, true
		return st, err
	}
	f.show(p, st.update)
	yes, err := f.yesNo(ctx, "Write this to the journal", toWrite, terminal.Yes)
	if err == nil && !yes {
		err = terminal.ErrStopped
	}
	st.write = yes
	return st, err
}

// toWrite helps with the question whether to write.
const toWrite = "yes writes it, all of it or nothing; \"rigtally undo\" takes it back."

func (j *job) yesNo(ctx context.Context, text, help, fallback string) (bool, error) {
	answer, err := j.Asker(ctx).Ask(ctx, terminal.YesNo("", text, help, fallback))
	return terminal.IsYes(answer), err
}

const leaveOut = "leave it out"

// askStop asks what a column tells, or which column tells something that must be known.
func (f *file) askStop(ctx context.Context, st state, stop sheet.Stop) (state, error) {
	if stop.Header == "" {
		return f.askMissing(ctx, st, stop)
	}
	f.Printf("“%s” %s.\n", stop.Header, stop.Why)
	if len(stop.Samples) > 0 {
		f.Printf("Its values: %s, …\n", strings.Join(stop.Samples, ", "))
	}
	return f.askColumn(ctx, st, stop.Header, stop.Likely)
}

// askMissing asks which column tells what none was understood to.
func (f *file) askMissing(ctx context.Context, st state, stop sheet.Stop) (state, error) {
	f.Printf("%s.\n", strings.TrimSuffix(stop.Why, "."))
	key := stop.Likely[0]
	whole := map[string]*string{"angler": &st.options.Angler, "water": &st.options.Water}[key]
	help := "Write the header of the column that tells it."
	if whole != nil {
		help = "Write the header of the column that tells it, or the one name that holds for the whole file."
	}
	var headers []string
	for _, c := range f.table.Columns {
		if c.Ignored() && c.Header != "" {
			headers = append(headers, c.Header)
		}
	}
	answer, err := f.Asker(ctx).Ask(ctx, terminal.Question{Text: "Which column is " + (sheet.ColumnRule{Key: key}).Title(), Help: help, Options: headers, Check: func(answer string) error {
		is := slices.Contains(f.table.Headers(), answer)
		if answer == "" || !is && (whole == nil || strings.EqualFold(answer, key)) {
			return errors.New(help)
		}
		return nil
	}})
	if err == nil && slices.Contains(f.table.Headers(), answer) {
		st.options.Columns = withRule(st.options.Columns, sheet.ColumnRule{Header: answer, Key: key})
	} else if err == nil {
		*whole = answer
	}
	return st, err
}

// askColumn asks what a column tells.
func (f *file) askColumn(ctx context.Context, st state, header string, likely []string) (state, error) {
	keys := map[string]string{leaveOut: ""}
	var options []string
	for _, key := range likely {
		title := (sheet.ColumnRule{Key: key}).Title()
		if order, ok := strings.CutPrefix(key, "date."); ok {
			title = "dates, " + order
		}
		keys[title], options = key, append(options, title)
	}
	for _, c := range sheet.Fields() {
		if _, known := keys[c.Title]; !known {
			keys[c.Title] = c.Key
		}
		for _, unit := range append([]string{""}, c.Units...) {
			key := strings.TrimSuffix(c.Key+"_"+unit, "_")
			keys[key] = key
		}
	}
	answer, err := f.Asker(ctx).Ask(ctx, terminal.Question{Text: "What is “" + header + "”", Options: append(options, leaveOut),
		Help: "A number from the list, or what else the column tells: " + strings.Join(fieldKeys(), ", ") + ".",
		Check: func(answer string) error {
			if _, known := keys[answer]; !known {
				return fmt.Errorf("nothing is called %q%s", answer, terminal.Guess("", answer, fieldKeys(), "; ? lists what there is"))
			}
			return nil
		}})
	if err != nil {
		return st, err
	}
	if order, ok := strings.CutPrefix(keys[answer], "date."); ok {
		st.options.Dates = sheet.DateOrder(order)
	} else {
		st.options.Columns = withRule(st.options.Columns, sheet.ColumnRule{Header: header, Key: keys[answer]})
	}
	return st, nil
}

func fieldKeys() []string {
	var keys []string
	for _, c := range sheet.Fields() {
		keys = append(keys, c.Key)
	}
	return keys
}

// withRule is the rules with one in the place of that of the same header.
func withRule(rules []sheet.ColumnRule, rule sheet.ColumnRule) []sheet.ColumnRule {
	rules = slices.DeleteFunc(slices.Clone(rules), func(r sheet.ColumnRule) bool { return r.Header == rule.Header })
	return append(rules, rule)
}

// askColumns asks whether the columns are right, or which one is to be chosen otherwise.
func (f *file) askColumns(ctx context.Context, st state) (state, error) {
	const right = "right"
	headers := f.table.Headers()
	find := func(answer string) string {
		at := slices.IndexFunc(headers, func(h string) bool { return strings.EqualFold(strings.TrimSpace(h), answer) })
		if at < 0 {
			return ""
		}
		return headers[at]
	}
	f.Printf("\n")
	answer, err := f.Asker(ctx).Ask(ctx, terminal.Question{Text: "Are the columns right, or the header of one that is not", Fallback: right,
		Help: "Enter if they are read as you mean them. A column's header, to say what it tells instead.",
		Check: func(answer string) error {
			if answer != right && !terminal.IsYes(answer) && find(answer) == "" {
				return fmt.Errorf("no column is called %q%s", answer, terminal.Guess("", answer, headers, "; write its header as it stands"))
			}
			return nil
		}})
	if err != nil {
		return st, err
	}
	if answer == right || terminal.IsYes(answer) {
		st.right = true
		return st, nil
	}
	return f.askColumn(ctx, st, find(answer), nil)
}

// askName asks what a name means that is near another.
func (f *file) askName(ctx context.Context, st state, n sheet.New) (state, error) {
	where := "also in this sheet"
	if n.Known {
		where = "in the journal"
	}
	f.Printf("%s is new, and %s is %s.\n", n.Name, n.Similar, where)
	isNew := n.Name + " as it stands: new"
	answer, err := f.Asker(ctx).Ask(ctx, terminal.Question{Text: fmt.Sprintf("What does “%s” mean (%s, from %s on)", n.Name, exchange.Counted(n.Rows, "row"), n.First),
		Options: []string{n.Similar, isNew}, Help: "A number from the list, or another name that is meant.",
		Check: func(answer string) error {
			if answer == "" {
				return errors.New("choose one, or write the name that is meant")
			}
			_, err := sheet.ParseNameRule(n.Name + "=" + answer)
			return err
		}})
	if err != nil {
		return st, err
	}
	rule := sheet.NameRule{Kind: n.Kind, Written: n.Name, Means: answer}
	if answer == isNew {
		rule.Means = n.Name
	}
	st.options.Names = append(slices.Clone(st.options.Names), rule)
	return st, nil
}
