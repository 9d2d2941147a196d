package outing

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/journal/near"
)

// names is what was said of names that the journal does not know. It is shared by all plans of a run.
type names struct {
	fresh map[string]bool   // they are new, and meant so
	means map[string]string // they mean another
}

func newNames(fresh []string) names {
	n := names{map[string]bool{}, map[string]string{}}
	for _, name := range fresh {
		n.fresh[folded(name)] = true
	}
	return n
}

func folded(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// now is what a name means by what was said of it.
func (n names) now(name string) string {
	if means, said := n.means[folded(name)]; said {
		return means
	}
	return name
}

// doubt is a name that would be new, while the journal knows one so near that it was probably meant.
type doubt struct{ kind, written, means string }

func (d *doubt) Error() string {
	return fmt.Sprintf("the %s %q is new; did you mean %q? Write it so, or add --new %q when it is new indeed", d.kind, d.written, d.means, d.written)
}

// check doubts a name that is to be new and is near one that is known.
func (n names) check(kind, name string, among []string) error {
	if n.fresh[folded(name)] {
		return nil
	}
	if means, ok := near.Name(name, among); ok {
		return &doubt{kind, name, means}
	}
	return nil
}

// settled plans until no name is in doubt: each is asked about where somebody can be asked.
func (l *logging) settled(ctx context.Context, plan func() (plan, error)) (plan, error) {
	for {
		p, err := plan()
		var d *doubt
		if !errors.As(err, &d) {
			return p, err
		}
		if !l.Asks {
			return p, terminal.Misused(err)
		}
		answer, err := l.Asker(ctx).Ask(ctx, terminal.YesNo("meant", fmt.Sprintf("%s is new to the journal. Did you mean %s", d.written, d.means),
			fmt.Sprintf("yes takes %s; no adds %s as a new %s.", d.means, d.written, d.kind), terminal.Yes))
		if err != nil {
			return p, err
		}
		if terminal.IsYes(answer) {
			l.names.means[folded(d.written)] = d.means
		} else {
			l.names.fresh[folded(d.written)] = true
		}
	}
}

// formerly finds what had a name before it was renamed, or merged into another.
func (n Known) formerly(kind journal.ThingKind, name string, water journal.ID) (journal.ID, bool) {
	i := slices.IndexFunc(n.aliases, func(a journal.Alias) bool {
		return a.Kind == kind && a.Of != nil && strings.EqualFold(a.Name, name) && (a.Water == nil || *a.Water == water)
	})
	if i < 0 {
		return journal.ID{}, false
	}
	return *n.aliases[i].Of, true
}

// knotNames are the knots that rigs were tied with, and those that rigtally knows by itself.
func (n Known) knotNames() []string {
	list := command.Words(journal.Junctions())
	for _, r := range n.Rigs {
		for _, p := range r.Positions {
			if p.JunctionName != "" && !slices.Contains(list, p.JunctionName) {
				list = append(list, p.JunctionName)
			}
		}
	}
	slices.Sort(list)
	return list
}
